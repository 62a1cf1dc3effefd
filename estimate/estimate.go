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
// The package knows no watches and prints nothing but numbers.
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

// Clear tells whether the value differs from zero by more than its 95 %
// uncertainty: a difference that is not clear is called none.
func (e Estimate) Clear() bool { return math.Abs(e.Value) > e.U95() }
