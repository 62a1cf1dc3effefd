package sqlite_test

import (
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"beatwright"
	"beatwright/internal/sqlite"

	"pgregory.net/rapid"
)

var epoch = time.Date(2026, 11, 17, 9, 0, 0, 0, time.UTC)

// clock goes on by a second at every look, so that no two things are made at
// the same time.
func clock() func() time.Time {
	t := epoch
	return func() time.Time {
		t = t.Add(time.Second)
		return t
	}
}

func open(t testing.TB, dir string) *sqlite.Store {
	t.Helper()
	s, err := sqlite.Open(context.Background(), dir, sqlite.Options{Now: clock()})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	return s
}

func apply(t testing.TB, s *sqlite.Store, job beatwright.ID, what string, put ...beatwright.Thing) beatwright.Done {
	t.Helper()
	d, err := s.Apply(context.Background(), beatwright.Change{What: what, Job: job, Put: put})
	if err != nil {
		t.Fatalf("%s: %v", what, err)
	}
	return d
}

// aJob makes an owner, a watch and a job, all invented.
func aJob(n int) (*beatwright.Owner, *beatwright.Watch, *beatwright.Job) {
	id := func(kind string) beatwright.Entry {
		return beatwright.Entry{ID: beatwright.ID(fmt.Sprintf("%s-%05d", kind, n))}
	}
	o := &beatwright.Owner{Entry: id("owner"), Name: fmt.Sprintf("Ilse Marrow %d", n)}
	w := &beatwright.Watch{Entry: id("watch"), Owner: o.ID, Says: fmt.Sprintf("Quellmar Daycall\nno. %06d", 118200+n), What: "automatic alarm with date"}
	j := &beatwright.Job{Entry: id("job"), Watch: w.ID, Owner: o.ID, State: beatwright.Received, Opened: epoch, Complaint: "It stops in the night."}
	return o, w, j
}

func TestJobIsKeptNumberedAndFound(t *testing.T) {
	ctx := context.Background()
	dir := t.TempDir()
	s := open(t, dir)
	o, w, j := aJob(4)
	apply(t, s, j.ID, "received", o, w, j)
	if j.Number != "2026-001" || j.Rev != 1 {
		t.Errorf("number %q, rev %d; want 2026-001 and 1", j.Number, j.Rev)
	}
	apply(t, s, j.ID, "noted: crown worn",
		&beatwright.Finding{Entry: beatwright.Entry{ID: "f1"}, Job: j.ID, What: "Crown not its own", Condition: beatwright.WrongPart, At: epoch})
	s.Close()

	s = open(t, dir) // as after a restart
	p, err := s.Job(ctx, "2026-001")
	if err != nil {
		t.Fatal(err)
	}
	if p.Owner.Name != o.Name || p.Watch.Name() != "Quellmar Daycall" || len(p.OpenParts()) != 1 {
		t.Errorf("got owner %q, watch %q, %d open parts", p.Owner.Name, p.Watch.Name(), len(p.OpenParts()))
	}
	for words, want := range map[string]int{
		"quell": 1, "QUELL day": 1, "marrow": 1, "118204": 1, "crown": 1, "2026-001": 1, "1": 1,
		"alarm mar": 1, "ell": 0, "nothing": 0, `"; DROP TABLE job; --`: 0, "-": 0, "": 1, "*": 0, "quell OR nothing": 0,
	} {
		lines, err := s.Find(ctx, beatwright.Query{Words: words})
		if err != nil || len(lines) != want {
			t.Errorf("find %q: %d lines, error %v; want %d", words, len(lines), err, want)
		}
	}
	lines, err := s.Find(ctx, beatwright.Query{Kind: "ALARM", States: []beatwright.JobState{beatwright.Received}})
	if err != nil || len(lines) != 1 || lines[0].OpenParts != 1 {
		t.Errorf("by kind and state: %+v, %v", lines, err)
	}
	if lines, _ := s.Find(ctx, beatwright.Query{Kind: "%"}); len(lines) != 0 {
		t.Error("a percent sign is taken for any kind")
	}
}

func TestNumbersAreNotGivenTwice(t *testing.T) {
	ctx := context.Background()
	s := open(t, t.TempDir())
	o1, w1, j1 := aJob(1)
	apply(t, s, j1.ID, "received", o1, w1, j1)
	if _, err := s.Apply(ctx, beatwright.Change{What: "taken away", Remove: []beatwright.Key{beatwright.KeyOf(j1)}}); err != nil {
		t.Fatal(err)
	}
	o2, w2, j2 := aJob(2)
	apply(t, s, j2.ID, "received", o2, w2, j2)
	if j2.Number != "2026-002" {
		t.Errorf("the number after a removed 2026-001 is %s", j2.Number)
	}
	if lines, _ := s.Find(ctx, beatwright.Query{}); len(lines) != 1 {
		t.Errorf("%d jobs are listed, want the one that is there", len(lines))
	}
	o3, w3, j3 := aJob(3)
	j3.Number = "2026-002"
	_, err := s.Apply(ctx, beatwright.Change{What: "received", Job: j3.ID, Put: []beatwright.Thing{o3, w3, j3}})
	if beatwright.CodeOf(err) != beatwright.Conflict {
		t.Errorf("a number given twice: %v", err)
	}
}

