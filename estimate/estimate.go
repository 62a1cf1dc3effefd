// Package estimate carries a value together with what is not known of it.
//
// An Estimate is never a bare number: it has the 95 % uncertainty of its own
// (what this reading alone is in doubt about) and named common terms (what it
// shares with other readings: the clock of one device, the lift angle of one
// movement). Common terms enter a mean once and a difference not at all, as
// in JCGM 100:2008 (GUM) clause 5.2 for fully correlated inputs.
//
// Sums of independent contributions are taken as root-sum-square of their
// 95 % half-widths. For a rectangular term that is wider than the rest this
// is slightly too wide, never too narrow (GUM G.2.2 discusses the case).
//
// A straight weighted fit (Fit) carries both kinds of doubt to its parameters.
//
// The package knows no watches and prints nothing.
package estimate

import (
	"maps"
	"math"
)

// Estimate is a value with its 95 % uncertainty, split into its own part and
// the parts it shares with others. The unit is the holder's to say.
type Estimate struct {
	Value float64
	// Own is the 95 % half-width of what no other estimate shares.
	Own float64
	// Common holds, by the name of the shared cause, the change of Value at
	// the upper 95 % limit of that cause: signed, so that differences cancel.
	Common map[string]float64
}

// New returns an estimate with no common terms.
func New(value, own95 float64) Estimate { return Estimate{Value: value, Own: own95} }

// With returns e with the common term added to what it already shares under
// that name.
func (e Estimate) With(name string, change95 float64) Estimate {
	m := make(map[string]float64, len(e.Common)+1)
	maps.Copy(m, e.Common)
	m[name] += change95
	e.Common = m
	return e
}

// U95 is the whole 95 % uncertainty: own and common terms together.
func (e Estimate) U95() float64 {
	s := e.Own * e.Own
	for _, c := range e.Common {
		s += c * c
	}
	return math.Sqrt(s)
}

// Scale returns k·e.
func (e Estimate) Scale(k float64) Estimate {
	out := Estimate{Value: k * e.Value, Own: math.Abs(k) * e.Own}
	for n, c := range e.Common {
		out = out.With(n, k*c)
	}
	return out
}

// Add returns a + b: own parts independent, common terms of one name added
// with their signs.
func (e Estimate) Add(b Estimate) Estimate {
	out := Estimate{Value: e.Value + b.Value, Own: math.Hypot(e.Own, b.Own)}
	for n, c := range e.Common {
		out = out.With(n, c)
	}
	for n, c := range b.Common {
		out = out.With(n, c)
	}
	return out
}

// Sub returns a − b; a cause that moves both alike leaves no uncertainty.
func (e Estimate) Sub(b Estimate) Estimate { return e.Add(b.Scale(-1)) }

// Mean is the unweighted mean: own parts fall with the number, common terms
// do not. No estimates give NaN with infinite uncertainty.
func Mean(es ...Estimate) Estimate {
	if len(es) == 0 {
		return Estimate{Value: math.NaN(), Own: math.Inf(1)}
	}
	sum := es[0]
	for _, e := range es[1:] {
		sum = sum.Add(e)
	}
	return sum.Scale(1 / float64(len(es)))
}

// Weighted is the mean weighted by 1/Own², for readings of one and the same
// thing. Common terms keep their weight-averaged size. An estimate without
// doubt of its own is taken alone; no estimates give NaN as in Mean.
func Weighted(es ...Estimate) Estimate {
	if len(es) == 0 {
		return Mean()
	}
	w, total := make([]float64, len(es)), 0.0
	for i, e := range es {
		if e.Own == 0 {
			return e
		}
		w[i] = 1 / (e.Own * e.Own)
		total += w[i]
	}
	sum := es[0].Scale(w[0] / total)
	for i, e := range es[1:] {
		sum = sum.Add(e.Scale(w[i+1] / total))
	}
	return sum
}

// ChanceSpread is how far apart the highest and the lowest of n readings of
// one and the same value come in 95 of 100 cases, when each has the 95 %
// half-width own: what is less is no spread. Two give √2·own. Above 12 it
// goes on as for 12. Studentized range with known variance
// (scipy.stats.studentized_range.ppf(0.95, n, inf)).
func ChanceSpread(n int, own float64) float64 {
	if n < 2 {
		return 0
	}
	return own / coverage * studentized[min(n, len(studentized)+1)-2]
}

// studentized holds the 95 % points for 2, 3, … 12 readings.
var studentized = []float64{
	2.771808, 3.314493, 3.633160, 3.857656, 4.030092, 4.169554,
	4.286309, 4.386509, 4.474124, 4.551864, 4.621655,
}

// Clear tells whether the value differs from zero by more than its 95 %
// uncertainty: a difference that is not clear is called none.
func (e Estimate) Clear() bool { return math.Abs(e.Value) > e.U95() }
