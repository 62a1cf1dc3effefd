package estimate

import (
	"errors"
	"math"
)

// Row is one line of a linear fit: Y is expected to be the sum of X[j]·β[j].
// Y.Own is its weight and must be above zero. What is believed beforehand of a
// parameter enters as a row too: X with a single 1, Y with its bounds.
type Row struct {
	X []float64
	Y Estimate
}

// Solution is what a fit says of its parameters. Own doubts and shared causes
// are kept apart, so that a cause that moves all rows alike moves only what it
// must.
type Solution struct {
	// Beta holds the parameters' values.
	Beta []float64
	// ChiSquare is the sum of squared residuals in units of the standard
	// uncertainties, Free the rows less the parameters.
	ChiSquare float64
	Free      int
	cov       [][]float64 // own part, in squares of 95 % half-widths
	common    map[string][]float64
}

// Reasons a fit cannot be made.
var (
	ErrTooFew   = errors.New("fewer readings than unknowns")
	ErrNoWeight = errors.New("a reading without an uncertainty of its own cannot be weighed")
	ErrSingular = errors.New("the readings do not tell the unknowns apart")
)

// coverage is how many standard uncertainties a 95 % half-width holds, for a
// normal distribution: scipy.stats.norm.ppf(0.975).
const coverage = 1.959963985

// Fit finds the weighted least-squares parameters of the rows, each weighted
// by 1/Own². Own doubts are taken as independent. A shared cause is carried
// through the same weights: each parameter's common term is its change when
// all rows move by theirs (JCGM 100:2008 clause 5.2).
func Fit(rows []Row) (Solution, error) {
	if len(rows) == 0 || len(rows[0].X) == 0 || len(rows) < len(rows[0].X) {
		return Solution{}, ErrTooFew
	}
	n := len(rows[0].X)
	m := matrix(n)
	for _, r := range rows {
		if len(r.X) != n || !(r.Y.Own > 0) || math.IsInf(r.Y.Own, 0) {
			return Solution{}, ErrNoWeight
		}
		w := 1 / (r.Y.Own * r.Y.Own)
		for j := range n {
			for k := range n {
				m[j][k] += w * r.X[j] * r.X[k]
			}
		}
	}
	inv, ok := inverse(m)
	if !ok {
		return Solution{}, ErrSingular
	}
	s := Solution{cov: inv, Free: len(rows) - n, common: map[string][]float64{}}
	s.Beta = project(rows, inv, func(e Estimate) float64 { return e.Value })
	for _, r := range rows {
		for name := range r.Y.Common {
			if s.common[name] == nil {
				s.common[name] = project(rows, inv, func(e Estimate) float64 { return e.Common[name] })
			}
		}
		d := (r.Y.Value - dot(r.X, s.Beta)) / r.Y.Own * coverage
		s.ChiSquare += d * d
	}
	return s, nil
}

// Term is parameter j with its doubts.
func (s Solution) Term(j int) Estimate {
	w := make([]float64, len(s.Beta))
	w[j] = 1
	return s.Combine(w)
}

// Combine is the sum of w[j]·β[j] with its doubts, correlations between the
// parameters included.
func (s Solution) Combine(w []float64) Estimate {
	e := Estimate{Value: dot(w, s.Beta)}
	for j := range w {
		e.Own += w[j] * dot(s.cov[j], w)
	}
	e.Own = math.Sqrt(max(e.Own, 0))
	for name, c := range s.common {
		if d := dot(w, c); d != 0 {
			e = e.With(name, d)
		}
	}
	return e
}

// Covariance is the whole covariance of parameters j and k, own doubts and
// shared causes, in squares of 95 % half-widths.
func (s Solution) Covariance(j, k int) float64 {
	c := s.cov[j][k]
	for _, v := range s.common {
		c += v[j] * v[k]
	}
	return c
}

// Widened gives the solution with own doubts k times as wide, for rows that
// scatter more than their own uncertainties allow.
func (s Solution) Widened(k float64) Solution {
	out := s
	out.cov = matrix(len(s.cov))
	for i := range s.cov {
		for j := range s.cov[i] {
			out.cov[i][j] = k * k * s.cov[i][j]
		}
	}
	return out
}

// Shared gives the solution with a further shared cause, which moves the
// parameters by change at its upper 95 % limit.
func (s Solution) Shared(name string, change []float64) Solution {
	out := s
	out.common = map[string][]float64{name: change}
	for n, c := range s.common {
		if n == name {
			c = sum(c, change)
		}
		out.common[n] = c
	}
	return out
}

// project is (XᵀWX)⁻¹·XᵀW·y for the y that pick takes from each row.
func project(rows []Row, inv [][]float64, pick func(Estimate) float64) []float64 {
	t := make([]float64, len(inv))
	for _, r := range rows {
		w := pick(r.Y) / (r.Y.Own * r.Y.Own)
		for j := range t {
			t[j] += w * r.X[j]
		}
	}
	out := make([]float64, len(t))
	for j := range out {
		out[j] = dot(inv[j], t)
	}
	return out
}

func matrix(n int) [][]float64 {
	m := make([][]float64, n)
	for i := range m {
		m[i] = make([]float64, n)
	}
	return m
}

func dot(a, b []float64) float64 {
	t := 0.0
	for i := range a {
		t += a[i] * b[i]
	}
	return t
}

func sum(a, b []float64) []float64 {
	out := make([]float64, len(a))
	for i := range a {
		out[i] = a[i] + b[i]
	}
	return out
}

// inverse of a symmetric positive matrix by Gauss–Jordan with pivoting, after
// scaling its diagonal to 1 so that "singular" does not depend on units.
func inverse(m [][]float64) ([][]float64, bool) {
	n := len(m)
	scale := make([]float64, n)
	for i := range n {
		if !(m[i][i] > 0) || math.IsInf(m[i][i], 0) {
			return nil, false
		}
		scale[i] = 1 / math.Sqrt(m[i][i])
	}
	a, inv := matrix(n), matrix(n)
	for i := range n {
		inv[i][i] = 1
		for j := range n {
			a[i][j] = m[i][j] * scale[i] * scale[j]
		}
	}
	for c := range n {
		if !eliminate(a, inv, c) {
			return nil, false
		}
	}
	for i := range n {
		for j := range n {
			inv[i][j] *= scale[i] * scale[j]
		}
	}
	return inv, true
}

// singular is the smallest pivot, of a matrix with ones on its diagonal, that
// rounding leaves meaningful (chosen, some thousand times 2⁻⁵²).
const singular = 1e-11

// eliminate clears column c of a but for its pivot, and does the same to inv.
func eliminate(a, inv [][]float64, c int) bool {
	p := c
	for i := c; i < len(a); i++ {
		if math.Abs(a[i][c]) > math.Abs(a[p][c]) {
			p = i
		}
	}
	if !(math.Abs(a[p][c]) > singular) {
		return false
	}
	a[p], a[c], inv[p], inv[c] = a[c], a[p], inv[c], inv[p]
	d := a[c][c]
	for j := range a {
		a[c][j] /= d
		inv[c][j] /= d
	}
	for i := range a {
		if i == c {
			continue
		}
		f := a[i][c]
		for j := range a {
			a[i][j] -= f * a[c][j]
			inv[i][j] -= f * inv[c][j]
		}
	}
	return true
}
