package measure

import (
	"fmt"
	"math"

	"beatwright/reading"
	"beatwright/unit"
)

// others are the other watches of other beat rates heard beside the one measured,
// between two moments; those of the same are near's to tell.
func (h *hearing) others(from, to unit.Seconds) (out []reading.Other) {
	for _, r := range h.engine.Runs() {
		n := r.Beside
		if n == nil || math.Abs(2*float64(n.Beat/r.Period)-1) < nearRates || n.To <= from || n.From >= to {
			continue
		}
		beat, u := float64(n.Beat), float64(n.U95)
		if k := len(out) - 1; k >= 0 && math.Abs(out[k].BeatTime.Value/1e3-beat) < 1e-3*beat {
			out[k].To = n.To // the same, in a later run
			continue
		}
		ms := reading.Clocked{Value: beat * 1e3, U95: 1e3 * math.Hypot(u, beat*uncheckedPPM*1e-6), U95Statistical: u * 1e3}
		x := reading.Other{From: max(n.From, from), To: min(n.To, to), BeatTime: &ms, Level: n.Level}
		if nominal, ok := commonRate(3600 / beat); ok {
			rate := rateOf(nominal, beat, u)
			x.BeatsPerHour, x.Rate = &nominal, &rate
		}
		out = append(out, x)
	}
	return out
}

// arrivals are the moments from which other watches were heard.
func arrivals(others []reading.Other) (out []reading.Change) {
	for _, x := range others {
		out = append(out, reading.Change{At: x.From, What: reading.SecondWatch})
	}
	return out
}

// besideWarnings say that another watch is heard, and what to do.
func besideWarnings(w reading.Watch) (out []string) {
	for _, x := range w.Others {
		what := "another watch is ticking nearby"
		switch {
		case x.BeatTime == nil:
		case x.Rate != nil:
			what += fmt.Sprintf(": %.0f beats an hour, %+.0f ± %.0f s/d", float64(*x.BeatsPerHour), x.Rate.Value, math.Ceil(x.Rate.U95))
		default:
			what += fmt.Sprintf(": %.0f beats an hour", 3.6e6/x.BeatTime.Value)
		}
		out = append(out, fmt.Sprintf("%s, %s; take it away and hear this one again", what, loudWords(float64(x.Level))))
	}
	return out
}

// loudWords says how loud another watch is against the one measured; within a
// few dB that is as loud.
func loudWords(level float64) string {
	const alike = 2
	switch {
	case level < -alike:
		return fmt.Sprintf("some %.0f dB fainter", -level)
	case level > alike:
		return fmt.Sprintf("some %.0f dB louder", level)
	}
	return "about as loud"
}
