package dsp

import (
	"encoding/binary"
	"math"
)

// FromS16 turns 16-bit little-endian samples into floats, full scale being 1.
// src must hold two bytes for each of dst.
func FromS16(dst []float32, src []byte) {
	src = src[:2*len(dst)]
	for i := fromS16Fast(dst, src); i < len(dst); i++ {
		dst[i] = float32(int16(binary.LittleEndian.Uint16(src[2*i:]))) * (1.0 / (1 << 15))
	}
}

// Zero is the place of the first zero in x, or its length.
func Zero(x []float32) int {
	i := nonzeroFast(x)
	for i < len(x) && x[i] != 0 {
		i++
	}
	return i
}

// levels are sums of squares and greatest sizes, many side by side: one would
// wait for itself. Sizes are bits, which stand in the order of what they mean,
// and no number stands above all.
type levels struct {
	sum [levelsAtOnce]float32
	top [8]uint32
}

const levelsAtOnce = 32

// unsigned masks the sign of a float32.
const unsigned = 1<<31 - 1

// Level gives the sum of the squares of x, of at most some thousand values lest
// single precision tell, and the greatest size among them.
func Level(x []float32) (squares float64, peak float32) {
	var l levels
	whole := len(x) &^ (levelsAtOnce - 1)
	levelFast(&l, x[:whole])
	for i, v := range x[whole:] {
		l.add(i, v)
	}
	var top uint32
	for i, s := range l.sum {
		squares += float64(s)
		top = max(top, l.top[i&7])
	}
	return squares, math.Float32frombits(top)
}

func (l *levels) add(i int, v float32) {
	l.sum[i] += float32(v * v)
	l.top[i&7] = max(l.top[i&7], math.Float32bits(v)&unsigned)
}

// levelPortable takes a multiple of levelsAtOnce values.
func levelPortable(l *levels, x []float32) {
	for i, v := range x {
		l.add(i%levelsAtOnce, v)
	}
}

// Sums gives the sum and the sum of squares of x, in single precision by eight
// sums side by side.
func Sums(x []float32) (sum, squares float64) {
	var s [2][8]float32
	i := sumsFast(&s, x)
	for k, v := range x[i:] {
		s[0][k&7] += v
		s[1][k&7] += float32(v * v)
	}
	for k := range s[0] {
		sum, squares = sum+float64(s[0][k]), squares+float64(s[1][k])
	}
	return sum, squares
}
