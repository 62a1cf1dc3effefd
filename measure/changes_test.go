package measure_test

import (
	"math"
	"slices"
	"testing"

	"beatwright/reading"
	"beatwright/synth"
	"beatwright/unit"
)

// hearKnown measures a watch without scatter, of known rate, beat error (ms)
// and swing.
func hearKnown(t *testing.T, vph, rate, beatError, swing float64) reading.Watch {
	t.Helper()
	s := kind(t, "fair", 21)
	w := s.Watch
	w.BeatsPerHour, w.Rate = unit.BeatsPerHour(vph), unit.SecondsPerDay(rate)
	w.BeatError, w.Swing = unit.Milliseconds(beatError), synth.Swing{Start: unit.Degrees(swing)}
	w.Jitter, w.LiftShift = synth.Jitter{}, 0
	got, _ := hearScene(t, s, 20)
	if got.Watch == nil || got.Watch.Rate == nil || got.Watch.BeatError == nil {
		t.Fatalf("not heard: %+v", got)
	}
	return *got.Watch
}

// Sounds without a watch are refused, with a code that fits.
func TestRefusals(t *testing.T) {
	for _, k := range synth.Refusals() {
		t.Run(k.Name, func(t *testing.T) {
			t.Parallel()
			got, _ := hearScene(t, k.Scene(5), 12)
			switch {
			case got.Watch != nil:
				t.Errorf("heard a watch beating every %.2f ms", got.Watch.BeatTime.Value)
			case !slices.Contains(k.Refuse, string(got.Refusal.Code)):
				t.Errorf("refused as %q, want one of %v", got.Refusal.Code, k.Refuse)
			}
		})
	}
}

// change is one that must be found, with its size where it has one.
type change struct {
	kind string
	seed uint64
	what string // as the engine calls it
	size func(reading.Change) *float64
	want func(synth.Change) float64
	tol  float64
}

func inMs(c reading.Change) *float64     { return c.Ms }
func inPerDay(c reading.Change) *float64 { return c.PerDay }
func ofMs(c synth.Change) float64        { return float64(c.Ms) }
func ofPerDay(c synth.Change) float64    { return float64(c.PerDay) }

// ofGap: missing sound brings the beats forward, by what is beyond whole
// beats of it.
func ofGap(c synth.Change) float64 { return -float64(c.Ms) }

// What broke the running is found within 1.5 s, and named. A piece missing
// from the sound is a jump of the beats: nothing in a sound tells which.
func TestChanges(t *testing.T) {
	for _, c := range []change{
		{"phasestep", 1, reading.PhaseStep, inMs, ofMs, 0.3},
		{"phasestep", 2, reading.PhaseStep, inMs, ofMs, 0.3},
		{"phasestep", 3, reading.PhaseStep, inMs, ofMs, 0.3},
		{"phasestep", 5, reading.PhaseStep, inMs, ofMs, 0.3},
		{"ratestep", 1, reading.RateStep, inPerDay, ofPerDay, 2},
		{"ratestep", 2, reading.RateStep, inPerDay, ofPerDay, 2},
		{"ratestep", 8, reading.RateStep, inPerDay, ofPerDay, 2},
		{"stopped", 2, reading.Stopped, nil, nil, 0},
		{"stopped", 4, reading.Stopped, nil, nil, 0},
		{"stopped", 7, reading.Stopped, nil, nil, 0},
		{"stopped", 8, reading.Stopped, nil, nil, 0},
		{"gap", 1, reading.PhaseStep, inMs, ofGap, 0.3},
		{"gap", 4, reading.PhaseStep, inMs, ofGap, 0.3},
		{"insertion", 2, reading.Insertion, inMs, ofMs, 0.1},
		{"insertion", 6, reading.Insertion, inMs, ofMs, 0.1},
	} {
		t.Run(c.kind, func(t *testing.T) {
			t.Parallel()
			got, truth := hearScene(t, kind(t, c.kind, c.seed), 0)
			if got.Watch == nil || len(truth.Changes) == 0 {
				t.Fatalf("%d: not heard, or nothing changes: %+v", c.seed, got)
			}
			c.check(t, got.Watch.Changes, truth.Changes[0])
		})
	}
}

// The stretch that is read is not of the longest run, which something cut: it has
// its averaged sound all the same.
func TestStretchOfShorterRun(t *testing.T) {
	t.Parallel()
	s := kind(t, "turned", 3)
	s.Duration = 60
	got, truth := hearScene(t, s, 0)
	if got.Watch == nil || got.Watch.Amplitude.Standing != reading.Measured {
		t.Fatalf("read is %+v", got.Watch)
	}
	if a, u := *got.Watch.Amplitude.Value, *got.Watch.Amplitude.U95; math.Abs(a-float64(truth.Process.Amplitude)) > u {
		t.Errorf("swings %.1f ± %.1f°, the watch %.1f", a, u, float64(truth.Process.Amplitude))
	}
}

// check finds the change, and that nothing else is said to have happened.
func (c change) check(t *testing.T, got []reading.Change, want synth.Change) {
	t.Helper()
	if len(got) != 1 || got[0].What != c.what || math.Abs(float64(got[0].At-want.At)) > 1.5 {
		t.Errorf("%d: got %+v, want one %s at %.2f s", c.seed, got, c.what, want.At)
		return
	}
	if c.size == nil {
		return
	}
	if v := c.size(got[0]); v == nil || math.Abs(*v-c.want(want)) > c.tol {
		t.Errorf("%d: got %+v, want a size of %.2f", c.seed, got[0], c.want(want))
	}
}
