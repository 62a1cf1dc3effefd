package measure_test

import (
	"math"
	"slices"
	"testing"

	"beatwright/reading"
	"beatwright/synth"
	"beatwright/unit"
)

// swinging hears a clear watch of the invented train, its swing as given, for so
// long.
func swinging(t *testing.T, sec unit.Seconds, seed uint64, w synth.Watch) reading.Watch {
	t.Helper()
	w.BeatsPerHour, w.Lift, w.BeatError = 18000, 52, 0.4
	w.Jitter = synth.Jitter{Centre: 0.03, Unlocking: 0.03, Impulse: 0.03, Drop: 0.02, Swing: 0.3}
	return heardClear(t, seed, sec, 40, w)
}

// A swing that rises and falls is told with its size and period, and with all
// wheels that fit; the swing itself is then not read low by the wave.
func TestSwingWaves(t *testing.T) {
	for name, c := range map[string]struct {
		swing, peak unit.Degrees
		period, sec unit.Seconds
		wheels      []string
	}{
		"fourth wheel": {250, 4, 60, 180, []string{"fourth"}},
		"escape wheel": {250, 3, 6, 60, []string{"escape", "third tooth"}},
		"low swing":    {110, 3, 6, 60, []string{"escape", "third tooth"}},
		"other":        {250, 3, 5.3, 60, nil},
		"half minute":  {250, 3, 6, 30, []string{"escape", "third tooth"}},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			w := swinging(t, c.sec, 3, synth.Watch{Swing: synth.Swing{Start: c.swing}, Waves: []synth.Wave{{Period: c.period, Swing: c.peak, Phase: 2}}})
			if len(w.AmplitudePeriodic) != 1 {
				t.Fatalf("waves of the swing %+v, want one", w.AmplitudePeriodic)
			}
			a := w.AmplitudePeriodic[0]
			if math.Abs(float64(a.Period-c.period)) > float64(a.PeriodU95) || a.PeriodU95 > 0.06*c.period {
				t.Errorf("every %.2f ± %.2f s, want %v", a.Period, a.PeriodU95, c.period)
			}
			// The limit of u95 is a fifth of the size, so that it is not padded.
			if d := math.Abs(a.PeakDeg - float64(c.peak)); d > a.U95 || a.U95 > 0.2*float64(c.peak) {
				t.Errorf("by %.2f ± %.2f°, want %v", a.PeakDeg, a.U95, c.peak)
			}
			if a.Chance > 0.001 || !slices.Equal(a.Wheels, append([]string{}, c.wheels...)) {
				t.Errorf("chance %g, wheels %v, want under 0.001 and %v", a.Chance, a.Wheels, c.wheels)
			}
			if d := math.Abs(*w.Amplitude.Value - float64(c.swing)); d > *w.Amplitude.U95 || d > 2 {
				t.Errorf("swings %s, want %v", said(w.Amplitude), c.swing)
			}
			// sin(2πt/P + 2) is highest at (π/2 − 2)/2π of the period.
			at := math.Mod((math.Pi/2-2)/(2*math.Pi)+1, 1) * float64(c.period)
			off := math.Remainder(float64(a.HighestAt+w.From)-at, float64(c.period))
			if math.Abs(off) > 0.03*float64(c.period) {
				t.Errorf("highest at %.2f s from %.2f s, want %.2f", a.HighestAt, w.From, at)
			}
			checkTurn(t, a)
		})
	}
}

// checkTurn holds the places of the turn to the wave: of twelve bars one may miss.
func checkTurn(t *testing.T, a reading.AmplitudeWave) {
	t.Helper()
	missed := 0
	for _, p := range a.Turn {
		want := a.PeakDeg * math.Cos(2*math.Pi*float64((p.At-a.HighestAt)/a.Period))
		if math.Abs(p.Deg-want) > math.Hypot(p.U95, a.U95) {
			missed++
		}
	}
	if len(a.Turn) < 5 || missed > 1 {
		t.Errorf("%d of %d places miss the wave: %+v", missed, len(a.Turn), a.Turn)
	}
}

// A swing that falls, settles or runs down is no wave, and neither is one of a
// wave too slow to have come round twice and a half.
func TestSlowSwingIsNoWave(t *testing.T) {
	for name, w := range map[string]synth.Watch{
		"steady":   {Swing: synth.Swing{Start: 250}},
		"falling":  {Swing: synth.Swing{Start: 260, Course: synth.Linear, End: 230, Over: 60}},
		"settling": {Swing: synth.Swing{Start: 200, Course: synth.Settling, End: 250, Over: 20}},
		"rundown":  {Swing: synth.Swing{Start: 240, Course: synth.RunDown, End: 200, Over: 70}},
		"too slow": {Swing: synth.Swing{Start: 250}, Waves: []synth.Wave{{Period: 45, Swing: 4}}},
		// A wave of the beats alone moves all sounds of a beat alike.
		"drift": {Swing: synth.Swing{Start: 250}, Waves: []synth.Wave{{Period: 6, Peak: 0.3}}},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			got := swinging(t, 60, 4, w)
			if got.AmplitudePeriodic == nil || len(got.AmplitudePeriodic) > 0 {
				t.Errorf("swing %s shows %+v, want none, not nil", said(got.Amplitude), got.AmplitudePeriodic)
			}
			if got.AmplitudeFloor == nil || *got.AmplitudeFloor < 0.05 || *got.AmplitudeFloor > 3 {
				t.Errorf("floor %v, want some tenths of a degree", got.AmplitudeFloor)
			}
		})
	}
}

// Without a measured swing nothing is said of its waves, nor where it was heard too
// short.
func TestNoSwingNoWaves(t *testing.T) {
	short := swinging(t, 12, 5, synth.Watch{Swing: synth.Swing{Start: 250}, Waves: []synth.Wave{{Period: 4, Swing: 5}}})
	if short.AmplitudePeriodic != nil || short.AmplitudeFloor != nil {
		t.Errorf("in 12 s %+v", short.AmplitudePeriodic)
	}
	deaf := synth.Watch{Swing: synth.Swing{Start: 250}, Waves: []synth.Wave{{Period: 6, Swing: 4}}}
	for i := range deaf.Sides {
		deaf.Sides[i] = synth.Side{
			Unlocking: synth.Sound{Level: -60, Modes: []synth.Mode{{Frequency: 5200, Decay: 0.6}}},
			Impulse:   synth.Sound{Level: -9, Modes: []synth.Mode{{Frequency: 6100, Decay: 0.7}}},
			Drop:      synth.Sound{Modes: []synth.Mode{{Frequency: 7300, Decay: 0.9}}},
		}
	}
	w := swinging(t, 60, 5, deaf)
	if w.Amplitude.Standing == reading.Measured || w.AmplitudePeriodic != nil {
		t.Errorf("swing %s shows %+v, want nil", said(w.Amplitude), w.AmplitudePeriodic)
	}
}
