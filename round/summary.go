package round

import (
	"beatwright/estimate"
	"beatwright/position"
)

// Summary is what the positions of one round say together. What they cannot
// say is nil.
type Summary struct {
	Positions     int                // with a rate
	MeanRate      *estimate.Estimate // s/d
	MeanAmplitude *estimate.Estimate // °
	Spread        *Spread
	// FlatLessUpright: mean of the level positions less mean of the upright
	// ones. The amplitude's is the drop from level to upright.
	FlatLessUprightRate      *estimate.Estimate
	FlatLessUprightAmplitude *estimate.Estimate
	// UpLessDown: dial up less dial down.
	UpLessDownRate      *estimate.Estimate
	UpLessDownAmplitude *estimate.Estimate
}

// Spread is how far the fastest position is ahead of the slowest, s/d.
type Spread struct {
	estimate.Estimate
	Fastest, Slowest position.Position
	// Chance is the spread that the doubt of so many alike positions alone
	// would reach in one round of twenty.
	Chance float64
}

// Clear tells whether the positions truly differ. The most different two of
// many are further apart than two taken blindly, so the doubt of the pair is
// not the measure: Chance is.
func (s Spread) Clear() bool { return s.Value > s.Chance }

// Summary sums the round up.
func (r Round) Summary() Summary {
	s := Summary{Spread: r.spread()}
	var rates, swings [2][]*estimate.Estimate // upright, flat
	for _, rd := range r.Readings {
		k := 0
		if rd.Position.Flat() {
			k = 1
		}
		if rd.Rate != nil {
			s.Positions++
		}
		rates[k], swings[k] = append(rates[k], rd.Rate), append(swings[k], rd.Swing())
	}
	s.MeanRate = mean(append(rates[0], rates[1]...))
	s.MeanAmplitude = mean(append(swings[0], swings[1]...))
	s.FlatLessUprightRate = sub(mean(rates[1]), mean(rates[0]))
	s.FlatLessUprightAmplitude = sub(mean(swings[1]), mean(swings[0]))
	if up, down := r.At(position.CH), r.At(position.FH); up != nil && down != nil {
		d := Compare(*up, *down)
		s.UpLessDownRate, s.UpLessDownAmplitude = d.Rate, d.Amplitude
	}
	return s
}

// At is the reading of a position, nil if there is none.
func (r Round) At(p position.Position) *Reading {
	for i := range r.Readings {
		if r.Readings[i].Position == p {
			return &r.Readings[i]
		}
	}
	return nil
}

func (r Round) spread() *Spread {
	var fast, slow *Reading
	n, squares := 0, 0.0
	for i := range r.Readings {
		rd := &r.Readings[i]
		if rd.Rate == nil {
			continue
		}
		n++
		squares += rd.Rate.Own * rd.Rate.Own
		if fast == nil || rd.Rate.Value > fast.Rate.Value {
			fast = rd
		}
		if slow == nil || rd.Rate.Value < slow.Rate.Value {
			slow = rd
		}
	}
	if n < 2 {
		return nil
	}
	return &Spread{
		Estimate: fast.Rate.Sub(*slow.Rate),
		Fastest:  fast.Position, Slowest: slow.Position,
		Chance: estimate.ChanceSpread(n, rms(squares, n)),
	}
}
