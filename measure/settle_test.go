package measure_test

import (
	"math"
	"testing"

	"beatwright/reading"
	"beatwright/synth"
	"beatwright/unit"
)

// After a turn the swing approaches a new one with the balance's time
// constant; the settled swing is given before it is reached.
func TestSettling(t *testing.T) {
	for _, c := range []struct {
		from, to unit.Degrees
		tau      unit.Seconds
	}{{260, 220, 18}, {205, 250, 16}, {280, 235, 22}} {
		s := kind(t, "fair", 51)
		s.Watch.Swing = synth.Swing{Start: c.from, Course: synth.Settling, End: c.to, Over: c.tau}
		got, _ := hearScene(t, s, 50)
		if got.Watch == nil || got.Watch.Settling == nil {
			t.Errorf("%v to %v: no settling: %+v", c.from, c.to, got.Watch)
			continue
		}
		v := got.Watch.Settling.Settled
		if d := math.Abs(v.Value - float64(c.to)); d > v.U95+1 || v.U95 > 15 {
			t.Errorf("%v to %v: settles at %.1f ± %.1f", c.from, c.to, v.Value, v.U95)
		}
	}
	steady, _ := hearScene(t, kind(t, "fair", 51), 30)
	if steady.Watch.Settling != nil {
		t.Errorf("a steady swing settles: %+v", steady.Watch.Settling)
	}
}

// A stop is found with the swing before it, and how it came.
func TestStopHow(t *testing.T) {
	got, truth := hearScene(t, kind(t, "stopped", 4), 0)
	for _, c := range got.Watch.Changes {
		if c.What == reading.Stopped {
			if c.How != reading.Dead && c.How != reading.Faded {
				t.Errorf("stopped %q", c.How)
			}
			return
		}
	}
	t.Errorf("no stop; truth %+v, got %+v", truth.Changes, got.Watch.Changes)
}
