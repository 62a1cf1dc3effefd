package dsp

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"beatwright/unit"
)

// floats are n numbers about 0, or their squares.
func floats(n int, seed uint64, squared bool) []float32 {
	rng := rand.New(rand.NewPCG(seed, 9))
	x := make([]float32, n)
	for i := range x {
		v := rng.NormFloat64()
		if squared {
			v *= v
		}
		x[i] = float32(v)
	}
	return x
}

// near compares a fast result with the slow one's, within rel of the greater
// of its size and least.
func near(t *testing.T, what string, i int, got float32, want, rel, least float64) {
	t.Helper()
	if d := math.Abs(float64(got) - want); !(d <= rel*math.Max(math.Abs(want), least)) {
		t.Fatalf("%s, %d: got %v, want %v", what, i, got, want)
	}
}

// The obvious ways, in double precision; the bounds are some roundings of
// single precision, 6e−8 each.
func TestKernelsSlow(t *testing.T) {
	for _, n := range []int{1, 7, 8, 33, 500} {
		e := floats(Lanes*(n+2*LogEdge+1), uint64(n), true)
		w := [Lanes]float32{0.7, 20, 0, 3}
		sums := make([]float32, n+2*LogEdge)
		Weigh(sums, e, &w)
		for i, got := range sums {
			var want float64
			for l := range w {
				want += float64(w[l]) * float64(e[Lanes*i+l])
			}
			near(t, "weighed", i, got, want, 3e-7, 0)
		}
		logs := make([]float32, n)
		LogSmooth(logs, sums)
		for i, got := range logs {
			var want float64
			for k, b := range []float64{1, 6, 15, 20, 15, 6, 1} {
				want += b / 64 * float64(sums[i+k])
			}
			near(t, "logarithm", i, got, math.Log(math.Max(want, 0.05)), 6e-7, 1)
		}
		m, y := floats(n, 3, false), floats(n+70, 4, false)
		c := make([]float32, 70)
		Correlate(c, m, y)
		for d, got := range c {
			var want float64
			for i, v := range m {
				want += float64(v) * float64(y[d+i])
			}
			near(t, "correlation", d, got, want, 1e-7*math.Sqrt(float64(n))*4, math.Sqrt(float64(n)))
		}
		shiftedSlow(t, e[:n+2])
		trimmedSlow(t, n, e)
		betweenSlow(t, n, y)
	}
}

// shiftedSlow adds what lies between two values, and takes one of five from
// their mean.
func shiftedSlow(t *testing.T, y []float32) {
	t.Helper()
	const f, w, n, floor = 0.3, 2.5, 5, 0.25
	sum, rest := slices.Clone(y[1:]), slices.Clone(y)
	AddShifted(sum, y, f, w)
	Add(sum, y)
	mean := slices.Clone(y)
	for i := range mean {
		mean[i] += float32(i%3) - floor
	}
	LeaveOut(rest, mean, floor, n)
	for i, got := range sum {
		want := float64(y[i+1]) + w*((1-f)*float64(y[i])+f*float64(y[i+1])) + float64(y[i])
		near(t, "shifted", i, got, want, 3e-7, 1)
		others := (n*(float64(mean[i])+floor)-float64(y[i]))/(n-1) - floor
		near(t, "left out", i, rest[i], others, 1e-6, 1)
	}
}

// betweenSlow is Catmull and Rom's cubic by its tangents: half the difference
// of the neighbours at either end.
func betweenSlow(t *testing.T, n int, y []float32) {
	t.Helper()
	for _, f := range []float64{0, 0.3, 0.999} {
		sum := make([]float32, n)
		AddBetween(sum, y, float32(f))
		AddBetween(sum, y, float32(f))
		for i, got := range sum {
			a, b, c, d := float64(y[i]), float64(y[i+1]), float64(y[i+2]), float64(y[i+3])
			// Hermite's basis.
			h := b*(1+2*f)*(1-f)*(1-f) + c*f*f*(3-2*f) + (c-a)/2*f*(1-f)*(1-f) - (d-b)/2*f*f*(1-f)
			near(t, "between", i, got, 2*h, 1e-6, 1)
		}
	}
}

// trimmedSlow sorts the values of every row at a place, leaves out the greatest
// and adds the others.
func trimmedSlow(t *testing.T, n int, e []float32) {
	t.Helper()
	for drop := range 4 {
		sum, tops := make([]float32, n), make([][]float32, drop)
		for k := range tops {
			tops[k] = make([]float32, n)
		}
		rows := make([][]float64, n)
		for r, f := range []float64{0.1, 0.9, 0, 0.5} {
			row := e[r:]
			AddTrimmed(sum, tops, row, float32(f))
			for i := range rows {
				rows[i] = append(rows[i], float64(row[i])+f*(float64(row[i+Lanes])-float64(row[i])))
			}
		}
		for i, row := range rows {
			slices.Sort(row)
			var want float64
			for _, v := range row[:len(row)-drop] {
				want += v
			}
			near(t, "trimmed sum", i, sum[i], want, 1e-6, 0.1)
		}
	}
}

