package dsp

import (
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"beatwright/unit"
)

// The values are scipy 1.10.1's: scipy.signal.butter(order, f, kind, fs=rate,
// output="sos") and the absolute values of scipy.signal.sosfreqz(sos,
// worN=[500, 2500, 10000], fs=rate).
func TestSectionsOfScipy(t *testing.T) {
	hp4 := HighPass4(1800, 96000)
	cases := []struct {
		name     string
		got      []Section
		rate     unit.Hertz
		want     []Section
		response [3]float64
	}{
		{
			"high-pass, 2, 2500 Hz",
			[]Section{HighPass2(2500, 48000)},
			48000,
			[]Section{{0.793181283995, -1.58636256799, 0.793181283995, -1.543121131237, 0.629604004743}},
			[3]float64{0.0392856878723, 0.707106781187, 0.998930093027},
		},
		{
			"low-pass, 2, 7000 Hz",
			[]Section{LowPass2(7000, 44100)},
			44100,
			[]Section{{0.143493466855, 0.28698693371, 0.143493466855, -0.680740701688, 0.254714569108}},
			[3]float64{0.999990833446, 0.99408446743, 0.369439894229},
		},
		// scipy puts the whole gain into the first section, the package a
		// share into each, and the order is the other way: only A1, A2 and
		// the response are the same.
		{
			"high-pass, 4, 1800 Hz",
			[]Section{hp4[1], hp4[0]},
			96000,
			[]Section{{A1: -1.900646563807, A2: 0.913912933692}, {A1: -1.791587696778, A2: 0.804092843983}},
			[3]float64{0.00592825079695, 0.966014139779, 0.999999585093},
		},
	}
	near := func(a, b float64) bool { return math.Abs(a-b) < 1e-11 }
	for _, c := range cases {
		for i, w := range c.want {
			g := c.got[i]
			if !near(g.A1, w.A1) || !near(g.A2, w.A2) || w.B0 != 0 && (!near(g.B0, w.B0) || !near(g.B1, w.B1) || !near(g.B2, w.B2)) {
				t.Errorf("%s: section %d is %+v, want %+v", c.name, i, g, w)
			}
		}
		for i, f := range []unit.Hertz{500, 2500, 10000} {
			if got := response(f, c.rate, c.got...); !near(got, c.response[i]) {
				t.Errorf("%s: response at %v Hz is %.12g, want %.12g", c.name, f, got, c.response[i])
			}
		}
	}
}

// slowEnergies is the obvious way: the difference equation of every section
// written out, one after the other over the whole sound, then mean squares.
func slowEnergies(b *Bank, x []float32, band int) []float64 {
	y := make([]float64, len(x))
	for i, v := range x {
		y[i] = float64(v)
	}
	edges := b.Bands[band]
	floor := HighPass4(b.Bands[0].Low, b.Rate)
	for _, s := range []Section{floor[0], floor[1], HighPass2(edges.Low, b.Rate), LowPass2(edges.High, b.Rate)} {
		y = slowFilter(s, y)
	}
	var out []float64
	for i := b.Warm; i+b.Step <= len(y); i += b.Step {
		var sum float64
		for _, v := range y[i : i+b.Step] {
			sum += v * v
		}
		out = append(out, sum/float64(b.Step))
	}
	return out
}

// slowFilter is y[n] = b0·x[n] + b1·x[n−1] + b2·x[n−2] − a1·y[n−1] − a2·y[n−2].
func slowFilter(s Section, x []float64) []float64 {
	y := make([]float64, len(x))
	at := func(v []float64, i int) float64 {
		if i < 0 {
			return 0
		}
		return v[i]
	}
	for n := range x {
		y[n] = s.B0*x[n] + s.B1*at(x, n-1) + s.B2*at(x, n-2) - s.A1*at(y, n-1) - s.A2*at(y, n-2)
	}
	return y
}

func noisy(n int, seed uint64) []float32 {
	rng := rand.New(rand.NewPCG(seed, 7))
	x := make([]float32, n)
	for i := range x {
		x[i] = float32(0.1 * rng.NormFloat64())
	}
	return x
}

