package measure_test

import (
	"testing"

	"beatwright/reading"
)

// A watch stopped dead is said to have stopped dead, with the swing it had.
func TestStoppedDead(t *testing.T) {
	t.Parallel()
	for _, seed := range []uint64{2, 9} {
		s := kind(t, "stopped", seed)
		if s.Watch.Fade != 0 {
			t.Fatalf("%d: it fades; another seed is wanted", seed)
		}
		got, truth := hearScene(t, s, 20)
		if got.Watch == nil || len(got.Watch.Changes) != 1 {
			t.Errorf("%d: got %+v, want one stop", seed, got)
			continue
		}
		c := got.Watch.Changes[0]
		if c.What != reading.Stopped || c.How != reading.Dead || c.Amplitude == nil {
			t.Errorf("%d: got %+v, want it stopped dead with its swing", seed, c)
			continue
		}
		if d := *c.Amplitude - float64(truth.Scene.Watch.Swing.Start); d < -5 || d > 5 {
			t.Errorf("%d: last swing %.1f, want %.1f ± 5", seed, *c.Amplitude, float64(truth.Scene.Watch.Swing.Start))
		}
	}
}
