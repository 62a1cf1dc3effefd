package dsp

import "golang.org/x/sys/cpu"

// fast tells whether the assembly may be used; a variable, so that tests can
// set the portable forms against it.
var fast = cpu.X86.HasAVX2

// bankRows has eight stretches side by side pass the sections that the bands
// share, and then the bands of two, twice, their own.
func bankRows(c *bankCoef, x [][]float32, warm, cells, step int, dst [][]float32) {
	if !fast {
		bankRowsPortable(c, x, warm, cells, step, dst)
		return
	}
	n := warm + cells*step
	var from, to [rowsAtOnce]*float32
	for i := range from { // where there are fewer, the last is filtered again
		k := min(i, len(x)-1)
		from[i], to[i] = &x[k][0], &dst[k][0]
	}
	d := scratch(rowsAtOnce * n)
	interleave(*d, &from, x, n)
	sharedAVX2(c, &(*d)[0], n)
	for i := 0; i < len(x); i += 4 {
		ownAVX2(c, &(*d)[i], warm, cells, step, &to[i])
	}
	spare.Put(d)
}

// interleave lays the stretches side by side: the first sample of each, then
// the second.
func interleave(d []float32, from *[rowsAtOnce]*float32, x [][]float32, n int) {
	whole := n &^ 3
	if whole > 0 {
		interleaveAVX2(&d[0], from, whole)
	}
	for i := range rowsAtOnce {
		row := x[min(i, len(x)-1)]
		for k := whole; k < n; k++ {
			d[rowsAtOnce*k+i] = row[k]
		}
	}
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

func fromS16Fast(dst []float32, src []byte) int {
	n := len(dst) &^ 15
	if !fast || n == 0 {
		return 0
	}
	fromS16AVX2(&dst[0], &src[0], n)
	return n
}

func nonzeroFast(x []float32) int {
	n := len(x) &^ 31
	if !fast || n == 0 {
		return 0
	}
	return nonzeroAVX2(&x[0], n)
}

func levelFast(l *levels, x []float32) {
	if !fast {
		levelPortable(l, x)
	} else if len(x) > 0 {
		levelAVX2(l, &x[0], len(x))
	}
}

func sumsFast(s *[2][8]float32, x []float32) int {
	n := len(x) &^ 7
	if !fast || n == 0 {
		return 0
	}
	sumsAVX2(s, &x[0], n)
	return n
}

//go:noescape
func interleaveAVX2(d *float32, x *[rowsAtOnce]*float32, n int)

//go:noescape
func sharedAVX2(c *bankCoef, d *float32, n int)

//go:noescape
func ownAVX2(c *bankCoef, d *float32, warm, cells, step int, dst **float32)

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
func fromS16AVX2(dst *float32, src *byte, n int)

//go:noescape
func nonzeroAVX2(x *float32, n int) int

//go:noescape
func levelAVX2(l *levels, x *float32, n int)

//go:noescape
func sumsAVX2(s *[2][8]float32, x *float32, n int)

//go:noescape
func addAVX2(sum, y *float32, n int)

//go:noescape
func addShiftedAVX2(sum, y *float32, f, w float32, n int)

//go:noescape
func leaveOutAVX2(v, mean *float32, floor, n float32, count int)
