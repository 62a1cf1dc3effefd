package measure_test

import (
	"math"
	"slices"
	"testing"

	"beatwright/measure"
	"beatwright/movement"
	"beatwright/reading"
	"beatwright/sound"
	"beatwright/synth"
	"beatwright/unit"
)

// counted is an invented train at 18 000: 78/12, 80/10, 75/10, 70/7, 15.
func counted() *movement.Movement {
	beats, teeth := unit.BeatsPerHour(18000), 15
	return &movement.Movement{
		BeatsPerHour: &beats, EscapeTeeth: &teeth,
		Wheels:  map[string]int{"barrel": 78, "centre": 80, "third": 75, "fourth": 70},
		Pinions: map[string]int{"centre": 12, "third": 10, "fourth": 10, "escape": 7},
	}
}

// wavy is a clear watch of that train, gaining 10 s/d, with faults.
func wavy(t *testing.T, sec unit.Seconds, waves []synth.Wave, teeth []unit.Milliseconds) reading.Watch {
	t.Helper()
	return heardClear(t, 5, sec, 45, synth.Watch{
		BeatsPerHour: 18000, Lift: 50, Rate: 10, BeatError: 0.4, Swing: synth.Swing{Start: 250},
		Jitter: synth.Jitter{Centre: 0.03}, Waves: waves, EscapeTeeth: 15, ToothErrors: teeth,
	})
}

// heardClear hears a watch of that train for so long, the noise so far below it.
func heardClear(t *testing.T, seed uint64, sec unit.Seconds, snr unit.Decibels, w synth.Watch) reading.Watch {
	t.Helper()
	x, truth, err := synth.Render(synth.Scene{Seed: seed, Rate: 48000, Duration: sec, Noise: []synth.Noise{{SNR: snr}}, Watch: &w})
	if err != nil {
		t.Fatal(err)
	}
	got := hear(t, &sound.Samples{Of: sound.Format{Rate: truth.Scene.Rate, Channels: 1, Kind: "raw"}, Data: x}, measure.Options{Movement: counted()})
	if got.Watch == nil {
		t.Fatalf("not heard: %+v", got.Reading)
	}
	return *got.Watch
}

// The turn of the escape wheel and the tooth of the third wheel both take 6 s
// in this train: both are named, never one.
func TestEqualPeriodsAreBothNamed(t *testing.T) {
	w := wavy(t, 40, []synth.Wave{{Period: 6, Peak: 0.15}}, nil)
	if len(w.Periodic) != 1 {
		t.Fatalf("periodic errors %+v, want one", w.Periodic)
	}
	p := w.Periodic[0]
	if !slices.Equal(p.Wheels, []string{"escape", "third tooth"}) {
		t.Errorf("6 s is of %v, want escape and third tooth", p.Wheels)
	}
	if math.Abs(float64(p.Period)-6) > 0.05 || math.Abs(p.PeakMs-0.15) > p.U95+0.01 || p.Chance > 1e-6 {
		t.Errorf("got %.3f s, %.3f ± %.3f ms, chance %g; want 6 s and 0.15 ms", p.Period, p.PeakMs, p.U95, p.Chance)
	}
}

// A wave of a minute fakes up to 5.7 s/d in 40 s and 0.7 in 120 s; fitted with
// the line it fakes nothing, and before it can be seen the doubt holds it.
func TestSlowWaveIsFittedWithTheLine(t *testing.T) {
	for phase := 0.0; phase < 6; phase += 1.5 {
		w := wavy(t, 130, []synth.Wave{{Period: 60, Peak: 0.5, Phase: phase}}, nil)
		if len(w.Periodic) != 1 || !slices.Contains(w.Periodic[0].Wheels, "fourth") {
			t.Errorf("phase %.1f: periodic errors %+v, want the fourth wheel's turn", phase, w.Periodic)
		}
		if d := math.Abs(w.Rate.Value - 10); d > 0.1 || d > w.Rate.U95Statistical {
			t.Errorf("phase %.1f: %.3f ± %.3f s/d, want 10", phase, w.Rate.Value, w.Rate.U95Statistical)
		}
	}
}

// A bad tooth returns once a turn: it is one periodic error of the escape
// wheel, not a comb of fifteen.
func TestBadToothIsOneFault(t *testing.T) {
	bad := make([]unit.Milliseconds, 4)
	bad[3] = 0.4
	w := wavy(t, 60, nil, bad)
	if len(w.Periodic) != 1 || !slices.Contains(w.Periodic[0].Wheels, "escape") {
		t.Fatalf("periodic errors %+v, want one, of the escape wheel", w.Periodic)
	}
	if p := w.Periodic[0]; math.Abs(float64(p.Period)-6) > 0.05 {
		t.Errorf("period %v, want 6 s", p.Period)
	}
}

func TestSteadyWatchShowsNoWave(t *testing.T) {
	for seed := range uint64(8) {
		s := kind(t, "fair", 300+seed)
		got, _ := hearScene(t, s, 30)
		if got.Watch != nil && len(got.Watch.Periodic) > 0 {
			t.Errorf("seed %d: %+v", 300+seed, got.Watch.Periodic)
		}
	}
}
