package beat

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// The obvious way, place by place and in double precision.
func TestAddShiftedSlow(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		src := rapid.SliceOfN(rapid.Float32Range(0, 1), 2, 60).Draw(rt, "src")
		dst := make([]float32, rapid.IntRange(1, 60).Draw(rt, "places"))
		lag, w := rapid.Float64Range(-80, 80).Draw(rt, "lag"), rapid.Float64Range(0, 1).Draw(rt, "weight")
		addShifted(dst, src, lag, w)
		for i, got := range dst {
			at := float64(i) + math.Floor(lag)
			j := int(math.Max(0, math.Min(at, float64(len(src)-2))))
			f := lag - math.Floor(lag)
			want := w * ((1-f)*float64(src[j]) + f*float64(src[j+1]))
			if math.Abs(float64(got)-want) > 1e-6 {
				rt.Fatalf("place %d: %v, want %v", i, got, want)
			}
		}
	})
}
