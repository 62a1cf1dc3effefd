// Package hairspring relates the hairspring to the rate: what a change of its
// length or section does, how much length a wanted change takes, and what open
// regulator pins cost.
//
// The balance's frequency goes with the square root of stiffness over inertia,
// and the stiffness of a flat strip is E·b·h³/(12·L): everything here is
// derived from that. Real springs have end curves and pins with play, so the
// first move is a trial; package nudge learns from it.
package hairspring

import (
	"math"

	"beatwright/unit"
)

// Stretch is a relative change: 0.01 is one in a hundred more.
type Stretch float64

// RateFromLength is the rate that lengthening the spring by ΔL/L gives:
//
//	86400·((1 + ΔL/L)^−½ − 1)                                  derived
//
// about −43200·ΔL/L. NaN where nothing of the spring is left.
func RateFromLength(s Stretch) unit.SecondsPerDay { return power(float64(s), -0.5) }

// RateFromHeight is the rate that a strip higher by Δb/b gives, +43200·Δb/b to
// first order.
func RateFromHeight(s Stretch) unit.SecondsPerDay { return power(float64(s), 0.5) }

// RateFromThickness is the rate that a strip thicker by Δh/h gives,
// +129600·Δh/h to first order: the cube of the thickness counts.
func RateFromThickness(s Stretch) unit.SecondsPerDay { return power(float64(s), 1.5) }

func power(s, p float64) unit.SecondsPerDay {
	if !(s > -1) {
		return unit.SecondsPerDay(math.NaN())
	}
	return unit.SecondsPerDay(float64(unit.Day) * math.Expm1(p*math.Log1p(s)))
}

// LengthForRate is the change of length, ΔL/L, that changes the rate by r:
// negative (shorten) for a gain.
//
//	(1 + r/86400)^−2 − 1                                       derived
//
// NaN for r ≤ −86400: no spring stops a watch.
func LengthForRate(r unit.SecondsPerDay) Stretch {
	x := float64(r) / float64(unit.Day)
	if !(x > -1) {
		return Stretch(math.NaN())
	}
	return Stretch(math.Expm1(-2 * math.Log1p(x)))
}

// PinsRate is the rate lost to regulator pins that stand open: beyond them
// lies the part η of the whole spring, and they hold it only where the balance
// is more than γ from rest.
//
//	−43200·η·N(γ/A), N(u) = (2/π)·(asin u + u·√(1−u²))         derived
//
// to first order in η. Beyond γ ≥ A the pins never touch and N is 1. NaN for
// η outside 0 to 1, a negative γ or no amplitude.
func PinsRate(η Stretch, γ, amplitude unit.Degrees) unit.SecondsPerDay {
	if !(η >= 0 && η <= 1 && γ >= 0 && amplitude > 0) {
		return unit.SecondsPerDay(math.NaN())
	}
	u := math.Min(float64(γ/amplitude), 1)
	n := 2 / math.Pi * (math.Asin(u) + u*math.Sqrt(1-u*u))
	return unit.SecondsPerDay(-float64(unit.Day) / 2 * float64(η) * n)
}
