package balance

import (
	"math"
	"testing"

	"beatwright/unit"
)

// scipy.special.j1(a)/a at six decimals.
func TestPoiseEffectTable(t *testing.T) {
	for a, want := range map[float64]float64{
		30: 0.483060, 90: 0.360851, 120: 0.271615, 150: 0.177911, 180: 0.090596,
		200: 0.040478, 220: -0.000840, 225: -0.009639, 240: -0.032177, 250: -0.043944,
		270: -0.059770, 300: -0.065813, 315: -0.062127, 330: -0.054982,
		0: 0.5, 1e-6: 0.5,
	} {
		near(t, "J1(A)/A", float64(PoiseEffect(unit.Degrees(a)))/86400, want, 1e-6)
	}
}

// scipy.special.jn_zeros: no effect at the first zero of J1, and a turning
// point at the first zero of J2.
func TestPoiseReversal(t *testing.T) {
	near(t, "first zero of J1", PoiseReversal.Radians(), 3.83170597, 1e-6)
	near(t, "first zero of J2", PoiseReversed.Radians(), 5.13562230, 1e-6)
	near(t, "effect at reversal", float64(PoiseEffect(PoiseReversal)), 0, 1e-3)
	near(t, "greatest reversed effect", float64(PoiseEffect(PoiseReversed))/86400, -0.066140, 1e-6)
	for _, d := range []unit.Degrees{-5, 5} {
		if PoiseEffect(PoiseReversed+d) <= PoiseEffect(PoiseReversed) {
			t.Errorf("effect %v° from the greatest is greater", d)
		}
	}
}

// Derived, and compared there with direct integration of the pendulum and
// spring; worst difference 4e-5 s/d.
func TestPoiseRateExamples(t *testing.T) {
	small := Unbalance(5).MomentRatio(MilligramsSquareCentimetre(12), 28800)
	near(t, "m·g·r/k", float64(small), 6.468889e-5, 1e-11)
	near(t, "stiffness", Stiffness(1.2e-9, 28800), 7.579856e-7, 1e-13)
	for a, want := range map[float64]float64{
		150: 0.99437, 180: 0.50635, 220: -0.00470, 270: -0.33406, 300: -0.36784,
	} {
		near(t, "heavy below, 28 800", float64(PoiseRate(small, 0, unit.Degrees(a))), want, 1e-5)
		near(t, "heavy on top, 28 800", float64(PoiseRate(small, 180, unit.Degrees(a))), -want, 1e-5)
		near(t, "heavy at the side", float64(PoiseRate(small, 90, unit.Degrees(a))), 0, 1e-12)
	}
	large := Unbalance(10).MomentRatio(MilligramsSquareCentimetre(15), 18000)
	for a, want := range map[float64]float64{
		150: 4.0729, 180: 2.0740, 220: -0.0192, 225: -0.2207, 270: -1.3683, 300: -1.5067,
	} {
		near(t, "heavy below, 18 000", float64(PoiseRate(large, 0, unit.Degrees(a))), want, 1e-4)
	}
}

func TestUnbalanceInvertsMomentRatio(t *testing.T) {
	i := MilligramsSquareCentimetre(12)
	back := Unbalance(5).MomentRatio(i, 28800).Unbalance(i, 28800)
	near(t, "µg·mm", float64(back), 5, 1e-12)
}

// The formula's mean over one swing against the equation of motion itself:
// I·θ″ + k·θ + m·g·r·sin(θ+φ) = 0 integrated step by step (fourth-order
// Runge–Kutta), the period read from the swing.
func TestPoiseRateAgainstMotion(t *testing.T) {
	for _, a := range []float64{120, 180, 270, 310} {
		for _, φ := range []float64{0, 60, 180, 250} {
			q := 6.468889e-5
			got := float64(PoiseRate(MomentRatio(q), unit.Degrees(φ), unit.Degrees(a)))
			near(t, "rate by motion", got, swingRate(q, φ*math.Pi/180, a*math.Pi/180), 4e-5)
		}
	}
}

// swingRate integrates in time units where the bare period is 2π and gives the
// rate in s/d from the time between turning points over several swings.
func swingRate(q, φ, a float64) float64 {
	force := func(θ float64) float64 { return -θ - q*math.Sin(θ+φ) }
	x, v, tNow := a, 0.0, 0.0
	const h = 2 * math.Pi / 4000
	var turns []float64
	for len(turns) < 3 {
		x0, v0 := x, v
		k1x, k1v := v, force(x)
		k2x, k2v := v+h/2*k1v, force(x+h/2*k1x)
		k3x, k3v := v+h/2*k2v, force(x+h/2*k2x)
		k4x, k4v := v+h*k3v, force(x+h*k3x)
		x += h / 6 * (k1x + 2*k2x + 2*k3x + k4x)
		v += h / 6 * (k1v + 2*k2v + 2*k3v + k4v)
		tNow += h
		if v0 < 0 && v >= 0 || v0 > 0 && v <= 0 {
			turns = append(turns, tNow-h+h*hermiteZero(v0, v, force(x0)*h, force(x)*h))
		}
	}
	return 86400 * (2*math.Pi/(turns[2]-turns[0]) - 1)
}

// hermiteZero is where between 0 and 1 the cubic with these end values and
// slopes is zero.
func hermiteZero(y0, y1, d0, d1 float64) float64 {
	lo, hi := 0.0, 1.0
	for range 60 {
		m := (lo + hi) / 2
		y := (1+2*m)*(1-m)*(1-m)*y0 + m*(1-m)*(1-m)*d0 + m*m*(3-2*m)*y1 + m*m*(m-1)*d1
		if (y < 0) == (y0 < 0) {
			lo = m
		} else {
			hi = m
		}
	}
	return (lo + hi) / 2
}

// −J2(A)/A against the effect's own differences.
func TestPoiseEffectSlope(t *testing.T) {
	for _, a := range []unit.Degrees{5, 90, 150, 219.54, 270, 320} {
		const h = 0.01
		want := float64(PoiseEffect(a+h)-PoiseEffect(a-h)) / (2 * h)
		near(t, "slope", PoiseEffectSlope(a), want, 1e-4)
	}
	near(t, "at rest", PoiseEffectSlope(0), 0, 0)
	near(t, "at 150° (scipy.special.jn)", PoiseEffectSlope(150), -265.567125, 1e-5)
}