func TestRefusedChangesLeaveNothing(t *testing.T) {
	ctx := context.Background()
	s := open(t, t.TempDir())
	o, w, j := aJob(1)
	apply(t, s, j.ID, "received", o, w, j)
	good := &beatwright.Note{Entry: beatwright.Entry{ID: "n1"}, Job: j.ID, Text: "ring her", At: epoch}
	stale := *w
	stale.Rev = 0
	orphan := &beatwright.Note{Entry: beatwright.Entry{ID: "n2"}, Job: "nowhere", Text: "lost", At: epoch}
	empty := &beatwright.Note{Entry: beatwright.Entry{ID: "n3"}, Job: j.ID}
	for name, tc := range map[string]struct {
		bad  beatwright.Thing
		want beatwright.Code
	}{
		"stale":  {&stale, beatwright.Conflict},
		"orphan": {orphan, beatwright.Wrong},
		"empty":  {empty, beatwright.Wrong},
	} {
		_, err := s.Apply(ctx, beatwright.Change{What: name, Job: j.ID, Put: []beatwright.Thing{good, tc.bad}})
		if beatwright.CodeOf(err) != tc.want {
			t.Errorf("%s: %v; want code %s", name, err, tc.want)
		}
		if good.Rev != 0 {
			t.Errorf("%s: the good half thinks it is kept", name)
		}
		if _, err := s.Get(ctx, beatwright.KeyOf(good)); beatwright.CodeOf(err) != beatwright.Missing {
			t.Errorf("%s: the good half of a refused change is there: %v", name, err)
		}
	}
	if h, _ := s.History(ctx, "", 0, 10); len(h) != 1 {
		t.Errorf("the history holds %d changes, want the one that was kept", len(h))
	}
}

func TestUndoAndRedo(t *testing.T) {
	ctx := context.Background()
	s := open(t, t.TempDir())
	o, w, j := aJob(1)
	apply(t, s, j.ID, "received", o, w, j)
	f := &beatwright.Finding{Entry: beatwright.Entry{ID: "f1"}, Job: j.ID, What: "Crown worn", Condition: beatwright.Worn, At: epoch}
	made := apply(t, s, j.ID, "noted: crown worn", f)
	f.Condition = beatwright.Damaged
	changed := apply(t, s, j.ID, "noted: crown damaged", f)

	if _, err := s.Undo(ctx, made.Number, ""); beatwright.CodeOf(err) != beatwright.Conflict || !strings.Contains(err.Error(), "crown damaged") {
		t.Errorf("undoing the earlier half: %v; want it refused, naming the later change", err)
	}
	undone, err := s.Undo(ctx, changed.Number, "")
	if err != nil {
		t.Fatal(err)
	}
	condition := func() beatwright.Condition {
		t.Helper()
		f, err := beatwright.Load[*beatwright.Finding](ctx, s, beatwright.KindFinding, "f1")
		if err != nil {
			return beatwright.Condition(beatwright.CodeOf(err))
		}
		return f.Condition
	}
	if got := condition(); got != beatwright.Worn {
		t.Errorf("after undo: %s, want worn", got)
	}
	if _, err := s.Undo(ctx, changed.Number, ""); beatwright.CodeOf(err) != beatwright.Conflict {
		t.Errorf("undone twice: %v", err)
	}
	if _, err := s.Undo(ctx, made.Number, ""); err != nil {
		t.Errorf("undoing what is now the last: %v", err)
	}
	if got := condition(); got != beatwright.Condition(beatwright.Missing) {
		t.Errorf("after undoing both: %s, want missing", got)
	}
	h, err := s.History(ctx, j.ID, 0, 10)
	if err != nil {
		t.Fatal(err)
	}
	if len(h) != 5 || h[0].Undoes != made.Number || h[3].UndoneBy == 0 {
		t.Errorf("history %+v", h)
	}
	if _, err := s.Undo(ctx, h[0].Number, ""); err != nil { // redo the making
		t.Error(err)
	}
	if _, err := s.Undo(ctx, undone.Number, ""); err != nil { // redo the change
		t.Error(err)
	}
	if got := condition(); got != beatwright.Damaged {
		t.Errorf("after doing both again: %s, want damaged", got)
	}
	h, _ = s.History(ctx, j.ID, 0, 1)
	if h[0].What != "done again: noted: crown damaged" {
		t.Errorf("a redo reads %q", h[0].What)
	}
}

