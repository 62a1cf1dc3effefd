package dsp

import (
	"math"
	"sync"
)

// The kernels are the few loops that nearly all time is spent in. Each has a
// portable form here and, for processors with AVX2, one in assembly that
// gives the same bits: eight results side by side, each reckoned in the
// portable form's order, products rounded before they are added.

// spare keeps memory between calls; nothing in it is read before it is written.
var spare sync.Pool

// scratch is memory for n values, of any contents; give it back to spare.
func scratch(n int) *[]float32 {
	d, ok := spare.Get().(*[]float32)
	if !ok || len(*d) < n {
		d = new(make([]float32, n))
	}
	return d
}

// bankRowsPortable filters stretches of the same length, one after the other.
func bankRowsPortable(c *bankCoef, x [][]float32, warm, cells, step int, dst [][]float32) {
	n := warm + cells*step
	d := scratch(n)
	for i := range x {
		bankPortable(c, *d, x[i][:n], warm, cells, step, dst[i])
	}
	spare.Put(d)
}

// bankPortable passes x through the two sections that the bands share and the
// differences of the third into d, then through what each band has of its own.
func bankPortable(c *bankCoef, d, x []float32, warm, cells, step int, dst []float32) {
	shared(c, d, x)
	for l := range Lanes {
		own(c, l, d[:len(x)], warm, cells, step, dst)
	}
}

// shared runs two high-passes in direct form I: of each the last input, the
// last difference of inputs and the last two outputs are kept; an output of
// the first is an input of the second.
func shared(c *bankCoef, dst, x []float32) {
	a1, a2, b1, b2 := c.a1[0][0], c.a2[0][0], c.a1[1][0], c.a2[1][0]
	var in, dx, y1, y2, dy, z1, z2, dz float32
	dst = dst[:len(x)]
	for i, v := range x {
		if !(v < mostSample) {
			v = mostSample
		}
		if !(v > -mostSample) {
			v = -mostSample
		}
		t := v - in
		in = v
		y := (t - dx) - float32(a2*y2) - float32(a1*y1)
		dx = t
		t = y - y1
		y2, y1 = y1, y
		z := (t - dy) - float32(b2*z2) - float32(b1*z1)
		dy = t
		t = z - z1
		z2, z1 = z1, z
		dst[i] = t - dz
		dz = t
	}
}

// own runs the high-pass and low-pass that band l has of its own over the
// differences d. (Two bands side by side were slower: they need more registers
// than there are.)
func own(c *bankCoef, l int, d []float32, warm, cells, step int, dst []float32) {
	a1, a2, b1, b2 := c.a1[2][l], c.a2[2][l], c.a1[3][l], c.a2[3][l]
	var y1, y2, s, z1, z2 float32 // outputs, sum of inputs, outputs
	at := 0
	for k := -1; k < cells; k++ {
		n := step
		if k < 0 {
			n = warm
		}
		var sum float32
		for _, v := range d[at : at+n] {
			y := v - float32(a2*y2) - float32(a1*y1)
			t := y + y1
			y2, y1 = y1, y
			z := (t + s) - float32(b2*z2) - float32(b1*z1)
			s = t
			z2, z1 = z1, z
			sum += float32(z * z)
		}
		at += n
		if k >= 0 {
			dst[k*Lanes+l] = sum * c.scale[l]
		}
	}
}

// Weigh sets each dst to the weighted sum of a cell's Lanes energies.
func Weigh(dst, energies []float32, weight *[Lanes]float32) {
	energies = energies[:Lanes*len(dst)]
	n := weighFast(dst, energies, weight)
	w := *weight
	for i := n; i < len(dst); i++ {
		e := energies[Lanes*i : Lanes*i+Lanes : Lanes*i+Lanes]
		dst[i] = (float32(w[0]*e[0]) + float32(w[1]*e[1])) + (float32(w[2]*e[2]) + float32(w[3]*e[3]))
	}
}

// LogEdge is how many sums LogSmooth needs to either side.
const LogEdge = 3

// logLeast is the least sum that LogSmooth takes the logarithm of.
const logLeast = 0.05

// LogSmooth smooths the sums by binomial weights of order 6 (standard
// deviation 1.22) and gives the natural logarithm, of less than 0.05 that of
// 0.05, to within 2e−7 of itself or of one. sums must have LogEdge values more
// than dst on either side.
func LogSmooth(dst, sums []float32) {
	sums = sums[:len(dst)+2*LogEdge]
	for i := logSmoothFast(dst, sums); i < len(dst); i++ {
		s := sums[i : i+7 : i+7]
		v := float32(20*s[3]) + float32(15*(s[2]+s[4])) + float32(6*(s[1]+s[5])) + (s[0] + s[6])
		v *= 1.0 / 64
		if !(v > logLeast) {
			v = logLeast
		}
		dst[i] = logOf(v)
	}
}

// half is √½ as the bits of a float32.
const half = 0x3f3504f3

// logOf is ln v for a positive normal v: v = 2^e·m, √½ ≤ m < √2, and ln m =
// 2·artanh s = 2·(s + s³/3 + s⁵/5 + …), s = (m−1)/(m+1). |s| is below 0.172,
// so what is left out after s⁷/7 is under 2·s⁹/9 = 3e−8.
func logOf(v float32) float32 {
	b := int32(math.Float32bits(v))
	e := (b - half) >> 23
	m := math.Float32frombits(uint32(b - e<<23))
	s := (m - 1) / (m + 1)
	z := s * s
	q := (float32((float32(z*(1.0/7))+1.0/5)*z) + 1.0/3) * z
	s += s
	return (s + float32(s*q)) + float32(float32(e)*math.Ln2)
}

