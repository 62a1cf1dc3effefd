package poise

import (
	"math"

	"beatwright/estimate"
)

// pair is two neighbouring parameters of a solution seen as one arrow from
// the staff: cosine and sine part of a wave round the dial.
type pair struct {
	estimate.Solution
	col int
}

func (p pair) xy() (x, y float64) { return p.Beta[p.col], p.Beta[p.col+1] }

// doubt is the root sum square of both components' 95 % half-widths.
func (p pair) doubt() float64 {
	return math.Sqrt(p.Covariance(p.col, p.col) + p.Covariance(p.col+1, p.col+1))
}

// standing asks whether the 95 % patch about the arrow's point clears the
// staff.
func (p pair) standing() Standing {
	a, b, c := p.Covariance(p.col, p.col), p.Covariance(p.col, p.col+1), p.Covariance(p.col+1, p.col+1)
	x, y := p.xy()
	if (c*x*x-2*b*x*y+a*y*y)/(a*c-b*b) > patch {
		return Measured
	}
	return NotResolved
}

// length is how long the arrow is, with the doubt along it.
func (p pair) length() estimate.Estimate {
	x, y := p.xy()
	q := math.Hypot(x, y)
	if q == 0 {
		x, q = 1, 1
	}
	return p.component(x/q, y/q)
}

func (p pair) component(cos, sin float64) estimate.Estimate {
	w := make([]float64, len(p.Beta))
	w[p.col], w[p.col+1] = cos, sin
	return p.Combine(w)
}

// angle is the arrow's direction in degrees, 0 ≤ angle < 360, with its 95 %
// half-width: the angle under which the doubt across is seen from the staff,
// 180 when the staff lies within it.
func (p pair) angle() estimate.Estimate {
	x, y := p.xy()
	e := estimate.New(turn(math.Atan2(y, x)*180/math.Pi), 180)
	if q := math.Hypot(x, y); q > 0 {
		if u := p.component(-y/q, x/q).U95(); u < q {
			e.Own = math.Asin(u/q) * 180 / math.Pi
		}
	}
	return e
}
