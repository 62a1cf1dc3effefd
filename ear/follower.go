package ear

import (
	"math"

	"beatwright/beat"
	"beatwright/unit"
)

// tail is how many of the newest beats are looked at: 6 s at 28 800 an hour.
const tail = 48

// follower is an engine that was set on at some sample of the sound.
type follower struct {
	engine *beat.Engine
	rate   unit.Hertz
	now    beat.Now
	// shifts say how many samples to add to the engine's count from a place
	// of its own on: where it was set on, and insertions it was not given.
	shifts []shift
	given  int64
	knocks int64 // knocks up to here were told
}

type shift struct{ from, add int64 }

func newFollower(rate unit.Hertz, at int64) *follower {
	return &follower{engine: beat.New(rate, 1), rate: rate, shifts: []shift{{0, at}}}
}

func (f *follower) push(x []float32) {
	f.engine.Push(x)
	f.given += int64(len(x))
}

func (f *follower) skip(n int64) {
	f.shifts = append(f.shifts, shift{f.given, f.shifts[len(f.shifts)-1].add + n})
}

func (f *follower) look() { f.now = f.engine.Now(tail) }

// index is the sample of the sound that a moment of the engine is.
func (f *follower) index(at unit.Seconds) int64 {
	i := int64(math.Round(float64(at) * float64(f.rate)))
	for k := len(f.shifts) - 1; k >= 0; k-- {
		if s := f.shifts[k]; i >= s.from || k == 0 {
			return i + s.add
		}
	}
	return i
}

type heard struct {
	at   int64
	side int
	good bool
}

func (f *follower) heard() []heard {
	out := make([]heard, len(f.now.Beats))
	for i, b := range f.now.Beats {
		out[i] = heard{f.index(b.At), b.Side(), b.Why == ""}
	}
	return out
}

// fresh are the beats after a sample.
func (f *follower) fresh(after int64) []heard {
	all := f.heard()
	i := len(all)
	for i > 0 && all[i-1].at > after {
		i--
	}
	return all[i:]
}

func (f *follower) lastGood() (int64, bool) {
	all := f.heard()
	for i := len(all) - 1; i >= 0; i-- {
		if all[i].good {
			return all[i].at, true
		}
	}
	return 0, false
}

// disturbedSec without a good beat is a disturbance.
const disturbedSec unit.Seconds = 0.45

func (f *follower) disturbed(now int64) bool {
	good, ok := f.lastGood()
	if !ok || !f.now.Following {
		return true
	}
	late := unit.Seconds(float64(now-good) / float64(f.rate))
	return late > disturbedSec+f.now.Period
}

const (
	// steadyBeats are the least beats that tell a watch laid down from chance,
	// steadySec the least time they span.
	steadyBeats               = 8
	steadySec    unit.Seconds = 1.2
	badInARow                 = 3
	knockSec     unit.Seconds = 0.25
	afterAKnock               = 4 // good beats
	leastOfKnock              = 2 // bad beats
)

// steady gives the first sample from which on beats were heard steadily up to
// now, at least a share of them.
func (f *follower) steady(share float64) (int64, bool) {
	if !f.now.Following {
		return 0, false
	}
	all := f.heard()
	first, good, bad := -1, 0, 0
	for i := len(all) - 1; i >= 0; i-- {
		if !all[i].good {
			if bad++; bad == badInARow {
				break
			}
			continue
		}
		good++
		bad = 0
		if n := len(all) - i; n < 4 || float64(good) >= share*float64(n) {
			first = i
		}
	}
	if first < 0 {
		return 0, false
	}
	n := len(all) - first
	span := unit.Seconds(float64(all[len(all)-1].at-all[first].at) / float64(f.rate))
	if n < steadyBeats || span < steadySec {
		return 0, false
	}
	return all[first].at, true
}

// overKnock gives a stretch of bad beats that good ones followed, once.
func (f *follower) overKnock() (span, bool) {
	all := f.heard()
	n := len(all)
	if n < afterAKnock+leastOfKnock {
		return span{}, false
	}
	for _, b := range all[n-afterAKnock:] {
		if !b.good {
			return span{}, false
		}
	}
	last := n - afterAKnock - 1
	if all[last].good || all[last].at <= f.knocks {
		return span{}, false
	}
	first := last
	for first > 0 && (!all[first-1].good || first > 1 && !all[first-2].good) {
		first--
	}
	k := span{all[max(0, first-1)].at, all[last+1].at}
	f.knocks = all[last].at
	if unit.Seconds(float64(k.to-k.from)/float64(f.rate)) < knockSec+f.now.Period/2 || last-first+1 < leastOfKnock {
		return span{}, false
	}
	return k, true
}

// line is what beats that were lost are known again by.
type line struct {
	known *beat.Known
	set   int64 // the sample that the engine's own count began at
}

func (f *follower) line() *line {
	if k := f.engine.Known(); k != nil {
		return &line{k, f.shifts[len(f.shifts)-1].add}
	}
	return nil
}

// shift is how far the beats that g follows lie from the line, the nearest way
// round, and half a period is no way: alike sides are not told apart. NaN where
// they are not the same beats.
func (l *line) shift(g *follower) unit.Seconds {
	by, ok := g.engine.Again(l.known, unit.Seconds(float64(g.shifts[0].add-l.set)/float64(g.rate)))
	if !ok {
		return unit.Seconds(math.NaN())
	}
	return unit.Seconds(math.Remainder(float64(by), float64(g.now.Period)/2))
}
