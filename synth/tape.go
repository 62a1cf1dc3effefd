package synth

import (
	"math"
	"sort"

	"beatwright/unit"
)

// tape knows where the file departs from the sound: frames that are missing
// and zeros that were put in.
type tape struct {
	rate, clock float64
	edits       []Edit
	all         []Edit
	file        int64 // frames of the file written
	pending     int64 // zeros still to write
	skip        int64 // frames still to drop
	inBlock     int64 // frames of the present block used
}

func newTape(s Scene) tape {
	edits := append([]Edit(nil), s.Edits...)
	whole := func(x *unit.Seconds) { *x = unit.Seconds(math.Round(float64(*x)*float64(s.Rate)) / float64(s.Rate)) }
	for i := range edits {
		whole(&edits[i].At)
		whole(&edits[i].Gap)
		whole(&edits[i].Zeros)
	}
	sort.SliceStable(edits, func(i, j int) bool { return edits[i].At < edits[j].At })
	return tape{rate: float64(s.Rate), clock: clockFactor(s.ClockPPM), edits: edits, all: edits}
}

func (t *tape) frames(s unit.Seconds) int64 { return int64(math.Round(float64(s) * t.rate)) }

// due takes up the edit at the present place, if there is one.
func (t *tape) due() {
	for len(t.edits) > 0 && t.frames(t.edits[0].At) <= t.file {
		t.pending += t.frames(t.edits[0].Zeros)
		t.skip += t.frames(t.edits[0].Gap)
		t.edits = t.edits[1:]
	}
}

// zeros takes up to limit zero frames that are to be written now.
func (t *tape) zeros(limit int64) int64 {
	t.due()
	n := min(limit, t.pending)
	t.pending -= n
	t.file += n
	return n
}

// take says which frames of the present block of n are to be written next.
func (t *tape) take(n int64) (from, to int64) {
	drop := min(t.skip, n-t.inBlock)
	t.skip -= drop
	from = t.inBlock + drop
	to = n
	if t.skip > 0 {
		to = from
	} else if len(t.edits) > 0 {
		to = min(to, from+max(0, t.frames(t.edits[0].At)-t.file))
	}
	t.file += to - from
	t.inBlock = to
	if t.inBlock >= n {
		t.inBlock = 0
	}
	return from, to
}

// partial tells that the present block is not used up.
func (t *tape) partial() bool { return t.inBlock > 0 }

// place is where a moment of the world stands in the file, and whether it
// was lost in a gap.
func (t *tape) place(world unit.Seconds) (unit.Seconds, bool) {
	at := float64(world) * t.clock
	shift := 0.0
	for _, e := range t.all {
		if at+shift < float64(e.At) {
			break
		}
		shift += float64(e.Zeros)
		if at+shift < float64(e.At+e.Zeros+e.Gap) {
			return e.At + e.Zeros, e.Gap > 0
		}
		shift -= float64(e.Gap)
	}
	return unit.Seconds(at + shift), false
}

// date puts a beat of the world onto the file. A beat that a gap or an
// insertion cuts through is lost.
func (t *tape) date(b Beat) Beat {
	length := (b.Drop - b.Unlocking) * unit.Seconds(t.clock)
	for _, p := range []*unit.Seconds{&b.Unlocking, &b.Impulse, &b.Drop, &b.Middle, &b.Centre} {
		at, lost := t.place(*p)
		*p, b.Lost = at, b.Lost || lost
	}
	cut := math.Abs(float64(b.Drop-b.Unlocking-length)) > 1e-6
	b.Lost = b.Lost || cut
	return b
}
