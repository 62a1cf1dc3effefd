package beat

import (
	"testing"

	"beatwright/synth"
)

// Every kept beat is in one glimpse, in order, and the first segments come
// together as the beginning of the run.
func TestGlimpses(t *testing.T) {
	x, _, err := synth.Render(synth.Scene{Seed: 4, Rate: 48000, Duration: 48, Noise: []synth.Noise{{SNR: 35}}, Watch: &synth.Watch{BeatsPerHour: 28800}})
	if err != nil {
		t.Fatal(err)
	}
	e := New(48000, 1)
	firsts, segments, beats, last := 0, 0, 0, -1
	e.Watch(func(first bool, segs []*Segment, gs []Glimpse) {
		if first {
			firsts++
		}
		segments += len(segs)
		for _, g := range gs {
			if g.Step < last || g.Step > last+1 {
				t.Errorf("step %d after %d", g.Step, last)
			}
			last = g.Step
			// Two full periods of 0.25 s are half a second.
			if g.Turns != 2 || g.N[0] > 2 || g.N[1] > 2 || g.N[0]+g.N[1] == 0 {
				t.Errorf("glimpse of %d periods with %d and %d beats, want 2 and up to 2", g.Turns, g.N[0], g.N[1])
			}
			beats += g.N[0] + g.N[1]
			for side, y := range g.Loud {
				if g.N[side] > 0 && len(y) != len(segs[0].Profile[side].Loud) {
					t.Errorf("%d cells, want those of the profile, %d", len(y), len(segs[0].Profile[side].Loud))
				}
			}
		}
	})
	e.Push(x)
	e.Close()
	run := e.Runs()[0]
	kept := 0
	for _, s := range run.Segments {
		for _, b := range s.Beats {
			if b.Why == "" {
				kept++
			}
		}
	}
	// The cut of the very last or first beat may reach beyond the sound.
	if firsts != 1 || segments != len(run.Segments) || beats > kept || beats < kept-2 {
		t.Errorf("%d beginnings, %d segments of %d, %d beats of %d", firsts, segments, len(run.Segments), beats, kept)
	}
}
