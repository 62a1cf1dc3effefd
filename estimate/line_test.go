package estimate

import (
	"math"
	"math/rand/v2"
	"testing"
)

// x = 0…7 with one gross outlier: scipy.stats.theilslopes gives 1.0 and least
// squares 1.052; a robust line must go with the former and leave the outlier.
func TestFitLineLeavesOutlier(t *testing.T) {
	x := []float64{0, 1, 2, 3, 4, 5, 6, 7}
	y := []float64{0, 1.1, 1.9, 3.2, 9, 5.1, 5.9, 7}
	l := FitLine(x, y, make([]int, 8))
	if math.Abs(l.Slope-1.0) > 0.03 || l.Weight[4] != 0 {
		t.Errorf("slope %v, weight of the outlier %v; want 1.0 ± 0.03 and 0", l.Slope, l.Weight[4])
	}
}

func TestFitLineTwoSides(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 1))
	var x, y []float64
	var side []int
	for k := range 200 {
		x = append(x, float64(k))
		v := 0.2*float64(k) + 0.003*float64(k%2) + 1e-5*rng.NormFloat64()
		if k%4 == 1 {
			v += 0.05 * rng.Float64()
		}
		y, side = append(y, v), append(side, k%2)
	}
	l := FitLine(x, y, side)
	if math.Abs(l.Slope-0.2) > 2e-7 || math.Abs(l.Offset[1]-l.Offset[0]-0.003) > 2e-5 {
		t.Errorf("slope %v, apart %v; want 0.2 and 0.003 with a quarter of the points bad", l.Slope, l.Offset[1]-l.Offset[0])
	}
}

// scipy.stats.t.ppf(0.975, ν).
func TestStudent95(t *testing.T) {
	for nu, want := range map[float64]float64{1: 12.7062, 5: 2.57058, 30: 2.04227, 1e6: 1.95997} {
		if got := Student95(nu); math.Abs(got-want) > 1e-4 {
			t.Errorf("ν = %v: got %v, want %v", nu, got, want)
		}
	}
}
