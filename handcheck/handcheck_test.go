package handcheck

import (
	"math"
	"testing"

	"beatwright/estimate"
	"beatwright/unit"
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: got %.8g, want %.8g ± %g", what, got, want, tol)
	}
}

// Worked by hand: 40 s in nine hours is 40·86400/32400 = 106.667 s/d; two
// readings to 1 s are √2 s, 3.771 s/d.
func TestRate(t *testing.T) {
	for _, c := range []struct {
		check    Check
		rate, u9 float64
	}{
		{Check{40, 9 * 3600, 1}, 106.66667, 3.77124},
		{Check{-40, 9 * 3600, 1}, -106.66667, 3.77124},
		{Check{6, 86400, 0.5}, 6, 0.70711},
		{Check{6, 3 * 86400, 0.5}, 2, 0.23570},
	} {
		e, err := c.check.Rate()
		if err != nil {
			t.Fatal(err)
		}
		near(t, "rate", e.Value, c.rate, 1e-5)
		near(t, "u95", e.U95(), c.u9, 1e-5)
	}
	nan := unit.Seconds(math.NaN())
	for _, c := range []Check{{1, 0, 1}, {1, -5, 1}, {1, 10, 0}, {1, 10, -1}, {-10, 10, 1}, {nan, 10, 1}, {1, nan, 1}, {1, unit.Seconds(math.Inf(1)), 1}} {
		if e, err := c.Rate(); err == nil {
			t.Errorf("%+v: got %v, want an error", c, e)
		}
	}
}

func TestCompare(t *testing.T) {
	sound := estimate.New(4, 0.3).With("clock", 4.1)
	for _, c := range []struct {
		hands   estimate.Estimate
		verdict Verdict
		sure    float64 // scipy.stats.norm.cdf(1.959964·|d|/u95)
	}{
		{estimate.New(6, 3.8), Same, 0.7581},
		{estimate.New(-600, 3.8), HandsLose, 1},
		{estimate.New(-2.5, 3.8), HandsLose, 0.9886},
		{estimate.New(14, 3.8), HandsGain, 0.9998},
	} {
		a := Compare(c.hands, sound)
		if a.Verdict != c.verdict {
			t.Errorf("hands %v: got %q, want %q", c.hands, a.Verdict, c.verdict)
		}
		near(t, "sure", a.Sure, c.sure, 1e-4)
	}
	if a := Compare(estimate.New(-600, 3.8), estimate.New(-200, 1)); a.Verdict != HandsLag {
		t.Errorf("a watch that itself loses 200 s/d sounds not good: %q", a.Verdict)
	}
	if a := Compare(estimate.New(1, 0), estimate.New(1, 0)); a.Verdict != Same || a.Sure != 0.5 {
		t.Errorf("equal and exact: %+v", a)
	}
}

func TestParseSpan(t *testing.T) {
	for in, want := range map[string]float64{
		"+40s": 40, "-40s": -40, "−1m30s": -90, "9h": 32400, "9h30m": 34200, "2d 4h": 187200,
		"0.5s": 0.5, "1min": 60, " 10 min 5 s ": 605, "250ms": 0.25, "0s": 0,
	} {
		if got, err := ParseSpan(in); err != nil || math.Abs(float64(got)-want) > 1e-12 {
			t.Errorf("%q: got %v, %v, want %v", in, got, err, want)
		}
	}
	for _, in := range []string{"", "40", "s", "+", "1s1m", "1h1h", "1x", "1..2s", "--4s", "NaN s", "1e9s", "4 0s", "1,5s"} {
		if got, err := ParseSpan(in); err == nil {
			t.Errorf("%q: got %v, want an error", in, got)
		}
	}
}

func FuzzParseSpan(f *testing.F) {
	for _, s := range []string{"+40s", "9h30m", "2d 4h", "\xff", "1m", "999999999999d"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		if v, err := ParseSpan(s); err == nil && math.IsNaN(float64(v)) {
			t.Errorf("%q gave NaN", s)
		}
	})
}