// The logarithm over all it may be given.
func TestLogOf(t *testing.T) {
	for v := 0.05; v < 1e30; v *= 1.00137 {
		near(t, "logarithm", 0, logOf(float32(v)), math.Log(float64(float32(v))), 2e-7, 1)
	}
}

// What is no sound leaves numbers, and nothing of it after the warm-up of a
// later block.
func TestEnergiesOfNoSound(t *testing.T) {
	b := NewBank(48000, []Band{{1800, 3800}, {7000, 12000}}, 42e-6)
	const cells = 300
	x := floats(b.Warm+cells*b.Step, 1, false)
	for i, v := range []float64{math.NaN(), math.Inf(1), math.Inf(-1), math.MaxFloat32, -math.MaxFloat32} {
		x[b.Warm+11*i] = float32(v)
	}
	out := make([]float32, Lanes*cells)
	b.Energies([][]float32{x}, [][]float32{out}, cells)
	for i, v := range out {
		if !(v >= 0 && v < 1e4) {
			t.Fatalf("value %d is %v", i, v)
		}
	}
}

// A hum of full scale under a faint sound leaves the bands as they are without
// it: the differences take it away exactly. Unlike it, a beat 90 dB below.
func TestFaintUnderHum(t *testing.T) {
	for _, rate := range []unit.Hertz{44100, 192000} {
		b := NewBank(rate, []Band{{1800, 3800}, {3800, 7000}, {7000, 12000}, {12000, 20000}}, 42e-6)
		cells := int(rate) / 100
		faint := floats(b.Warm+cells*b.Step, 8, false)
		hum := make([]float32, len(faint))
		for i := range faint {
			faint[i] = grid24(1e-5 * float64(faint[i]))
			hum[i] = faint[i] + grid24(0.9*math.Sin(2*math.Pi*50*float64(i)/float64(rate)))
		}
		alone, under := make([]float32, Lanes*cells), make([]float32, Lanes*cells)
		b.Energies([][]float32{faint, hum}, [][]float32{alone, under}, cells)
		for i, v := range under {
			// The hum's own rounding to 24 bits, 2e−8 rms a sample, stays.
			if d := math.Abs(math.Sqrt(float64(v)) - math.Sqrt(float64(alone[i]))); d > 2e-7 {
				t.Fatalf("%v Hz, cell %d, band %d: %v under hum, %v without", float64(rate), i/Lanes, i%Lanes, v, alone[i])
			}
		}
	}
}

// grid24 rounds to 24 bits.
func grid24(v float64) float32 { return float32(math.Round(v*(1<<23)) / (1 << 23)) }

func BenchmarkEnergies(b *testing.B) {
	bank := NewBank(48000, []Band{{1800, 3800}, {3800, 7000}, {7000, 12000}, {12000, 20000}}, 42e-6)
	const cells = 1200
	x := noisy(bank.Warm+cells*bank.Step, 1)
	var from, to [][]float32
	for range rowsAtOnce {
		from, to = append(from, x), append(to, make([]float32, Lanes*cells))
	}
	b.SetBytes(rowsAtOnce * cells * int64(bank.Step)) // samples
	for b.Loop() {
		bank.Energies(from, to, cells)
	}
}

func BenchmarkLogSmooth(b *testing.B) {
	s := floats(2048+2*LogEdge, 1, true)
	y := make([]float32, 2048)
	b.SetBytes(2048) // cells
	for b.Loop() {
		LogSmooth(y, s)
	}
}

func BenchmarkCorrelate(b *testing.B) {
	m, y, c := floats(300, 1, false), floats(400, 2, false), make([]float32, 64)
	b.SetBytes(300 * 64) // products
	for b.Loop() {
		Correlate(c, m, y)
	}
}

func BenchmarkAddTrimmed(b *testing.B) {
	e, sum, top := floats(8200, 1, true), make([]float32, 8000), make([]float32, 8000)
	b.SetBytes(8000) // values
	for b.Loop() {
		AddTrimmed(sum, [][]float32{top}, e, 0.4)
	}
}

func BenchmarkAddBetween(b *testing.B) {
	y, sum := floats(2100, 1, true), make([]float32, 2000)
	b.SetBytes(2000) // values
	for b.Loop() {
		AddBetween(sum, y, 0.4)
	}
}
