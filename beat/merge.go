package beat

import (
	"math"
	"slices"

	"beatwright/dsp"
	"beatwright/unit"
)

// mergeReach is how far templates of one run may have shifted, cells: half a ms.
const mergeReach = 12

// Merge adds up the profiles of one side over segments. Profiles that did not
// share a template are shifted onto the one of most beats by the correlation
// of their log-loudness; lags gives each one's shift in cells. Profiles of
// another length, or of no beats, are left out.
func Merge(ps []Profile) (sum Profile, lags []float64) {
	ref := ps[0]
	for _, p := range ps {
		if p.N > ref.N {
			ref = p
		}
	}
	sum = Profile{Origin: ref.Origin, Cell: ref.Cell, Loud: ref.Loud}
	lags = make([]float64, len(ps))
	total := make([][]float64, len(ref.Energy))
	for b := range total {
		total[b] = make([]float64, len(ref.Loud))
	}
	if covered(ps) {
		return mergeCovered(sum, ps, ref, lags)
	}
	for i, p := range ps {
		if p.N == 0 || len(p.Loud) != len(ref.Loud) {
			continue
		}
		if &p.Loud[0] != &ref.Loud[0] { // one template: no shift
			lags[i] = lag(ref.Loud, p.Loud)
		}
		for b := range total {
			addShifted(total[b], p.Energy[b], lags[i], float64(p.N))
		}
		sum.N += p.N
	}
	for _, t := range total {
		e := make([]float32, len(t))
		for i, v := range t {
			e[i] = float32(v / math.Max(1, float64(sum.N)))
		}
		sum.Energy = append(sum.Energy, e)
	}
	return sum, lags
}

// lag is how many cells b lies behind a, within mergeReach.
func lag(a, b []float32) float64 {
	const reach = mergeReach
	var c [2*reach + 1]float32
	dsp.Correlate(c[:], a[reach:len(a)-reach], b)
	best := 1
	for d := 2; d < len(c)-1; d++ {
		if c[d] > c[best] {
			best = d
		}
	}
	return float64(best) + peak(c[:], best) - reach
}

// addShifted adds w·src, advanced by lag cells, to dst; beyond its ends
// src stays as it is there.
func addShifted(dst []float64, src []float32, lag, w float64) {
	k := int(math.Floor(lag))
	f := lag - float64(k)
	last := len(src) - 2
	for i := range dst {
		j := i + k
		if uint(j) > uint(last) {
			j = min(max(j, 0), last)
		}
		a, b := float64(src[j]), float64(src[j+1])
		dst[i] += w * (a + f*(b-a))
	}
}

// mostSegments is how many segments a run keeps apart. Beyond it neighbours
// are merged two by two, so that a day of sound needs little more memory than
// four minutes.
const mostSegments = 48

// compact merges neighbours when there are too many.
func (k *keeper) compact(beat unit.Seconds) {
	if k.all || len(k.segs) < mostSegments {
		return
	}
	var out []*Segment
	for i := 0; i+1 < len(k.segs); i += 2 {
		a, b := k.segs[i], k.segs[i+1]
		s := &Segment{Beats: slices.Concat(a.Beats, b.Beats)}
		for side := range s.Profile {
			s.Profile[side], _ = Merge([]Profile{a.Profile[side], b.Profile[side]})
		}
		out = append(out, s)
	}
	if len(k.segs)%2 == 1 {
		out = append(out, k.segs[len(k.segs)-1])
	}
	k.segs = out
	k.thin(beat)
}
