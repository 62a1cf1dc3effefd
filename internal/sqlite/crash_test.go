package sqlite_test

import (
	"context"
	"crypto/sha256"
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"slices"
	"testing"

	"beatwright"
	"beatwright/internal/sqlite"
)

// every says that each moment of the day is to be tried in each way, which
// takes minutes; otherwise what can only be drawn is drawn.
var every = os.Getenv("BEATWRIGHT_CRASH") == "every"

// TestNothingAcknowledgedIsLost: the power fails after each operation that
// the disk was asked for in a day's work, in several ways; the folder is
// opened afterwards, and holds all that had been acknowledged, and of what
// had not been acknowledged everything or nothing.
func TestNothingAcknowledgedIsLost(t *testing.T) {
	t.Parallel()
	for _, pages := range []int{1000, 30} { // of the log before SQLite puts them where they belong; 1000 is its own choice
		t.Run(fmt.Sprintf("checkpoint at %d pages", pages), func(t *testing.T) {
			l := lived{disk: newDisk(nil), spoil: func(s *sqlite.Store) { s.SetPragma(t, fmt.Sprintf("wal_autocheckpoint=%d", pages)) }}
			l.live(t, day())
			c := campaign{day: &l, draw: 30}
			if testing.Short() {
				c.draw = 15
			}
			for _, trouble := range c.run(t) {
				t.Error(trouble)
			}
			t.Logf("%d operations, %d acknowledgements; %d crashes, %d different disks opened; %d between an acknowledgement and the next sync",
				len(l.disk.log), len(l.told), c.crashes, c.opened, c.between)
		})
	}
}

// TestCrashesFindLoss is a test of the test: where SQLite is told to sync less
// than the record promises, or the disk lies about it, loss is found.
func TestCrashesFindLoss(t *testing.T) {
	for name, spoil := range map[string]func(*lived){
		"synchronous=OFF":    func(l *lived) { l.spoil = func(s *sqlite.Store) { s.SetPragma(t, "synchronous=OFF") } },
		"synchronous=NORMAL": func(l *lived) { l.spoil = func(s *sqlite.Store) { s.SetPragma(t, "synchronous=NORMAL") } },
		"a disk that lies":   func(l *lived) { l.disk.lies = true },
	} {
		t.Run(name, func(t *testing.T) {
			l := lived{disk: newDisk(nil)}
			spoil(&l)
			l.live(t, day())
			c := campaign{day: &l, draw: 5, enough: 5}
			found := c.run(t)
			if len(found) == 0 {
				t.Fatal("nothing was found to be lost")
			}
			t.Logf("%d of %d disks found wanting; the first: %s", len(found), c.opened, found[0])
		})
	}
}

// TestCrashWhileRecovering: the power fails again while the folder is opened
// after a crash, or soon after.
func TestCrashWhileRecovering(t *testing.T) {
	t.Parallel()
	l := lived{disk: newDisk(nil), spoil: func(s *sqlite.Store) { s.SetPragma(t, "wal_autocheckpoint=30") }}
	l.live(t, day()[:14])
	r := rand.New(rand.NewPCG(3, 4))
	opened := 0
	for range 8 {
		how := []crash{torn, subset}[r.IntN(2)]
		again := lived{disk: newDisk(image(l.disk.log, r.IntN(len(l.disk.log)+1), how, r))}
		before := again.disk.done()
		again.live(t, []act{arrives(9), nil, arrives(8)})
		c := campaign{day: &again, from: before, draw: 8}
		for _, trouble := range c.run(t) {
			t.Error(trouble)
		}
		opened += c.opened
	}
	t.Logf("%d different disks opened after a second crash", opened)
}

// campaign lets the power fail during a day.
type campaign struct {
	day  *lived
	from int // the operation to begin with
	draw int // how many moments are tried in the ways that leave each another disk
	// enough troubles end it; 0 for any number.
	enough int
	seen   map[[32]byte]bool

	crashes, opened, between int
}

// run gives what was found wanting.
func (c *campaign) run(t *testing.T) (troubles []string) {
	log := c.day.disk.log
	c.seen = map[[32]byte]bool{}
	r := rand.New(rand.NewPCG(1, 2))
	drawn := map[int]bool{}
	for range c.draw {
		drawn[c.from+r.IntN(len(log)+1-c.from)] = true
	}
	for n := c.from; n <= len(log); n++ {
		for how := range crash(len(crashes)) {
			// Whatever waited is lost: few different disks, so every moment.
			if how != lost && !drawn[n] && !every {
				continue
			}
			if trouble := c.fail(t, n, how, r); trouble != "" {
				troubles = append(troubles, fmt.Sprintf("%s after operation %d of %d: %s", crashes[how], n, len(log), trouble))
			}
			if c.enough > 0 && len(troubles) >= c.enough {
				return troubles
			}
		}
	}
	return troubles
}

// fail lets the power fail once after n operations, and looks at the folder.
func (c *campaign) fail(t *testing.T, n int, how crash, r *rand.Rand) string {
	c.crashes++
	acknowledged, next := c.day.at(n)
	log := c.day.disk.log
	if acknowledged != nil && !slices.ContainsFunc(log[acknowledged.after:n], func(o op) bool { return o.deed == synced }) {
		c.between++
	}
	files := image(log, n, how, r)
	key := hash(files, acknowledged)
	if c.seen[key] {
		return ""
	}
	c.seen[key] = true
	c.opened++
	return check(t, files, acknowledged, next)
}

// at gives what had been acknowledged last after n operations of the disk,
// and what would have been next; nil for none.
func (l *lived) at(n int) (acknowledged, next *told) {
	for i := range l.told {
		if l.told[i].after > n {
			return acknowledged, &l.told[i]
		}
		acknowledged = &l.told[i]
	}
	return acknowledged, nil
}

func hash(files map[string][]byte, after *told) [32]byte {
	h := sha256.New()
	fmt.Fprintf(h, "%p", after)
	for _, name := range slices.Sorted(maps.Keys(files)) {
		fmt.Fprintf(h, "%q %d", name, len(files[name]))
		h.Write(files[name])
	}
	return [32]byte(h.Sum(nil))
}

// check opens what a crash has left, and says what is wrong with it.
func check(t *testing.T, files map[string][]byte, acknowledged, next *told) (trouble string) {
	ctx := context.Background()
	s, err := sqlite.Open(ctx, mount(t, newDisk(files)), options())
	if err != nil {
		return "it does not open: " + err.Error()
	}
	defer s.Close()
	if err := s.Verify(ctx); err != nil {
		return err.Error()
	}
	all, err := whole(s)
	switch {
	case err != nil:
		return err.Error()
	case acknowledged != nil && all == acknowledged.all:
	case next != nil && all == next.all:
	default:
		return "what it holds is neither what was acknowledged nor that and the next change"
	}
	// It must go on working.
	o, w, j := aJob(99)
	d, err := s.Apply(ctx, beatwright.Change{What: "received 99", Job: j.ID, Put: []beatwright.Thing{o, w, j}})
	if err != nil {
		return "it takes nothing more: " + err.Error()
	}
	h, err := s.History(ctx, "", 0, 2)
	if err != nil || h[0].Number != d.Number || len(h) == 2 && h[1].Number != d.Number-1 {
		return fmt.Sprintf("the history does not go on: %v, %v", h, err)
	}
	if err := s.Verify(ctx); err != nil {
		return "after another change: " + err.Error()
	}
	return ""
}
