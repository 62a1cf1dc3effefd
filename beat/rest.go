package beat

import (
	"math"
	"slices"

	"beatwright/dsp"
	"beatwright/estimate"
)

// rest is what is heard beside the beats that are followed: the loudness of a
// stretch in steps of half a millisecond, less what the watch itself sounds
// like at that phase of its full period, in units of its own scatter. Where
// the watch is loud its beats scatter more, and what is left counts less.
type rest struct {
	from int64     // first cell
	y    []float64 // loudness by step, ln over the floor
	z    []float64 // what is left of it
	step float64   // s
	T    float64   // full period, steps
	at   float64   // first beat of the first side, steps
	next float64   // from a first beat to the second, steps
	base []float64 // the watch's own loudness by phase, steps from a first beat
	calm float64   // loudness of the quiet
	sd   float64   // and its scatter
	hum  bool      // the mains' rhythm was taken out
}

const (
	// restLow and restHigh bound what a single step may count, in scatters: a
	// knock is loud, and seldom.
	restLow, restHigh = -3.0, 8.0
	// ownScatter is how much a watch's own sound scatters at a phase, as a share
	// of its height in ln (chosen: levels by a few dB, edges by a tenth of a ms).
	ownScatter = 0.35
	// baseShare of the periods are quieter at a phase than the watch's own sound
	// there is taken to be, but for its scatter (a quarter of what is normal lies
	// 0.67 deviations below the mean): another watch may so stay at one phase for
	// up to three quarters of the stretch and still be seen.
	baseShare, baseLow = 0.25, 0.6745
)

// restOf takes the beats of r off the sound from cell from to cell to; base is
// what the watch sounds like, nil to learn it here. It is nil where the sound
// is too short.
func restOf(r *run, from, to int64, base []float64) *rest {
	t := r.c.tape
	from, to = max(from, t.firstCell()), min(to, t.endCell())
	n := int(to-from) / coarse
	x := &rest{from: from, step: t.cell() * coarse, base: base}
	if n <= 0 || !x.lay(r, n) || float64(n) < leastRest*x.T {
		return nil
	}
	x.y, _ = loudness(t, from, n)
	x.y = smooth(x.y)
	if x.hum = r.hum || hums(x.y[:min(n, int(longestSearch/x.step))], x.step); x.hum {
		x.y = dsp.WithoutLines(x.y, []float64{50 * x.step, 60 * x.step}, 0.004)
	}
	x.learn()
	x.take()
	return x
}

// leastRest is how many full periods are needed.
const leastRest = 8

// lay puts the line of the beats in the stretch of n steps through it.
func (x *rest) lay(r *run, n int) bool {
	var k, at []float64
	var side []int
	for _, b := range r.beats {
		s := (b.at - float64(x.from)) / coarse
		if b.why == "" && s >= 0 && s < float64(n) {
			k, at, side = append(k, float64(b.k)), append(at, s), append(side, b.k&1)
		}
	}
	if len(k) < leastRest {
		return false
	}
	l := estimate.FitLine(k, at, side)
	x.T, x.at = 2*l.Slope, math.Mod(l.At(0, 0), 2*l.Slope)
	if x.at < 0 {
		x.at += x.T
	}
	x.next = l.At(1, 1) - l.At(0, 0)
	return x.T > 1
}

// rows are the steps at which the full periods begin.
func (x *rest) rows() (at []int) {
	for s := x.at; int(s)+1 < len(x.y); s += x.T {
		at = append(at, int(math.Round(s)))
	}
	return at
}

// learn finds what the watch sounds like where that is not known, and the
// scatter of the quiet.
func (x *rest) learn() {
	rows := x.rows()
	known := x.base != nil
	if !known {
		x.base = make([]float64, int(x.T))
	}
	middle := make([]float64, len(x.base))
	column := make([]float64, 0, len(rows))
	for b := range x.base {
		column = column[:0]
		for _, i := range rows {
			if i+b < len(x.y) {
				column = append(column, x.y[i+b])
			}
		}
		middle[b] = estimate.Median(column)
		if !known {
			x.base[b] = estimate.Nth(column, int(baseShare*float64(len(column))))
		}
	}
	x.calm = estimate.Nth(slices.Clone(middle), len(middle)*3/10)
	var off []float64
	for _, i := range rows {
		for b, m := range middle {
			if m <= x.calm && i+b < len(x.y) {
				off = append(off, x.y[i+b]-m)
			}
		}
	}
	x.sd = math.Max(estimate.MAD(off), 0.02)
	if !known {
		for b := range x.base {
			x.base[b] += baseLow * x.sd
		}
	}
}

// take leaves in z what is not the watch's own.
func (x *rest) take() {
	x.z = make([]float64, len(x.y))
	for _, i := range x.rows() {
		for b, m := range x.base {
			if i+b < len(x.y) {
				own := ownScatter * math.Max(0, m-x.calm)
				x.z[i+b] = math.Max(restLow, math.Min(restHigh, (x.y[i+b]-m)/math.Hypot(x.sd, own)))
			}
		}
	}
}

// quiet tells whether the watch itself is quiet at step i.
func (x *rest) quiet(i int) bool { return x.own(float64(i)-x.at) < 2*x.sd }

// own is how loud the watch itself is so many steps after a first beat, over
// the quiet.
func (x *rest) own(after float64) float64 {
	ph := math.Mod(after, x.T)
	if ph < 0 {
		ph += x.T
	}
	return x.base[min(int(ph), len(x.base)-1)] - x.calm
}