// TestUndoingAllLeavesNothing: however things were written and removed, undone
// newest first nothing is left, and done again all is as it was.
func TestUndoingAllLeavesNothing(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	rapid.Check(t, func(rt *rapid.T) {
		s, err := sqlite.Open(ctx, mount(t, newDisk(nil)), options())
		if err != nil {
			rt.Fatal(err)
		}
		defer s.Close()
		o, w, j := aJob(1)
		var done []int64
		done = append(done, apply(t, s, j.ID, "received", o, w, j).Number)
		for range rapid.IntRange(1, 6).Draw(rt, "acts") {
			id := beatwright.ID(rapid.SampledFrom([]string{"a", "b", "c"}).Draw(rt, "note"))
			c := beatwright.Change{What: "act", Job: j.ID}
			n, err := beatwright.Load[*beatwright.Note](ctx, s, beatwright.KindNote, id)
			switch {
			case err != nil:
				c.Put = []beatwright.Thing{&beatwright.Note{Entry: beatwright.Entry{ID: id, Rev: s.Rev(t, beatwright.KindNote, id)}, Job: j.ID, Text: "new", At: epoch}}
			case rapid.Bool().Draw(rt, "remove"):
				c.Remove = []beatwright.Key{{Kind: beatwright.KindNote, ID: id}}
			default:
				n.Text += rapid.StringMatching(`[a-z]{1,3}`).Draw(rt, "words")
				c.Put = []beatwright.Thing{n}
			}
			d, err := s.Apply(ctx, c)
			if err != nil {
				rt.Fatal(err)
			}
			done = append(done, d.Number)
		}
		before := everything(rt, s)
		var undone []int64
		for i := len(done) - 1; i >= 0; i-- {
			d, err := s.Undo(ctx, done[i], "")
			if err != nil {
				rt.Fatalf("undo %d: %v", done[i], err)
			}
			undone = append(undone, d.Number)
		}
		if left := everything(rt, s); left != "" {
			rt.Fatalf("after undoing all there is still %s", left)
		}
		for i := len(undone) - 1; i >= 0; i-- {
			if _, err := s.Undo(ctx, undone[i], ""); err != nil {
				rt.Fatalf("do again %d: %v", undone[i], err)
			}
		}
		if after := everything(rt, s); after != before {
			rt.Fatalf("done again\n%s\nwas\n%s", after, before)
		}
		if err := s.Verify(ctx); err != nil {
			rt.Fatal(err)
		}
	})
}

// everything is all that is there, without Revs.
func everything(rt *rapid.T, s *sqlite.Store) string {
	var b strings.Builder
	for _, k := range []beatwright.Kind{beatwright.KindOwner, beatwright.KindWatch, beatwright.KindJob, beatwright.KindNote} {
		things, err := s.All(context.Background(), k)
		if err != nil {
			rt.Fatal(err)
		}
		for _, th := range things {
			th.Header().Rev = 0
			body, err := json.Marshal(th)
			if err != nil {
				rt.Fatal(err)
			}
			b.Write(append(body, '\n'))
		}
	}
	return b.String()
}

func TestNewerFolderIsRefusedInWords(t *testing.T) {
	dir := t.TempDir()
	s := open(t, dir)
	s.Close()
	db, err := sql.Open("sqlite", filepath.Join(dir, sqlite.File))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := db.Exec(`INSERT INTO goose_db_version (version_id, is_applied) VALUES (999, 1)`); err != nil {
		t.Fatal(err)
	}
	db.Close()
	for _, readOnly := range []bool{false, true} {
		_, err = sqlite.Open(context.Background(), dir, sqlite.Options{ReadOnly: readOnly})
		if beatwright.CodeOf(err) != beatwright.Newer || !strings.Contains(err.Error(), "nothing was touched") {
			t.Errorf("read only %v: %v", readOnly, err)
		}
	}
}

func TestReadersSeeButDoNotWrite(t *testing.T) {
	ctx := context.Background()
	dir := t.TempDir()
	s := open(t, dir)
	reader, err := sqlite.Open(ctx, dir, sqlite.Options{ReadOnly: true})
	if err != nil {
		t.Fatal(err)
	}
	defer reader.Close()
	o, w, j := aJob(1)
	apply(t, s, j.ID, "received", o, w, j)
	if _, err := reader.Job(ctx, j.Number); err != nil {
		t.Errorf("a reader beside the writer: %v", err)
	}
	if _, err := reader.Apply(ctx, beatwright.Change{What: "x", Remove: []beatwright.Key{beatwright.KeyOf(j)}}); beatwright.CodeOf(err) != beatwright.Busy {
		t.Errorf("a reader that writes: %v", err)
	}
}

// TestEveryConnectionSyncs: what DESIGN promises of the file holds in every
// connection, not only the first.
func TestPragmas(t *testing.T) {
	s := open(t, t.TempDir())
	for pragma, want := range map[string]string{"journal_mode": "wal", "synchronous": "2", "foreign_keys": "1", "busy_timeout": "5000"} {
		if got := s.Pragma(t, pragma); got != want {
			t.Errorf("%s is %s, want %s", pragma, got, want)
		}
	}
}
