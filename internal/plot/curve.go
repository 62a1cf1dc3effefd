package plot

import (
	"math"

	"beatwright/estimate"
	"beatwright/poise"
	"beatwright/position"
	"beatwright/round"
	"beatwright/unit"
)

// Curve is the rate by position: of one round, or of one as found and one as
// left.
type Curve struct {
	States []State // at most two are drawn
	Limits []Limit
}

// State is one round of a curve.
type State struct {
	Name string // "as found"
	Left bool   // solid and filled; else dashed and hollow
	// Points are the rates; positions that were not heard are not there.
	Points []Rate
	// Wave is fitted to the upright ones; nil where there are too few.
	Wave *poise.Wave
}

// Rate is the rate of one position, s/d. Own is its bar; what all share (the
// clock) is drawn once, beside them.
type Rate struct {
	Position position.Position
	estimate.Estimate
}

// Limit is what someone allows a rate to be; NaN is no limit on that side.
type Limit struct {
	Low, High unit.SecondsPerDay
	Whose     string // "this workshop"
}

// StateOf takes the rates of a round, and fits the wave.
func StateOf(name string, left bool, r round.Round) State {
	s := State{Name: name, Left: left}
	var upright []poise.Reading
	for _, rd := range r.Readings {
		if rd.Rate == nil {
			continue
		}
		s.Points = append(s.Points, Rate{rd.Position, *rd.Rate})
		upright = append(upright, poise.Reading{Position: rd.Position, Rate: *rd.Rate})
	}
	if w, err := poise.FitWave(upright); err == nil {
		s.Wave = &w
	}
	return s
}

// mostRate is the largest rate drawn, s/d: no watch that goes is over an
// hour a day off (chosen).
const mostRate = 4999

// drawable are the points that have a place.
func (s State) drawable() []Rate {
	var out []Rate
	for _, p := range s.Points {
		if p.Position.Valid() && math.Abs(p.Value) <= mostRate {
			out = append(out, p)
		}
	}
	return out
}

func finite(vs ...float64) bool {
	for _, v := range vs {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return false
		}
	}
	return true
}

// own is the bar of a point; 0 where its doubt is not known.
func own(e estimate.Estimate) float64 {
	if !(e.Own >= 0 && e.Own <= mostRate) {
		return 0
	}
	return e.Own
}

// shared is the doubt that moves all points of the state alike: the least of
// them, as only that is in all.
func (s State) shared() float64 {
	least := math.Inf(1)
	for _, p := range s.drawable() {
		least = math.Min(least, estimate.Estimate{Common: p.Common}.U95())
	}
	if !finite(least) {
		return 0
	}
	return least
}

// sharedName names what moves all alike, in few letters.
func (s State) sharedName() string {
	for _, p := range s.drawable() {
		if len(p.Common) == 1 {
			for name := range p.Common {
				if wide(name) < 48 {
					return name
				}
			}
		}
	}
	return "all"
}

// alike is the wave's value and the doubt of its shape and height at an hour,
// without what moves all alike.
func (s State) alike(hour float64) (v, u float64) {
	e := s.Wave.At(hour)
	return e.Value, e.Own
}

func (s State) waved() bool {
	if s.Wave == nil {
		return false
	}
	for h := 0.0; h < 12; h++ {
		if v, u := s.alike(h); !(math.Abs(v)+u <= 2*mostRate) {
			return false
		}
	}
	return true
}

// spanned is the range of what is drawn of the states: points with bars, waves
// with bands.
func (c Curve) spanned() (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	take := func(v, u float64) { low, high = math.Min(low, v-u), math.Max(high, v+u) }
	for _, s := range c.States {
		for _, p := range s.drawable() {
			take(p.Value, own(p.Estimate))
		}
		if s.waved() {
			for h := 0.0; h <= 12; h += 0.25 {
				take(s.alike(h))
			}
		}
	}
	return low, high
}

// scale is the axis of rates: what is drawn, zero and the limits where they
// do not squeeze it, out to whole steps.
func (c Curve) scale(from, to float64) axis {
	low, high := c.spanned()
	if !finite(low, high) {
		low, high = -10, 10
	}
	low, high = apart(low, high, 1)
	low, high = reach(low, high, 0)
	for _, l := range c.Limits {
		for _, v := range []float64{float64(l.Low), float64(l.High)} {
			low, high = reach(low, high, v)
		}
	}
	return axis{math.Max(low, -mostRate), math.Min(high, mostRate), from, to}.whole(7)
}

// reach takes v into a range unless that would leave less than a third for
// what is there (chosen).
func reach(low, high, v float64) (l, h float64) {
	l, h = math.Min(low, v), math.Max(high, v)
	if !finite(v) || h-l > 3*(high-low) {
		return low, high
	}
	return l, h
}
