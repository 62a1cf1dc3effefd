package balance

import (
	"math"

	"beatwright/unit"
)

// Pair is two equal masses opposite each other on the rim, as timing screws
// and washers are always used: Each in kg, at Radius from the staff in m. One
// alone would spoil the poise.
type Pair struct {
	Each, Radius float64
}

// MilligramsMillimetres gives a pair of two masses of mg milligrams at mm
// millimetres.
func MilligramsMillimetres(mg, mm float64) Pair { return Pair{mg * 1e-6, mm * 1e-3} }

// Inertia is what the pair adds to the balance's: 2·m·ρ².
func (p Pair) Inertia() Inertia { return Inertia(2 * p.Each * p.Radius * p.Radius) }

// RateFromInertia is the rate that adding ΔI to a balance of inertia i gives:
//
//	86400·((1 + ΔI/I)^−½ − 1)                                  derived
//
// about −43200·ΔI/I. NaN when i or what is left of it is not positive.
func RateFromInertia(i, added Inertia) unit.SecondsPerDay {
	if !(i > 0 && i+added > 0) {
		return unit.SecondsPerDay(math.NaN())
	}
	return unit.SecondsPerDay(float64(unit.Day) * math.Expm1(-0.5*math.Log1p(float64(added/i))))
}

// InertiaForRate is what must be added to a balance of inertia i to change the
// rate by r: negative for a gain. NaN for r ≤ −86400 or no inertia.
func InertiaForRate(i Inertia, r unit.SecondsPerDay) Inertia {
	x := float64(r) / float64(unit.Day)
	if !(i > 0 && x > -1) {
		return Inertia(math.NaN())
	}
	return i * Inertia(math.Expm1(-2*math.Log1p(x)))
}

// MovePair is the rate that moving the pair out by mm millimetres gives on a
// balance of inertia i (which has the pair in it): negative, and about
// −86400·2·m·ρ·Δρ/I.
func MovePair(i Inertia, p Pair, mm float64) unit.SecondsPerDay {
	out := Pair{p.Each, p.Radius + mm*1e-3}
	if !(p.Each > 0 && p.Radius > 0 && out.Radius > 0) {
		return unit.SecondsPerDay(math.NaN())
	}
	return RateFromInertia(i, out.Inertia()-p.Inertia())
}

// OutForRate is how many millimetres the pair must move out for a change of
// the rate by r: negative, in, for a gain. NaN when no radius does it.
func OutForRate(i Inertia, p Pair, r unit.SecondsPerDay) float64 {
	if !(p.Each > 0 && p.Radius > 0) {
		return math.NaN()
	}
	square := p.Radius*p.Radius + float64(InertiaForRate(i, r))/(2*p.Each)
	if !(square > 0) {
		return math.NaN()
	}
	return 1e3 * (math.Sqrt(square) - p.Radius)
}

// AddPair is the rate that a pair of washers gives on a balance of inertia i:
// negative. A pair taken away is one of negative mass.
func AddPair(i Inertia, p Pair) unit.SecondsPerDay { return RateFromInertia(i, p.Inertia()) }

// WasherForRate is the mass in mg of each of two washers at mm millimetres from
// the staff that changes the rate by r: negative, to be taken off, for a gain.
func WasherForRate(i Inertia, mm float64, r unit.SecondsPerDay) float64 {
	if !(mm > 0) {
		return math.NaN()
	}
	ρ := mm * 1e-3
	return float64(InertiaForRate(i, r)) / (2 * ρ * ρ) * 1e6
}

// ImpulseRate is what one short impulse per beat, given at θ past the line of
// centres, costs a balance of quality factor q that it keeps swinging at the
// amplitude A:
//
//	−86400·tan(asin(θ/A))/(2Q)                                 derived
//
// After the centre it loses, before it (θ negative) it gains: Airy, Trans.
// Cambridge Phil. Soc. III (1830) 105. NaN unless q > 0 and |θ| < A.
func ImpulseRate(θ, amplitude unit.Degrees, q float64) unit.SecondsPerDay {
	u := float64(θ / amplitude)
	if !(q > 0 && amplitude > 0 && math.Abs(u) < 1) {
		return unit.SecondsPerDay(math.NaN())
	}
	return unit.SecondsPerDay(-float64(unit.Day) * u / math.Sqrt(1-u*u) / (2 * q))
}
