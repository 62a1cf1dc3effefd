package live

import (
	"errors"
	"fmt"

	"beatwright/conduct"
	"beatwright/internal/say"
	"beatwright/poise"
	"beatwright/position"
	"beatwright/reading"
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
		rs = append(rs, poise.Reading{Position: p.Position, Rate: *rateOf(w), Amplitude: *swing(w)})
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
		position.Vertical(k.HeavyPoint.Value/30).Clock(), say.Doubt(k.HeavyPoint.U95(), "°"))
	return a
}
