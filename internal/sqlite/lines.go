package sqlite

import (
	"encoding/json"
	"slices"
	"strings"
	"unicode"

	"beatwright"
)

// matching writes what was typed as an FTS5 question: every word must begin a
// word of the job. Signs part words, as they do in the index; what was typed
// can hold nothing that means something to FTS5.
func matching(typed string) string {
	fields := strings.FieldsFunc(typed, func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsNumber(r) && !unicode.IsMark(r) })
	for i, f := range fields {
		fields[i] = `"` + f + `"*`
	}
	return strings.Join(fields, " ")
}

// lines makes again the lines and words of every job that the change shows in.
func (a *act) lines() error {
	for k := range a.touched {
		if err := a.jobsOf(k); err != nil {
			return err
		}
	}
	var jobs []beatwright.ID
	for id := range a.jobs {
		jobs = append(jobs, id)
	}
	slices.Sort(jobs)
	for _, id := range jobs {
		if err := a.line(id); err != nil {
			return err
		}
	}
	return nil
}

// jobsOf notes the jobs in whose lines a thing shows.
func (a *act) jobsOf(k beatwright.Key) error {
	query := map[beatwright.Kind]string{
		beatwright.KindJob:   `SELECT id FROM job WHERE id = ?`,
		beatwright.KindWatch: `SELECT id FROM job WHERE watch = ?`,
		beatwright.KindOwner: `SELECT id FROM job WHERE owner = ?`,
		beatwright.KindMovement: `SELECT j.id FROM job j JOIN watch w ON w.id = j.watch
			WHERE w.movement = ?`,
	}[k.Kind]
	if slices.Contains(ofJob, k.Kind) {
		query = `SELECT job FROM ` + string(k.Kind) + ` WHERE id = ?`
	}
	if query == "" {
		return nil
	}
	rows, err := a.QueryContext(a, query, string(k.ID))
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var id beatwright.ID
		if err := rows.Scan(&id); err != nil {
			return err
		}
		a.jobs[id] = true
	}
	return rows.Err()
}

// line writes the line of a job, and the words it is found by.
func (a *act) line(id beatwright.ID) error {
	var seq int64
	var body []byte
	var removed int64
	if err := a.QueryRowContext(a, `SELECT seq, body, removed FROM job WHERE id = ?`, string(id)).Scan(&seq, &body, &removed); err != nil {
		return err
	}
	if _, err := a.ExecContext(a, `DELETE FROM words WHERE rowid = ?`, seq); err != nil {
		return err
	}
	if removed != 0 {
		return nil
	}
	t, err := beatwright.Read(beatwright.KindJob, body)
	if err != nil {
		return err
	}
	l, words, err := a.sum(t.(*beatwright.Job))
	if err != nil {
		return err
	}
	out, err := json.Marshal(l)
	if err != nil {
		return err
	}
	if _, err := a.ExecContext(a, `INSERT INTO line (seq, body) VALUES (?, ?) ON CONFLICT (seq) DO UPDATE SET body = excluded.body`, seq, string(out)); err != nil {
		return err
	}
	_, err = a.ExecContext(a, `INSERT INTO words (rowid, said) VALUES (?, ?)`, seq, strings.Join(words, "\n"))
	return err
}

// sum gathers what the list shows of a job and what it is found by.
func (a *act) sum(j *beatwright.Job) (beatwright.Line, []string, error) {
	l := beatwright.Line{ID: j.ID, Number: j.Number, State: j.State, Opened: j.Opened, Deadline: j.Wishes.Deadline, Changed: a.at}
	words := []string{j.Number, strings.TrimLeft(j.Number[5:], "0"), string(j.State), j.Complaint}
	if p := j.Prospect; p != nil {
		words = append(words, p.Says, p.Seller)
	}
	for _, k := range []beatwright.Key{{Kind: beatwright.KindWatch, ID: j.Watch}, {Kind: beatwright.KindOwner, ID: j.Owner}} {
		t, err := get(a, a.Tx, k)
		if beatwright.CodeOf(err) == beatwright.Missing {
			continue
		}
		if err != nil {
			return l, nil, err
		}
		switch t := t.(type) {
		case *beatwright.Watch:
			l.Watch, l.Kind = t.Name(), t.What
			words = append(words, t.Called, t.Says, t.What, t.Case, t.Works, t.About, t.Note)
		case *beatwright.Owner:
			l.Owner = t.Name
			words = append(words, t.Name, t.Phone, t.Mail)
		}
	}
	err := a.ofJob(j.ID, func(t beatwright.Thing) {
		switch t := t.(type) {
		case *beatwright.Finding:
			if j.State.Here() && t.StandsOpen() {
				l.OpenParts++
			}
			if !t.None {
				words = append(words, t.What, t.Note, t.Suggests)
			}
		case *beatwright.Note:
			words = append(words, t.Text)
		case *beatwright.Picture:
			words = append(words, t.Says)
		case *beatwright.Move:
			words = append(words, t.To)
		}
	})
	return l, words, err
}

// ofJob gives the things of a job that have words.
func (a *act) ofJob(job beatwright.ID, each func(beatwright.Thing)) error {
	for _, kind := range []beatwright.Kind{beatwright.KindFinding, beatwright.KindNote, beatwright.KindPicture, beatwright.KindMove} {
		rows, err := a.QueryContext(a, `SELECT body FROM `+string(kind)+` WHERE job = ? AND removed = 0`, string(job))
		if err != nil {
			return err
		}
		for rows.Next() {
			var body []byte
			if err := rows.Scan(&body); err != nil {
				rows.Close()
				return err
			}
			t, err := beatwright.Read(kind, body)
			if err != nil {
				rows.Close()
				return err
			}
			each(t)
		}
		if err := rows.Err(); err != nil {
			return err
		}
		rows.Close()
	}
	return nil
}
