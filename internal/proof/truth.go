package main

import (
	"math"

	"beatwright/synth"
	"beatwright/unit"
)

// truth is what the beats between the reading's first and last did: the
// least-squares beat with an offset for each side, the mean swing and the
// beat errors. A reading is judged by the stretch it says it is of.
func (o outcome) truth() synth.Sampled {
	w := o.r.Watch
	var s synth.Sampled
	if w == nil {
		return s
	}
	var bs []synth.Beat
	for _, b := range o.t.Beats {
		if !b.Lost && b.Middle > w.From-0.06 && b.Middle < w.To+0.06 {
			bs = append(bs, b)
		}
	}
	if len(bs) < 8 {
		return s
	}
	beat, e := alternate(bs, func(b synth.Beat) float64 { return float64(b.Middle) })
	_, eu := alternate(bs, func(b synth.Beat) float64 { return float64(b.Unlocking) })
	_, ed := alternate(bs, func(b synth.Beat) float64 { return float64(b.Drop) })
	s.Beat = unit.Seconds(beat)
	s.Rate = unit.SecondsPerDay(86400 * (3600/float64(o.s.Watch.BeatsPerHour)/beat - 1))
	s.BeatError, s.BeatErrorByUnlocking, s.BeatErrorByDrop = ms(e), ms(eu), ms(ed)
	for _, b := range bs {
		s.Amplitude += b.Amplitude / unit.Degrees(len(bs))
	}
	return s
}

func ms(s float64) unit.Milliseconds { return unit.Milliseconds(1e3 * math.Abs(s)) }

// alternate is least squares with one slope and two offsets.
func alternate(bs []synth.Beat, at func(synth.Beat) float64) (slope, apart float64) {
	var n, mx, my [2]float64
	for _, b := range bs {
		n[b.Side]++
		mx[b.Side] += float64(b.Number)
		my[b.Side] += at(b)
	}
	for s := range n {
		mx[s] /= n[s]
		my[s] /= n[s]
	}
	var xx, xy float64
	for _, b := range bs {
		dx := float64(b.Number) - mx[b.Side]
		xx += dx * dx
		xy += dx * (at(b) - my[b.Side])
	}
	slope = xy / xx
	return slope, (my[1] - slope*mx[1]) - (my[0] - slope*mx[0])
}
