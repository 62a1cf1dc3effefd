package beat

import (
	"math"

	"beatwright/unit"
)

// Glimpse is the averaged sound of about half a second of a run: for what changes
// faster than segments show, but is not heard in single beats.
type Glimpse struct {
	// Step counts glimpses of a run from the run's first beat. A segment that
	// ends within one gives its beats as two, of the same step.
	Step int
	// Turns is how many full periods a step has, and Period one of them.
	Turns  int
	Period unit.Seconds
	// At is the mean moment of its beats.
	At unit.Seconds
	// N is the count of beats, by side, and Loud their mean log-loudness about
	// their dates, ln units, on the grid of the segment's profiles; nil of none.
	N    [2]int
	Loud [2][]float32
}

// Watcher is shown the finished segments of a run with the glimpses of their
// beats, one at a time, beside the one who follows the beats: first is set where the
// run begins. What it is shown must not be kept.
// Of a run beside which another watch is heard there are no glimpses.
type Watcher func(first bool, segs []*Segment, glimpses []Glimpse)

// Watch sets who is shown the segments; to be called before the first sound.
func (e *Engine) Watch(w Watcher) { e.watcher = w }

// glimpseSec is how long a glimpse is: the swing follows its drive with a time
// constant of many beats, so that little of it changes faster, and half a minute
// has as many of them as a search for what recurs needs. Of a second, waves were
// sized no better.
const glimpseSec = 0.5

// show shows the watcher the segments that a run begins with, whose beats are bs.
func (r *run) show(bs []moment) {
	gs := r.glimpses(bs)
	r.kept.wait()
	if r.kept.watcher != nil {
		r.kept.watcher(true, r.kept.segs, gs)
	}
	r.recycle(gs)
}

// recycle takes back the memory of the glimpses shown before gs.
func (r *run) recycle(gs []Glimpse) {
	for _, g := range r.kept.shown {
		for _, y := range g.Loud {
			if y != nil {
				r.c.means = append(r.c.means, y)
			}
		}
	}
	r.kept.shown = gs
}

// glimpses averages beats whose sound is in hand, step by step.
func (r *run) glimpses(bs []moment) []Glimpse {
	if r.c.other != nil || r.kept.watcher == nil {
		return nil
	}
	cell := r.c.tape.cell()
	period := 2 * r.line.Slope * cell
	if r.turns == 0 {
		r.turns = max(1, int(math.Round(glimpseSec/period)))
	}
	var out []Glimpse
	for len(bs) > 0 {
		step, n := r.step(bs[0]), 1
		for n < len(bs) && r.step(bs[n]) == step {
			n++
		}
		if g, ok := r.glimpse(bs[:n]); ok {
			g.Step, g.Turns, g.Period = step, r.turns, unit.Seconds(period)
			out = append(out, g)
		}
		bs = bs[n:]
	}
	return out
}

func (r *run) step(b moment) int { return b.k / (2 * r.turns) }

// glimpse averages a few beats.
func (r *run) glimpse(bs []moment) (g Glimpse, ok bool) {
	var sum [2]tally
	for _, b := range bs {
		if b.why == "" && r.inside(b.at) {
			s := &sum[b.k&1]
			if s.n == 0 {
				s.sum = r.c.mean(r.l.pre + r.l.post)
			}
			s.add(r.c, b, r.l)
			g.At += unit.Seconds(b.at * r.c.tape.cell())
		}
	}
	n := sum[0].n + sum[1].n
	if n == 0 {
		return g, false
	}
	g.At /= unit.Seconds(n)
	for s := range sum {
		scale := 1 / float32(max(1, sum[s].n))
		for i := range sum[s].sum {
			sum[s].sum[i] *= scale
		}
		g.N[s], g.Loud[s] = sum[s].n, sum[s].sum
	}
	return g, true
}

// mean is n zeros, of memory used before where there is some.
func (c *cutter) mean(n int) []float32 {
	if k := len(c.means); k > 0 && len(c.means[k-1]) == n {
		y := c.means[k-1]
		c.means = c.means[:k-1]
		clear(y)
		return y
	}
	return make([]float32, n)
}
