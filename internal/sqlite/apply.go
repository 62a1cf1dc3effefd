package sqlite

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"beatwright"

	lib "modernc.org/sqlite/lib"
)

// columns are what each kind's table has beside id, rev, removed and body.
var columns = map[beatwright.Kind][]string{
	beatwright.KindWorkshop:  nil,
	beatwright.KindOwner:     nil,
	beatwright.KindMovement:  nil,
	beatwright.KindWatch:     {"owner", "movement"},
	beatwright.KindJob:       {"number", "state", "watch", "owner"},
	beatwright.KindFinding:   {"job"},
	beatwright.KindFunction:  {"job"},
	beatwright.KindHandCheck: {"job"},
	beatwright.KindRound:     {"job"},
	beatwright.KindHearing:   {"job", "round"},
	beatwright.KindReading:   {"job", "hearing"},
	beatwright.KindNote:      {"job"},
	beatwright.KindPicture:   {"job", "number"},
	beatwright.KindMove:      {"job"},
	beatwright.KindQuestion:  nil,
}

// ofJob are the kinds that belong to one job, in the order they are read.
var ofJob = []beatwright.Kind{
	beatwright.KindFinding, beatwright.KindFunction, beatwright.KindHandCheck, beatwright.KindRound,
	beatwright.KindHearing, beatwright.KindReading, beatwright.KindNote, beatwright.KindPicture, beatwright.KindMove,
}

// value gives what a thing has in a column; nil for none.
func value(t beatwright.Thing, column string) any {
	l := t.Links()
	text := map[string]beatwright.ID{
		"owner": l.Owner, "watch": l.Watch, "movement": l.Movement, "job": l.Job, "round": l.Round, "hearing": l.Hearing,
	}
	if id, ok := text[column]; ok {
		if id == "" {
			return nil
		}
		return string(id)
	}
	switch t := t.(type) {
	case *beatwright.Job:
		return map[string]any{"number": t.Number, "state": string(t.State)}[column]
	case *beatwright.Picture:
		return t.Number
	}
	return nil
}

// act is one transaction that writes.
type act struct {
	context.Context
	*sql.Tx
	change  int64
	at      time.Time
	touched map[beatwright.Key]bool
	jobs    map[beatwright.ID]bool // whose lines must be made again
}

