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
// over simulated fair watches their answer errs by half as much at 95 %: a faint
// first sound is now and then another than it seems. Always the drops, always
// the unlockings, the mean of both and the surer of both were tried; the surer,
// with this handicap, erred least.
const surer = 0.8

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
		w.BeatError = wholeBeatError(p, v.m)
		return
	}
	drop, dropU := apartBy(p, v, func(x sounds) (onset, float64) { return x.drop, x.dropAt })
	e := reading.BeatError{Value: drop, U95: dropU, By: "drop"}
	// Not by sw: an escapement without a lift has neither unlocking nor angle.
	// The whole may not show an unlocking that its segments do.
	if w.Amplitude.Standing == reading.Measured && bothFirst(v.m, v.ok) {
		first, firstU := apartBy(p, v, func(x sounds) (onset, float64) { return *x.first, x.at })
		if firstU < surer*dropU || doubleDrop(v.m) && firstU < 2*dropU {
			e = reading.BeatError{Value: first, U95: firstU, By: "unlocking", ByDrop: &drop}
		} else {
			e.ByUnlocking = &first
		}
		period := unit.Seconds(2 * p.beat)
		deg := float64(balance.BeatErrorAngle(unit.Seconds(e.Value/1e3), unit.Degrees(sw.value), period))
		rel := math.Hypot(e.U95/math.Max(e.Value, 1e-9), sw.u95/sw.value)
		e.Degrees = &reading.Value{Value: deg, U95: math.Max(deg*rel, float64(balance.BeatErrorAngle(unit.Seconds(e.U95/1e3), unit.Degrees(sw.value), period)))}
		if math.Abs(first-drop) > math.Hypot(firstU, dropU) {
			w.Warnings = append(w.Warnings, fmt.Sprintf("beat error is %.2f ms between unlockings and %.2f ms between drops: more than either's doubt; the sides swing unlike, or look at the drop of either pallet stone", first, drop))
		}
	}
	w.BeatError = &e
}

// wholeBeatError sets the whole averaged sounds of the sides against each
// other, where no single strike stands clear: the drop leads in them. nil if
// there is no averaged sound.
func wholeBeatError(p pace, m [2]sounds) *reading.BeatError {
	if len(m[0].s.z) == 0 || len(m[0].s.z) != len(m[1].s.z) {
		return nil
	}
	lag := apartness([2]shape{m[0].s, m[1].s}, unit.Seconds(2*p.beat))
	d := p.offset[1] - p.offset[0] + (lag-float64(m[1].s.origin-m[0].s.origin))*m[0].s.cell
	return &reading.BeatError{Value: math.Abs(d) * 1e3, U95: math.Hypot(p.u95Off, sidesApart) * 1e3, By: "drop"}
}

// apartBy is half the difference of alternate beats between like sounds, ms:
// the sides' offsets of the line, plus how the sounds lie in the profiles.
func apartBy(p pace, v view, of func(sounds) (onset, float64)) (e, u float64) {
	pairs := v.pairs()
	n := float64(len(pairs))
	var gap, def, noise float64
	for _, m := range pairs {
		g, d, e := sidesGap(m, unit.Seconds(2*p.beat), of)
		gap += g / n
		def += d / n // shared by all, as the sides' unlikeness is
		noise += e * e / (n * n)
	}
	d := p.offset[1] - p.offset[0] + gap
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

// sidesGap is how much later the second side's sound lies than the first's
// against their dates, s, with the standard deviations of what like sounds are
// and of noise.
func sidesGap(m [2]sounds, period unit.Seconds, of func(sounds) (onset, float64)) (gap, def, noise float64) {
	cell := m[0].s.cell
	o0, at0 := of(m[0])
	o1, at1 := of(m[1])
	gap = at1 - at0
	r, lag := like(m[0].s, o0.idx, m[1].s, o1.idx)
	alike := float64(o1.idx-o0.idx) + lag
	def = unlikeSd(r)
	if r > comparable {
		// Two ways of setting them against each other that err differently.
		def = math.Hypot(def, math.Abs(alike-gap)*cell/2)
	}
	if r > leastAlike {
		gap = (alike + gap) / 2
	}
	if lag = apartness([2]shape{m[0].s, m[1].s}, period); m[0].alone && math.Abs(gap-lag)*cell > 4*sidesApart {
		// The sounds picked cannot be the same: only the whole ones can be set
		// against each other.
		gap, def = lag, sidesApart/2
	}
	gap -= float64(m[1].s.origin - m[0].s.origin)
	for _, x := range m {
		o, _ := of(x)
		steep := (o.first - o.base) / (3 * cell)
		noise = math.Hypot(noise, x.s.noise*math.Max(1, o.base)/steep)
	}
	return gap * cell, def, noise
}

// leastAlike is the correlation of two strikes' edges above which the one set
// against the other tells as much as their onsets do; below comparable it tells
// nothing.
const leastAlike, comparable = 0.997, 0.985

// unlikeSd is the standard deviation of the time between like sounds of both
// sides, s, by how alike they are: sounds that rise alike begin alike, and two
// wholly unlike onsets each err by defSec. Measured over simulated watches whose
// sides differ by 2 to 25 % in pitch and decay.
func unlikeSd(r float64) float64 {
	return math.Min(math.Hypot(14e-6, 380e-6*math.Sqrt(math.Max(0, 1-r))), defSec*math.Sqrt2)
}
