package measure_test

import (
	"context"
	"fmt"
	"math"
	"testing"

	"beatwright/measure"
	"beatwright/reading"
	"beatwright/sound"
	"beatwright/synth"
	"beatwright/unit"
)

func heardScene(t *testing.T, s synth.Scene) (reading.Reading, synth.Truth) {
	t.Helper()
	x, truth, err := synth.Render(s)
	if err != nil {
		t.Fatal(err)
	}
	var out reading.Reading
	of := sound.Format{Rate: s.Rate, Channels: max(1, len(s.Channels)), Kind: "test"}
	of.Frames = int64(len(x) / of.Channels)
	err = measure.Sound(context.Background(), "test", &sound.Samples{Of: of, Data: x}, measure.Options{Lift: &s.Watch.Lift}, func(r measure.Result) error {
		out = r.Reading
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return out, truth
}

func tellsSecond(r reading.Reading) bool {
	if r.Watch == nil {
		return false
	}
	for _, c := range r.Watch.Changes {
		if c.What == reading.SecondWatch {
			return true
		}
	}
	return false
}

func kindCalled(t *testing.T, name string) synth.Kind {
	t.Helper()
	k, err := synth.ParseKind(name)
	if err != nil {
		t.Fatal(err)
	}
	return k
}

// A watch that ticks nearby at another beat rate is told and measured, and the
// first one reads as it does alone.
func TestSecondWatch(t *testing.T) {
	t.Parallel()
	for _, level := range []unit.Decibels{-6, -12, -20} {
		for seed := uint64(60000); seed < 60003; seed++ {
			t.Run(fmt.Sprint(float64(level), seed), func(t *testing.T) {
				t.Parallel()
				s := kindCalled(t, "neighbour").Scene(seed)
				s.Second.Level = level
				s.Second.Watch.BeatsPerHour = 28800
				if s.Watch.BeatsPerHour > 25200 {
					s.Second.Watch.BeatsPerHour = 21600
				}
				r, truth := heardScene(t, s)
				if !tellsSecond(r) || len(r.Watch.Others) != 1 {
					t.Fatalf("not told: %+v", r.Watch)
				}
				w, o := r.Watch, r.Watch.Others[0]
				first, second := truth.Process.RecordedRate, truth.Second.RecordedRate
				if level == -6 && *w.BeatsPerHour == s.Second.Watch.BeatsPerHour {
					// So near in loudness either may be taken for the one to read; both
					// are told for what they are.
					first, second = second, first
				} else if a := w.Amplitude; a.Standing == reading.Measured && math.Abs(*a.Value-float64(truth.Process.Amplitude)) > 10 {
					t.Errorf("it swings %.1f°, in truth %.1f°", *a.Value, float64(truth.Process.Amplitude))
				}
				if d := w.Rate.Value - float64(first); math.Abs(d) > math.Max(0.1, w.Rate.U95Statistical) {
					t.Errorf("the first is off by %.3f s/d, u95 %.3f", d, w.Rate.U95Statistical)
				}
				// Good enough to know it by on the bench (chosen).
				if o.Rate == nil || math.Abs(o.Rate.Value-float64(second)) > 1 {
					t.Errorf("the second: %+v, in truth %.2f s/d", o.Rate, float64(second))
				}
				// It is said in words too.
				if len(w.Warnings) == 0 {
					t.Error("no warning")
				}
			})
		}
	}
}

// One of the same beat rate, going 20 to 60 s/d otherwise, is told as a rule, and
// what is told of the first stays true.
func TestSecondWatchOfTheSameRate(t *testing.T) {
	t.Parallel()
	told, n := 0, 0
	for seed := uint64(61000); seed < 61008; seed++ {
		s := kindCalled(t, "neighbour").Scene(seed)
		s.Second.Level = -12
		s.Second.Watch.BeatsPerHour, s.Second.Watch.Rate = s.Watch.BeatsPerHour, s.Watch.Rate+unit.SecondsPerDay(20+5*float64(seed-61000))
		r, truth := heardScene(t, s)
		n++
		if tellsSecond(r) {
			told++
		}
		if a := r.Watch.Amplitude; a.Standing == reading.Measured && math.Abs(*a.Value-float64(truth.Process.Amplitude)) > 10 {
			t.Errorf("seed %d: it swings %.1f°, in truth %.1f°", seed, *a.Value, float64(truth.Process.Amplitude))
		}
	}
	if told < 6 {
		t.Errorf("told in %d of %d", told, n)
	}
}

// One watch alone is one watch, whatever it sounds like.
func TestNoSecondWatch(t *testing.T) {
	t.Parallel()
	for _, k := range synth.Kinds() {
		s := k.Scene(62000)
		if s.Watch == nil || s.Second != nil {
			continue
		}
		t.Run(k.Name, func(t *testing.T) {
			t.Parallel()
			if r, _ := heardScene(t, s); tellsSecond(r) {
				t.Errorf("another is told: %+v", r.Watch.Others)
			}
		})
	}
}
