package sqlite_test

import (
	"context"
	"fmt"
	"sync"
	"testing"

	"beatwright"
)

// TestReadingWhileJobsCome: papers are of one moment, so that a job that comes
// while they are read is in them whole or not at all.
func TestReadingWhileJobsCome(t *testing.T) {
	ctx := context.Background()
	s := open(t, t.TempDir())
	written := make(chan error, 1)
	go func() {
		for i := range 60 {
			o, w, j := aJob(i)
			f := &beatwright.Finding{
				Entry: beatwright.Entry{ID: beatwright.ID(fmt.Sprintf("f-%d", i))}, Job: j.ID,
				What: "Crown worn", Condition: beatwright.Worn, At: epoch,
			}
			if _, err := s.Apply(ctx, beatwright.Change{What: "received", Job: j.ID, Put: []beatwright.Thing{o, w, j, f}}); err != nil {
				written <- err
				return
			}
		}
		written <- nil
	}()
	for {
		papers, err := s.OpenJobs(ctx)
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range papers {
			if len(p.Findings) != 1 || p.Owner == nil {
				t.Fatalf("job %s has %d findings and owner %v", p.Job.Number, len(p.Findings), p.Owner)
			}
		}
		select {
		case err := <-written:
			if err != nil {
				t.Fatal(err)
			}
			return
		default:
		}
	}
}

// TestUndoneAtOnce: of several hands that undo the same at once, one does.
func TestUndoneAtOnce(t *testing.T) {
	ctx := context.Background()
	s := open(t, t.TempDir())
	o, w, j := aJob(1)
	apply(t, s, j.ID, "received", o, w, j)
	same := apply(t, s, j.ID, "said again", o) // changes nothing, so that nothing tells the second hand but the mark
	var wg sync.WaitGroup
	errs := make([]error, 8)
	for i := range errs {
		wg.Go(func() { _, errs[i] = s.Undo(ctx, same.Number, "") })
	}
	wg.Wait()
	done := 0
	for _, err := range errs {
		if err == nil {
			done++
		} else if beatwright.CodeOf(err) != beatwright.Conflict {
			t.Error(err)
		}
	}
	if done != 1 {
		t.Errorf("%d hands undid the same change, want 1", done)
	}
}

// TestChainOfUndoing: along undoings of undoings every other change stands, and
// the words say which.
func TestChainOfUndoing(t *testing.T) {
	ctx := context.Background()
	s := open(t, t.TempDir())
	o, w, j := aJob(1)
	last := apply(t, s, j.ID, "received", o, w, j)
	for i, want := range []string{"undone: received", "done again: received", "undone: received", "done again: received"} {
		d, err := s.Undo(ctx, last.Number, "")
		if err != nil {
			t.Fatal(err)
		}
		h, err := s.History(ctx, j.ID, 0, 10)
		if err != nil || d.What != want || h[0].What != want {
			t.Errorf("undoing %d reads %q and %q, %v; want %q", i+1, d.What, h[0].What, err, want)
		}
		for k, c := range h { // newest first: it stands, what it undoes does not
			if stands := k%2 == 0; stands != (c.UndoneBy == 0) {
				t.Errorf("after undoing %d change %d is undone by %d", i+1, c.Number, c.UndoneBy)
			}
		}
		last = d
	}
}

// TestGivenUp: a change given up by whoever asked is not there, is not called
// a failure of the disk, and the next one is kept.
func TestGivenUp(t *testing.T) {
	s := open(t, t.TempDir())
	o, w, j := aJob(1)
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, err := s.Apply(ctx, beatwright.Change{What: "received", Job: j.ID, Put: []beatwright.Thing{o, w, j}})
	if err == nil || beatwright.CodeOf(err) != "" || o.Rev != 0 {
		t.Errorf("given up: %v, rev %d", err, o.Rev)
	}
	if d := apply(t, s, j.ID, "received", o, w, j); d.Number != 1 {
		t.Errorf("the change after one given up has number %d, want 1", d.Number)
	}
}

// TestNumbersStay: a job or picture that is written again without its number
// keeps it.
func TestNumbersStay(t *testing.T) {
	s := open(t, t.TempDir())
	o, w, j := aJob(1)
	p, q := picture("p1")().(*beatwright.Picture), picture("p2")()
	apply(t, s, j.ID, "received", o, w, j, p, q)
	j.Number, p.Number = "", 0
	apply(t, s, j.ID, "written again", j, p)
	if j.Number != "2026-001" || p.Number != 1 {
		t.Errorf("job %s, picture %d; want 2026-001 and 1", j.Number, p.Number)
	}
}

// TestFindingGoesToAnotherJob: the lines of both jobs say so.
func TestFindingGoesToAnotherJob(t *testing.T) {
	s := open(t, t.TempDir())
	o1, w1, j1 := aJob(1)
	o2, w2, j2 := aJob(2)
	f := finding(4)().(*beatwright.Finding)
	f.Condition = beatwright.WrongPart
	apply(t, s, j1.ID, "received", o1, w1, j1, o2, w2, j2, f)
	f.Job = j2.ID
	apply(t, s, j2.ID, "was of the other", f)
	lines, err := s.Find(context.Background(), beatwright.Query{Words: "marred"})
	if err != nil || len(lines) != 1 || lines[0].ID != j2.ID {
		t.Errorf("found in %+v, %v; want %s alone", lines, err, j2.ID)
	}
	lines, err = s.Find(context.Background(), beatwright.Query{})
	if err != nil || len(lines) != 2 || lines[0].OpenParts != 1 || lines[1].OpenParts != 0 {
		t.Errorf("lines %+v, %v; want the open part with the second job", lines, err)
	}
}
