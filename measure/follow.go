package measure

import (
	"math"

	"beatwright/dsp"
)

// move is where a strike lies in one segment's profile, cells of its own
// grid, with its standard deviation.
type move struct {
	at, sd float64
	ok     bool
}

const (
	// A strike is looked for within stepReach of where it was in the segment
	// before: a swing that settles moves it by a third of that; then
	// within fineReach of where it was found, s.
	stepReach, fineReach = 0.0006, 0.0003
	// leadSec and tailSec of a strike, before and after its edge, are set
	// against each other, s.
	leadSec, tailSec = 0.0006, 0.0012
	// leastLike is the least correlation of a strike with the mean of the others.
	leastLike = 0.5
	// strikeScatter is how much a strike of one beat scatters against the beat's
	// date, s (chosen: half of what fair watches' beats scatter).
	strikeScatter = 30e-6
)

// follow finds a strike in the segments of one side. guess is where each
// segment's own marks have it, cells, NaN where they do not tell; seed is the
// segment to begin at. Segments are set against each other, each as sharp as
// it is, and not against the profile of the whole stretch, in which a strike
// that moves is smeared and seems to move too far.
func follow(segs []shape, guess []float64, seed int) []move {
	f := newFollower(segs)
	for i, s := range segs {
		f.ln[i] = logs(s.z)
	}
	f.all(guess, seed)
	return f.out
}

// follower holds the strike as it was cut from every segment where it stands.
type follower struct {
	segs []shape
	ln   [][]float64 // of their powers
	out  []move
	ref  [][]float64
	step float64 // s, how far it may be from where it was in the one before
}

func newFollower(segs []shape) follower {
	n := len(segs)
	return follower{segs: segs, ln: make([][]float64, n), out: make([]move, n), ref: make([][]float64, n), step: stepReach}
}

// all finds the strike in every segment.
func (f *follower) all(guess []float64, seed int) {
	out := f.out
	out[seed].at = guess[seed]
	if out[seed].ok = f.hold(seed); !out[seed].ok {
		return
	}
	for _, dir := range []int{1, -1} {
		for i := seed + dir; i >= 0 && i < len(out); i += dir {
			out[i].at = out[i-dir].at
			f.place(i, f.step, out[i-dir].at, guess[i])
		}
	}
	for range 3 {
		for i := range out {
			if out[i].ok {
				f.place(i, fineReach, out[i].at)
			}
		}
	}
}

// cut is ln of n cells of segment i from the cell lo on, nil where it has
// none there. Cut at the fraction where a strike was found, the next look
// finds it in the middle of the peak, where the peak's parabola is true.
func (f *follower) cut(i int, lo float64, n int) []float64 {
	ln := f.ln[i]
	if math.IsNaN(lo) || lo < 2 || lo+float64(n)+3 > float64(len(ln)) {
		return nil
	}
	k := int(lo)
	y := ln[k-1 : k+n+3]
	out := make([]float64, n)
	for j := range out {
		out[j] = cubic(y, j+1, lo-float64(k))
	}
	return out
}

// hold keeps the strike of segment i as it stands now.
func (f *follower) hold(i int) bool {
	s := f.segs[i]
	f.ref[i] = nil
	if len(f.ln[i]) > 0 {
		lead := s.cells(leadSec)
		f.ref[i] = f.cut(i, f.out[i].at-float64(lead), lead+s.cells(tailSec))
	}
	return f.ref[i] != nil
}

// cubic interpolates y at i + f, 0 ≤ f < 1 (Catmull–Rom).
func cubic(y []float64, i int, f float64) float64 {
	a, b, c, d := y[i-1], y[i], y[i+1], y[i+2]
	return b + 0.5*f*(c-a+f*(2*a-5*b+4*c-d+f*(3*(b-c)+d-a)))
}

// others is the mean of the strike over all segments but i.
func (f *follower) others(i int) []float64 {
	var sum []float64
	n := 0.0
	for j, r := range f.ref {
		if j == i || r == nil {
			continue
		}
		if sum == nil {
			sum = make([]float64, len(r))
		}
		for k, v := range r {
			sum[k] += v
		}
		n++
	}
	for k := range sum {
		sum[k] /= n
	}
	return sum
}

// place looks for the strike of the other segments in segment i, near the
// given cells, and takes the likest.
func (f *follower) place(i int, sec float64, near ...float64) {
	s, m := f.segs[i], &f.out[i]
	m.ok, f.ref[i] = false, nil
	if len(f.ln[i]) == 0 {
		return
	}
	want := f.others(i)
	lead, reach := s.cells(leadSec), s.cells(sec)
	best := leastLike
	for _, at := range near {
		lo := at - float64(lead+reach)
		y := f.cut(i, lo, len(want)+2*reach)
		if want == nil || y == nil {
			continue
		}
		r, lag, peak := slide(want, y, reach)
		if peak && r > best {
			best, m.ok = r, true
			m.at = at + lag
		}
	}
	if m.ok = m.ok && f.hold(i); m.ok {
		m.sd = s.edgeSd(f.ref[i], want)
		// What cannot be told from what lies beside it is not found.
		if m.ok = m.sd < float64(s.cells(fineReach)); !m.ok {
			f.ref[i] = nil
		}
	}
}

// edgeSd is the standard deviation, cells, of where the strike a was found by
// the mean of others b (ln): what they differ by over how steep they both are,
// and the scatter of a mean of so many strikes. The two share no noise, so
// that noise does not pass for steepness; cells are smoothed, so their noise
// counts 1.6 times.
func (s shape) edgeSd(a, b []float64) float64 {
	var steep, diff float64
	mean := dsp.Mean(a) - dsp.Mean(b)
	for j := 1; j < len(a)-1; j++ {
		steep += (a[j+1] - a[j-1]) * (b[j+1] - b[j-1]) / 4
		d := a[j] - b[j] - mean
		diff += d * d / float64(len(a)-2)
	}
	if steep <= 0 {
		return math.Inf(1)
	}
	return math.Hypot(1.6*math.Sqrt(diff/steep), strikeScatter/math.Sqrt(float64(s.n))/s.cell)
}
