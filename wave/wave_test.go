package wave

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// noise is n values of scatter 1: white, or with each taking rho of the one
// before.
func noise(seed uint64, n int, rho float64) []float64 {
	rng := rand.New(rand.NewPCG(seed, 7))
	x := make([]float64, n)
	last := 0.0
	for k := range x {
		last = rho*last + math.Sqrt(1-rho*rho)*rng.NormFloat64()
		x[k] = last
	}
	return x
}

// A wave of known size is found in noise as large as itself, within its own
// uncertainty about as often as that promises.
func TestWavesAreFound(t *testing.T) {
	covers, periods, tries := 0, 0, 100
	for seed := range tries {
		x := noise(uint64(seed), 240, 0)
		period := 20 + float64(seed)/5
		for k := range x {
			x[k] += 1 * math.Sin(2*math.Pi*float64(k)/period+float64(seed))
		}
		w := Find(x, Options{})
		if len(w) == 0 {
			t.Fatalf("seed %d: a wave of the noise's own size in 240 values is not found", seed)
		}
		if math.Abs(w[0].Peak-1) <= w[0].U95 {
			covers++
		}
		if math.Abs(w[0].Period-period) <= w[0].PeriodU95 {
			periods++
		}
	}
	// 100 tries of 95 %: 90 to 99 in 95 of 100 (binomial).
	if covers < 90 || periods < 90 {
		t.Errorf("the 95 %% intervals hold size in %d and period in %d of %d", covers, periods, tries)
	}
}

// Noise of any colour shows a wave in at most 3 of 100 series.
func TestNoiseShowsFewWaves(t *testing.T) {
	for _, rho := range []float64{0, 0.5, 0.9} {
		for _, n := range []int{60, 150, 400} {
			false_ := 0
			for seed := range 150 {
				if len(Find(noise(uint64(seed), n, rho), Options{})) > 0 {
					false_++
				}
			}
			if false_ > 4 {
				t.Errorf("each value %v of the last, %d values: %d of 150 series show a wave", rho, n, false_)
			}
		}
	}
}

func TestTwoWavesAndGaps(t *testing.T) {
	x := noise(3, 300, 0)
	for k := range x {
		x[k] += 2*math.Sin(2*math.Pi*float64(k)/30) + 1.5*math.Sin(2*math.Pi*float64(k)/75)
		if k%11 == 0 || k > 100 && k < 115 {
			x[k] = math.NaN()
		}
	}
	w := Find(x, Options{})
	if len(w) < 2 || math.Abs(w[0].Period-30) > 0.5 || math.Abs(w[1].Period-75) > 2 {
		t.Errorf("found %+v, want periods 30 and 75", w)
	}
}

func TestTooLittle(t *testing.T) {
	for _, x := range [][]float64{nil, make([]float64, 10), make([]float64, 200)} {
		if w := Find(x, Options{}); len(w) != 0 {
			t.Errorf("%d values without any change show %+v", len(x), w)
		}
	}
}

// One late step of thirty is seen as that step, and no other.
func TestFold(t *testing.T) {
	x := noise(5, 300, 0)
	for k := range x {
		if k%30 == 17 {
			x[k] += 3
		}
	}
	f, ok := FoldOver(x, 30)
	if !ok || f.Chance > 1e-4 {
		t.Fatalf("a step of 3 in 10 turns: %v, chance %v", ok, f.Chance)
	}
	if math.Abs(f.Mean[17]-2.9) > f.U95[17] {
		t.Errorf("the late step is %v ± %v, want 2.9", f.Mean[17], f.U95[17])
	}
	if f, ok := FoldOver(noise(6, 300, 0), 30); !ok || f.Chance < 0.01 {
		t.Errorf("noise alone: %v, chance %v", ok, f.Chance)
	}
	if _, ok := FoldOver(x[:80], 30); ok {
		t.Error("two and a half turns are folded")
	}
}

// The obvious way sets every maximum against its own level.
func TestPeaksSlow(t *testing.T) {
	for seed := range uint64(12) {
		rng := rand.New(rand.NewPCG(seed, 3))
		x := make([]float64, 400+int(seed)*150)
		slow := 0.0
		for k := range x {
			slow += 0.2 * rng.NormFloat64()
			x[k] = rng.NormFloat64() + slow + 0.3*math.Sin(float64(k)*(0.1+0.2*float64(seed)))
			if seed%3 == 0 && k%7 == 0 {
				x[k] = math.NaN()
			}
		}
		s := newSearch(len(x)).powers(x)
		lo, hi := int(2*s.bins), len(s.power)*4/5
		got, want := s.peaks(lo, hi), s.highest(s.maxima(lo, hi), candidates, s.level)
		if !slices.Equal(got, want) {
			t.Errorf("series %d: %v, want %v", seed, got, want)
		}
	}
}

// A wave as large as Least says is found in 95 of 100 series, one half as large in
// few, and its doubt by what is left without it holds its size.
func TestLeast(t *testing.T) {
	found, small, covers, tries := 0, 0, 0, 100
	for seed := range tries {
		x := noise(uint64(seed), 300, 0)
		period := 10 + float64(seed)/2
		none, ok := NoiseOf(x)
		if !ok {
			t.Fatal("too little")
		}
		size := none.Least(period, Options{})
		with := func(size float64) []Wave {
			y := slices.Clone(x)
			for k := range y {
				y[k] += size * math.Sin(2*math.Pi*float64(k)/period+float64(seed))
			}
			return Find(y, Options{})
		}
		if len(with(size/2)) > 0 {
			small++
		}
		if w := with(size); len(w) > 0 {
			found++
			if d := none.Doubt(w[0]); math.Abs(d.Peak-size) <= d.U95 {
				covers++
			}
		}
	}
	// 100 tries of 95 %: 90 to 99 in 95 of 100 (binomial).
	if found < 90 || small > 30 || 100*covers < 88*found {
		t.Errorf("%d of %d found, %d of half the size, %d sizes held", found, tries, small, covers)
	}
	if _, ok := NoiseOf(make([]float64, 20)); ok {
		t.Error("20 values say something")
	}
}
