package dsp

import "golang.org/x/sys/cpu"

// fast tells whether the assembly may be used; a variable, so that tests can
// set the portable forms against it.
var fast = cpu.X86.HasAVX2

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

func addFast(sum, y []float32) int {
	n := len(sum) &^ 7
	if !fast || n == 0 {
		return 0
	}
	addAVX2(&sum[0], &y[0], n)
	return n
}

func addShiftedFast(sum, y []float32, f, w float32) int {
	n := len(sum) &^ 7
	if !fast || n == 0 {
		return 0
	}
	addShiftedAVX2(&sum[0], &y[0], f, w, n)
	return n
}

func leaveOutFast(v, mean []float32, floor, n float32) int {
	k := len(v) &^ 7
	if !fast || k == 0 {
		return 0
	}
	leaveOutAVX2(&v[0], &mean[0], floor, n, k)
	return k
}

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

//go:noescape
func addAVX2(sum, y *float32, n int)

//go:noescape
func addShiftedAVX2(sum, y *float32, f, w float32, n int)

//go:noescape
func leaveOutAVX2(v, mean *float32, floor, n float32, count int)
