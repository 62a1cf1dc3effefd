package measure

import (
	"math"
	"slices"

	"beatwright/beat"
	"beatwright/estimate"
	"beatwright/unit"
)

// course is the way of the swing through a hearing, by the half second: it follows
// first sound and drop of either side through the glimpses that the engine
// shows, and keeps the time between them.
//
// The strikes are those of the marks in the first segments of a run (look).
// What they sound like is learnt from the first glimpses and goes on slowly with
// the sound, so that the watch may settle or run down meanwhile.
type course struct {
	lift    unit.Degrees
	run     int
	strikes [2][2]strike // by side: first sound, drop
	marked  bool
	found   []instant
	left    int // steps of this run that may still be kept
	reach   float64
}

// instant is what one glimpse tells: where first sound and drop of either side
// lie from the beats' dates, s, NaN where they were not both found.
type instant struct {
	run, step int32
	n         float32 // beats
	at        float64 // s
	strike    [2][2]float32
	turn      float32 // s, of a step
}

func (x instant) interval(side int) float64 {
	return float64(x.strike[side][1]) - float64(x.strike[side][0])
}

// strike is how a strike sounds, ln, and where it was last, cells.
type strike struct {
	ref  []float64
	last []float64
	ln   []float64 // of the glimpse looked at, about the place
}

const (
	// mostSteps is how many steps of a run are kept, an hour and more: in them what
	// recurs is sought.
	mostSteps = 1 << 13
	// recent strikes say where the next is looked for: one alone may be misread.
	recent = 3
	// learning is the share of a new glimpse in how a strike sounds: slow enough
	// that following adds little wandering of its own, since the errors of the
	// steps add up in it.
	learning = 1.0 / 300
	// stepShare of the interval is how far a strike may be from where it was: so
	// much a swing may change by, and the impulse is three times as far.
	stepShare = 0.06
)

// see takes the segments and glimpses of a run as they come.
func (c *course) see(first bool, segs []*beat.Segment, gs []beat.Glimpse) {
	if first {
		c.run++
		c.marked, c.left = false, mostSteps
	}
	if len(gs) == 0 || c.left <= 0 {
		return
	}
	c.left -= len(gs)
	if !c.marked {
		c.begin(segs, gs)
		return
	}
	for _, g := range gs {
		c.add(g, float64(segs[0].Profile[0].Cell), func(side, which int) move { return c.strikes[side][which].next(g, side, segs[0], c.reach) })
	}
}

// begin marks the sounds and finds them in the first glimpses.
func (c *course) begin(segs []*beat.Segment, gs []beat.Glimpse) {
	v := look(stretch{segs: segs, period: gs[0].Period}, c.lift)
	if !bothFirst(v.m, v.ok) {
		return
	}
	c.reach = math.Max(stepReach, stepShare*(v.m[0].interval()+v.m[1].interval())/2)
	var moves [2][2][]move
	for s := range moves {
		for which := range moves[s] {
			f := newFollower(make([]shape, len(gs)))
			f.step = c.reach
			for i, g := range gs {
				f.segs[i], f.ln[i] = shapeOf(g, s, segs[0]), wide(g.Loud[s])
			}
			guess, seed := v.guess(gs, s, which)
			f.all(guess, seed)
			x := &c.strikes[s][which]
			if x.ref = f.others(-1); x.ref == nil {
				return
			}
			x.last = nil
			for _, m := range f.out {
				x.keep(m)
			}
			moves[s][which] = f.out
		}
	}
	c.marked = true
	for i, g := range gs {
		c.add(g, float64(segs[0].Profile[0].Cell), func(side, which int) move { return moves[side][which][i] })
	}
}

// guess is where the marks of the segments have a strike, at the glimpses, cells,
// NaN where they are not sure, and the glimpse to begin at.
func (v view) guess(gs []beat.Glimpse, side, which int) (at []float64, seed int) {
	place := func(m sounds) float64 {
		if which == 0 {
			return m.at
		}
		return m.dropAt
	}
	at, seed = make([]float64, len(gs)), len(gs)/2
	sure := false
	for i, g := range gs {
		at[i] = math.NaN()
		if p, ok := v.partAt(float64(g.At)); ok && p.sure() {
			at[i] = place(p.m[side])
			if !sure || 2*i <= len(gs) {
				sure, seed = true, i
			}
		}
	}
	if !sure {
		at[seed] = place(v.m[side])
	}
	return at, seed
}

// partAt is the part whose beats lie about a moment.
func (v view) partAt(t float64) (best part, ok bool) {
	for _, p := range v.parts {
		if !ok || math.Abs(p.at-t) < math.Abs(best.at-t) {
			best, ok = p, true
		}
	}
	return best, ok
}

// shapeOf is the shape of a side in a glimpse, its loudness apart.
func shapeOf(g beat.Glimpse, side int, s *beat.Segment) shape {
	p := s.Profile[side]
	return shape{cell: float64(p.Cell), origin: p.Origin, n: g.N[side]}
}

func wide(x []float32) []float64 {
	out := make([]float64, len(x))
	for i, v := range x {
		out[i] = float64(v)
	}
	return out
}

// next finds the strike in the next glimpse.
func (x *strike) next(g beat.Glimpse, side int, seg *beat.Segment, reach float64) move {
	if len(x.last) == 0 || g.N[side] == 0 {
		return move{}
	}
	f := newFollower(make([]shape, 2))
	at := estimate.Median(x.last)
	f.segs[0], f.ref[1] = shapeOf(g, side, seg), x.ref
	f.ln[0] = x.about(g.Loud[side], at, f.segs[0].cells(leadSec+reach)+spare, len(x.ref)+f.segs[0].cells(reach)+spare)
	f.place(0, reach, at)
	if m := f.out[0]; m.ok && len(f.ref[0]) == len(x.ref) {
		for i, v := range f.ref[0] {
			x.ref[i] += learning * (v - x.ref[i])
		}
	}
	x.keep(f.out[0])
	return f.out[0]
}

// spare cells beside those sought, for what is cut at fractions of one.
const spare = 8

// about is the loudness y from so many cells before a place to so many after it; of
// the rest nothing is known.
func (x *strike) about(y []float32, at float64, before, after int) []float64 {
	if len(x.ln) != len(y) {
		x.ln = make([]float64, len(y))
	}
	for i := max(0, int(at)-before); i < min(len(y), int(at)+after); i++ {
		x.ln[i] = float64(y[i])
	}
	return x.ln
}

func (x *strike) keep(m move) {
	if m.ok {
		x.last = append(x.last, m.at)
		x.last = slices.Clone(x.last[max(0, len(x.last)-recent):])
	}
}

// add keeps what a glimpse tells.
func (c *course) add(g beat.Glimpse, cell float64, move func(side, which int) move) {
	x := instant{
		run: int32(c.run), step: int32(g.Step), n: float32(g.N[0] + g.N[1]), at: float64(g.At),
		turn: float32(float64(g.Turns) * float64(g.Period)),
	}
	for s := range x.strike {
		first, drop := move(s, 0), move(s, 1)
		x.strike[s] = [2]float32{float32(math.NaN()), float32(math.NaN())}
		if first.ok && drop.ok {
			x.strike[s] = [2]float32{float32(first.at * cell), float32(drop.at * cell)}
		}
	}
	c.found = append(c.found, x)
}
