package estimate

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// The obvious way is to put all in order.
func TestNthSlow(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		from := rapid.SampledFrom([]float64{1, -1, 0.5, 3, math.Inf(1), math.Inf(-1), math.NaN(), 7, 8, 9, 1e-9})
		if rapid.Bool().Draw(rt, "many") {
			from = rapid.Float64()
		}
		x := rapid.SliceOfN(from, 1, 200).Draw(rt, "x")
		k := rapid.IntRange(0, len(x)-1).Draw(rt, "k")
		want := slices.Sorted(slices.Values(x))[k]
		if got := Nth(x, k); got != want && !(got != got && want != want) {
			rt.Fatalf("got %v, want %v", got, want)
		}
	})
	long := make([]float64, 1<<17)
	for i := range long {
		long[i] = float64(i * 7919 % len(long))
	}
	if got := Nth(long, 1000); got != 1000 {
		t.Errorf("got %v, want 1000", got)
	}
}