func TestEnergiesSlow(t *testing.T) {
	for _, rate := range []unit.Hertz{22050, 48000, 192000} {
		b := NewBank(rate, []Band{{1800, 3800}, {3800, 7000}, {7000, 12000}}, 42e-6)
		x, y := noisy(int(rate)/20, 3), noisy(int(rate)/20, 5)
		cells := (len(x) - b.Warm) / b.Step
		dx, dy := make([]float32, Lanes*cells), make([]float32, Lanes*cells)
		b.Energies([][]float32{x, y}, [][]float32{dx, dy}, cells)
		for k := range b.Bands {
			compareSlow(t, b, k, x, dx)
			compareSlow(t, b, k, y, dy)
		}
	}
}

// compareSlow allows for what single precision rounds, some 6e−8, in numbers
// that the poles make (rate/2πf)² times greater: 5e−6 to 7e−5 of the band.
func compareSlow(t *testing.T, b *Bank, band int, x, got []float32) {
	t.Helper()
	want := slowEnergies(b, x, band)
	var mean float64
	for _, w := range want {
		mean += w / float64(len(want))
	}
	gain := math.Pow(float64(b.Rate/b.Bands[0].Low)/2/math.Pi, 2)
	for i, w := range want {
		d := math.Sqrt(float64(got[Lanes*i+band])) - math.Sqrt(w)
		if math.Abs(d) > 6e-8*(150+10*gain)*math.Sqrt(mean) {
			t.Fatalf("%v Hz, band %d, cell %d: got %v, want %v", b.Rate, band, i, got[Lanes*i+band], w)
		}
	}
}

// Blocks of one sound, each with its own warm-up, give the same bits in any
// order and beside any other, and none remembers another.
func TestEnergiesKeepNothing(t *testing.T) {
	b := NewBank(44100, []Band{{1800, 3800}, {7000, 12000}}, 42e-6)
	x := noisy(20000, 4)
	const cells = 200
	pair := func(c, d int) (p, q []float32) {
		p, q = make([]float32, Lanes*cells), make([]float32, Lanes*cells)
		b.Energies([][]float32{x[c*b.Step:], x[d*b.Step:]}, [][]float32{p, q}, cells)
		return p, q
	}
	most := (len(x) - b.Warm - cells*b.Step) / b.Step
	rapid.Check(t, func(rt *rapid.T) {
		s := rapid.SliceOfN(rapid.IntRange(0, most), 3, 3).Draw(rt, "starts")
		first, _ := pair(s[0], s[1])
		_, again := pair(s[2], s[0])
		for i := range first {
			if math.Float32bits(first[i]) != math.Float32bits(again[i]) {
				rt.Fatalf("value %d: %v, then %v", i, first[i], again[i])
			}
		}
	})
}

// On any parabola that opens downward Peak is exact; where there is no peak
// it stays at the index.
func TestPeakProperty(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		at := rapid.Float64Range(2, 6).Draw(rt, "at")
		height := rapid.Float64Range(-10, 10).Draw(rt, "height")
		bend := rapid.Float64Range(0.1, 10).Draw(rt, "bend")
		y := make([]float64, 9)
		for i := range y {
			d := float64(i) - at
			y[i] = height - bend*d*d
		}
		gotAt, gotHeight := Peak(y, int(math.Round(at)))
		if math.Abs(gotAt-at) > 1e-9 || math.Abs(gotHeight-height) > 1e-9 {
			rt.Fatalf("got %v, %v, want %v, %v", gotAt, gotHeight, at, height)
		}
	})
	for _, c := range []struct {
		name string
		y    []float64
		i    int
	}{{"flat", []float64{1, 1, 1}, 1}, {"a valley", []float64{2, 1, 2}, 1}, {"first", []float64{3, 2, 1}, 0}, {"last", []float64{1, 2, 3}, 2}} {
		if at, h := Peak(c.y, c.i); at != float64(c.i) || h != c.y[c.i] {
			t.Errorf("%s: got %v, %v, want the index and its value", c.name, at, h)
		}
	}
}
