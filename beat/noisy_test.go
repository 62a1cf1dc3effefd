package beat

import (
	"testing"

	"beatwright/synth"
)

// Noise lowers the likeness of all beats to their mean alike: a steady watch
// in it is heard through, not lost and found again.
func TestNoisyWatchIsNotLost(t *testing.T) {
	t.Parallel()
	for _, seed := range []uint64{1, 4} {
		x, truth, err := synth.Render(synth.Scene{
			Seed: seed, Rate: 48000, Duration: 12, Noise: []synth.Noise{{SNR: 14}},
			Watch: &synth.Watch{BeatsPerHour: 18000, Lift: 48, Rate: 12, BeatError: 1.5, Swing: synth.Swing{Start: 150}},
		})
		if err != nil {
			t.Fatal(err)
		}
		e := engineOn(x, truth.Scene.Rate, 1, func() int { return len(x) })
		if n := len(e.Runs()); n != 1 {
			t.Errorf("seed %d: heard in %d runs, want one", seed, n)
		}
	}
}
