package conduct

import (
	"fmt"
	"math"
	"slices"

	"beatwright/estimate"
	"beatwright/internal/say"
	"beatwright/poise"
	"beatwright/reading"
)

const (
	// offTheWave is how far the rate of a fourth upright position may lie from
	// what the other three say together, beside its doubt, s/d. Want of poise
	// alone makes a wave round the dial, of which four positions have one too
	// many; what else there is seldom comes to this (chosen).
	offTheWave = 15.0
	// farOff is how far a rate may lie from those of all other positions, s/d,
	// and farSwing a swing, degrees (both chosen: more than a position does).
	farOff, farSwing = 120.0, 70.0
	// sameAgain is how far a repeated position may differ, s/d, beside its doubt
	// (chosen: a watch wanders by as much within a quarter of an hour).
	sameAgain = 4.0
)

// doubt says in what the reading of a place contradicts the others, or nothing.
func (r *Round) doubt(i int) string {
	p := r.places[i]
	if p.Reading == nil {
		return ""
	}
	if p.Repeat {
		return r.doubtRepeat(p)
	}
	if why := r.doubtWave(i); why != "" {
		return why
	}
	var rates, swings []float64
	for j, o := range r.places {
		if j == i || o.Reading == nil {
			continue
		}
		if o.Reading.Rate != nil {
			rates = append(rates, o.Reading.Rate.Value)
		}
		if v, ok := swing(o.Reading); ok && o.Position.Flat() == p.Position.Flat() {
			swings = append(swings, v)
		}
	}
	if len(rates) >= 2 && p.Reading.Rate != nil {
		if d := nearest(p.Reading.Rate.Value, rates); d > farOff {
			return fmt.Sprintf("its rate lies %s from that of every other position", say.Unit(say.Fixed(d, 0), "s/d"))
		}
	}
	if v, ok := swing(p.Reading); ok && len(swings) > 0 {
		if d := nearest(v, swings); d > farSwing {
			return fmt.Sprintf("its swing lies %s from that of every position alike", say.Unit(say.Fixed(d, 0), "°"))
		}
	}
	return ""
}

func swing(w *reading.Watch) (float64, bool) {
	a := w.Amplitude
	if a.Standing != reading.Measured || a.Value == nil {
		return 0, false
	}
	return *a.Value, true
}

func nearest(v float64, others []float64) float64 {
	best := math.Inf(1)
	for _, o := range others {
		best = math.Min(best, math.Abs(v-o))
	}
	return best
}

// doubtWave sets the fourth and later upright positions against the wave
// through the others.
func (r *Round) doubtWave(i int) string {
	p := r.places[i]
	if !p.Position.Upright() || p.Reading.Rate == nil {
		return ""
	}
	var others []poise.Reading
	for j, o := range r.places {
		if j == i || o.Reading == nil || o.Reading.Rate == nil || !o.Position.Upright() {
			continue
		}
		others = append(others, poise.Reading{Position: o.Position, Rate: estimate.New(o.Reading.Rate.Value, o.Reading.Rate.U95Statistical)})
	}
	wave, err := poise.FitWave(others)
	if err != nil {
		return ""
	}
	want := wave.At(p.Position.HourUp())
	got := p.Reading.Rate
	if math.Abs(got.Value-want.Value) <= offTheWave+math.Hypot(want.U95(), got.U95Statistical) {
		return ""
	}
	return fmt.Sprintf("the other upright positions together say %s", say.SignedWith(want.Value, want.U95(), "s/d"))
}

// doubtRepeat sets a position heard again against what it was.
func (r *Round) doubtRepeat(p Place) string {
	i := slices.IndexFunc(r.places, func(o Place) bool { return o.Position == p.Position && !o.Repeat && o.Reading != nil })
	if i < 0 {
		return ""
	}
	a, b := p.Reading, r.places[i].Reading
	if a.Rate != nil && b.Rate != nil {
		d := a.Rate.Value - b.Rate.Value
		if math.Abs(d) > sameAgain+math.Hypot(a.Rate.U95Statistical, b.Rate.U95Statistical) {
			return fmt.Sprintf("it was %s the first time", say.SignedWith(b.Rate.Value, b.Rate.U95Statistical, "s/d"))
		}
	}
	return ""
}
