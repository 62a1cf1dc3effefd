// Package balance is the physics of a sprung balance: what the swing, the
// lift angle and the sounds of a lever escapement have to do with each other,
// and what an unpoised balance does to the rate.
//
// The balance is taken to swing as A·sin(2πt/T) about its rest: A is the
// amplitude, from rest to one turning point, and T the full period of two
// beats. The lift angle λ is the whole angle through which fork and balance
// are joined, half on each side of rest. The formulas for the sounds hold for
// lever escapements only. Nothing is measured here and no doubt is carried;
// callers do both.
//
// A derivation from this model is marked "derived" at its line. Input that no
// balance can have (an interval longer than half a period, an amplitude below
// half the lift, zero, a NaN) gives NaN, never a panic.
package balance

import (
	"math"

	"beatwright/unit"
)

// Amplitude is the swing, in degrees, at which a balance takes the interval t
// to pass through the lift angle λ, from unlocking to drop:
//
//	A = λ / (2·sin(π·t/T))                                     derived
//
// It is defined for λ > 0 and 0 < t ≤ T/2; anything else gives NaN. The linear
// form 3600·λ/(π·t·vph) always reads low and is not used.
func Amplitude(lift unit.Degrees, interval unit.Seconds, period unit.Seconds) unit.Degrees {
	if !(lift > 0 && period > 0 && interval > 0 && interval <= period/2) {
		return unit.Degrees(math.NaN())
	}
	return lift / unit.Degrees(2*math.Sin(math.Pi*float64(interval/period)))
}

// Interval is the time, in seconds, from unlocking to drop at the amplitude A:
// the inverse of Amplitude.
//
//	t = (T/π)·asin(λ/(2A))                                     derived
//
// It is defined for λ > 0 and A ≥ λ/2; anything else gives NaN.
func Interval(lift, amplitude unit.Degrees, period unit.Seconds) unit.Seconds {
	if !(lift > 0 && period > 0 && amplitude >= lift/2) || math.IsInf(float64(amplitude), 0) {
		return unit.Seconds(math.NaN())
	}
	return period * unit.Seconds(math.Asin(float64(lift/(2*amplitude)))/math.Pi)
}

// AmplitudePerInterval is by how many degrees the amplitude falls for each
// second that the interval grows (negative):
//
//	dA/dt = −A·(π/T)·cot(π·t/T)                                derived
//
// NaN where Amplitude is.
func AmplitudePerInterval(lift unit.Degrees, interval, period unit.Seconds) float64 {
	a := float64(Amplitude(lift, interval, period))
	x := math.Pi * float64(interval/period)
	return -a * math.Pi / float64(period) / math.Tan(x)
}

// BeatErrorAngle is how far, in degrees, the rest of the balance lies from the
// line of centres, when alternate beats differ by 2e (e is half the
// difference):
//
//	β = A·sin(π·e/T)                                           derived
//
// It has the sign of e. NaN unless A > 0, T > 0 and |e| < T/2.
func BeatErrorAngle(e unit.Seconds, amplitude unit.Degrees, period unit.Seconds) unit.Degrees {
	if !(period > 0 && amplitude > 0 && math.Abs(float64(e)) < float64(period)/2) {
		return unit.Degrees(math.NaN())
	}
	return amplitude * unit.Degrees(math.Sin(math.Pi*float64(e/period)))
}
