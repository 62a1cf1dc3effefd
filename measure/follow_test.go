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