// Apply keeps a change whole.
func (s *Store) Apply(ctx context.Context, c beatwright.Change) (beatwright.Done, error) {
	if err := c.Check(); err != nil {
		return beatwright.Done{}, err
	}
	// The things are given their Rev and number only once all is kept.
	done := beatwright.Done{Who: c.Who, What: c.What, Job: c.Job}
	var kept []func()
	err := s.act(ctx, &done, func(a *act) error {
		for _, t := range c.Put {
			k, err := a.put(t)
			if err != nil {
				return err
			}
			kept = append(kept, k)
		}
		for _, k := range c.Remove {
			if err := a.remove(k); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return beatwright.Done{}, err
	}
	for _, k := range kept {
		k()
	}
	return done, nil
}

// act runs what between the line in the history and the commit.
func (s *Store) act(ctx context.Context, d *beatwright.Done, what func(*act) error) error {
	if s.write == nil {
		return &beatwright.Error{Code: beatwright.Busy, Text: "the record is open for reading only", Do: "make the change in the program that has the folder open"}
	}
	tx, err := s.write.BeginTx(ctx, nil)
	if err != nil {
		return storage("write the record", err)
	}
	defer tx.Rollback()
	d.At = s.now().UTC()
	a := &act{Context: ctx, Tx: tx, at: d.At, touched: map[beatwright.Key]bool{}, jobs: map[beatwright.ID]bool{}}
	r, err := tx.ExecContext(ctx, `INSERT INTO change (at, who, what, undoes) VALUES (?, ?, ?, ?)`, stamp(d.At), d.Who, d.What, d.Undoes)
	if err != nil {
		return storage("write the history", err)
	}
	if a.change, err = r.LastInsertId(); err != nil {
		return storage("write the history", err)
	}
	if err := what(a); err != nil {
		return inWords(err)
	}
	// The job is named last: the change may be the one that makes it.
	if d.Job != "" {
		if _, err := tx.ExecContext(ctx, `UPDATE change SET job = ? WHERE number = ?`, string(d.Job), a.change); err != nil {
			return inWords(err)
		}
		a.jobs[d.Job] = true
	}
	if err := a.lines(); err != nil {
		return inWords(err)
	}
	if err := tx.Commit(); err != nil {
		return storage("write the record", err)
	}
	d.Number = a.change
	return nil
}

const layout = "2006-01-02T15:04:05.000000000Z"

func stamp(t time.Time) string { return t.UTC().Format(layout) }

// put writes one thing and returns what makes its owner's copy agree.
func (a *act) put(t beatwright.Thing) (kept func(), err error) {
	k, h := beatwright.KeyOf(t), t.Header()
	before, rev, err := a.now(k)
	switch {
	case err != nil:
		return nil, err
	case rev != h.Rev:
		return nil, beatwright.ErrStale
	}
	number, restore, err := a.number(t, before)
	if err != nil {
		return nil, err
	}
	defer restore()
	body, err := encode(t, rev+1)
	if err != nil {
		return nil, err
	}
	if err := a.write(t, rev+1, body); err != nil {
		return nil, err
	}
	kept = func() {
		h.Rev = rev + 1
		number()
	}
	return kept, a.touch(k, before, body)
}

// encode gives the JSON of a thing as it will be kept, without touching it.
func encode(t beatwright.Thing, rev int) ([]byte, error) {
	h := t.Header()
	old := h.Rev
	h.Rev = rev
	defer func() { h.Rev = old }()
	body, err := json.Marshal(t)
	if err != nil {
		return nil, fmt.Errorf("write a %s down: %w", t.Kind(), err)
	}
	return body, nil
}

// now gives a thing's JSON (nil if it is not there) and its rev, which goes on
// counting even while it is removed.
func (a *act) now(k beatwright.Key) (body []byte, rev int, err error) {
	if _, ok := columns[k.Kind]; !ok {
		return nil, 0, &beatwright.Error{Code: beatwright.Wrong, Text: fmt.Sprintf("%q is no kind of thing", k.Kind)}
	}
	var removed int64
	err = a.QueryRowContext(a, `SELECT body, rev, removed FROM `+string(k.Kind)+` WHERE id = ?`, string(k.ID)).Scan(&body, &rev, &removed)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, 0, nil
	}
	if removed != 0 {
		body = nil
	}
	return body, rev, err
}

// write makes or replaces the row of a thing.
func (a *act) write(t beatwright.Thing, rev int, body []byte) error {
	names := append([]string{"id", "rev", "removed", "body"}, columns[t.Kind()]...)
	values := []any{string(t.Header().ID), rev, 0, string(body)}
	var set []string
	for _, c := range columns[t.Kind()] {
		values = append(values, value(t, c))
	}
	for _, n := range names[1:] {
		set = append(set, n+" = excluded."+n)
	}
	_, err := a.ExecContext(a, `INSERT INTO `+string(t.Kind())+` (`+strings.Join(names, ", ")+`) VALUES (?`+
		strings.Repeat(", ?", len(names)-1)+`) ON CONFLICT (id) DO UPDATE SET `+strings.Join(set, ", "), values...)
	return err
}

// remove takes a thing away: it stays, marked.
func (a *act) remove(k beatwright.Key) error {
	before, _, err := a.now(k)
	if err != nil {
		return err
	}
	if before == nil {
		return beatwright.NotFound(string(k.Kind), string(k.ID))
	}
	if _, err := a.ExecContext(a, `UPDATE `+string(k.Kind)+` SET removed = ?, rev = rev + 1 WHERE id = ?`, a.change, string(k.ID)); err != nil {
		return err
	}
	return a.touch(k, before, nil)
}

// touch writes what the change did to a thing.
func (a *act) touch(k beatwright.Key, before, after []byte) error {
	a.touched[k] = true
	if before != nil && slices.Contains(ofJob, k.Kind) {
		was, err := beatwright.Read(k.Kind, before)
		if err != nil {
			return err
		}
		a.jobs[was.Links().Job] = true // it may go to another
	}
	_, err := a.ExecContext(a, `INSERT INTO touch (change, kind, id, before, after) VALUES (?, ?, ?, ?, ?)`,
		a.change, string(k.Kind), string(k.ID), text(before), text(after))
	return err
}

func text(b []byte) any {
	if b == nil {
		return nil
	}
	return string(b)
}

// number gives a new job or picture its number; one that is there already, as
// before, and comes without, keeps the one it has. The thing itself is put back
// as it was by restore, and numbered for good by kept.
func (a *act) number(t beatwright.Thing, before []byte) (kept, restore func(), err error) {
	nothing := func() {}
	var old beatwright.Thing
	if before != nil {
		if old, err = beatwright.Read(t.Kind(), before); err != nil {
			return nil, nil, err
		}
	}
	switch t := t.(type) {
	case *beatwright.Job:
		if t.Number != "" {
			return nothing, nothing, nil
		}
		var n string
		if old, ok := old.(*beatwright.Job); ok {
			n = old.Number
		} else if n, err = a.nextJob(t.Opened.Year()); err != nil {
			return nil, nil, err
		}
		t.Number = n
		return func() { t.Number = n }, func() { t.Number = "" }, nil
	case *beatwright.Picture:
		if t.Number != 0 {
			return nothing, nothing, nil
		}
		var n int
		if old, ok := old.(*beatwright.Picture); ok && old.Job == t.Job {
			n = old.Number
		} else if err := a.QueryRowContext(a, `SELECT coalesce(max(number), 0) + 1 FROM picture WHERE job = ?`, string(t.Job)).Scan(&n); err != nil {
			return nil, nil, err
		}
		t.Number = n
		return func() { t.Number = n }, func() { t.Number = 0 }, nil
	}
	return nothing, nothing, nil
}

// nextJob gives the next free number of a year. Numbers of removed jobs are
// not given again.
func (a *act) nextJob(year int) (string, error) {
	var n int
	// In the words of the index job_order, so that it is asked.
	err := a.QueryRowContext(a, `SELECT coalesce(max(CAST(substr(number, 6) AS INTEGER)), 0) + 1 FROM job
		WHERE CAST(substr(number, 1, 4) AS INTEGER) = ?`, year).Scan(&n)
	return fmt.Sprintf("%04d-%03d", year, n), err
}

// inWords turns what SQLite says about a change into words.
func inWords(err error) error {
	if beatwright.CodeOf(err) != "" {
		return err
	}
	says := ""
	if result(err) == lib.SQLITE_CONSTRAINT {
		says = err.Error()
	}
	switch {
	case strings.Contains(says, "FOREIGN KEY"):
		return &beatwright.Error{Code: beatwright.Wrong, Text: "this refers to something that is not in the record", Err: err}
	case strings.Contains(says, "UNIQUE") || strings.Contains(says, "PRIMARY KEY"):
		return &beatwright.Error{Code: beatwright.Conflict, Text: "this number is taken", Err: err}
	}
	return storage("write the record", err)
}

// same tells whether two bodies say the same but for their Rev.
func same(a, b []byte) bool {
	if a == nil || b == nil {
		return a == nil && b == nil
	}
	return bytes.Equal(withoutRev(a), withoutRev(b))
}

func withoutRev(body []byte) []byte {
	var m map[string]json.RawMessage
	if json.Unmarshal(body, &m) != nil {
		return body
	}
	delete(m, "rev")
	out, err := json.Marshal(m)
	if err != nil {
		return body
	}
	return out
}
