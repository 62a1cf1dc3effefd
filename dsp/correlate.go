package dsp

import (
	"math"
	"math/cmplx"
	"sync"

	"gonum.org/v1/gonum/dsp/fourier"
)

// Autocorrelation gives the autocorrelation of x about its mean for lags 0 to
// maxLag, in units of the lag-0 value, each lag divided by the number of
// pairs it has. A constant x gives zeros.
func Autocorrelation(x []float64, maxLag int) []float64 {
	n := len(x)
	maxLag = min(maxLag, n-1)
	if maxLag < 0 {
		return nil
	}
	size := transformSize(n + maxLag + 1)
	padded := make([]float64, size)
	mean := Mean(x)
	for i, v := range x {
		padded[i] = v - mean
	}
	coeff := Transform(padded)
	for i, c := range coeff {
		coeff[i] = complex(real(c)*real(c)+imag(c)*imag(c), 0)
	}
	series(padded, coeff)
	out := make([]float64, maxLag+1)
	zero := padded[0] / float64(n)
	if zero <= 0 {
		return out
	}
	for lag := range out {
		out[lag] = padded[lag] / float64(n-lag) / zero
	}
	return out
}

// Transform is the discrete Fourier transform of x at the frequencies from 0 to
// half a cycle per sample, len(x)/2+1 of them, not normalized.
func Transform(x []float64) []complex128 {
	pool := transformsOf(len(x))
	fft := pool.Get().(*fourier.FFT)
	defer pool.Put(fft)
	return fft.Coefficients(nil, x)
}

// series puts into x the series of which c is the Transform, times its length.
func series(x []float64, c []complex128) {
	pool := transformsOf(len(x))
	fft := pool.Get().(*fourier.FFT)
	defer pool.Put(fft)
	fft.Sequence(x, c)
}

// transforms are kept by their size, for the next series is often as long.
var transforms sync.Map // of *sync.Pool of *fourier.FFT

func transformsOf(size int) *sync.Pool {
	p, ok := transforms.Load(size)
	if !ok {
		p, _ = transforms.LoadOrStore(size, &sync.Pool{New: func() any { return fourier.NewFFT(size) }})
	}
	return p.(*sync.Pool)
}

// transformSize is the least size of at least n that is quick to transform: an
// eighth, ninth, tenth or twelfth part of it a power of two.
func transformSize(n int) int {
	for unit := 1; ; unit *= 2 {
		for _, parts := range []int{8, 9, 10, 12} {
			if parts*unit >= n {
				return parts * unit
			}
		}
	}
}

// Mean is the arithmetic mean; of nothing, NaN.
func Mean(x []float64) float64 {
	var s float64
	for _, v := range x {
		s += v
	}
	return s / float64(len(x))
}

// Peak refines a maximum at index i by the parabola through it and its
// neighbours: position and height. At the ends the index itself is returned.
func Peak(x []float64, i int) (at, height float64) {
	if i <= 0 || i >= len(x)-1 {
		return float64(i), x[i]
	}
	a, b, c := x[i-1], x[i], x[i+1]
	d := a - 2*b + c
	if d >= 0 {
		return float64(i), b
	}
	p := 0.5 * (a - c) / d
	p = math.Max(-1, math.Min(1, p))
	return float64(i) + p, b - 0.25*(a-c)*p
}

// WithoutLines removes from x the spectral lines at every multiple of the
// given frequencies (cycles per sample), within ± the relative width and a
// bin of the transform, and gives the rest. Multiples of the mains frequency
// are meant, which no recorder's clock puts exactly on a bin.
func WithoutLines(x []float64, lines []float64, width float64) []float64 {
	n := len(x)
	fft := fourier.NewFFT(n)
	c := fft.Coefficients(nil, x)
	for _, f := range lines {
		for k := 1.0; k*f < 0.5; k++ {
			reach := k*f*width*float64(n)/4 + 1.5
			at := k * f * float64(n)
			for i := int(math.Ceil(at - reach)); i <= int(at+reach); i++ {
				if i > 0 && i < len(c) {
					c[i] = 0
				}
			}
		}
	}
	out := fft.Sequence(nil, c)
	for i := range out {
		out[i] /= float64(n)
	}
	return out
}

// CrossCorrelation gives Σ a[i]·b[i+d] for every d from −reach to reach, over the
// i that have a partner at each: 2·reach+1 values. a and b are equally long, and
// longer than twice the reach.
//
// By transforms: the sums themselves, of which there are as many as samples times
// lags, took a third of the time of a whole hearing.
func CrossCorrelation(a, b []float64, reach int) []float64 {
	n := len(b)
	size := transformSize(n)
	// Of a only the middle counts, so that no lag runs over the ends: what wraps
	// about meets zeros.
	padded := make([]float64, size)
	copy(padded, a[reach:n-reach])
	x := Transform(padded)
	clear(padded)
	copy(padded, b)
	y := Transform(padded)
	for i, v := range x {
		y[i] *= cmplx.Conj(v)
	}
	series(padded, y)
	c := make([]float64, 2*reach+1)
	for d := range c {
		c[d] = padded[d] / float64(size)
	}
	return c
}

// LagOf is how many samples b lies behind a, by the peak of their CrossCorrelation
// between its ends.
func LagOf(c []float64) float64 {
	best := 1
	for d := 1; d < len(c)-1; d++ {
		if c[d] > c[best] {
			best = d
		}
	}
	at, _ := Peak(c, best)
	return at - float64(len(c)/2)
}
