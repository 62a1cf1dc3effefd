package sqlite_test

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"testing"

	"beatwright"
	"beatwright/internal/sqlite"
)

// act is one change to a record, made from what the record holds, so that it
// can be tried again when it was refused.
type act func(context.Context, *sqlite.Store) error

func puts(what string, things ...func() beatwright.Thing) act {
	return func(ctx context.Context, s *sqlite.Store) error {
		c := beatwright.Change{Who: "Ilse", What: what, Job: "job-00001"}
		for _, t := range things {
			c.Put = append(c.Put, t())
		}
		_, err := s.Apply(ctx, c)
		return err
	}
}

func alters[T beatwright.Thing](what string, kind beatwright.Kind, id beatwright.ID, how func(T)) act {
	return func(ctx context.Context, s *sqlite.Store) error {
		t, err := beatwright.Load[T](ctx, s, kind, id)
		if err != nil {
			return err
		}
		how(t)
		_, err = s.Apply(ctx, beatwright.Change{What: what, Job: "job-00001", Put: []beatwright.Thing{t}})
		return err
	}
}

func removes(kind beatwright.Kind, id beatwright.ID) act {
	return func(ctx context.Context, s *sqlite.Store) error {
		_, err := s.Apply(ctx, beatwright.Change{What: "taken away", Job: "job-00001", Remove: []beatwright.Key{{Kind: kind, ID: id}}})
		return err
	}
}

// undoes takes back the newest change of these words.
func undoes(what string) act {
	return func(ctx context.Context, s *sqlite.Store) error {
		h, err := s.History(ctx, "", 0, 1000)
		if err != nil {
			return err
		}
		for _, d := range h {
			if d.What == what {
				_, err := s.Undo(ctx, d.Number, "Ilse")
				return err
			}
		}
		return errors.New("no such change")
	}
}

func note(id, text string) func() beatwright.Thing {
	return func() beatwright.Thing {
		return &beatwright.Note{Entry: beatwright.Entry{ID: beatwright.ID(id)}, Job: "job-00001", Text: text, At: epoch}
	}
}

func finding(n int) func() beatwright.Thing {
	what := []string{"Crown not its own", "Case scratched", "Hands bent", "Dial cracked at four", "Screw heads marred"}[n]
	return func() beatwright.Thing {
		return &beatwright.Finding{
			Entry: beatwright.Entry{ID: beatwright.ID(fmt.Sprintf("f%d", n))}, Job: "job-00001",
			What: what, Condition: beatwright.Conditions[n], At: epoch,
		}
	}
}

func picture(id string) func() beatwright.Thing {
	return func() beatwright.Thing {
		return &beatwright.Picture{Entry: beatwright.Entry{ID: beatwright.ID(id)}, Job: "job-00001", File: id + ".jpg", Says: "the movement", At: epoch}
	}
}

// arrives receives the n-th invented job.
func arrives(n int) act {
	return func(ctx context.Context, s *sqlite.Store) error {
		o, w, j := aJob(n)
		_, err := s.Apply(ctx, beatwright.Change{What: fmt.Sprintf("received %d", n), Job: j.ID, Put: []beatwright.Thing{o, w, j}})
		return err
	}
}

// day is what a day at an invented bench writes; nil is where the program is
// ended and started again.
func day() []act {
	long := strings.Repeat("The going train was taken out, cleaned, and put back with its own screws. ", 250)
	return []act{
		arrives(1),
		puts("noted: crown", finding(0)),
		puts("noted: case and hands", finding(1), finding(2)),
		alters("noted: crown worn", "finding", "f0", func(f *beatwright.Finding) { f.Condition, f.Note = beatwright.Worn, "teeth rounded" }),
		undoes("noted: crown worn"),
		undoes("undone: noted: crown worn"),
		puts("note", note("n1", "She needs it for a wedding.")),
		puts("long note", note("n2", long)),
		puts("pictures", picture("p1"), picture("p2")),
		removes("note", "n1"),
		nil,
		arrives(2),
		puts("noted: dial", finding(3)),
		alters("owner moved", "owner", "owner-00001", func(o *beatwright.Owner) { o.Phone = "001 234" }),
		alters("quoted", "job", "job-00001", func(j *beatwright.Job) { j.State = beatwright.Quoted }),
		undoes("taken away"),
		puts("another long note", note("n3", long[1:])),
		alters("note longer", "note", "n1", func(n *beatwright.Note) { n.Text += " In June." }),
		undoes("quoted"),
		nil,
		puts("noted: screws", finding(4)),
		undoes("another long note"),
		arrives(3),
		removes("finding", "f1"),
		undoes("undone: quoted"),
		puts("last", note("n4", "Ring her on Friday."), picture("p3")),
	}
}

// told is a moment at which the program was told that all is kept.
type told struct {
	after int    // operations of the disk
	all   string // what the record then held
}

// lived is a day on a disk: the record, and all that was acknowledged.
type lived struct {
	disk *disk
	told []told
	// spoil changes the settings of each store after it is opened.
	spoil func(*sqlite.Store)
	// refused is called when something failed, and makes trying again worth
	// while; nil is for days on which nothing may fail.
	refused func(l *lived, s *sqlite.Store, err error)
}

// live goes through a day, noting each acknowledgement.
func (l *lived) live(t testing.TB, acts []act) {
	t.Helper()
	ctx := context.Background()
	dir := mount(t, l.disk)
	s := l.open(t, dir)
	l.note(t, s)
	for i, a := range acts {
		if a == nil {
			if err := s.Close(); err != nil && l.refused == nil {
				t.Fatal(err)
			}
			s = l.open(t, dir)
			continue
		}
		err := a(ctx, s)
		if err != nil && l.refused != nil {
			l.refused(l, s, err)
			err = a(ctx, s)
		}
		if err != nil {
			t.Fatalf("act %d: %v", i, err)
		}
		l.note(t, s)
	}
	if err := s.Close(); err != nil && l.refused == nil {
		t.Fatal(err)
	}
}

func (l *lived) open(t testing.TB, dir string) *sqlite.Store {
	t.Helper()
	s, err := sqlite.Open(context.Background(), dir, options())
	if err != nil && l.refused != nil {
		l.refused(l, nil, err)
		s, err = sqlite.Open(context.Background(), dir, options())
	}
	if err != nil {
		t.Fatal(err)
	}
	if l.spoil != nil {
		l.spoil(s)
	}
	return s
}

func (l *lived) note(t testing.TB, s *sqlite.Store) {
	t.Helper()
	at := l.disk.done() // before reading, which must not be what makes it safe
	all, err := whole(s)
	if err != nil {
		t.Fatal(err)
	}
	l.told = append(l.told, told{at, all})
}

// whole is all that a record says when asked: every thing, the history and
// what each change did, the list, and what is found by words.
func whole(s *sqlite.Store) (string, error) {
	ctx := context.Background()
	var b strings.Builder
	var errs []error
	say := func(v any, err error) {
		body, err2 := json.Marshal(v)
		b.Write(append(body, '\n'))
		errs = append(errs, err, err2)
	}
	for _, k := range sqlite.Kinds {
		things, err := s.All(ctx, k)
		say(things, err)
	}
	history, err := s.History(ctx, "", 0, 1000)
	say(history, err)
	for _, d := range history {
		touched, err := s.Touched(ctx, d.Number)
		say(touched, err)
	}
	for _, words := range []string{"", "crown", "train clean", "marrow", "wedding", "2026-002"} {
		lines, err := s.Find(ctx, beatwright.Query{Words: words})
		say(lines, err)
	}
	return b.String(), errors.Join(errs...)
}
