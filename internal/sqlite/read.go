package sqlite

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"strings"

	"beatwright"
)

// Get gives one thing as it is now.
func (s *Store) Get(ctx context.Context, k beatwright.Key) (beatwright.Thing, error) {
	return get(ctx, s.read, k)
}

func get(ctx context.Context, q rowQuerier, k beatwright.Key) (beatwright.Thing, error) {
	if _, ok := columns[k.Kind]; !ok {
		return nil, beatwright.NotFound(string(k.Kind), string(k.ID))
	}
	var body []byte
	err := q.QueryRowContext(ctx, `SELECT body FROM `+string(k.Kind)+` WHERE id = ? AND removed = 0`, string(k.ID)).Scan(&body)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, beatwright.NotFound(string(k.Kind), string(k.ID))
	}
	if err != nil {
		return nil, storage("read the record", err)
	}
	return beatwright.Read(k.Kind, body)
}

type rowQuerier interface {
	QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row
}

// All gives every thing of a kind, in the order they were made.
func (s *Store) All(ctx context.Context, kind beatwright.Kind) ([]beatwright.Thing, error) {
	if _, ok := columns[kind]; !ok {
		return nil, nil
	}
	return things(ctx, s.read, kind, "")
}

// things reads the things of a kind that are there and meet a condition.
func things(ctx context.Context, q querier, kind beatwright.Kind, where string, args ...any) ([]beatwright.Thing, error) {
	query := `SELECT body FROM ` + string(kind) + ` WHERE removed = 0`
	if where != "" {
		query += ` AND ` + where
	}
	rows, err := q.QueryContext(ctx, query+` ORDER BY seq`, args...)
	if err != nil {
		return nil, storage("read the record", err)
	}
	defer rows.Close()
	var out []beatwright.Thing
	for rows.Next() {
		var body []byte
		if err := rows.Scan(&body); err != nil {
			return nil, storage("read the record", err)
		}
		t, err := beatwright.Read(kind, body)
		if err != nil {
			return nil, err
		}
		out = append(out, t)
	}
	return out, storage("read the record", rows.Err())
}

// Job gives all there is of one job.
func (s *Store) Job(ctx context.Context, idOrNumber string) (*beatwright.Papers, error) {
	papers, err := s.papers(ctx, `(id = ? OR number = ?)`, idOrNumber, idOrNumber)
	if err != nil {
		return nil, err
	}
	if len(papers) == 0 {
		return nil, beatwright.NotFound("job", idOrNumber)
	}
	p := papers[0]
	lines, err := s.Find(ctx, beatwright.Query{Watch: p.Watch.ID, Limit: 100})
	if err != nil {
		return nil, err
	}
	for i := len(lines) - 1; i >= 0; i-- {
		if lines[i].ID != p.Job.ID {
			p.Others = append(p.Others, lines[i])
		}
	}
	return p, nil
}

// OpenJobs gives all there is of the jobs that are not ended: a query a kind,
// however many jobs there are.
func (s *Store) OpenJobs(ctx context.Context) ([]*beatwright.Papers, error) {
	return s.papers(ctx, `state NOT IN (?, ?)`, string(beatwright.Returned), string(beatwright.Declined))
}

// papers reads all of the record at one moment, whatever is written meanwhile.
func (s *Store) papers(ctx context.Context, where string, args ...any) ([]*beatwright.Papers, error) {
	tx, err := s.read.BeginTx(ctx, &sql.TxOptions{ReadOnly: true})
	if err != nil {
		return nil, storage("read the record", err)
	}
	defer tx.Rollback()
	return papers(ctx, tx, where, args)
}

func papers(ctx context.Context, q querier, where string, args []any) ([]*beatwright.Papers, error) {
	jobs, err := things(ctx, q, beatwright.KindJob, where, args...)
	if err != nil || len(jobs) == 0 {
		return nil, err
	}
	var out []*beatwright.Papers
	byJob := map[beatwright.ID]*beatwright.Papers{}
	for _, t := range jobs {
		p := &beatwright.Papers{Job: t.(*beatwright.Job)}
		out, byJob[p.Job.ID] = append(out, p), p
	}
	these := `(SELECT id FROM job WHERE removed = 0 AND ` + where + `)`
	for _, kind := range ofJob {
		ts, err := things(ctx, q, kind, `job IN `+these, args...)
		if err != nil {
			return nil, err
		}
		for _, t := range ts {
			byJob[t.Links().Job].Add(t)
		}
	}
	return out, whose(ctx, q, out, where, args)
}

