package estimate

import (
	"math"
	"slices"
)

// Line is a straight line through two interleaved series that share one
// slope and have each an offset: y = Offset[side] + Slope·x.
type Line struct {
	Slope    float64
	Offset   [2]float64
	Residual []float64 // of every point, rejected ones too
	Weight   []float64 // 0 for a rejected point
	Scale    float64   // robust standard deviation of the residuals
}

// At is the line at x on a side.
func (l Line) At(x float64, side int) float64 { return l.Offset[side] + l.Slope*x }

// tukey is the tuning constant of the biweight that keeps 95 % efficiency on
// normal residuals (Beaton and Tukey 1974; from memory).
const tukey = 4.685

// settled is the part of a mean's scatter by which the ends of a line may still
// move from one round to the next.
const settled = 1e-4

// FitLine fits y against x by Tukey's biweight, iterated from a least-squares
// start that is first freed of gross outliers by the median of the absolute
// residuals. side holds 0 or 1 for every point. With fewer than two points on
// distinct x it returns a zero slope and the means.
func FitLine(x, y []float64, side []int) Line {
	n := len(x)
	all := make([]float64, 3*n) // one piece of memory: lines are laid often
	l := Line{Weight: all[:n:n], Residual: all[n : 2*n : 2*n]}
	spare := all[2*n:]
	for i := range l.Weight {
		l.Weight[i] = 1
	}
	l.start(x, y, side)
	still := settled / (reachOf(x) * math.Sqrt(float64(n)))
	for range 20 {
		before := l.Slope
		s := l.weigh(tukey, spare)
		l.solve(x, y, side)
		l.residuals(x, y, side)
		if math.Abs(l.Slope-before) <= math.Max(still*s, 1e-15*math.Abs(before)) {
			break
		}
	}
	l.Scale = madOf(l.Residual, spare)
	return l
}

// start gives a first line that a third of bad points cannot tilt: the median
// of the slopes between points of one side half the series apart (a thinned
// Theil–Sen estimate), then offsets by medians.
func (l *Line) start(x, y []float64, side []int) {
	n := len(x)
	slopes := make([]float64, 0, n+n/2+3)
	for i := range n {
		for _, j := range []int{i + n/2 - 1, i + n/2, i + n/2 + 1} {
			if j > i && j < n && side[i] == side[j] && x[j] != x[i] {
				slopes = append(slopes, (y[j]-y[i])/(x[j]-x[i]))
			}
		}
	}
	if len(slopes) == 0 {
		l.solve(x, y, side)
		l.residuals(x, y, side)
		return
	}
	l.Slope = medianOf(slopes)
	r := slopes[:0] // holds n
	for s := range 2 {
		r = r[:0]
		for i := range x {
			if side[i] == s {
				r = append(r, y[i]-l.Slope*x[i])
			}
		}
		l.Offset[s] = 0
		if len(r) > 0 {
			l.Offset[s] = medianOf(r)
		}
	}
	l.residuals(x, y, side)
}

// reachOf is from the least to the greatest of x.
func reachOf(x []float64) float64 {
	if len(x) == 0 {
		return 0
	}
	return slices.Max(x) - slices.Min(x)
}

// weigh gives every point its weight, and the scatter that it goes by; spare
// holds as many values.
func (l *Line) weigh(c float64, spare []float64) (s float64) {
	s = math.Max(madOf(l.Residual, spare), 1e-12)
	for i, r := range l.Residual {
		u := r / (c * s)
		if math.Abs(u) >= 1 {
			l.Weight[i] = 0
			continue
		}
		l.Weight[i] = (1 - u*u) * (1 - u*u)
	}
	return s
}

// solve is weighted least squares with the offsets taken out by the means of
// either side. The sums of the two have names of their own so that they stay in
// registers.
func (l *Line) solve(x, y []float64, side []int) {
	y, side = y[:len(x)], side[:len(x)]
	weight := l.Weight[:len(x)]
	var a, b moments
	for i, w := range weight {
		if side[i] == 0 {
			a.w, a.x, a.y = a.w+w, a.x+w*x[i], a.y+w*y[i]
		} else {
			b.w, b.x, b.y = b.w+w, b.x+w*x[i], b.y+w*y[i]
		}
	}
	a, b = a.mean(), b.mean()
	var sxx, sxy float64
	for i, w := range weight {
		mx, my := a.x, a.y
		if side[i] != 0 {
			mx, my = b.x, b.y
		}
		dx := x[i] - mx
		sxx += w * dx * dx
		sxy += w * dx * (y[i] - my)
	}
	l.Slope = 0
	if sxx > 0 {
		l.Slope = sxy / sxx
	}
	l.Offset = [2]float64{a.y - l.Slope*a.x, b.y - l.Slope*b.x}
}

// moments are sums of weights and of weighted values, or their means.
type moments struct{ w, x, y float64 }

func (m moments) mean() moments {
	if m.w > 0 {
		m.x, m.y = m.x/m.w, m.y/m.w
	}
	return m
}

func (l *Line) residuals(x, y []float64, side []int) {
	y, side = y[:len(x)], side[:len(x)]
	r := l.Residual[:len(x)]
	a, b := l.Offset[0], l.Offset[1]
	for i, v := range x {
		o := a
		if side[i] != 0 {
			o = b
		}
		r[i] = y[i] - (o + l.Slope*v)
	}
}

// MAD is the median absolute value scaled to the standard deviation of a
// normal distribution about zero; of nothing, 0.
func MAD(r []float64) float64 {
	if len(r) == 0 {
		return 0
	}
	return madOf(r, make([]float64, len(r)))
}

// madOf is MAD with spare for as many values.
func madOf(r, spare []float64) float64 {
	if len(r) == 0 {
		return 0
	}
	for i, v := range r {
		spare[i] = math.Abs(v)
	}
	return 1.4826022 * medianOf(spare[:len(r)])
}

// Median is the middle value, the mean of the two middle ones for an even
// number; of nothing, 0. The argument is left as it was.
func Median(x []float64) float64 {
	if len(x) == 0 {
		return 0
	}
	return medianOf(slices.Clone(x))
}

// medianOf is the median of s, which it puts in another order.
func medianOf(s []float64) float64 {
	n := len(s)
	hi := Nth(s, n/2)
	if n%2 == 1 {
		return hi
	}
	// All before place n/2 are no greater; unless one is no number, which
	// stands first.
	lo := s[0]
	for _, v := range s[:n/2] {
		if v > lo {
			lo = v
		}
	}
	return (lo + hi) / 2
}
