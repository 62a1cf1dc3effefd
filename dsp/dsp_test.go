package dsp

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"beatwright/unit"

	"pgregory.net/rapid"
)

// response is |H| of a chain of sections at f.
func response(f, rate unit.Hertz, ss ...Section) float64 {
	z := cmplx.Exp(complex(0, -2*math.Pi*float64(f/rate)))
	h := complex(1, 0)
	for _, s := range ss {
		h *= (complex(s.B0, 0) + complex(s.B1, 0)*z + complex(s.B2, 0)*z*z) /
			(1 + complex(s.A1, 0)*z + complex(s.A2, 0)*z*z)
	}
	return cmplx.Abs(h)
}

// The Butterworth response with warped frequencies is |H|² = 1/(1+(Ωc/Ω)^2n),
// Ω = tan(πf/rate): the same numbers scipy.signal.butter's sections give.
func TestButterworth(t *testing.T) {
	warp := func(f unit.Hertz) float64 { return math.Tan(math.Pi * float64(f) / 48000) }
	hp := HighPass4(2500, 48000)
	for _, f := range []unit.Hertz{200, 1000, 2500, 5000, 12000} {
		r := warp(2500) / warp(f)
		cases := []struct {
			name      string
			got, want float64
		}{
			{"high-pass 4", response(f, 48000, hp[0], hp[1]), 1 / math.Sqrt(1+math.Pow(r, 8))},
			{"high-pass 2", response(f, 48000, HighPass2(2500, 48000)), 1 / math.Sqrt(1+math.Pow(r, 4))},
			{"low-pass 2", response(f, 48000, LowPass2(2500, 48000)), 1 / math.Sqrt(1+math.Pow(1/r, 4))},
		}
		for _, c := range cases {
			if math.Abs(c.got-c.want) > 1e-9 {
				t.Errorf("%s at %v Hz: got %v, want %v", c.name, f, c.got, c.want)
			}
		}
	}
}

// A block filtered alone after its warm-up agrees with the whole filtered at
// once, to what the warm-up leaves.
func TestBankBlocks(t *testing.T) {
	x := noisy(9600, 1)
	b := NewBank(48000, []Band{{1800, 3800}, {3800, 7000}, {12000, 30000}}, 42e-6)
	if b.Step != 2 || b.Bands[2].High != 21600 {
		t.Fatalf("step %d, bands %v", b.Step, b.Bands)
	}
	whole, part := make([]float32, Lanes*4000), make([]float32, Lanes*500)
	b.Energies([][]float32{x}, [][]float32{whole}, 4000)
	b.Energies([][]float32{x[2000:]}, [][]float32{part}, 500)
	for i, v := range part {
		// What a filter rounds depends on where it began: some 1e−7 of the
		// sound, and energies near 0 know no more of themselves.
		w := whole[i+1000*Lanes]
		if math.Abs(math.Sqrt(float64(v))-math.Sqrt(float64(w))) > 1e-6*math.Sqrt(0.01) {
			t.Fatalf("band %d cell %d: %v alone, %v in the whole", i%Lanes, i/Lanes, v, w)
		}
	}
}

func TestAutocorrelationSlow(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 1))
	x := make([]float64, 300)
	for i := range x {
		x[i] = rng.NormFloat64() + math.Sin(float64(i)/5)
	}
	got := Autocorrelation(x, 100)
	m := Mean(x)
	var zero float64
	for _, v := range x {
		zero += (v - m) * (v - m) / 300
	}
	for lag := range got {
		var s float64
		for i := lag; i < len(x); i++ {
			s += (x[i] - m) * (x[i-lag] - m)
		}
		if want := s / float64(len(x)-lag) / zero; math.Abs(got[lag]-want) > 1e-9 {
			t.Fatalf("lag %d: got %v, want %v", lag, got[lag], want)
		}
	}
	if r := Autocorrelation(make([]float64, 20), 5); r[0] != 0 {
		t.Errorf("a constant: got %v, want zeros", r)
	}
}

func TestPeakOfParabola(t *testing.T) {
	y := make([]float64, 9)
	for i := range y {
		d := float64(i) - 4.3
		y[i] = 7 - 2*d*d
	}
	at, h := Peak(y, 4)
	if math.Abs(at-4.3) > 1e-12 || math.Abs(h-7) > 1e-12 {
		t.Errorf("got %v, %v, want 4.3, 7", at, h)
	}
}

func TestWithoutLines(t *testing.T) {
	x := make([]float64, 4000)
	for i := range x {
		s := float64(i) * 0.0005
		x[i] = math.Sin(2*math.Pi*50.05*s) + math.Sin(2*math.Pi*100.1*s) + 0.5*math.Sin(2*math.Pi*7*s)
	}
	y := WithoutLines(x, []float64{50 * 0.0005}, 0.004)
	var hum, beat float64
	for i := range y {
		s := float64(i) * 0.0005
		hum += y[i] * math.Sin(2*math.Pi*50.05*s) / 2000
		beat += y[i] * math.Sin(2*math.Pi*7*s) / 2000
	}
	if math.Abs(hum) > 0.15 || math.Abs(beat-0.5) > 0.05 {
		t.Errorf("left %v of the hum (1 before) and %v of the rest (0.5 before)", hum, beat)
	}
}

// The transforms give what the sums themselves give.
func TestCrossCorrelationIsTheSums(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := rapid.SliceOfN(rapid.Float64Range(-3, 3), 3, 90).Draw(t, "a")
		b := rapid.SliceOfN(rapid.Float64Range(-3, 3), len(a), len(a)).Draw(t, "b")
		reach := rapid.IntRange(0, (len(a)-1)/2).Draw(t, "reach")
		got := CrossCorrelation(a, b, reach)
		if len(got) != 2*reach+1 {
			t.Fatalf("%d lags, want %d", len(got), 2*reach+1)
		}
		for d := range got {
			var want float64
			for i := reach; i < len(a)-reach; i++ {
				want += a[i] * b[i+d-reach]
			}
			if math.Abs(got[d]-want) > 1e-10 {
				t.Fatalf("lag %d: %v, the sum is %v", d-reach, got[d], want)
			}
		}
	})
}

// Noise set against itself, moved by a whole number of samples, lies by so many
// behind, and likest there.
func TestLagOfShifted(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		const n, reach = 400, 40
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		x := make([]float64, n+2*reach)
		for i := range x {
			x[i] = rng.NormFloat64()
		}
		by := rapid.IntRange(-reach+1, reach-1).Draw(t, "by")
		c := CrossCorrelation(x[reach:n+reach], x[reach-by:n+reach-by], reach)
		if len(c) != 2*reach+1 || math.Abs(LagOf(c)-float64(by)) > 0.5 {
			t.Fatalf("%d lags, %.3f samples behind, want %d", len(c), LagOf(c), by)
		}
	})
}
