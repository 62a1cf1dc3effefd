package hairspring

import (
	"math"
	"testing"

	"beatwright/unit"

	"pgregory.net/rapid"
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: got %.8g, want %.8g ± %g", what, got, want, tol)
	}
}

func TestLength(t *testing.T) {
	// Derived: 100 mm shortened by 0.1 mm gains 43.2324 s/d (43.2 linear).
	near(t, "0.1 of 100 mm", float64(RateFromLength(-0.001)), 43.2324, 5e-5)
	// Kleinlein 1920 §68: half an inner coil out, about ten minutes a day
	// fast; 1.39 % of the spring by the linear law.
	near(t, "ten minutes a day", float64(LengthForRate(600)), -0.0139, 3e-4)
	near(t, "height", float64(RateFromHeight(1e-6)), 43200e-6, 1e-7)
	near(t, "thickness", float64(RateFromThickness(1e-6)), 129600e-6, 1e-6)
}

// Derived; worked to ± 0.01 s/d for pins open by 30° with 3 % beyond them.
func TestPinsRate(t *testing.T) {
	for a, want := range map[float64]float64{300: -164.74, 270: -182.97, 220: -224.32, 180: -273.74} {
		near(t, "open pins", float64(PinsRate(0.03, 30, unit.Degrees(a))), want, 0.01)
	}
	near(t, "pins never touched", float64(PinsRate(0.03, 300, 270)), -43200*0.03, 1e-9)
	near(t, "pins closed", float64(PinsRate(0.03, 0, 270)), 0, 0)
}

func TestLengthForRateInverts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rapid.Float64Range(-3000, 3000).Draw(t, "rate")
		if got := float64(RateFromLength(LengthForRate(unit.SecondsPerDay(r)))); math.Abs(got-r) > 1e-9*(1+math.Abs(r)) {
			t.Fatalf("got %v, want %v", got, r)
		}
	})
}

func TestNonsenseIsNaN(t *testing.T) {
	for name, got := range map[string]float64{
		"no spring left": float64(RateFromLength(-1)),
		"stopped":        float64(LengthForRate(-86400)),
		"NaN":            float64(RateFromLength(Stretch(math.NaN()))),
		"pins, η > 1":    float64(PinsRate(1.1, 30, 270)),
		"pins, no swing": float64(PinsRate(0.03, 30, 0)),
	} {
		if !math.IsNaN(got) {
			t.Errorf("%s: got %v, want NaN", name, got)
		}
	}
}
