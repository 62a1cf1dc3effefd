package dsp

import "golang.org/x/sys/cpu"

// fast tells whether the assembly may be used; a variable, so that tests can
// set the portable forms against it.
var fast = cpu.X86.HasAVX2

func bankPair(c *bankCoef, x, y []float32, warm, cells, step int, dx, dy []float32) {
	if !fast {
		bankPairPortable(c, x, y, warm, cells, step, dx, dy)
		return
	}
	bankPairAVX2(c, &x[0], &y[0], warm, cells, step, &dx[0], &dy[0])
}

// The fast forms give how many results they made; the rest, less than a
// register full, is the caller's.

func weighFast(dst, energies []float32, weight *[Lanes]float32) int {
	n := len(dst) &^ 7
	if !fast || n == 0 {
		return 0
	}
	weighAVX2(&dst[0], &energies[0], weight, n)
	return n
}

func logSmoothFast(dst, sums []float32) int {
	n := len(dst) &^ 7
	if !fast || n == 0 {
		return 0
	}
	logSmoothAVX2(&dst[0], &sums[0], n)
	return n
}

func correlateFast(c, m, y []float32) int {
	if !fast || len(m) == 0 {
		return 0
	}
	d := 0
	for ; d+32 <= len(c); d += 32 {
		correlateAVX2(&c[d], &m[0], &y[d], len(m))
	}
	return d
}

func addWeightedFast(sum, y []float32, w *[4]float32) int {
	n := len(sum) &^ 7
	if !fast || n == 0 {
		return 0
	}
	addWeightedAVX2(&sum[0], &y[0], w, n)
	return n
}

func addTrimmedFast(sum, top, e []float32, f float32) int {
	n := len(sum) &^ 7
	if !fast || n == 0 {
		return 0
	}
	addTrimmedAVX2(&sum[0], &top[0], &e[0], f, n)
	return n
}

//go:noescape
func bankPairAVX2(c *bankCoef, x, y *float32, warm, cells, step int, dx, dy *float32)

//go:noescape
func weighAVX2(dst, energies *float32, weight *[Lanes]float32, n int)

//go:noescape
func logSmoothAVX2(dst, sums *float32, n int)

//go:noescape
func correlateAVX2(c, m, y *float32, n int)

//go:noescape
func addWeightedAVX2(sum, y *float32, w *[4]float32, n int)

//go:noescape
func addTrimmedAVX2(sum, top, e *float32, f float32, n int)
