package estimate

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// alternating makes n points of two interleaved series that share a slope.
func alternating(n int, slope, apart float64) (x, y []float64, side []int) {
	for k := range n {
		x = append(x, float64(k))
		y = append(y, 0.3+slope*float64(k)+apart*float64(k&1))
		side = append(side, k&1)
	}
	return x, y, side
}

// Points that lie on the two lines give them back, whatever slope and
// distance.
func TestFitLineExact(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n := rapid.IntRange(6, 300).Draw(rt, "points")
		slope := rapid.Float64Range(-1, 1).Draw(rt, "slope")
		apart := rapid.Float64Range(-0.02, 0.02).Draw(rt, "apart")
		x, y, side := alternating(n, slope, apart)
		l := FitLine(x, y, side)
		if math.Abs(l.Slope-slope) > 1e-11 || math.Abs(l.Offset[0]-0.3) > 1e-9 || math.Abs(l.Offset[1]-l.Offset[0]-apart) > 1e-9 || l.Scale > 1e-9 {
			rt.Fatalf("got %v, %v, scale %v; want %v, apart %v, scale 0", l.Slope, l.Offset, l.Scale, slope, apart)
		}
	})
}

// theilSen is the obvious slow version: the median of all slopes between
// points of one side, as scipy.stats.theilslopes takes it over one series.
func theilSen(x, y []float64, side []int) float64 {
	var slopes []float64
	for i := range x {
		for j := range i {
			if side[i] == side[j] {
				slopes = append(slopes, (y[i]-y[j])/(x[i]-x[j]))
			}
		}
	}
	return Median(slopes)
}

// scipy.stats.theilslopes of these eight points is 1.0, with 0.9 to 1.1 at
// 95 %.
func TestTheilSenIsScipys(t *testing.T) {
	x := []float64{0, 1, 2, 3, 4, 5, 6, 7}
	y := []float64{0, 1.1, 1.9, 3.2, 9, 5.1, 5.9, 7}
	if got := theilSen(x, y, make([]int, 8)); math.Abs(got-1) > 1e-12 {
		t.Errorf("got %v, want 1.0", got)
	}
}

// With three points in ten grossly off, all late and all at random places,
// the line stays within what the good points allow: five times the standard
// deviation of a least-squares slope through them, σ·√(12/n³). The slow
// median of slopes agrees, and every bad point is left out.
func TestFitLineThirdBad(t *testing.T) {
	const n, sigma = 240, 1e-5
	for seed := range uint64(20) {
		rng := rand.New(rand.NewPCG(seed, 5))
		x, y, side := alternating(n, 0.2, 0.003)
		bad := rng.Perm(n)[:3*n/10]
		for i := range y {
			y[i] += sigma * rng.NormFloat64()
		}
		for _, i := range bad {
			y[i] += 0.001 + 0.05*rng.Float64()
		}
		l := FitLine(x, y, side)
		allowed := 5 * sigma * math.Sqrt(12/math.Pow(0.7*n, 3))
		if d := math.Abs(l.Slope - 0.2); d > allowed {
			t.Errorf("seed %d: slope off by %.2g, want at most %.2g", seed, d, allowed)
		}
		if d := math.Abs(l.Offset[1] - l.Offset[0] - 0.003); d > 5*sigma*2/math.Sqrt(0.7*n) {
			t.Errorf("seed %d: apart off by %.2g", seed, d)
		}
		if d := math.Abs(theilSen(x, y, side) - 0.2); d > 5e-6 {
			t.Errorf("seed %d: the slow slope is off by %.2g", seed, d)
		}
		for _, i := range bad {
			if l.Weight[i] != 0 {
				t.Fatalf("seed %d: point %d, off by %.4f, kept with %v", seed, i, l.Residual[i], l.Weight[i])
			}
		}
	}
}

// On normal scatter nothing is given away: the spread of the slopes is that
// of least squares, σ·√(12/n³), within a fifth (95 % efficiency, and the
// chance of 300 draws).
func TestFitLineEfficient(t *testing.T) {
	const n, draws = 100, 300
	var sum float64
	rng := rand.New(rand.NewPCG(9, 9))
	for range draws {
		x, y, side := alternating(n, 0.2, 0)
		for i := range y {
			y[i] += rng.NormFloat64()
		}
		d := FitLine(x, y, side).Slope - 0.2
		sum += d * d
	}
	got, want := math.Sqrt(sum/draws), math.Sqrt(12.0/(n*n*n))
	if got > 1.2*want || got < 0.8*want {
		t.Errorf("spread of the slopes %.3g, least squares %.3g", got, want)
	}
}

// Too little to lay a line through is an answer, not a panic.
func TestFitLineOfLittle(t *testing.T) {
	for _, n := range []int{0, 1, 2} {
		x, y, side := alternating(n, 1, 0)
		l := FitLine(x, y, side)
		if l.Slope != 0 || len(l.Residual) != n {
			t.Errorf("%d points: got %+v, want slope 0", n, l)
		}
	}
	same := FitLine([]float64{2, 2, 2}, []float64{1, 2, 3}, []int{0, 0, 0})
	if same.Slope != 0 || math.Abs(same.Offset[0]-2) > 1e-9 {
		t.Errorf("one place: got %+v, want slope 0 at the mean 2", same)
	}
}

// scipy.stats.t.ppf(0.975, ν), scipy 1.10.1; below 1 the ν is 1.
func TestStudent95OfScipy(t *testing.T) {
	for _, c := range []struct{ nu, want float64 }{
		{0.2, 12.7062047},
		{1, 12.7062047},
		{2, 4.30265273},
		{3, 3.18244631},
		{4.5, 2.65891235},
		{8, 2.30600414},
		{10, 2.22813885},
		{30, 2.04227246},
		{120, 1.97993041},
		{1e6, 1.95996636},
	} {
		if got := Student95(c.nu); math.Abs(got/c.want-1) > 1e-8 {
			t.Errorf("ν = %v: got %.9g, want %.9g", c.nu, got, c.want)
		}
	}
}

func TestMedianSlow(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		x := rapid.SliceOfN(rapid.Float64Range(-5, 5), 1, 30).Draw(rt, "x")
		kept := slices.Clone(x)
		m := Median(x)
		below, above := 0, 0
		for _, v := range x {
			if v < m {
				below++
			}
			if v > m {
				above++
			}
		}
		if 2*below > len(x) || 2*above > len(x) || !slices.Equal(x, kept) {
			rt.Fatalf("%v of %v: %d below, %d above", m, kept, below, above)
		}
	})
	if Median(nil) != 0 || MAD(nil) != 0 {
		t.Error("of nothing: want 0")
	}
}
