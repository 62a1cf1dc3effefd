package balance

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

// Derived: the sine law evaluated independently with numpy, four decimals.
func TestAmplitudeFromInterval(t *testing.T) {
	for _, c := range []struct{ lift, vph, ms, want float64 }{
		{52, 28800, 6.9, 300.2332},
		{52, 28800, 7.7, 269.1229},
		{52, 21600, 8.8, 313.8467},
		{50, 18000, 12.0, 265.6513},
		{44, 18000, 9.0, 311.4957},
		{38, 28800, 5.2, 290.9709},
		{52, 36000, 5.6, 295.9550},
	} {
		got := Amplitude(unit.Degrees(c.lift), unit.Seconds(c.ms/1e3), unit.BeatsPerHour(c.vph).Period())
		near(t, "amplitude", float64(got), c.want, 1e-4)
	}
}

// Derived, as above.
func TestIntervalFromAmplitude(t *testing.T) {
	for _, c := range []struct{ lift, vph, a, wantMs float64 }{
		{52, 28800, 150, 13.8634},
		{52, 28800, 200, 10.3744},
		{52, 28800, 225, 9.2162},
		{52, 28800, 270, 7.6749},
		{52, 28800, 300, 6.9054},
		{52, 28800, 315, 6.5758},
		{50, 18000, 270, 11.8062},
		{52, 21600, 270, 10.2332},
	} {
		got := Interval(unit.Degrees(c.lift), unit.Degrees(c.a), unit.BeatsPerHour(c.vph).Period())
		near(t, "interval", float64(got)*1e3, c.wantMs, 1e-4)
	}
}

// Derived: one sample at 48 kHz moves 270° by 0.73° at 28 800 and lift 52°.
func TestAmplitudePerInterval(t *testing.T) {
	p := unit.BeatsPerHour(28800).Period()
	s := AmplitudePerInterval(52, Interval(52, 270, p), p)
	near(t, "one sample at 48 kHz", -s/48000, 0.73, 0.005)
}

// Derived; the first row was checked by the times at which a sine of
// amplitude 270° about a rest 2.1205° off crosses the line of centres.
func TestBeatErrorAngle(t *testing.T) {
	for _, c := range []struct{ ms, vph, a, want float64 }{
		{1, 18000, 270, 2.1206},
		{1, 21600, 270, 2.5447},
		{1, 28800, 270, 3.3928},
		{1, 28800, 300, 3.7698},
		{1, 36000, 270, 4.2410},
		{1, 18000, 200, 1.5708},
		{0.5, 28800, 270, 1.6964},
		{-0.5, 28800, 270, -1.6964},
	} {
		got := BeatErrorAngle(unit.Seconds(c.ms/1e3), unit.Degrees(c.a), unit.BeatsPerHour(c.vph).Period())
		near(t, "beat error angle", float64(got), c.want, 1e-4)
	}
}

// A rest that is β off the line of centres makes alternate beats differ as
// the crossing times say, for any β, A and T.
func TestBeatErrorAngleAgainstCrossings(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := rapid.Float64Range(60, 330).Draw(t, "amplitude")
		β := rapid.Float64Range(-20, 20).Draw(t, "rest")
		T := 7200 / rapid.Float64Range(10000, 40000).Draw(t, "vph")
		// β + A·sin(2πt/T) = 0, going down then up: crossings at T/2+x and T−x.
		x := T / (2 * math.Pi) * math.Asin(β/a)
		short, long := (T-x)-(T/2+x), T/2+2*x
		e := (long - short) / 2
		got := BeatErrorAngle(unit.Seconds(e), unit.Degrees(a), unit.Seconds(T))
		if math.Abs(float64(got)-β) > 1e-9 {
			t.Fatalf("crossings %g and %g s: got %g, want %g", short, long, got, β)
		}
	})
}

func TestIntervalInvertsAmplitude(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lift := unit.Degrees(rapid.Float64Range(20, 70).Draw(t, "lift"))
		a := unit.Degrees(rapid.Float64Range(36, 360).Draw(t, "amplitude"))
		p := unit.BeatsPerHour(rapid.Float64Range(7000, 40000).Draw(t, "vph")).Period()
		got := Amplitude(lift, Interval(lift, a, p), p)
		if math.Abs(float64(got-a)) > 1e-9*float64(a) {
			t.Fatalf("got %v, want %v", got, a)
		}
	})
}

func TestNonsenseIsNaN(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	deg := func(x float64) unit.Degrees { return unit.Degrees(x) }
	sec := func(x float64) unit.Seconds { return unit.Seconds(x) }
	for name, got := range map[string]float64{
		"no lift":                    float64(Amplitude(0, 0.01, 0.25)),
		"negative interval":          float64(Amplitude(52, -0.01, 0.25)),
		"interval over half period":  float64(Amplitude(52, 0.126, 0.25)),
		"NaN interval":               float64(Amplitude(52, sec(nan), 0.25)),
		"no period":                  float64(Amplitude(52, 0.01, 0)),
		"infinite swing, interval":   float64(Interval(52, deg(inf), 0.25)),
		"swing within the lift":      float64(Interval(52, 25.9, 0.25)),
		"NaN amplitude":              float64(Interval(52, deg(nan), 0.25)),
		"beat error of half a swing": float64(BeatErrorAngle(0.125, 270, 0.25)),
		"beat error without swing":   float64(BeatErrorAngle(0.001, 0, 0.25)),
		"negative swing":             float64(PoiseEffect(-1)),
		"infinite swing":             float64(PoiseEffect(deg(inf))),
		"no inertia":                 float64(Unbalance(5).MomentRatio(0, 28800)),
		"no beats":                   float64(MomentRatio(1e-5).Unbalance(1e-9, 0)),
	} {
		if !math.IsNaN(got) {
			t.Errorf("%s: got %g, want NaN", name, got)
		}
	}
}
