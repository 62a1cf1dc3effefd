package measure

import (
	"fmt"
	"math"

	"beatwright/balance"
	"beatwright/reading"
	"beatwright/unit"
)

// surer is how much smaller the doubt between unlockings must be for them to be
// taken before the drops. Either are like sounds; drops are the louder ones, and
// a faint first sound is now and then another than it seems. Always the drops,
// always the unlockings, the mean of both and the surer of both were tried; the
// surer, with this handicap, erred least: by under 0.03 ms at 95 % on simulated fair
// watches, where drops alone err by 0.047 and unlockings by 0.065.
const surer = 0.9

// doubleDrop tells whether either side's drop has another strike beside it: then
// which of one side is which of the other is not sure.
func doubleDrop(m [2]sounds) bool {
	const within, loud = 0.003, 0.15 // s; share of the drop's crest
	for _, x := range m {
		for _, o := range x.s.onsets(riseSigmas) {
			d := math.Abs(float64(o.idx-x.drop.idx)) * x.s.cell
			if d > 0 && d < within && o.crest > loud*x.drop.crest {
				return true
			}
		}
	}
	return false
}

func setBeatError(w *reading.Watch, p pace, v view, sw swing) {
	if !v.ok[0] || !v.ok[1] {
		w.BeatError = wholeBeatError(p, v)
		return
	}
	drop, dropU := apartBy(p, v, func(x sounds) (onset, float64) { return x.drop, x.dropAt })
	e := reading.BeatError{Value: drop, U95: dropU, By: "drop"}
	w.BeatError = &e
	// Not by sw: an escapement without a lift has neither unlocking nor angle.
	if w.Amplitude.Standing != reading.Measured {
		w.Warnings = append(w.Warnings, doubtPair(&e, p, v, w.Amplitude.Standing)...)
		return
	}
	// The whole may not show an unlocking that its segments do.
	if !bothFirst(v.m, v.ok) {
		return
	}
	first, firstU := apartBy(p, v, func(x sounds) (onset, float64) { return *x.first, x.at })
	if firstU < surer*dropU || doubleDrop(v.m) && firstU < 2*dropU {
		e = reading.BeatError{Value: first, U95: firstU, By: "unlocking", ByDrop: &drop}
	} else {
		e.ByUnlocking = &first
	}
	angle := func(ms float64) float64 {
		return float64(balance.BeatErrorAngle(unit.Seconds(ms/1e3), unit.Degrees(sw.value), unit.Seconds(2*p.beat)))
	}
	deg := angle(e.Value)
	rel := math.Hypot(e.U95/math.Max(e.Value, 1e-9), sw.u95/sw.value)
	e.Degrees = &reading.Value{Value: deg, U95: math.Max(deg*rel, angle(e.U95))}
	if math.Abs(first-drop) > math.Hypot(firstU, dropU) {
		w.Warnings = append(w.Warnings, fmt.Sprintf("beat error is %.2f ± %.2f ms between unlockings and %.2f ± %.2f ms between drops: they cannot be one; the sides swing unlike, or look at the drop of either pallet stone", first, firstU, drop, dropU))
	}
}

// doubtPair widens a beat error by what else the sounds of the sides allow where
// no unlocking, heard on both, says that the drops are the drops.
func doubtPair(e *reading.BeatError, p pace, v view, standing reading.Standing) (warnings []string) {
	cell := v.m[0].s.cell
	// A lag of the profiles, cells, as the sides' dates lie apart, ms.
	level := float64(v.m[1].s.origin-v.m[0].s.origin) - (p.offset[1]-p.offset[0])/cell
	ms := func(lag float64) float64 { return math.Abs(lag-level) * cell * 1e3 }
	if other, ok := rival(v.m, v.m[1].dropAt-v.m[0].dropAt, level); ok && !v.m[0].alone {
		warnings = append(warnings, fmt.Sprintf("the beat error is %.2f ± %.2f ms, or %.2f ± %.2f ms: which sound of one side is which of the other is not sure; a quieter room, the pickup on the case, or a longer hearing would settle it", e.Value, e.U95, ms(other), e.U95))
		e.U95 += math.Abs(ms(other) - e.Value)
	}
	if standing == reading.NotResolved {
		e.U95 = math.Hypot(e.U95, ms(v.lag)-e.Value)
	}
	return warnings
}

// wholeBeatError sets the whole averaged sounds of the sides against each
// other, where no single strike stands clear: the drop leads in them. nil if
// there is no averaged sound, or none that both sides have.
func wholeBeatError(p pace, v view) *reading.BeatError {
	const leastLike = 0.5
	m := v.m
	n := len(m[0].s.z)
	if n == 0 || n != len(m[1].s.z) {
		return nil
	}
	k := int(math.Round(v.lag))
	a, b := logs(m[0].s.z), logs(m[1].s.z)
	if correlation(a[max(0, -k):n-max(0, k)], b[max(0, k):n-max(0, -k)]) < leastLike {
		return nil
	}
	d := p.offset[1] - p.offset[0] + (v.lag-float64(m[1].s.origin-m[0].s.origin))*m[0].s.cell
	return &reading.BeatError{Value: math.Abs(d) * 1e3, U95: math.Hypot(p.u95Off, sidesApart) * 1e3, By: "drop"}
}

// apartBy is half the difference of alternate beats between like sounds, ms:
// the sides' offsets of the line, plus how the sounds lie in the profiles.
func apartBy(p pace, v view, of func(sounds) (onset, float64)) (e, u float64) {
	pairs := v.pairs()
	n := float64(len(pairs))
	var lag, def, noise float64
	for _, m := range pairs {
		g := sidesGap(m, unit.Seconds(2*p.beat), of)
		lag += g.lag / n
		def += g.def / n // shared by all, as the sides' unlikeness is
		noise += g.noise * g.noise / (n * n)
	}
	d := p.offset[1] - p.offset[0] + lag
	return math.Abs(d) * 1e3, math.Hypot(p.u95Off, 2*math.Hypot(def, math.Sqrt(noise))) * 1e3
}

// pairs are the profiles in which the sides are set against each other: the
// whole's, or where the swing changes, which smears the whole's edges, those of
// the segments that are sure.
func (v view) pairs() (out [][2]sounds) {
	const smeared = 0.0001 // s
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, p := range v.parts {
		if p.sure() && !p.m[0].alone {
			lo, hi = math.Min(lo, p.interval()), math.Max(hi, p.interval())
			out = append(out, p.m)
		}
	}
	if hi-lo < smeared || len(out) < 2 || 10*len(out) < 7*len(v.parts) {
		return [][2]sounds{v.m}
	}
	return out
}