// Correlate sets each c[d] to Σ m[i]·y[i+d]; y must hold len(m)+len(c)−1
// values.
func Correlate(c, m, y []float32) {
	y = y[:len(m)+len(c)-1]
	d := correlateFast(c, m, y)
	for ; d+4 <= len(c); d += 4 {
		correlate4((*[4]float32)(c[d:]), m, y[d:])
	}
	for ; d < len(c); d++ {
		var s float32
		for i, v := range y[d : d+len(m)] {
			s += float32(m[i] * v)
		}
		c[d] = s
	}
}

// correlate4 is Correlate for four lags side by side.
func correlate4(c *[4]float32, m, y []float32) {
	var s0, s1, s2, s3 float32
	y0, y1, y2 := y[0], y[1], y[2]
	y = y[3:]
	for len(m) >= 4 && len(y) >= 4 {
		p, q := m[:4:4], y[:4:4]
		q0, q1, q2, q3 := q[0], q[1], q[2], q[3]
		v := p[0]
		s0 += float32(v * y0)
		s1 += float32(v * y1)
		s2 += float32(v * y2)
		s3 += float32(v * q0)
		v = p[1]
		s0 += float32(v * y1)
		s1 += float32(v * y2)
		s2 += float32(v * q0)
		s3 += float32(v * q1)
		v = p[2]
		s0 += float32(v * y2)
		s1 += float32(v * q0)
		s2 += float32(v * q1)
		s3 += float32(v * q2)
		v = p[3]
		s0 += float32(v * q0)
		s1 += float32(v * q1)
		s2 += float32(v * q2)
		s3 += float32(v * q3)
		y0, y1, y2 = q1, q2, q3
		m, y = m[4:], y[4:]
	}
	for i, v := range m {
		y3 := y[i]
		s0 += float32(v * y0)
		s1 += float32(v * y1)
		s2 += float32(v * y2)
		s3 += float32(v * y3)
		y0, y1, y2 = y1, y2, y3
	}
	*c = [4]float32{s0, s1, s2, s3}
}

// AddBetween adds to each sum[i] the value at fraction f between y[i+1] and
// y[i+2] on the cubic through the four points about them (Catmull–Rom). y must
// hold three values more than sum.
func AddBetween(sum, y []float32, f float32) {
	y = y[:len(sum)+3]
	// The cubic as weights of its four points.
	w := [4]float32{
		f * (f*(2-f) - 1) / 2,
		(f*f*(3*f-5) + 2) / 2,
		f * (f*(4-3*f) + 1) / 2,
		f * f * (f - 1) / 2,
	}
	for i := addWeightedFast(sum, y, &w); i < len(sum); i++ {
		sum[i] += (float32(w[0]*y[i]) + float32(w[1]*y[i+1])) + (float32(w[2]*y[i+2]) + float32(w[3]*y[i+3]))
	}
}

// Add adds to each sum[i] the y[i].
func Add(sum, y []float32) {
	y = y[:len(sum)]
	for i := addFast(sum, y); i < len(sum); i++ {
		sum[i] += y[i]
	}
}

// AddShifted adds to each sum[i] w times the value at fraction f between y[i]
// and y[i+1]. y must hold one value more than sum.
func AddShifted(sum, y []float32, f, w float32) {
	y = y[:len(sum)+1]
	for i := addShiftedFast(sum, y, f, w); i < len(sum); i++ {
		sum[i] += float32(w * (y[i] + float32(f*(y[i+1]-y[i]))))
	}
}

// LeaveOut makes of each v[i], one of n values whose mean lies mean[i] over the
// floor, the mean of the others over it.
func LeaveOut(v, mean []float32, floor, n float32) {
	mean = mean[:len(v)]
	for i := leaveOutFast(v, mean, floor, n); i < len(v); i++ {
		v[i] = (float32(n*mean[i]) - (v[i] - floor)) / (n - 1)
	}
}

// AddTrimmed takes v, the value at fraction f between e[i] and e[i+Lanes],
// keeps the greatest so far in tops[0][i], the next in tops[1][i] and so on,
// and adds what is left to sum[i]: begun with zeros, sum is that of all but the
// greatest. Nothing of e may be negative; it must hold Lanes values more than
// sum.
func AddTrimmed(sum []float32, tops [][]float32, e []float32, f float32) {
	e = e[:len(sum)+Lanes]
	i := 0
	if len(tops) == 1 {
		i = addTrimmedFast(sum, tops[0], e, f)
	}
	if len(tops) == 1 {
		addTrimmedOne(sum[i:], tops[0][i:], e[i:], f)
		return
	}
	for ; i < len(sum); i++ {
		v := e[i] + float32(f*(e[i+Lanes]-e[i]))
		for _, top := range tops {
			if t := top[i]; !(v < t) {
				top[i], v = v, t
			}
		}
		sum[i] += v
	}
}

// addTrimmedOne keeps one greatest value.
func addTrimmedOne(sum, top, e []float32, f float32) {
	top = top[:len(sum)]
	next := e[Lanes:][:len(sum)]
	e = e[:len(sum)]
	for i := range sum {
		v := e[i] + float32(f*(next[i]-e[i]))
		t := top[i]
		if !(v < t) {
			top[i], v = v, t
		}
		sum[i] += v
	}
}