// whose fills in watch, owner and movement.
func whose(ctx context.Context, q querier, papers []*beatwright.Papers, where string, args []any) error {
	sets := map[beatwright.Kind]string{
		beatwright.KindWatch:    `id IN (SELECT watch FROM job WHERE removed = 0 AND ` + where + `)`,
		beatwright.KindOwner:    `id IN (SELECT owner FROM job WHERE removed = 0 AND ` + where + `)`,
		beatwright.KindMovement: `id IN (SELECT movement FROM watch WHERE id IN (SELECT watch FROM job WHERE removed = 0 AND ` + where + `))`,
	}
	found := map[beatwright.Key]beatwright.Thing{}
	for kind, set := range sets {
		ts, err := things(ctx, q, kind, set, args...)
		if err != nil {
			return err
		}
		for _, t := range ts {
			found[beatwright.KeyOf(t)] = t
		}
	}
	for _, p := range papers {
		p.Watch, _ = found[beatwright.Key{Kind: beatwright.KindWatch, ID: p.Job.Watch}].(*beatwright.Watch)
		if p.Watch == nil { // taken away while its job stays: only its name is lost
			p.Watch = &beatwright.Watch{Entry: beatwright.Entry{ID: p.Job.Watch}}
		}
		p.Owner, _ = found[beatwright.Key{Kind: beatwright.KindOwner, ID: p.Job.Owner}].(*beatwright.Owner)
		p.Movement, _ = found[beatwright.Key{Kind: beatwright.KindMovement, ID: p.Watch.Movement}].(*beatwright.Movement)
	}
	return nil
}

// newest orders jobs by year, then by number as a number; the index job_order
// is of the same words.
const newest = `CAST(substr(j.number, 1, 4) AS INTEGER) DESC, CAST(substr(j.number, 6) AS INTEGER) DESC`

// Find gives lines of jobs, newest first.
func (s *Store) Find(ctx context.Context, q beatwright.Query) ([]beatwright.Line, error) {
	from, where, args := `job j JOIN line l ON l.seq = j.seq`, []string{`j.removed = 0`}, []any{}
	add := func(condition string, values ...any) {
		where = append(where, condition)
		args = append(args, values...)
	}
	if match := matching(q.Words); match != "" {
		from = `words w JOIN job j ON j.seq = w.rowid JOIN line l ON l.seq = j.seq`
		add(`words MATCH ?`, match)
	} else if strings.TrimSpace(q.Words) != "" {
		return nil, nil // words of nothing but signs match nothing
	}
	if len(q.States) > 0 {
		var states []any
		for _, st := range q.States {
			states = append(states, string(st))
		}
		// The plus keeps SQLite walking job_order from the newest, which ends
		// after a page, instead of sorting every job of the states.
		add(`+j.state IN (?`+strings.Repeat(`, ?`, len(states)-1)+`)`, states...)
	}
	if q.Owner != "" {
		add(`j.owner = ?`, string(q.Owner))
	}
	if q.Watch != "" {
		add(`j.watch = ?`, string(q.Watch))
	}
	if q.Kind != "" {
		like := "%" + strings.NewReplacer(`\`, `\\`, `%`, `\%`, `_`, `\_`).Replace(q.Kind) + "%"
		if !strings.ContainsAny(q.Kind, "\"\\<>&") { // reading the JSON of every line takes longer
			add(`l.body LIKE ? ESCAPE '\'`, like)
		}
		add(`json_extract(l.body, '$.kind') LIKE ? ESCAPE '\'`, like)
	}
	limit := q.Limit
	if limit <= 0 {
		limit = 50
	}
	rows, err := s.read.QueryContext(ctx, `SELECT l.body FROM `+from+` WHERE `+strings.Join(where, ` AND `)+
		` ORDER BY `+newest+` LIMIT ? OFFSET ?`, append(args, limit, max(q.Offset, 0))...)
	if err != nil {
		return nil, storage("search the record", err)
	}
	defer rows.Close()
	var out []beatwright.Line
	for rows.Next() {
		var body []byte
		var l beatwright.Line
		if err := rows.Scan(&body); err != nil {
			return nil, storage("search the record", err)
		}
		if err := json.Unmarshal(body, &l); err != nil {
			return nil, storage("search the record", err)
		}
		out = append(out, l)
	}
	return out, storage("search the record", rows.Err())
}

// Counts says how many jobs stand in each state.
func (s *Store) Counts(ctx context.Context) (map[beatwright.JobState]int, error) {
	rows, err := s.read.QueryContext(ctx, `SELECT state, count(*) FROM job WHERE removed = 0 GROUP BY state`)
	if err != nil {
		return nil, storage("count the jobs", err)
	}
	defer rows.Close()
	out := map[beatwright.JobState]int{}
	for rows.Next() {
		var state string
		var n int
		if err := rows.Scan(&state, &n); err != nil {
			return nil, storage("count the jobs", err)
		}
		out[beatwright.JobState(state)] = n
	}
	return out, rows.Err()
}
