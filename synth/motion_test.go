package synth

import (
	"math"
	"testing"

	"beatwright/unit"

	"pgregory.net/rapid"
)

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: got %.9g, want %.9g ± %.1g", what, got, want, tolerance)
	}
}

// Derived from the sinusoidal motion, computed independently in Python.
func TestIntervalTable(t *testing.T) {
	for _, c := range []struct {
		lift, amplitude unit.Degrees
		vph             unit.BeatsPerHour
		want            float64 // ms
	}{
		{52, 150, 28800, 13.8634},
		{52, 200, 28800, 10.3744},
		{52, 225, 28800, 9.2162},
		{52, 270, 28800, 7.6749},
		{52, 300, 28800, 6.9054},
		{52, 315, 28800, 6.5758},
		{50, 270, 18000, 11.8062},
		{52, 270, 21600, 10.2332},
	} {
		got := Interval(c.lift, c.amplitude, c.vph.Period()).Milliseconds()
		near(t, "interval", float64(got), c.want, 1e-4)
		_, truth := render(t, Scene{Duration: 1, Watch: &Watch{BeatsPerHour: c.vph, Lift: c.lift, Swing: Swing{Start: c.amplitude}}})
		for _, b := range truth.Beats {
			near(t, "beat's interval", float64((b.Drop - b.Unlocking).Milliseconds()), c.want, 1e-4)
		}
	}
}

// Derived (β = A·sin(πe/T)), checked there by crossing times; the last line
// is 1.5 ms off the other side's.
func TestBeatAngleTable(t *testing.T) {
	for _, c := range []struct {
		e         unit.Milliseconds
		vph       unit.BeatsPerHour
		amplitude unit.Degrees
		want      float64 // °
	}{
		{1, 18000, 270, 2.1206},
		{1, 21600, 270, 2.5447},
		{1, 28800, 270, 3.3928},
		{1, 28800, 300, 3.7698},
		{1, 36000, 270, 4.2410},
		{1, 18000, 200, 1.5708},
		{0.5, 28800, 270, 1.6964},
	} {
		near(t, "angle", float64(BeatAngle(c.e, c.amplitude, c.vph.Period())), c.want, 1e-4)
	}
}

// Derived: T = 0.4 s, A = 270°, β = 2.1205° give beats of 0.1990 and 0.2010 s
// between crossings of the line of centres.
func TestCrossings(t *testing.T) {
	first := motion{period: 0.4, amplitude: 270, beta: 2.1205}
	second := first
	second.side = 1
	beat := 0.2 + second.after(0) - first.after(0)
	near(t, "beat from first to second", beat, 0.199, 5e-7)
	near(t, "beat from second to first", 0.4-beat, 0.201, 5e-7)
}

// Rate by the decided convention, 86 400·(nominal/measured − 1).
func TestRateOf(t *testing.T) {
	near(t, "28 800, 124.990 ms", float64(RateOf(28800, 0.124990)), 6.912553, 1e-6)
	near(t, "18 000, 200.020 ms", float64(RateOf(18000, 0.200020)), -8.639136, 1e-6)
	near(t, "there and back", float64(RateOf(21600, Period(21600, -37.25)/2)), -37.25, 1e-9)
}

// What is heard ties back to the motion exactly, whatever the beat error: for
// a lift centred on the line of centres, with t from unlocking to drop and e
// half the difference of alternate middles,
//
//	A = λ / (2·sin(πt/T)·cos(πe/T)),   β = A·sin(πe/T)·cos(πt/T)
//
// Derived from the sums of the two sines.
func TestHeardTimesGiveMotionBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := motion{
			period:    rapid.Float64Range(0.2, 0.5).Draw(t, "period"),
			amplitude: rapid.Float64Range(60, 320).Draw(t, "amplitude"),
			beta:      rapid.Float64Range(-4, 4).Draw(t, "beta"),
		}
		lift := rapid.Float64Range(38, 58).Draw(t, "lift")
		u, d := m.after(-lift/2), m.after(lift/2)
		second := m
		second.side = 1
		u2, d2 := second.after(-lift/2), second.after(lift/2)
		if math.Abs((d-u)-(d2-u2)) > 1e-12 {
			t.Fatalf("intervals of the sides differ: %g and %g", d-u, d2-u2)
		}
		e := (u+d)/2 - (u2+d2)/2
		x, y := math.Pi*(d-u)/m.period, math.Pi*e/m.period
		if a := lift / (2 * math.Sin(x) * math.Cos(y)); math.Abs(a-m.amplitude) > 1e-9 {
			t.Fatalf("amplitude %g, want %g", a, m.amplitude)
		}
		if b := m.amplitude * math.Sin(y) * math.Cos(x); math.Abs(b-m.beta) > 1e-9 {
			t.Fatalf("beat angle %g, want %g", b, m.beta)
		}
	})
}

func TestCourses(t *testing.T) {
	points := []SwingPoint{{10, 200}, {20, 240}}
	for _, c := range []struct {
		name  string
		swing Swing
		at    unit.Seconds
		want  float64 // by hand from the field's formula
	}{
		{"constant", Swing{Start: 250}, 99, 250},
		{"linear", Swing{Start: 250, End: 230, Course: Linear, Over: 40}, 10, 245},
		{"linear ended", Swing{Start: 250, End: 230, Course: Linear, Over: 40}, 99, 230},
		{"settling", Swing{Start: 200, End: 100, Course: Settling, Over: 20}, 20, 100 + 100/math.E},
		{"run down", Swing{Start: 220, End: 80, Course: RunDown, Over: 60}, 30, 185},
		{"before the points", Swing{Course: Points, Points: points}, 0, 200},
		{"between points", Swing{Course: Points, Points: points}, 12.5, 210},
		{"after the points", Swing{Course: Points, Points: points}, 30, 240},
	} {
		near(t, c.name, float64(c.swing.At(c.at)), c.want, 1e-9)
	}
}

func TestWaves(t *testing.T) {
	sine := Wave{Period: 6, Phase: math.Pi / 2}
	near(t, "sine at its peak", sine.at(0), 1, 1e-12)
	near(t, "sine half a turn on", sine.at(3), -1, 1e-12)
	pulse := Wave{Period: 6, Shape: Pulse, Width: 0.5}
	near(t, "pulse at its peak", pulse.at(1.5), 1, 1e-12)
	near(t, "beside the pulse", pulse.at(4), 0, 0)
}
