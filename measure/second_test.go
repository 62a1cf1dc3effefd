package measure_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"beatwright/reading"
	"beatwright/synth"
	"beatwright/unit"
)

// beside puts a second watch, so many dB down, into a fair scene.
func beside(t *testing.T, seed uint64, level unit.Decibels, beats unit.BeatsPerHour, apart unit.SecondsPerDay) synth.Scene {
	t.Helper()
	s := kind(t, "neighbour", seed)
	s.Second.Level = level
	w := &s.Second.Watch
	w.BeatsPerHour, w.Rate = s.Watch.BeatsPerHour, s.Watch.Rate+apart
	if beats > 0 {
		w.BeatsPerHour, w.Rate = beats, apart
	}
	return s
}

func saysSecond(w reading.Watch) bool {
	return slices.ContainsFunc(w.Changes, func(c reading.Change) bool { return c.What == reading.SecondWatch })
}

// Two watches in one sound are told to be two, in nine hearings of ten
// (docs/accuracy.md; here in seven of nine at least), and then the loud one's rate
// and swing stand or are widened, and the other is measured where its beats come
// apart. Levels are those of a bench: 6 dB is the next mat, 20 dB the other end.
// Truths are the simulator's.
func TestTwoWatches(t *testing.T) {
	if testing.Short() {
		t.Skip("skipped: short")
	}
	for _, c := range []struct {
		name     string
		beats    unit.BeatsPerHour // of the second; 0 those of the first
		apart    unit.SecondsPerDay
		measured bool // the second, too
	}{
		{"another beat rate", 19800, 25, true},
		{"the same, a minute apart", 0, 60, true},
		{"the same, 40 s/d slower", 0, -40, true},
		{"the same, 12 s/d apart", 0, 12, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			told := 0
			for i := range uint64(9) {
				level := []unit.Decibels{-6, -12, -20}[i%3]
				s := beside(t, 80+i, level, c.beats, c.apart)
				if s.Watch.BeatsPerHour == c.beats {
					s.Second.Watch.BeatsPerHour = 28800
				}
				got, truth := hearScene(t, s, 30)
				if w := got.Watch; w != nil && saysSecond(*w) {
					told++
					t.Run(fmt.Sprintf("%g dB, seed %d", float64(level), s.Seed), func(t *testing.T) {
						checkFirst(t, *w, truth)
						if len(w.Others) != 1 {
							t.Fatalf("others %+v, want one", w.Others)
						}
						checkOther(t, w.Others[0], *truth.Second, c.measured)
					})
				}
			}
			if told < 7 {
				t.Errorf("told in %d of 9 hearings", told)
			}
		})
	}
}

// checkFirst holds the reading of the loud watch against the truth, and that it
// warns.
func checkFirst(t *testing.T, w reading.Watch, truth synth.Truth) {
	t.Helper()
	if !strings.Contains(strings.Join(w.Warnings, " "), "another watch is ticking nearby") {
		t.Errorf("no warning: %q", w.Warnings)
	}
	want := 1e3 * float64(truth.Process.Beat)
	if d := w.BeatTime.Value - want; math.Abs(d) > 2*w.BeatTime.U95Statistical {
		t.Errorf("beat off by %.5f ms, with a doubt of %.5f", d, w.BeatTime.U95Statistical)
	}
	a, swing := w.Amplitude, float64(truth.Process.Amplitude)
	if a.Standing == reading.Measured && math.Abs(*a.Value-swing) > 10 {
		t.Errorf("swing %s, want %.1f", said(a), swing)
	}
	checkBound(t, 0, a, swing)
}

// checkOther holds what is told of the second watch against the truth, within
// three times its own half-width.
func checkOther(t *testing.T, x reading.Other, want synth.Process, measured bool) {
	t.Helper()
	if x.BeatTime == nil {
		if measured {
			t.Errorf("the second watch is not measured: %+v", x)
		}
		return
	}
	if d := x.BeatTime.Value - 1e3*float64(want.Beat); math.Abs(d) > 3*x.BeatTime.U95Statistical {
		t.Errorf("the second watch's beat %.5f ± %.5f ms, want %.5f", x.BeatTime.Value, x.BeatTime.U95Statistical, 1e3*float64(want.Beat))
	}
}

// One watch is one, whatever it sounds like: over every kind, and at seeds of its
// own, none is told to be two. How often it happens is measured in
// docs/accuracy.md.
func TestOneWatchIsNotTwo(t *testing.T) {
	if testing.Short() {
		t.Skip("skipped: short")
	}
	for _, k := range synth.Kinds() {
		t.Run(k.Name, func(t *testing.T) {
			t.Parallel()
			for seed := range uint64(2) {
				got, _ := hearScene(t, k.Scene(400+seed), 30)
				if w := got.Watch; w != nil && (saysSecond(*w) || len(w.Others) > 0) {
					t.Errorf("seed %d: told to be two: %+v", 400+seed, w.Others)
				}
			}
		})
	}
}
