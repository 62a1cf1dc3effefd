package measure

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"beatwright/balance"
	"beatwright/estimate"
	"beatwright/unit"
	"beatwright/wave"
)

// swingSeries is the swing of a stretch in even steps, and the baseline from
// which it rises and falls.
type swingSeries struct {
	x    []float64 // °, NaN where not told
	step float64   // s
	// begin is when the first step's middle is, s from the beginning of the stretch.
	begin float64
	// settling is how a swing that settles does so, by step, from 1.
	settling []float64
	// byFirst is the share of the interval's changes that the first sound makes
	// against the beat's date; the rest is the drop's.
	byFirst float64
}

const (
	// leastTold is the share of the steps that must tell the swing.
	leastTold = 0.6
	// swingOutlier is how far from the rest, in scatters, a step is misread.
	swingOutlier = 5.0
)

// series lays the instants from one moment to another into even steps, °, for a
// mean interval.
func (c *course) series(from, to unit.Seconds, interval float64, period unit.Seconds, lift unit.Degrees) (s swingSeries, ok bool) {
	in := c.within(from, to)
	if len(in) == 0 {
		return s, false
	}
	first := in[0].step
	n := int(in[len(in)-1].step-first) + 1
	s.step, s.begin = float64(in[0].turn), in[0].at-float64(from)
	sum, weight := make([]float64, n), make([]float64, n)
	var moved, all float64
	for side := range 2 {
		usual := medianOf(in, func(x instant) float64 { return x.interval(side) })
		firstAt := medianOf(in, func(x instant) float64 { return float64(x.strike[side][0]) })
		if !(math.Abs(usual-interval) <= tolerance(interval)) { // another sound was followed
			return s, false
		}
		for _, x := range in {
			if d := x.interval(side) - usual; d == d {
				sum[x.step-first] += float64(x.n) * d
				weight[x.step-first] += float64(x.n)
				moved -= d * (float64(x.strike[side][0]) - firstAt)
				all += d * d
			}
		}
	}
	s.byFirst = math.Max(0, math.Min(1, moved/all))
	told := 0
	s.x = make([]float64, n)
	for i := range s.x {
		t := unit.Seconds(interval + sum[i]/weight[i])
		if s.x[i] = float64(balance.Amplitude(lift, t, period)); s.x[i] == s.x[i] {
			told++
		}
	}
	return s, float64(told) >= leastTold*float64(n) && s.level()
}

// within are the instants of one run between two moments.
func (c *course) within(from, to unit.Seconds) (in []instant) {
	for _, x := range c.found {
		if t := unit.Seconds(x.at); t >= from && t <= to && (len(in) == 0 || x.run == in[0].run) {
			in = append(in, x)
		}
	}
	return in
}

// medianOf is the median of what is known, NaN of nothing.
func medianOf(in []instant, of func(instant) float64) float64 {
	var all []float64
	for _, x := range in {
		if v := of(x); v == v {
			all = append(all, v)
		}
	}
	if len(all) == 0 {
		return math.NaN()
	}
	return estimate.Median(all)
}

// level finds the baseline: a parabola and a settling, by the time constant that
// fits best. Steps far off it are misread, and left out.
func (s *swingSeries) level() bool {
	best, tau := math.Inf(1), 0.0
	var left []float64
	for t := tauLeast; t <= tauMost; t *= 1.3 {
		s.settle(t)
		if f, ok := s.joint(nil); ok && f.rss < best {
			best, tau, left = f.rss, t, f.rest
		}
	}
	if tau == 0 {
		return false
	}
	s.settle(tau)
	limit := swingOutlier * estimate.MAD(known(left))
	for i, v := range left {
		if math.Abs(v) > limit {
			s.x[i] = math.NaN()
		}
	}
	return true
}

// settle sets the time constant of a settling, s.
func (s *swingSeries) settle(tau float64) {
	s.settling = make([]float64, len(s.x))
	for i := range s.settling {
		s.settling[i] = math.Exp(-float64(i) * s.step / tau)
	}
}

func known(x []float64) (out []float64) {
	for _, v := range x {
		if v == v {
			out = append(out, v)
		}
	}
	return out
}

// jointFit is baseline and waves fitted together.
type jointFit struct {
	rest []float64 // by step, NaN where not told
	rss  float64
	sin  []float64 // by wave, as cos
	cos  []float64
	// wider is by what factor a wave's size is less sure than without a baseline.
	wider []float64
}

// row is what step i has of each term of the joint fit.
func (s *swingSeries) row(i int, waves []wave.Wave) []float64 {
	u := 2*float64(i)/float64(len(s.x)) - 1
	r := []float64{1, u, u * u, s.settling[i]}
	for _, w := range waves {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / w.Period)
		r = append(r, sin, cos)
	}
	return r
}

// baseTerms stand before the waves' in a row.
const baseTerms = 4

// joint fits baseline and waves by least squares, the waves' periods as they are.
func (s *swingSeries) joint(waves []wave.Wave) (f jointFit, ok bool) {
	m := baseTerms + 2*len(waves)
	var cells, y []float64
	for i, v := range s.x {
		if v == v {
			cells, y = append(cells, s.row(i, waves)...), append(y, v)
		}
	}
	if len(y) < m+8 {
		return f, false
	}
	design, fit := mat.NewDense(len(y), m, cells), new(mat.VecDense)
	// A poor condition is no failure: a slow settling is nearly a parabola.
	if fit.SolveVec(design, mat.NewVecDense(len(y), y)); fit.Len() == 0 || math.IsNaN(mat.Norm(fit, 2)) || math.IsInf(mat.Norm(fit, 2), 0) {
		return f, false
	}
	f.rest = make([]float64, len(s.x))
	for i, v := range s.x {
		for j, c := range s.row(i, waves) {
			v -= c * fit.AtVec(j)
		}
		f.rest[i] = v
	}
	f.rss = squares(known(f.rest))
	var normal, inverse mat.Dense
	normal.Mul(design.T(), design)
	if inverse.Inverse(&normal); inverse.IsEmpty() {
		return f, false
	}
	for j := range waves {
		a, b := baseTerms+2*j, baseTerms+2*j+1
		f.sin, f.cos = append(f.sin, fit.AtVec(a)), append(f.cos, fit.AtVec(b))
		v := (inverse.At(a, a) + inverse.At(b, b)) / 2
		f.wider = append(f.wider, math.Sqrt(math.Max(1, v*float64(len(y))/2)))
	}
	return f, true
}
