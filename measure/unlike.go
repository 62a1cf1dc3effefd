package measure

import (
	"math"

	"beatwright/beat"
	"beatwright/estimate"
)

const (
	// mostMisfit is the mean square, in ln units, by which single beats may
	// differ from their mean: watches differ by 0.2–0.4 (their noise), old
	// clocks by up to 1.3, music by 3.
	// One side much less steady than the other is two sounds by turns.
	mostMisfit, oneMisfit = 2.5, 1.2
	// A strike of metal rises to most of its height within half a ms; rotor
	// blades, bows and voices do not. Below softTop the noise hides the rise,
	// above loudTop the ringing of a clock in its case does.
	softRise, softTop, loudTop = 0.5, 1.5, 6.0
	// patterned is how alike, as a correlation, the loudness of beats one bar
	// apart is in music, and how much less alike within the bar.
	patterned = 0.6
)

// unlike tells in what a steady beat is not a watch's; empty if in nothing.
func unlike(st stretch, v view) string {
	var miss [2][]float64
	for _, b := range st.beats {
		if b.Why == "" {
			miss[b.Side()] = append(miss[b.Side()], b.Miss)
		}
	}
	m0, m1 := estimate.Median(miss[0]), estimate.Median(miss[1])
	if hi, lo := math.Max(m0, m1), math.Min(m0, m1); hi > mostMisfit || hi > oneMisfit && hi > 4*lo && st.beside == nil {
		return "a sound that comes evenly, but each time different, as music or work does: no watch"
	}
	if st.hum && !v.strikes() {
		return "a hum of the mains, and no strike in it: move the pickup away from transformers and lamps, and check its screen"
	}
	if v.soft() {
		return "a sound that comes evenly, but swells and fades instead of striking, as music or an engine does: no watch"
	}
	if barred(st.beats) {
		return "a sound that comes evenly, but louder and softer in bars, as music does: no watch"
	}
	return ""
}

// strikes tells whether either side's averaged sound holds a rise that is
// clear beyond doubt: hum leaves ripples at thirds of its period, which are
// none.
func (v view) strikes() bool {
	const rise = 0.7 // ln: a doubling
	for _, m := range v.m {
		for _, o := range m.s.onsets(2 * riseSigmas) {
			if o.rise > rise {
				return true
			}
		}
	}
	return false
}

// soft tells whether neither side's averaged sound rises as a strike does.
func (v view) soft() bool {
	rise, top := 0.0, 0.0
	for _, m := range v.m {
		top = math.Max(top, m.s.top)
		for _, o := range m.s.onsets(riseSigmas) {
			rise = math.Max(rise, o.rise)
		}
	}
	return top > softTop && top < loudTop && rise < softRise*top
}

// barred tells whether the loudness of the beats comes again in bars of up to
// sixteen: an escape wheel's turn has 28 beats or more. Of a hearing of hours
// it is asked of the last minutes, whose beats stand for themselves.
func barred(all []beat.Beat) bool {
	const longest = 16
	bs := all
	for i, b := range all {
		if b.Count() > 1 {
			bs = all[i+1:]
		}
	}
	if len(bs) < 3*longest {
		return false
	}
	var mean [2]float64
	var n [2]float64
	for _, b := range bs {
		mean[b.Side()] += b.Score
		n[b.Side()]++
	}
	d := make([]float64, len(bs))
	var zero float64
	for i, b := range bs {
		d[i] = b.Score - mean[b.Side()]/n[b.Side()] // that the sides differ is usual
		zero += d[i] * d[i]
	}
	if zero/float64(len(bs)) < 0.004 {
		return false
	}
	least := 1.0
	for lag := 1; lag <= longest; lag++ {
		var s float64
		for i := lag; i < len(d); i++ {
			s += d[i] * d[i-lag]
		}
		r := s / zero * float64(len(d)) / float64(len(d)-lag)
		least = math.Min(least, r)
		if lag > 2 && r > patterned && r-least > patterned {
			return true
		}
	}
	return false
}
