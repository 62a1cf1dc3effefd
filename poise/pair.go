package poise

import (
	"math"

	"beatwright/estimate"
)

// pair is two neighbouring parameters of a solution seen as one arrow from
// the staff: cosine and sine part of a wave round the dial.
type pair struct {
	estimate.Solution
	col   int
	moved []move
}

// to is the same pair in another solution.
func (p pair) to(m move) pair { return pair{m.solution, p.col, nil} }

func (p pair) xy() (x, y float64) { return p.Beta[p.col], p.Beta[p.col+1] }

// doubt is the root sum square of both components' 95 % half-widths.
func (p pair) doubt() float64 {
	return math.Sqrt(p.Covariance(p.col, p.col) + p.Covariance(p.col+1, p.col+1))
}

// standing asks whether the arrow is told from none, and still is, the same
// way round, at both limits of what the amplitudes share.
func (p pair) standing() Standing {
	if !p.clear() {
		return NotResolved
	}
	for _, m := range p.moved {
		if q := p.to(m); !q.clear() || p.turned(q) > 90 {
			return NotResolved
		}
	}
	return Measured
}

// clear tells whether the 95 % patch about the arrow's point clears the staff.
func (p pair) clear() bool {
	a, b, c := p.Covariance(p.col, p.col), p.Covariance(p.col, p.col+1), p.Covariance(p.col+1, p.col+1)
	x, y := p.xy()
	return (c*x*x-2*b*x*y+a*y*y)/(a*c-b*b) > patch
}

// turned is the angle between two arrows, 0 to 180°.
func (p pair) turned(q pair) float64 {
	px, py := p.xy()
	qx, qy := q.xy()
	return math.Abs(math.Atan2(px*qy-py*qx, px*qx+py*qy)) * 180 / math.Pi
}

// length is how long the arrow is, with the doubt along it.
func (p pair) length() estimate.Estimate {
	x, y := p.xy()
	q := math.Hypot(x, y)
	if q == 0 {
		x, q = 1, 1
	}
	e := p.component(x/q, y/q)
	for _, m := range p.moved {
		mx, my := p.to(m).xy()
		if d := m.sign * ((mx*x+my*y)/q - e.Value); math.Abs(d) > math.Abs(e.Common[m.name]) {
			e = e.With(m.name, d-e.Common[m.name])
		}
	}
	return e
}

func (p pair) component(cos, sin float64) estimate.Estimate {
	w := make([]float64, len(p.Beta))
	w[p.col], w[p.col+1] = cos, sin
	return p.Combine(w)
}

// angle is the arrow's direction in degrees, 0 ≤ angle < 360, with its 95 %
// half-width: the angle under which the doubt across is seen from the staff,
// with how far what the amplitudes share can turn it. It is 180 when the staff
// lies within the doubt.
func (p pair) angle() estimate.Estimate {
	x, y := p.xy()
	e := estimate.New(turn(math.Atan2(y, x)*180/math.Pi), 180)
	q := math.Hypot(x, y)
	if q == 0 {
		return e
	}
	u := p.component(-y/q, x/q).U95()
	if !(u < q) {
		return e
	}
	most := 0.0
	for _, m := range p.moved {
		most = math.Max(most, p.turned(p.to(m)))
	}
	e.Own = math.Min(180, math.Hypot(math.Asin(u/q)*180/math.Pi, most))
	return e
}
