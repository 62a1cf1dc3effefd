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
	return merge(ps, func(n int) []float32 { return make([]float32, n) })
}

// merge is Merge with memory, all zeros, from zeros.
func merge(ps []Profile, zeros func(n int) []float32) (sum Profile, lags []float64) {
	ref := ps[0]
	for _, p := range ps {
		if p.N > ref.N {
			ref = p
		}
	}
	sum = Profile{Origin: ref.Origin, Cell: ref.Cell, Loud: ref.Loud}
	lags = make([]float64, len(ps))
	if covered(ps) {
		return mergeCovered(sum, ps, ref, lags)
	}
	n := len(ref.Loud)
	alike := func(p Profile) bool { return p.N > 0 && len(p.Loud) == n }
	for _, p := range ps {
		if alike(p) {
			sum.N += p.N
		}
	}
	sum.Energy = rows(zeros(len(ref.Energy)*n), len(ref.Energy))
	for i, p := range ps {
		if !alike(p) {
			continue
		}
		if &p.Loud[0] != &ref.Loud[0] { // one template: no shift
			lags[i] = lag(ref.Loud, p.Loud)
		}
		for b, e := range sum.Energy {
			addShifted(e, p.Energy[b], lags[i], float64(p.N)/float64(sum.N))
		}
	}
	return sum, lags
}

// lag is how many cells b lies behind a, within mergeReach.
func lag(a, b []float32) float64 {
	const reach = mergeReach
	var c [32]float32 // what the fast form takes: those too many are not looked at
	y := make([]float32, len(b)+len(c)-2*reach-1)
	copy(y, b)
	dsp.Correlate(c[:], a[reach:len(a)-reach], y)
	best := 1
	for d := 2; d < 2*reach; d++ {
		if c[d] > c[best] {
			best = d
		}
	}
	return float64(best) + peak(c[:], best) - reach
}

// addShifted adds w·src, advanced by lag cells, to dst; beyond its ends
// src stays as it is there.
func addShifted(dst, src []float32, lag, w float64) {
	k := int(math.Floor(lag))
	f, last := float32(lag-float64(k)), len(src)-2
	lo := min(max(-k, 0), len(dst))
	hi := max(min(last+1-k, len(dst)), lo)
	if lo < hi {
		dsp.AddShifted(dst[lo:hi], src[lo+k:], f, float32(w))
	}
	end := func(i int) {
		j := min(max(i+k, 0), last)
		dsp.AddShifted(dst[i:i+1], src[j:], f, float32(w))
	}
	for i := range lo {
		end(i)
	}
	for i := hi; i < len(dst); i++ {
		end(i)
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
			p := []Profile{a.Profile[side], b.Profile[side]}
			s.Profile[side], _ = merge(p, k.zeros)
			k.reuse(p[0].Energy)
			k.reuse(p[1].Energy)
		}
		out = append(out, s)
	}
	if len(k.segs)%2 == 1 {
		out = append(out, k.segs[len(k.segs)-1])
	}
	k.segs = out
	k.thin(beat)
}
