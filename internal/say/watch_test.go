package say_test

import (
	"math"
	"strings"
	"testing"

	"beatwright/internal/say"
	"beatwright/reading"
	"beatwright/unit"
)

// tired is an invented reading of a tired watch.
func tired() *reading.Watch {
	return &reading.Watch{
		From: 0.4, To: 30, BeatsPerHour: new(unit.BeatsPerHour(18000)), Beats: 148, BeatsRejected: 2,
		BeatTime:  reading.Clocked{Value: 199.9132, U95: 0.0095, U95Statistical: 0.00014},
		Rate:      &reading.Clocked{Value: 37.5, U95: 4.104, U95Statistical: 0.06},
		BeatError: &reading.BeatError{Value: 1.24, U95: 0.03, By: "unlocking", ByDrop: new(1.31), Degrees: &reading.Value{Value: 1.39, U95: 0.04}},
		Amplitude: reading.Amplitude{Value: new(143.0), U95: new(1.8), U95WithLift: new(9.1), Standing: reading.Measured},
		Lift:      reading.Lift{Value: 48, U95: 3, Standing: reading.Assumed},
		Clock:     reading.Clock{Standing: reading.Uncalibrated, U95PPM: 47.5},
		Signal:    reading.Signal{SNR: 24.1},
	}
}

func TestStatements(t *testing.T) {
	tests := []struct {
		name         string
		change       func(*reading.Watch)
		of           func(*reading.Watch) say.Statement
		text, detail string // detail: a part of it
		sure         bool
	}{
		{"gaining", nil, say.Rate, "Gaining 38 s a day.", "± 4 s/d with the clock's doubt; the sound alone says +37.50 ± 0.06 s/d", true},
		{"losing", func(w *reading.Watch) { w.Rate.Value = -37.5 }, say.Rate, "Losing 38 s a day.", "−37.50 ± 0.06 s/d", true},
		{
			"within the clock's doubt", func(w *reading.Watch) { w.Rate.Value = -1.2 },
			say.Rate, "Keeping time within 6 s a day.", "−1 ± 4 s/d with the clock's doubt; the sound alone says −1.20 ± 0.06 s/d", true,
		},
		{
			"no beat rate", func(w *reading.Watch) { w.Rate, w.BeatsPerHour = nil, nil },
			say.Rate, "Rate cannot be told.", "199.913 ± 0.010 ms, or 199.91320 ± 0.00014 ms by the sound alone", false,
		},
		{"out of beat", nil, say.BeatError, "Out of beat by 1.39°, 1.24 ms.", "± 0.04° and ± 0.03 ms; half the difference of alternate beats, taken between unlockings; between drops 1.31 ms", true},
		{"no degrees", func(w *reading.Watch) { w.BeatError.Degrees = nil }, say.BeatError, "Out of beat by 1.24 ms.", "± 0.03 ms; half", true},
		{"in beat", func(w *reading.Watch) { w.BeatError.Value = 0.011 }, say.BeatError, "In beat within 0.04 ms.", "0.01 ms ± 0.03 ms; half", true},
		{"no beat error", func(w *reading.Watch) { w.BeatError = nil }, say.BeatError, "Beat error cannot be told.", "", false},
		{"swinging", nil, say.Swing, "Swinging 143.0°.", "± 1.8° if the lift angle is 48°; ± 9° with the lift's own doubt (assumed, ± 3°)", true},
		{
			"at most", func(w *reading.Watch) {
				w.Amplitude = reading.Amplitude{Standing: reading.AtMost, Value: new(123.2), Why: "no unlocking was heard"}
			},
			say.Swing, "Swinging at most 124°.", "no unlocking was heard", false,
		},
		{
			"not resolved", func(w *reading.Watch) {
				w.Amplitude = reading.Amplitude{Standing: reading.NotResolved, Why: "noise"}
			},
			say.Swing, "Swing cannot be told.", "noise", false,
		},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			w := tired()
			if tt.change != nil {
				tt.change(w)
			}
			got := tt.of(w)
			if plain(got.Text) != tt.text || got.Sure != tt.sure {
				t.Errorf("says %q (sure %v), want %q (sure %v)", plain(got.Text), got.Sure, tt.text, tt.sure)
			}
			if !strings.Contains(plain(got.Detail), tt.detail) {
				t.Errorf("detail %q, want %q in it", plain(got.Detail), tt.detail)
			}
		})
	}
}

// plain undoes the typesetting of spaces.
func plain(s string) string { return strings.NewReplacer(nb, " ", thin, " ").Replace(s) }

func TestHeard(t *testing.T) {
	if got, want := plain(say.Heard(tired())), "18 000 beats an hour; 148 beats in 29.6 s, from 0.4 s to 30.0 s; 2 left out"; got != want {
		t.Errorf("Heard = %q, want %q", got, want)
	}
}

