package poise

import (
	"maps"
	"math"
	"slices"

	"beatwright/estimate"
	"beatwright/position"
)

// usable are the readings with a position, a finite rate and a swing.
func usable(readings []Reading) []Reading {
	var out []Reading
	for _, r := range readings {
		if r.Position.Valid() && finite(r.Rate) && finite(r.Amplitude) && r.Amplitude.Value > 0 {
			out = append(out, r)
		}
	}
	return out
}

func finite(e estimate.Estimate) bool {
	return !math.IsNaN(e.Value) && !math.IsInf(e.Value, 0) && !math.IsNaN(e.U95()) && !math.IsInf(e.U95(), 0)
}

func distinctUpright(rs []Reading) int {
	seen := map[position.Position]bool{}
	for _, r := range rs {
		if r.Position.Upright() {
			seen[r.Position] = true
		}
	}
	return len(seen)
}

// meanSwing is the mean amplitude of the upright readings. The level of the
// fit stands there, so that its slope is nearly independent of it.
func meanSwing(rs []Reading) estimate.Estimate {
	var up []estimate.Estimate
	for _, r := range rs {
		if r.Position.Upright() {
			up = append(up, r.Amplitude)
		}
	}
	return estimate.Mean(up...)
}

// sharedNames are the causes that the amplitudes share, in order.
func sharedNames(rs []Reading) []string {
	seen := map[string]bool{}
	for _, r := range rs {
		for name := range r.Amplitude.Common {
			seen[name] = true
		}
	}
	return slices.Sorted(maps.Keys(seen))
}

// shifted is the readings with all amplitudes moved by the named cause.
func shifted(rs []Reading, name string, sign float64) []Reading {
	out := slices.Clone(rs)
	for i := range out {
		out[i].Amplitude.Value = max(1, out[i].Amplitude.Value+sign*out[i].Amplitude.Common[name])
	}
	return out
}
