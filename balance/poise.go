package balance

import (
	"math"

	"beatwright/unit"
)

// Gravity is the standard acceleration of free fall, m/s² (ISO 80000-3, by
// definition).
const Gravity = 9.80665

// The amplitudes, in degrees, that decide what want of poise does to the rate.
const (
	// PoiseReversal is where want of poise does not touch the rate: the first
	// zero of J1, 3.8317059702 rad (scipy.special.jn_zeros(1, 1)).
	PoiseReversal unit.Degrees = 219.54058
	// PoiseReversed is where its reversed effect is greatest: the first zero
	// of J2, 5.1356223018 rad (scipy.special.jn_zeros(2, 1)).
	PoiseReversed unit.Degrees = 294.24949
)

// MomentRatio is the weight moment of the unpoised mass over the stiffness of
// the hairspring, m·g·r/k, in radians: how far a small unbalance would turn
// the balance out of rest if it hung level with the staff.
type MomentRatio float64

// Inertia is the moment of inertia of a balance, kg·m².
type Inertia float64

// MilligramsSquareCentimetre gives an inertia stated in the trade's mg·cm².
func MilligramsSquareCentimetre(x float64) Inertia { return Inertia(x * 1e-10) }

// Unbalance is mass times radius of what is too much at one place, in µg·mm.
type Unbalance float64

// Stiffness is that of the hairspring, in N·m/rad, with which a balance of
// inertia i makes b beats an hour:
//
//	k = I·ω², ω = 2π·vph/7200                                  derived
func Stiffness(i Inertia, b unit.BeatsPerHour) float64 {
	ω := 2 * math.Pi * float64(b) / 7200
	return float64(i) * ω * ω
}

// MomentRatio is m·g·r/k of this unbalance on a balance of inertia i and b
// beats an hour. NaN when either is not positive.
func (u Unbalance) MomentRatio(i Inertia, b unit.BeatsPerHour) MomentRatio {
	if !(i > 0 && b > 0) {
		return MomentRatio(math.NaN())
	}
	return MomentRatio(float64(u) * 1e-12 * Gravity / Stiffness(i, b)) // 1 µg·mm = 1e-12 kg·m
}

// Unbalance is the mass times radius behind the ratio, in µg·mm, on a balance
// of inertia i and b beats an hour. NaN when either is not positive.
func (q MomentRatio) Unbalance(i Inertia, b unit.BeatsPerHour) Unbalance {
	if !(i > 0 && b > 0) {
		return Unbalance(math.NaN())
	}
	return Unbalance(float64(q) * Stiffness(i, b) / Gravity * 1e12)
}

// PoiseEffect is the rate in s/d that a unit of moment ratio, hanging straight
// down, gives at the amplitude A:
//
//	86400·J1(A)/A, A in radians                                derived
//
// from the mean over one swing of I·θ″ + k·θ + m·g·r·sin(θ+φ) = 0. Positive
// below PoiseReversal: heavy at the bottom gains. At rest it is 43 200. NaN
// for a negative amplitude.
func PoiseEffect(amplitude unit.Degrees) unit.SecondsPerDay {
	a := amplitude.Radians()
	switch {
	case !(a >= 0) || math.IsInf(a, 1):
		return unit.SecondsPerDay(math.NaN())
	case a < 1e-4: // J1(x)/x = ½ − x²/16 + …
		return unit.SecondsPerDay(unit.Day / 2)
	}
	return unit.SecondsPerDay(float64(unit.Day) * math.J1(a) / a)
}

// PoiseRate is what want of poise adds to the rate, in s/d: the heavy point at
// fromDown degrees from straight down when the balance is at rest (0 hangs, 180
// stands on top).
//
//	rate = 86400·(m·g·r/k)·cos φ·J1(A)/A                       derived
//
// A level balance (dial up or down) is not touched by it (Kleinlein 1920 §28).
func PoiseRate(q MomentRatio, fromDown, amplitude unit.Degrees) unit.SecondsPerDay {
	c := math.Cos(fromDown.Radians())
	return unit.SecondsPerDay(float64(q)*c) * PoiseEffect(amplitude)
}

// PoiseEffectSlope is how PoiseEffect changes with the amplitude, in s/d for
// each degree and unit of moment ratio:
//
//	d/dA (J1(A)/A) = −J2(A)/A                                  derived
//
// NaN for a negative amplitude.
func PoiseEffectSlope(amplitude unit.Degrees) float64 {
	a := amplitude.Radians()
	switch {
	case !(a >= 0) || math.IsInf(a, 1):
		return math.NaN()
	case a == 0:
		return 0
	}
	return -float64(unit.Day) * math.Jn(2, a) / a * math.Pi / 180
}
