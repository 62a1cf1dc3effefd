package round

import (
	"math"

	"beatwright/estimate"
	"beatwright/position"
)

// Change is what one thing that changed did: mean, over the positions heard
// both ways, of the later (or running) reading less the earlier (or idle) one.
type Change struct {
	From, To  State
	Rate      *estimate.Estimate // s/d
	Amplitude *estimate.Estimate // °
	Flat      *estimate.Estimate // s/d, of the level positions alone
	Positions []position.Position
	// Unlike names what else differed between the two.
	Unlike []string
}

// RunDown is the change from full wind to the wind nearest to 24 h later, of
// one stage with the chronograph idle: the isochronism of the watch as it is
// worn. Nil unless one position was heard in both.
func (t Table) RunDown(stage string) *Change {
	full := t.find(stage, false, func(s State) float64 { return hours(s) })
	late := t.find(stage, false, func(s State) float64 { return math.Abs(hours(s) - 24) })
	if full == nil || late == nil || full == late || full.State.Hours == nil || late.State.Hours == nil {
		return nil
	}
	return Between(*full, *late)
}

// Running is the change from chronograph idle to running, of one stage at the
// earliest wind heard in both. Nil unless one position was heard both ways.
func (t Table) Running(stage string) *Change {
	for _, r := range t.Rounds {
		if r.State.Stage != stage || r.State.Chronograph != On {
			continue
		}
		h := hours(r.State)
		if off := t.find(stage, false, func(s State) float64 { return math.Abs(hours(s) - h) }); off != nil {
			if c := Between(*off, r); c != nil {
				return c
			}
		}
	}
	return nil
}

// find is the round of the stage for which the measure is least.
func (t Table) find(stage string, running bool, measure func(State) float64) *Round {
	var best *Round
	for i := range t.Rounds {
		r := &t.Rounds[i]
		if r.State.Stage != stage || (r.State.Chronograph == On) != running {
			continue
		}
		if best == nil || measure(r.State) < measure(best.State) {
			best = r
		}
	}
	return best
}

// Between is the change from one round to another, whatever differs between
// them; Unlike names it. Nil unless one position was heard in both.
func Between(from, to Round) *Change {
	c := &Change{From: from.State, To: to.State, Unlike: Unlike(from.State, to.State)}
	var rates, swings, flat []*estimate.Estimate
	for _, a := range from.Readings {
		b := to.At(a.Position)
		if b == nil {
			continue
		}
		d := Compare(*b, a)
		c.Positions = append(c.Positions, a.Position)
		rates, swings = append(rates, d.Rate), append(swings, d.Amplitude)
		if a.Position.Flat() {
			flat = append(flat, d.Rate)
		}
	}
	if len(c.Positions) == 0 {
		return nil
	}
	c.Rate, c.Amplitude, c.Flat = mean(rates), mean(swings), mean(flat)
	return c
}

func rms(squares float64, n int) float64 { return math.Sqrt(squares / float64(n)) }
