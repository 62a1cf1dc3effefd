package dsp

import (
	"math"
	"testing"
)

// All numbers of 16 bits, whole and in parts.
func TestFromS16(t *testing.T) {
	const all = 1 << 16
	bytes := make([]byte, 2*all)
	for i := range all {
		bytes[2*i], bytes[2*i+1] = byte(i), byte(i>>8)
	}
	for _, from := range []int{0, 1, 7, all - 17, all - 1} {
		got := make([]float32, all-from)
		FromS16(got, bytes[2*from:])
		for i, g := range got {
			if want := float32(int16(from+i)) / 32768; g != want {
				t.Fatalf("%d from %d: %v, want %v", i, from, g, want)
			}
		}
	}
}

func TestZero(t *testing.T) {
	for n := range 100 {
		x := floats(n, 1, false)
		if got := Zero(x); got != n {
			t.Fatalf("%d without zero: %d", n, got)
		}
		for _, zero := range []float32{0, float32(math.Copysign(0, -1))} {
			for i := range x {
				was := x[i]
				x[i] = zero
				if got := Zero(x); got != i {
					t.Fatalf("%d of %d: %d", i, n, got)
				}
				x[i] = was
			}
		}
	}
}

func TestLevelSlow(t *testing.T) {
	for _, n := range []int{0, 1, 7, 8, 9, 64, 255, 256} {
		x := floats(n, uint64(n), false)
		squares, peak := Level(x)
		var want float64
		var top float32
		for _, v := range x {
			want += float64(v) * float64(v)
			top = max(top, v, -v)
		}
		near(t, "squares", n, float32(squares), want, 1e-6, 0)
		sum, again := Sums(x)
		near(t, "squares", n, float32(again), want, 1e-6, 0)
		var plain float64
		for _, v := range x {
			plain += float64(v)
		}
		near(t, "sum", n, float32(sum), plain, 1e-6, float64(n))
		if peak != top {
			t.Errorf("%d values: peak %v, want %v", n, peak, top)
		}
	}
}