func TestLimits(t *testing.T) {
	tests := []struct {
		name   string
		change func(*reading.Watch)
		want   string // in one of the limits; empty: none at all
	}{
		// 47.5 ppm of 86 400 s is 4.104 s (arithmetic).
		{"clock", func(*reading.Watch) {}, "never checked: ± 47.5 ppm is ± 4 s/d"},
		{"compare by the sound", func(*reading.Watch) {}, "by the sound alone, ± 0.06 s/d"},
		{"too brief", func(w *reading.Watch) { w.Rate.U95Statistical = 2 }, "Listen longer"},
		{"noise", func(w *reading.Watch) { w.Signal.SNR = 7 }, "only 7 dB"},
		{"lift", func(*reading.Watch) {}, "48° is assumed"},
		{"nothing", func(w *reading.Watch) {
			w.Rate.U95 = w.Rate.U95Statistical
			w.Lift.Standing = reading.Given
		}, ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			w := tired()
			tt.change(w)
			got := plain(strings.Join(say.Limits(w), "\n"))
			if !strings.Contains(got, tt.want) || tt.want == "" && got != "" {
				t.Errorf("Limits = %q, want %q", got, tt.want)
			}
		})
	}
}

func TestTimes(t *testing.T) {
	tests := []struct{ got, want string }{
		{say.Span(29.64), "29.6 s"},
		{say.Span(59.96), "1 min"},
		{say.Span(725), "12 min 5 s"},
		{say.Span(3599.6), "1 h"},
		{say.Span(12000), "3 h 20 min"},
		{say.Span(unit.Seconds(math.NaN())), "–"},
		{say.Moment(12.24), "12.2 s"},
		{say.Moment(59.97), "1:00.0"},
		{say.Moment(185.2), "3:05.2"},
		{say.Moment(3725), "1:02:05.0"},
	}
	for _, tt := range tests {
		if plain(tt.got) != tt.want {
			t.Errorf("got %q, want %q", plain(tt.got), tt.want)
		}
	}
}

func TestChanges(t *testing.T) {
	tests := []struct {
		c    reading.Change
		want string
	}{
		{reading.Change{What: reading.PhaseStep, Ms: new(-57.0)}, "the beats stepped by −57.0 ms"},
		{reading.Change{What: reading.RateStep, PerDay: new(12.0)}, "the rate stepped by +12.0 s/d"},
		{reading.Change{What: reading.Gap, Ms: new(30.0)}, "sound is missing, 30.0 ms"},
		{reading.Change{What: reading.Stopped}, "the watch stopped"},
		{reading.Change{What: reading.Stopped, How: reading.Dead, Amplitude: new(297.9), AmplitudeU95: new(2.1)}, "the watch stopped dead, having swung 297.9 ± 2.1°"},
		{reading.Change{What: reading.Stopped, How: reading.Faded, Amplitude: new(131.2), AmplitudeU95: new(1.4)}, "the watch faded and stopped, last swinging 131.2 ± 1.4°"},
		{reading.Change{What: reading.Stopped, How: reading.Dead}, "the watch stopped dead"},
		{reading.Change{What: "something later"}, "something later"},
	}
	for _, tt := range tests {
		if got := plain(say.Change(tt.c)); got != tt.want {
			t.Errorf("Change(%+v) = %q, want %q", tt.c, got, tt.want)
		}
	}
	wave := reading.Periodicity{Period: 6, PeakMs: 0.15, U95: 0.024, Wheels: []string{"escape", "third"}}
	if got, want := plain(say.Wave(wave)), "waves of ± 0.150 ms every 6.00 s, as the escape or third wheel would give"; got != want {
		t.Errorf("Wave = %q, want %q", got, want)
	}
	swing := reading.AmplitudeWave{Period: 60.13, PeriodU95: 0.8, PeakDeg: 4.08, U95: 0.3}
	if got, want := plain(say.SwingWave(swing)), "the swing rises and falls by 4.1 ± 0.3° every 60.1 ± 0.8 s"; got != want {
		t.Errorf("SwingWave = %q, want %q", got, want)
	}
	swing.Wheels = []string{"fourth"}
	if got, want := plain(say.SwingWave(swing)), "the swing rises and falls by 4.1 ± 0.3° every 60.1 ± 0.8 s, as the fourth wheel would give"; got != want {
		t.Errorf("SwingWave = %q, want %q", got, want)
	}
}

func TestShared(t *testing.T) {
	w := tired()
	got := plain(strings.Join(say.Shared(w), "; "))
	// 4.104 s/d by arithmetic from 47.5 ppm; 3° of 48° is 6.25 %.
	want := "All rates heard by one device share its clock's doubt, ± 4 s/d; compare rows by the sound alone; " +
		"All amplitudes take the lift angle as 48°, assumed ± 3°: that is ± 6 % of each"
	if got != want {
		t.Errorf("Shared = %q, want %q", got, want)
	}
	w.Lift.Standing, w.Rate = reading.Given, nil
	if got := say.Shared(w); len(got) != 0 {
		t.Errorf("Shared = %q, want nothing", got)
	}
}
