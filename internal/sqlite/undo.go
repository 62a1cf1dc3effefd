package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"beatwright"
)

// Undo appends the inverse of a change. It is refused where a later change has
// touched the same things, since taking back only the earlier half would leave
// what nobody ever wrote.
func (s *Store) Undo(ctx context.Context, number int64, who string) (beatwright.Done, error) {
	done := beatwright.Done{Who: who, Undoes: number}
	err := s.act(ctx, &done, func(a *act) error { return a.undo(number, &done) })
	if err != nil {
		return beatwright.Done{}, err
	}
	return done, nil
}

// undo is all of one transaction, what it goes by too: of two hands that undo
// the same at once, the second is told.
func (a *act) undo(number int64, done *beatwright.Done) error {
	was, err := change(a, a.Tx, number)
	if err != nil {
		return err
	}
	if was.UndoneBy != 0 {
		return &beatwright.Error{Code: beatwright.Conflict, Text: fmt.Sprintf("“%s” is undone already", was.What)}
	}
	touches, err := touches(a, a.Tx, number)
	if err != nil {
		return err
	}
	for _, t := range touches {
		if err := a.putBack(number, t); err != nil {
			return err
		}
	}
	done.Job = was.Job
	done.What, err = a.stands(was)
	if err != nil {
		return err
	}
	_, err = a.ExecContext(a, `UPDATE change SET what = ? WHERE number = ?`, done.What, a.change)
	return err
}

// stands marks which changes stand now that was is undone, and gives the words
// for it. Along a chain of undoings every other one stands: what an undone undo
// took back stands again, and what that had taken back does not.
func (a *act) stands(was beatwright.Done) (words string, err error) {
	by := a.change
	for undone := true; ; undone = !undone {
		mark, what := int64(0), "done again: "
		if undone {
			mark, what = by, beatwright.Undone
		}
		if _, err := a.ExecContext(a, `UPDATE change SET undone_by = ? WHERE number = ?`, mark, was.Number); err != nil {
			return "", err
		}
		if was.Undoes == 0 {
			return what + was.What, nil
		}
		by = was.Number
		if was, err = change(a, a.Tx, was.Undoes); err != nil {
			return "", err
		}
	}
}

// putBack makes one thing what it was before the change.
func (a *act) putBack(number int64, t beatwright.Touch) error {
	now, rev, err := a.now(t.Key)
	if err != nil {
		return err
	}
	if !same(now, t.After) {
		return a.changedLater(number, t.Key)
	}
	if t.Before == nil {
		return a.remove(t.Key)
	}
	thing, err := beatwright.Read(t.Kind, t.Before)
	if err != nil {
		return err
	}
	body, err := encode(thing, rev+1)
	if err != nil {
		return err
	}
	if err := a.write(thing, rev+1, body); err != nil {
		return err
	}
	return a.touch(t.Key, now, body)
}

// changedLater names the change that stands in the way of an undo.
func (a *act) changedLater(number int64, k beatwright.Key) error {
	e := &beatwright.Error{Code: beatwright.Conflict, Text: "this was changed again later", Do: "undo that first"}
	var what string
	err := a.QueryRowContext(a, `SELECT c.what FROM touch t JOIN change c ON c.number = t.change
		WHERE t.kind = ? AND t.id = ? AND t.change > ? AND t.change < ? ORDER BY t.change DESC LIMIT 1`,
		string(k.Kind), string(k.ID), number, a.change).Scan(&what)
	if err == nil {
		e.Text = "this was changed again later: “" + what + "”"
	}
	return e
}

// change gives one line of the history.
func change(ctx context.Context, q rowQuerier, number int64) (beatwright.Done, error) {
	row := q.QueryRowContext(ctx, `SELECT `+doneColumns+` FROM change WHERE number = ?`, number)
	d, err := scanDone(row)
	if errors.Is(err, sql.ErrNoRows) {
		return d, beatwright.ErrNothing
	}
	return d, err
}

const doneColumns = `number, at, who, what, coalesce(job, ''), undoes, undone_by`

func scanDone(row interface{ Scan(...any) error }) (beatwright.Done, error) {
	var d beatwright.Done
	var at string
	if err := row.Scan(&d.Number, &at, &d.Who, &d.What, &d.Job, &d.Undoes, &d.UndoneBy); err != nil {
		return d, err
	}
	var err error
	d.At, err = time.Parse(layout, at)
	return d, err
}

// History gives changes, newest first.
func (s *Store) History(ctx context.Context, job beatwright.ID, before int64, limit int) ([]beatwright.Done, error) {
	if before <= 0 {
		before = 1 << 62
	}
	query, args := `SELECT `+doneColumns+` FROM change WHERE number < ?`, []any{before}
	if job != "" {
		query, args = query+` AND job = ?`, append(args, string(job))
	}
	rows, err := s.read.QueryContext(ctx, query+` ORDER BY number DESC LIMIT ?`, append(args, limit)...)
	if err != nil {
		return nil, storage("read the history", err)
	}
	defer rows.Close()
	var out []beatwright.Done
	for rows.Next() {
		d, err := scanDone(rows)
		if err != nil {
			return nil, storage("read the history", err)
		}
		out = append(out, d)
	}
	return out, storage("read the history", rows.Err())
}

// Touched gives what a change did.
func (s *Store) Touched(ctx context.Context, number int64) ([]beatwright.Touch, error) {
	return touches(ctx, s.read, number)
}

func touches(ctx context.Context, q querier, number int64) ([]beatwright.Touch, error) {
	rows, err := q.QueryContext(ctx, `SELECT kind, id, before, after FROM touch WHERE change = ?`, number)
	if err != nil {
		return nil, storage("read the history", err)
	}
	defer rows.Close()
	var out []beatwright.Touch
	for rows.Next() {
		var t beatwright.Touch
		if err := rows.Scan(&t.Kind, &t.ID, &t.Before, &t.After); err != nil {
			return nil, storage("read the history", err)
		}
		out = append(out, t)
	}
	return out, rows.Err()
}

type querier interface {
	QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error)
}
