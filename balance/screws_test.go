package balance

import (
	"math"
	"testing"

	"beatwright/unit"

	"pgregory.net/rapid"
)

// Derived: exact change of inertia, worked for a small and a pocket balance.
func TestScrewsAndWashers(t *testing.T) {
	small, pocket := Inertia(1.2e-9), Inertia(5e-8)
	screws := MilligramsMillimetres(0.5, 4)
	near(t, "0.5 mg at 4 mm out 0.05 mm", float64(MovePair(small, screws, 0.05)), -14.486, 1e-3)
	meanTime := MilligramsMillimetres(5, 8.5)
	// −22.03 s/d a turn is the linear law: a thousandth of a turn obeys it.
	near(t, "mean-time screws, a thousandth of a turn", 1e3*float64(MovePair(pocket, meanTime, 0.15e-3)), -22.03, 0.01)
	near(t, "one turn, exact", float64(MovePair(pocket, meanTime, 0.15)), -22.2178, 1e-3) // 86400·((1+ΔI/I)^−½−1) in Python
	near(t, "1 mg washers", float64(AddPair(pocket, MilligramsMillimetres(1, 8.7))), -130.50, 0.01)
	near(t, "washers taken off", float64(AddPair(pocket, MilligramsMillimetres(-1, 8.7))), 130.79, 0.4)
	near(t, "inertia, linear", float64(RateFromInertia(1, 1e-6)), -43200e-6, 1e-7)
}

func TestScrewsInvert(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		i := MilligramsSquareCentimetre(rapid.Float64Range(5, 500).Draw(t, "inertia"))
		r := unit.SecondsPerDay(rapid.Float64Range(-300, 300).Draw(t, "rate"))
		mm := rapid.Float64Range(3, 9).Draw(t, "radius")
		w := WasherForRate(i, mm, r)
		if got := AddPair(i, MilligramsMillimetres(w, mm)); math.Abs(float64(got-r)) > 1e-8 {
			t.Fatalf("washers of %v mg: got %v, want %v", w, got, r)
		}
		p := MilligramsMillimetres(2, mm)
		out := OutForRate(i, p, r)
		if math.IsNaN(out) {
			t.Skip("no radius does it")
		}
		if got := MovePair(i, p, out); math.Abs(float64(got-r)) > 1e-8 {
			t.Fatalf("out by %v mm: got %v, want %v", out, got, r)
		}
	})
}

// Derived from Airy 1830; the exact cycle of a damped balance differs by less
// than 0.002 s/d.
func TestImpulseRate(t *testing.T) {
	for a, want := range map[float64]float64{300: -7.2040, 270: -8.0055, 220: -9.8283, 180: -12.0186} {
		near(t, "impulse 10° late", float64(ImpulseRate(10, unit.Degrees(a), 200)), want, 1e-4)
		near(t, "impulse 10° early", float64(ImpulseRate(-10, unit.Degrees(a), 200)), -want, 1e-4)
	}
	near(t, "at the centre", float64(ImpulseRate(0, 270, 200)), 0, 0)
}

func TestScrewNonsenseIsNaN(t *testing.T) {
	for name, got := range map[string]float64{
		"no inertia":       float64(RateFromInertia(0, 1)),
		"nothing left":     float64(RateFromInertia(1, -1)),
		"stopped":          float64(InertiaForRate(1, -86400)),
		"into the staff":   float64(MovePair(1e-9, MilligramsMillimetres(1, 4), -4)),
		"no such radius":   OutForRate(1e-6, MilligramsMillimetres(0.001, 4), 1000),
		"no mass":          OutForRate(1e-9, Pair{}, 1),
		"washer on staff":  WasherForRate(1e-9, 0, 1),
		"impulse past end": float64(ImpulseRate(300, 270, 200)),
		"no quality":       float64(ImpulseRate(10, 270, 0)),
	} {
		if !math.IsNaN(got) {
			t.Errorf("%s: got %v, want NaN", name, got)
		}
	}
}
