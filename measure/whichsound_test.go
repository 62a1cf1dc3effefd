package measure_test

import (
	"math"
	"testing"
)

// Hearings in which a loud sound of one side lies as the drop of the other would
// at a beat error of 2 to 10 ms: the truth is within the interval. The wholly
// unclear ones say so.
func TestWhichSound(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		kind  string
		seed  uint64
		wrong float64 // ms, beyond which the interval must be wide instead
	}{
		{"messy", 41158, 0.2},
		{"messy", 41122, 0.2},
		{"messy", 41114, 0.2},
		{"messy", 41225, 0.2},
		{"buried", 41199, 0.2},
		{"buried", 41029, 0.2},
		{"buried", 41074, 10},
		{"buried", 41047, 10},
		{"buried", 41114, 10},
	} {
		got, truth := hearScene(t, kind(t, c.kind, c.seed), 30)
		if got.Watch == nil || got.Watch.BeatError == nil {
			t.Errorf("%s %d: not heard", c.kind, c.seed)
			continue
		}
		e, want := *got.Watch.BeatError, float64(truth.Sampled.BeatErrorByDrop)
		if e.By == "unlocking" {
			want = float64(truth.Sampled.BeatErrorByUnlocking)
		}
		off := math.Abs(e.Value - want)
		if off > math.Max(e.U95, 0.1) || off > c.wrong {
			t.Errorf("%s %d: beat error %.3f ± %.3f ms, true %.3f", c.kind, c.seed, e.Value, e.U95, want)
		}
	}
}
