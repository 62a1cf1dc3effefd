package sqlite_test

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"beatwright"
	"beatwright/internal/sqlite"
)

// inWords wants an error that a person can do something with.
func inWords(t *testing.T, err error, says ...string) {
	t.Helper()
	e, ok := errors.AsType[*beatwright.Error](err)
	if !ok || e.Code != beatwright.Storage || e.Do == "" {
		t.Errorf("%v (%T) is not an error of storage with something to do", err, err)
		return
	}
	for _, want := range says {
		if !strings.Contains(e.Text, want) {
			t.Errorf("%q does not say %q", e.Text, want)
		}
	}
}

// unchanged wants the record to hold what was acknowledged last, and no more.
func (l *lived) unchanged(t *testing.T, s *sqlite.Store) {
	t.Helper()
	if s == nil || len(l.told) == 0 {
		return
	}
	all, err := whole(s)
	if err != nil {
		t.Errorf("after a refusal the record does not answer: %v", err)
	} else if all != l.told[len(l.told)-1].all {
		t.Error("a change that was refused is there, or one that was acknowledged is not")
	}
}

// survives wants every acknowledgement to outlive some crashes, drawn.
func (l *lived) survives(t *testing.T, r *rand.Rand, draw int) {
	t.Helper()
	for range draw {
		n, how := r.IntN(len(l.disk.log)+1), crash(r.IntN(len(crashes)))
		acknowledged, next := l.at(n)
		if trouble := check(t, image(l.disk.log, n, how, r), acknowledged, next); trouble != "" {
			t.Errorf("%s after operation %d: %s", crashes[how], n, trouble)
		}
	}
}

// TestFullDisk: however little room there is, what does not fit is refused in
// words, nothing acknowledged is lost, and with room again the same open record
// goes on.
func TestFullDisk(t *testing.T) {
	t.Parallel()
	whole := lived{disk: newDisk(nil)}
	whole.live(t, day())
	most := whole.disk.most
	rooms := 20
	if testing.Short() {
		rooms = 8
	}
	r := rand.New(rand.NewPCG(5, 6))
	refusals := 0
	for i := range rooms {
		room := most * int64(i) / int64(rooms)
		room += r.Int64N(most / int64(rooms))
		t.Run(fmt.Sprintf("room for %d bytes", room), func(t *testing.T) {
			l := lived{disk: newDisk(nil)}
			l.disk.room = room
			l.refused = func(l *lived, s *sqlite.Store, err error) {
				refusals++
				inWords(t, err, "could not", "the disk is full")
				l.unchanged(t, s)
				l.disk.set(func(d *disk) { d.room = -1 })
			}
			l.live(t, day())
			l.survives(t, r, 3)
		})
	}
	if refusals < rooms*9/10 {
		t.Errorf("only %d refusals for %d disks too small", refusals, rooms)
	}
	t.Logf("%d refusals", refusals)
}

// TestFailingDisk: a third of the day's syncs (where every moment is asked for,
// all) and some of all else that the disk is asked for fail once each. A change
// whose sync failed is not acknowledged, and later syncs that go well do not
// make safe what waited for that one, as on systems that forget what they could
// not write.
func TestFailingDisk(t *testing.T) {
	t.Parallel()
	var whole lived
	counts := map[deed]int{}
	whole.disk = newDisk(nil)
	whole.disk.sulk = func(o op) bool { counts[o.deed]++; return false }
	whole.spoil = func(s *sqlite.Store) { s.SetPragma(t, "wal_autocheckpoint=30") }
	whole.live(t, day())
	r := rand.New(rand.NewPCG(7, 8))
	refusals, tries := 0, 0
	for what, name := range map[deed]string{synced: "sync", wrote: "write", truncated: "truncation", created: "creation", deleted: "deletion"} {
		step := 1
		if what == wrote {
			step = counts[what] / 12
		}
		switch {
		case testing.Short():
			step *= 10
		case what == synced && !every:
			step = 3
		}
		for n := 1; n <= counts[what]; n += step {
			tries++
			t.Run(fmt.Sprintf("%s %d", name, n), func(t *testing.T) {
				l := lived{disk: newDisk(nil), spoil: whole.spoil}
				left := n
				l.disk.sulk = func(o op) bool {
					if o.deed == what {
						left--
					}
					return o.deed == what && left == 0
				}
				l.refused = func(l *lived, s *sqlite.Store, err error) {
					refusals++
					inWords(t, err)
					l.unchanged(t, s)
				}
				l.live(t, day())
				l.survives(t, r, 2)
			})
		}
	}
	t.Logf("%d refusals in %d days with one failure each", refusals, tries)
}

// TestReadOnlyFolder: where nothing can be written the record says so.
func TestReadOnlyFolder(t *testing.T) {
	ctx := context.Background()
	t.Run("empty", func(t *testing.T) {
		d := newDisk(nil)
		d.readOnly = true
		_, err := sqlite.Open(ctx, mount(t, d), options())
		inWords(t, err, "could not", "cannot be")
	})
	l := lived{disk: newDisk(nil)}
	l.live(t, day()[:4])
	t.Run("with a record", func(t *testing.T) {
		d := newDisk(image(l.disk.log, len(l.disk.log), kept, nil))
		d.readOnly = true
		_, err := sqlite.Open(ctx, mount(t, d), options())
		inWords(t, err, "could not", "cannot be")
	})
	t.Run("with a record that was not closed", func(t *testing.T) {
		d := newDisk(image(l.disk.log, l.told[2].after, kept, nil))
		d.readOnly = true
		_, err := sqlite.Open(ctx, mount(t, d), options())
		inWords(t, err, "could not", "cannot be")
		d.readOnly = false
		if trouble := check(t, image(d.log, len(d.log), lost, nil), &l.told[2], nil); trouble != "" {
			t.Error(trouble)
		}
	})
	t.Run("while open", func(t *testing.T) {
		l := lived{disk: newDisk(nil)}
		l.spoil = func(*sqlite.Store) { l.disk.set(func(d *disk) { d.readOnly = true }) }
		l.refused = func(l *lived, s *sqlite.Store, err error) {
			inWords(t, err, "could not", "cannot be")
			l.unchanged(t, s)
			l.disk.set(func(d *disk) { d.readOnly = false })
		}
		l.live(t, day()[:4])
	})
}
