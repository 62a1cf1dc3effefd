package live

import (
	"errors"
	"fmt"
	"math"

	"beatwright/conduct"
	"beatwright/estimate"
	"beatwright/internal/say"
	"beatwright/poise"
	"beatwright/reading"
	"beatwright/unit"
)

// poiseView says where the balance is heavy, by what was heard so far.
func (s *Sitting) poiseView(r *conduct.Round) *Adjust {
	a := &Adjust{Target: conduct.Poise, Says: "Three upright positions are the least; the place is marked when they are heard."}
	var rs []poise.Reading
	for _, p := range r.Places() {
		w := p.Reading
		if w == nil || w.Rate == nil || w.Amplitude.Standing != reading.Measured || w.Amplitude.U95 == nil {
			continue
		}
		swing := estimate.New(*w.Amplitude.Value, *w.Amplitude.U95)
		if w.Lift.Value > 0 {
			swing = swing.With(liftTerm, *w.Amplitude.Value*w.Lift.U95/w.Lift.Value)
		}
		rate := estimate.New(w.Rate.Value, w.Rate.U95Statistical).With(clockTerm, w.Clock.U95PPM*float64(unit.Day)/1e6)
		rs = append(rs, poise.Reading{Position: p.Position, Rate: rate, Amplitude: swing})
	}
	k, err := poise.Reckon(rs)
	if errors.Is(err, poise.ErrTooFew) {
		return a
	}
	if err != nil {
		a.Says = say.Sentence(err.Error())
		return a
	}
	a.Poise = &k
	if k.Standing != poise.Measured {
		a.Says, a.Done = "No heavy side can be told: what is left of it is within the doubt.", true
		return a
	}
	a.Says = fmt.Sprintf("Heavy towards %s o’clock as seen from the dial, to %s. Take less there than you think, then hear it again: mass once removed is gone.",
		say.Fixed(hourOf(k.HeavyPoint.Value), 1), say.Doubt(k.HeavyPoint.U95(), "°"))
	return a
}

// hourOf is the hour that an angle from the 12 points to, above 0 to 12.
func hourOf(degrees float64) float64 {
	h := math.Mod(math.Mod(degrees, 360)+360, 360) / 30
	if h < 0.05 {
		return 12
	}
	return h
}
