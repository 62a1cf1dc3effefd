package measure

import (
	"math"

	"beatwright/estimate"
	"beatwright/reading"
	"beatwright/unit"
)

const whyNear = "another watch of the same beat rate is heard among its beats, and which sound is whose cannot be told: take it away"

// doubt takes back a swing whose first sound may be the second watch's: one
// that moves as its sounds do, or lies otherwise before the second beat than
// before the first.
func (n *near) doubt(sw swing, v view) swing {
	if n == nil || sw.standing == reading.NotResolved {
		return sw
	}
	if sw.changing || n.amidst || n.moves(v) || n.unlike(v) {
		return swing{standing: reading.NotResolved, why: whyNear}
	}
	return sw
}

// moves tells whether the first sounds move against the drops as the second
// watch's would.
func (n *near) moves(v view) bool {
	const part = 0.25
	if n.pace == 0 {
		return false
	}
	for s := range v.m {
		var at, t []float64
		for _, p := range v.parts {
			if p.complete() {
				at, t = append(at, p.at), append(t, p.m[s].interval())
			}
		}
		if len(at) < 3 {
			return true
		}
		// The line through what single parts show, misread or not.
		l := estimate.FitLine(at, t, make([]int, len(at)))
		if -l.Slope/n.pace > part {
			return true
		}
	}
	return false
}

// unlike tells whether the first sounds lie apart as the second watch's do, and
// not as the drops.
func (n *near) unlike(v view) bool {
	if n.pace != 0 || v.m[0].first == nil || v.m[1].first == nil {
		return false
	}
	return math.Abs(v.m[0].interval()-v.m[1].interval()) > math.Abs(n.apart)/2
}

// tell puts the second watch into the reading where the engine has not found it
// by itself.
func (n *near) tell(w *reading.Watch, v view, p pace) {
	if n == nil {
		return
	}
	if v.m[0].alone {
		// One side may be the other watch's: half of what it goes otherwise is open.
		w.BeatError = nil
		w.BeatTime = w.BeatTime.Widened(math.Abs(n.pace) * w.BeatTime.Value)
		if w.Rate != nil {
			r := w.Rate.Widened(math.Abs(n.pace) * float64(unit.Day))
			w.Rate = &r
		}
	}
	if w.BeatError != nil {
		// Edges that are heard between another watch's sounds (chosen: with once
		// the doubt four in five held on simulated pairs).
		w.BeatError.U95 *= 2
	}
	x := reading.Other{From: w.From, To: w.To, BeatsPerHour: w.BeatsPerHour, Level: unit.Decibels(n.level)}
	if n.pace != 0 && !n.rough {
		b, u := p.beat*(1+n.pace), math.Hypot(p.beat*n.u95, p.u95)
		x.BeatTime = &reading.Clocked{Value: b * 1e3, U95: 1e3 * math.Hypot(u, b*uncheckedPPM*1e-6), U95Statistical: u * 1e3}
		if w.BeatsPerHour != nil {
			rate := rateOf(*w.BeatsPerHour, b, u)
			x.Rate = &rate
		}
	}
	w.Others = append(w.Others, x)
}

// coveredBefore is the share of the place where an unlocking would lie, were the
// first sound the impulse, that another watch covers: the impulse comes 0.2 to
// 0.5 of the way, so the interval would be 1.25 to 2 times as long.
func coveredBefore(m sounds) float64 {
	if m.s.heard == nil {
		return 0
	}
	t := m.interval() / m.s.cell
	lo, hi := m.drop.idx-int(2*t), m.drop.idx-int(1.25*t)
	n, gone := 0.0, 0.0
	for i := max(0, lo); i < hi && i < len(m.s.heard); i++ {
		n++
		if m.s.heard[i] == 0 {
			gone++
		}
	}
	return gone / math.Max(n, 1)
}
