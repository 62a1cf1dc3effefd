package measure_test

import (
	"math"
	"testing"

	"beatwright/reading"
	"beatwright/synth"
)

// A watch of every kind is heard in twelve seconds, beating as it does: the
// mean beat within three times its own half-width at 95 %, a measured swing
// within 10°, a bound that is one. How often intervals hold is TestCoverage's
// to say.
func TestEveryKind(t *testing.T) {
	if testing.Short() {
		t.Skip("skipped: short")
	}
	for _, k := range synth.Kinds() {
		t.Run(k.Name, func(t *testing.T) {
			t.Parallel()
			got, truth := hearScene(t, k.Scene(300), 12)
			w := got.Watch
			if w == nil {
				t.Fatalf("not heard: %+v", got.Refusal)
			}
			if d := w.BeatTime.Value - 1e3*float64(truth.Sampled.Beat); math.Abs(d) > 3*w.BeatTime.U95Statistical {
				t.Errorf("beat off by %.5f ms, with a doubt of %.5f", d, w.BeatTime.U95Statistical)
			}
			// Twelve seconds leave open what the slow waves of a train could hide.
			if w.Rate != nil && w.Rate.U95Statistical > 2 && k.Name != "wheel" {
				t.Errorf("doubt of the rate %.2f s/d: as good as nothing said", w.Rate.U95Statistical)
			}
			a, want := w.Amplitude, float64(truth.Sampled.Amplitude)
			if k.Name == "rundown" {
				return // no one swing
			}
			if a.Standing == reading.Measured && math.Abs(*a.Value-want) > 10 {
				t.Errorf("swing %s, want %.1f", said(a), want)
			}
			checkBound(t, 300, a, want)
		})
	}
}
