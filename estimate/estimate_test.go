package estimate

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: got %.9g, want %.9g ± %g", what, got, want, tol)
	}
}

// JCGM 100:2008 5.2: of fully correlated inputs the terms add with their
// signs; of independent ones they add as squares.
func TestCommonTermsEnterMeanOnceAndDifferenceNotAtAll(t *testing.T) {
	a := New(10, 0.3).With("clock", 4.1)
	b := New(6, 0.4).With("clock", 4.1)
	m := Mean(a, b)
	near(t, "mean", m.Value, 8, 1e-12)
	near(t, "own part of mean", m.Own, 0.25, 1e-12)
	near(t, "clock in mean", m.Common["clock"], 4.1, 1e-12)
	near(t, "u95 of mean", m.U95(), math.Hypot(0.25, 4.1), 1e-12)
	d := a.Sub(b)
	near(t, "difference", d.Value, 4, 1e-12)
	near(t, "u95 of difference", d.U95(), 0.5, 1e-12)
	if !d.Clear() || m.Sub(New(8.1, 0)).Clear() {
		t.Errorf("difference clear %v, mean from 8.1 clear %v", d.Clear(), m.Sub(New(8.1, 0)).Clear())
	}
	other := b.Sub(New(6, 0.4).With("another clock", 4.1))
	near(t, "two clocks do not cancel", other.U95(), math.Sqrt(0.32+2*4.1*4.1), 1e-12)
	if a.Common["clock"] != 4.1 {
		t.Errorf("an operand was changed: %v", a.Common)
	}
}

func TestWeightedMean(t *testing.T) {
	w := Weighted(New(1, 1).With("clock", 2), New(4, 2).With("clock", 2))
	near(t, "weighted mean", w.Value, 1.6, 1e-12)             // (1·1 + 4/4) / (5/4)
	near(t, "its own doubt", w.Own, math.Sqrt(1/1.25), 1e-12) // (Σ1/u²)^−½
	near(t, "its clock", w.Common["clock"], 2, 1e-12)         // undiminished
	near(t, "one without doubt", Weighted(New(1, 1), New(2, 0)).Value, 2, 0)
	if !math.IsNaN(Weighted().Value) || !math.IsInf(Mean().U95(), 1) {
		t.Error("no estimates must give NaN with infinite uncertainty")
	}
}

// scipy.stats.studentized_range.ppf(0.95, n, inf)/1.959964.
func TestChanceSpread(t *testing.T) {
	near(t, "two", ChanceSpread(2, 1), math.Sqrt2, 1e-5)
	near(t, "six", ChanceSpread(6, 1), 4.030092/1.959964, 1e-5)
	near(t, "one", ChanceSpread(1, 1), 0, 0)
	near(t, "thirty", ChanceSpread(30, 1), ChanceSpread(12, 1), 0)
}

// scipy.optimize.curve_fit(lambda x, a, b: a + b*x, …, absolute_sigma=True).
func TestFitLine(t *testing.T) {
	y, s := []float64{1.0, 2.9, 5.2, 6.8, 9.1}, []float64{.1, .2, .1, .3, .2}
	var rows []Row
	for i := range y {
		rows = append(rows, Row{X: []float64{1, float64(i)}, Y: New(y[i], s[i]*coverage).With("clock", 3)})
	}
	f, err := Fit(rows)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "a", f.Beta[0], 1.0160221, 1e-7)
	near(t, "b", f.Beta[1], 2.03793739, 1e-7)
	k := coverage * coverage
	near(t, "var a", f.cov[0][0]/k, 0.0081768, 1e-7)
	near(t, "cov ab", f.cov[0][1]/k, -0.00316759, 1e-7)
	near(t, "var b", f.cov[1][1]/k, 0.00230816, 1e-7)
	near(t, "chi square", f.ChiSquare, 3.11049724, 1e-6)
	near(t, "clock in level", f.Term(0).Common["clock"], 3, 1e-9)
	near(t, "clock in slope", f.Term(1).Common["clock"], 0, 1e-9)
	near(t, "cov with clock", f.Covariance(0, 0), 0.0081768*k+9, 1e-6)
	near(t, "fitted at 2", f.Combine([]float64{1, 2}).Own, coverage*math.Sqrt(.0081768-4*.00316759+4*.00230816), 1e-6)
	near(t, "widened", f.Widened(2).Term(1).Own, 2*f.Term(1).Own, 1e-12)
	near(t, "further cause", f.Shared("clock", []float64{1, 2}).Term(0).Common["clock"], 4, 1e-9)
}

func TestFitRefuses(t *testing.T) {
	one := Row{X: []float64{1, 2}, Y: New(1, 1)}
	for name, c := range map[string]struct {
		rows []Row
		want error
	}{
		"nothing":    {nil, ErrTooFew},
		"one row":    {[]Row{one}, ErrTooFew},
		"no weight":  {[]Row{one, {X: []float64{1, 0}, Y: New(1, 0)}}, ErrNoWeight},
		"NaN weight": {[]Row{one, {X: []float64{1, 0}, Y: New(1, math.NaN())}}, ErrNoWeight},
		"ragged":     {[]Row{one, {X: []float64{1}, Y: New(1, 1)}}, ErrNoWeight},
		"same rows":  {[]Row{one, one, one}, ErrSingular},
		"all zero":   {[]Row{{X: []float64{0}, Y: New(1, 1)}}, ErrSingular},
	} {
		if _, err := Fit(c.rows); !errors.Is(err, c.want) {
			t.Errorf("%s: got %v, want %v", name, err, c.want)
		}
	}
}

// Exact data come back exactly, whatever the weights and units.
func TestFitRecovers(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		beta := rapid.SliceOfN(rapid.Float64Range(-100, 100), 3, 3).Draw(t, "beta")
		unit := math.Pow(10, float64(rapid.IntRange(-6, 6).Draw(t, "unit")))
		beta[1] /= unit // so that all three matter alike
		var rows []Row
		for i := range 8 {
			λ := float64(i) * math.Pi / 4
			x := []float64{1, math.Cos(λ) * unit, math.Sin(λ)}
			own := rapid.Float64Range(0.1, 10).Draw(t, "own")
			rows = append(rows, Row{X: x, Y: New(dot(x, beta), own)})
		}
		f, err := Fit(rows)
		if err != nil {
			t.Fatal(err)
		}
		for j := range beta {
			if tol := 1e-9 * []float64{1, 1 / unit, 1}[j]; math.Abs(f.Beta[j]-beta[j]) > tol {
				t.Fatalf("parameter %d: got %g, want %g", j, f.Beta[j], beta[j])
			}
		}
	})
}
