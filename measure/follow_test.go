package measure

import (
	"math"
	"math/rand/v2"
	"testing"
)

// moving renders n profiles in which a strike, that rises within 0.1 ms and
// dies away in 0.5, begins at the given cells, in noise of the given spread.
func moving(at []float64, noise float64) []shape {
	rng := rand.New(rand.NewPCG(1, 2))
	out := make([]shape, len(at))
	const cell = 1.0 / 24000
	for i, a := range at {
		z := make([]float64, 300)
		for j := range z {
			z[j] = 1 + noise*rng.NormFloat64()
			if t := (float64(j) - a) * cell; t > 0 {
				z[j] += 40 * (1 - math.Exp(-t/0.1e-3)) * math.Exp(-t/0.5e-3)
			}
		}
		out[i] = shape{z: narrow(narrow(z)), cell: cell, noise: noise, n: 12}
	}
	return out
}

// A strike is followed through the segments to a fifth of a cell (8 µs, of
// which the noise makes half), by construction of the profiles: as it settles, and from one segment to the
// next by up to half a ms, where a profile of them all would be a smear.
func TestFollow(t *testing.T) {
	for name, at := range map[string][]float64{
		"at rest":             {120, 120, 120, 120, 120, 120},
		"settling":            {130.2, 125.3, 122.4, 120.7, 119.6, 119.0},
		"run down":            {150, 141, 132, 123, 114, 105},
		"two":                 {120, 122.5},
		"a jump of ten cells": {120, 120, 130, 130},
	} {
		guess := make([]float64, len(at))
		for i := range guess {
			guess[i] = math.NaN()
		}
		seed := len(at) / 2
		guess[seed] = at[seed] + 1.7 // marks are off by their definition
		got := follow(moving(at, 0.02), guess, seed)
		for i, m := range got {
			if off := (m.at - got[0].at) - (at[i] - at[0]); !m.ok || math.Abs(off) > 0.2 {
				t.Errorf("%s: segment %d: %+v, off by %.2f cells", name, i, m, off)
			}
		}
	}
}

// Where one segment holds only noise the others are followed all the same, and
// it is not made up.
func TestFollowWithoutOne(t *testing.T) {
	segs := moving([]float64{120, 121, 122, 123, 124}, 0.02)
	segs[3] = moving([]float64{-900}, 0.02)[0]
	nan := math.NaN()
	got := follow(segs, []float64{nan, nan, 122, nan, nan}, 2)
	for i, m := range got {
		if m.ok != (i != 3) {
			t.Errorf("segment %d: %+v", i, m)
		}
	}
	if off := got[4].at - got[2].at - 2; math.Abs(off) > 0.2 {
		t.Errorf("beyond the gap off by %.2f cells", off)
	}
}

// A parabola through a line's residuals is its bend: by construction 2·b·span
// of b·x², nothing of a straight line or of noise alone.
func TestBend(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	var x, flat, curved []float64
	const b, n = 2e-8, 200
	for i := range n {
		x = append(x, float64(i))
		noise := 20e-6 * rng.NormFloat64()
		flat = append(flat, noise)
		d := float64(i) - (n-1)/2.0
		curved = append(curved, noise+b*d*d)
	}
	if got := bend(x, flat); got != 0 {
		t.Errorf("noise bends by %g", got)
	}
	// Twice the scatter is taken off.
	if got, want := bend(x, curved), 2.0*b*(n-1); got > want || got < 0.9*want {
		t.Errorf("got %g, want up to %g", got, want)
	}
}

// What jumps out of a steady course is odd, the course itself is not, be it as
// steep as a balance that swings freely down: 5/16 a segment.
func TestOdd(t *testing.T) {
	for name, c := range map[string]struct {
		t    []float64
		want int // -1: none
	}{
		"steady":   {[]float64{0.010, 0.010, 0.010}, -1},
		"run down": {[]float64{0.0100, 0.0137, 0.0187, 0.0256}, -1},
		"misread":  {[]float64{0.010, 0.010, 0.007, 0.010, 0.010}, 2},
		"first":    {[]float64{0.007, 0.010, 0.010, 0.010}, 0},
		"last":     {[]float64{0.010, 0.010, 0.010, 0.014}, 3},
	} {
		for i := range c.t {
			if got := odd(c.t, i); got != (i == c.want) {
				t.Errorf("%s: %d odd %v", name, i, got)
			}
		}
	}
}
