package measure_test

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"beatwright/reading"
)

// covered counts intervals that hold the truth, of one quantity.
type covered struct{ n, missed int }

func (c *covered) add(off, u95 float64) {
	c.n++
	if !(math.Abs(off) <= u95) {
		c.missed++
	}
}

// most is how many of n intervals of 95 % miss at most in 99 of 100 sets.
func most(n int) int {
	b := distuv.Binomial{N: float64(n), P: 0.05}
	k := 0
	for b.CDF(float64(k)) < 0.99 {
		k++
	}
	return k
}

// scipy.stats.binom.ppf(0.99, n, 0.05).
func TestMost(t *testing.T) {
	for n, want := range map[int]int{16: 3, 24: 4, 36: 5, 40: 6} {
		if got := most(n); got != want {
			t.Errorf("of %d: %d, want %d", n, got, want)
		}
	}
}

// Eight hearings each of five kinds: the intervals of 95 % miss no more often
// than such intervals do, and no swing is measured wrong by more than 10°.
// The rate is held to the process, beat error and swing to the beats.
func TestCoverage(t *testing.T) {
	if testing.Short() {
		t.Skip("skipped: short")
	}
	t.Parallel()
	var rate, beatError, swing covered
	for _, name := range []string{"fair", "tired", "messy", "drift", "soft"} {
		for seed := uint64(31); seed <= 38; seed++ {
			got, truth := hearScene(t, kind(t, name, seed), 20)
			w, want := got.Watch, truth.Sampled
			if w == nil || w.Rate == nil || w.BeatError == nil {
				t.Errorf("%s %d: not heard", name, seed)
				continue
			}
			rate.add(w.Rate.Value-float64(truth.Process.RecordedRate), w.Rate.U95Statistical)
			be := want.BeatErrorByDrop
			if w.BeatError.By == "unlocking" {
				be = want.BeatErrorByUnlocking
			}
			beatError.add(w.BeatError.Value-float64(be), w.BeatError.U95)
			checkBound(t, float64(seed), w.Amplitude, float64(want.Amplitude))
			if a := w.Amplitude; a.Standing == reading.Measured {
				d := *a.Value - float64(want.Amplitude)
				swing.add(d, *a.U95)
				if math.Abs(d) > 10 {
					t.Errorf("%s %d: swing measured %.1f, want %.1f", name, seed, *a.Value, want.Amplitude)
				}
			}
		}
	}
	for what, c := range map[string]covered{"rate": rate, "beat error": beatError, "swing": swing} {
		t.Logf("%s: %d of %d intervals miss", what, c.missed, c.n)
		if c.missed > most(c.n) {
			t.Errorf("%s: %d of %d intervals miss the truth, at most %d", what, c.missed, c.n, most(c.n))
		}
	}
	if swing.n < 32 {
		t.Errorf("%d of 40 swings measured, want 32", swing.n)
	}
}

// The published relations hold from the sound on: a mean beat of 124.990 ms
// at 28 800 is a rate of +6.912553 s/d, 200.020 ms at 18 000 one of −8.639136
// (86 400·(nominal/measured − 1)); half a difference of 1.0 ms at 270° is
// 2.1206° at 18 000 and 3.3928° at 28 800, A·sin(π·e/T).
func TestConventions(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		vph, beatMs, rate, degrees float64
	}{{28800, 124.990, 6.912553, 3.3928}, {18000, 200.020, -8.639136, 2.1206}} {
		w := hearKnown(t, c.vph, c.rate, 1.0, 270)
		if d := w.BeatTime.Value - c.beatMs; math.Abs(d) > w.BeatTime.U95Statistical {
			t.Errorf("%v: mean beat %.6f ms, want %v", c.vph, w.BeatTime.Value, c.beatMs)
		}
		// The other convention, by the nominal beat, would be 0.0006 and
		// 0.0009 off: less than can be heard, so it is held by the reading's
		// own two numbers.
		if want := 86400 * (3.6e6/c.vph/w.BeatTime.Value - 1); math.Abs(w.Rate.Value-want) > 1e-7 || math.Abs(w.Rate.Value-c.rate) > 0.02 {
			t.Errorf("%v: rate %.7f, want %.7f, near %v", c.vph, w.Rate.Value, want, c.rate)
		}
		if math.Abs(w.BeatError.Value-1) > 0.02 {
			t.Errorf("%v: beat error %.4f ms, want 1.0 (half the difference)", c.vph, w.BeatError.Value)
		}
		if d := w.BeatError.Degrees; d == nil || math.Abs(d.Value-c.degrees) > 0.06 || math.Abs(d.Value-c.degrees) > d.U95 {
			t.Errorf("%v: rest lies off by %+v, want %v°", c.vph, d, c.degrees)
		}
	}
}
