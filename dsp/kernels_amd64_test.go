package dsp

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"beatwright/unit"
)

// both gives what a kernel makes with and without assembly.
func both(run func() []float32) (quick, plain []float32) {
	defer func(was bool) { fast = was }(fast)
	quick = run()
	fast = false
	return quick, run()
}

// The assembly gives the bits of the portable forms, whatever the lengths and
// the numbers.
func TestFastIsPortable(t *testing.T) {
	if !fast {
		t.Skip("this processor has no AVX2")
	}
	odd := []float32{0, float32(math.NaN()), float32(math.Inf(1)), float32(math.Inf(-1)), math.MaxFloat32, -40, 1e-39, float32(math.Copysign(0, -1))}
	rapid.Check(t, func(rt *rapid.T) {
		n := rapid.IntRange(1, 300).Draw(rt, "n")
		seed := rapid.Uint64().Draw(rt, "seed")
		f := rapid.Float32Range(0, 1).Draw(rt, "f")
		e := floats(Lanes*(n+64), seed, true)
		x := floats(8*n+4000, seed, false)
		for range rapid.IntRange(0, 3).Draw(rt, "odd") {
			x[rapid.IntRange(0, len(x)-1).Draw(rt, "at")] = rapid.SampledFrom(odd).Draw(rt, "value")
		}
		same := func(what string, run func() []float32) {
			quick, plain := both(run)
			for i := range quick {
				if math.Float32bits(quick[i]) != math.Float32bits(plain[i]) {
					rt.Fatalf("%s, %d of %d: %v, portable %v", what, i, n, quick[i], plain[i])
				}
			}
		}
		rate := rapid.SampledFrom([]unit.Hertz{22050, 44100, 64000, 96000, 176400, 192000}).Draw(rt, "rate")
		rows := rapid.IntRange(1, 10).Draw(rt, "rows")
		b := NewBank(rate, []Band{{1800, 3800}, {3800, 7000}, {7000, 12000}, {12000, 20000}}, 42e-6)
		cells := (len(x) - b.Warm - rows) / b.Step
		same("energies", func() []float32 {
			out := make([]float32, rows*Lanes*cells)
			var from, to [][]float32
			for i := range rows {
				from, to = append(from, x[i:]), append(to, out[i*Lanes*cells:])
			}
			b.Energies(from, to, cells)
			return out
		})
		same("level", func() []float32 {
			squares, peak := Level(x[:n])
			return []float32{float32(squares), peak}
		})
		same("sums", func() []float32 {
			sum, squares := Sums(e[:n])
			return []float32{float32(sum), float32(squares)}
		})
		same("zero", func() []float32 { return []float32{float32(Zero(x)), float32(Zero(x[n:]))} })
		same("of 16 bits", func() []float32 {
			s, bytes := make([]float32, n), make([]byte, 2*n)
			for i := range bytes {
				bytes[i] = byte(math.Float32bits(x[i]) >> 5)
			}
			FromS16(s, bytes)
			return s
		})
		sums := make([]float32, n+2*LogEdge)
		same("weighed", func() []float32 {
			Weigh(sums, e, &[Lanes]float32{3, 0.1, 0, 7e4})
			return sums
		})
		same("logarithms", func() []float32 {
			y := make([]float32, n)
			LogSmooth(y, sums)
			return y
		})
		same("correlation", func() []float32 {
			c := make([]float32, 1+n/2)
			Correlate(c, e[:n], e[n:])
			return c
		})
		same("between", func() []float32 {
			s := make([]float32, n)
			AddBetween(s, e, f)
			return s
		})
		same("shifted", func() []float32 {
			s := make([]float32, n)
			AddShifted(s, e, f, 0.3)
			AddShifted(s, e[1:], f, 7)
			Add(s, x)
			return s
		})
		same("left out", func() []float32 {
			s := append([]float32(nil), e[:n]...)
			LeaveOut(s, e[n:], f, 19)
			return s
		})
		same("trimmed", func() []float32 {
			s, top := make([]float32, n), make([]float32, n)
			for r := range 3 {
				AddTrimmed(s, [][]float32{top}, e[r:], f)
			}
			return append(s, top...)
		})
	})
}
