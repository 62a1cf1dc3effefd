package conduct_test

import (
	"strings"
	"testing"

	"beatwright/conduct"
	"beatwright/position"
	"beatwright/synth"
	"beatwright/unit"
)

// For poise nothing is kept while the watch swings too far, for want of poise
// turns about near 220° and shows most at 150 to 160° (the reason at Poise).
func TestPoiseWaitsForTheSwing(t *testing.T) {
	t.Parallel()
	x, _, err := synth.Render(synth.Scene{
		Seed: 9, Rate: 44100, Level: -14, Noise: []synth.Noise{{SNR: 38}}, Duration: 60,
		Watch: &synth.Watch{
			BeatsPerHour: 21600, Rate: 8, BeatError: 0.5, FirstAt: 0.2,
			Swing: synth.Swing{Start: 235, Course: synth.Linear, End: 155, Over: 30},
		},
	})
	if err != nil {
		t.Fatal(err)
	}
	const rate = 44100
	d := newDesk(t, rate, conduct.Quick(), position.H12, position.H3, position.H6)
	d.round.Poise()
	said, keptAt := "", unit.Seconds(0)
	d.at = func(at unit.Seconds) {
		if at > 12 && at < 12.15 {
			said = d.round.Doing().Rest
		}
		if len(d.kept) > 0 && keptAt == 0 {
			keptAt = at
		}
	}
	d.hear(x)
	if !strings.HasPrefix(said, "It swings 2") || !strings.Contains(said, "let it run down") {
		t.Errorf("said %q", said)
	}
	// It swings below 165° from 26 s on.
	if len(d.kept) != 1 || keptAt < 26 {
		t.Errorf("kept at %g s: %+v", keptAt, d.kept)
	}
}
