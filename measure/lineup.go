package measure

import (
	"math"
	"slices"

	"beatwright/dsp"
	"beatwright/unit"
)

const (
	// lastApart is how far the last strong rises of both sides may lie from where
	// the sides' whole sounds match best, s: at a weak swing unlocking, impulse
	// and drop lie apart by up to 2 ms unlike. sidesApart is how far other pairs
	// may, and inPlace how far where one of them is no drop by its own sound.
	lastApart, sidesApart, inPlace = 0.0022, 0.0015, 0.0006
	// apartShare is the greatest beat error looked for, as a share of a beat.
	apartShare = 0.11
)

// pairDrops picks the drop of either side. Where the two picks lie apart by
// more than the sides' whole sounds do, another pair of strong rises that
// agrees with them is taken, or a strong rise and what lies in its place on the
// other side: the drop of one side may rise from the ringing of a louder sound
// before it.
func pairDrops(sh [2]shape, lag float64, all [2][]onset) (d [2]int, paired bool) {
	c0, c1 := dropsOf(all[0]), dropsOf(all[1])
	d = [2]int{lastOf(c0), lastOf(c1)}
	if len(c0) == 0 || len(c1) == 0 || len(sh[0].z) != len(sh[1].z) {
		return d, false
	}
	off := func(i, j int) float64 {
		return math.Abs(float64(all[1][j].idx-all[0][i].idx)-lag) * sh[0].cell
	}
	if off(d[0], d[1]) < lastApart {
		return d, true
	}
	loudest := math.Inf(-1)
	take := func(i, j int, within float64) {
		if loud := math.Log(all[0][i].crest * all[1][j].crest); off(i, j) < within && loud > loudest {
			loudest, d, paired = loud, [2]int{i, j}, true
		}
	}
	for _, i := range c0 {
		for _, j := range c1 {
			take(i, j, sidesApart)
		}
	}
	if paired {
		return d, true
	}
	for i := range all[0] {
		for j := range all[1] {
			if slices.Contains(c0, i) || slices.Contains(c1, j) {
				take(i, j, inPlace)
			}
		}
	}
	return d, paired
}

// apartness is how far the second side's whole sound lies behind the first's,
// cells: the beat error, unless it was already taken up when the beats were
// found. Both sides' loudness and their rises are set against each other, to
// equal parts: by loudness alone one loud sound, the drop of one side and the
// impulse of the other, outweighs all the rest, and rises alone are few where
// there is much noise.
func apartness(sh [2]shape, period unit.Seconds) float64 {
	if len(sh[0].z) == 0 || len(sh[0].z) != len(sh[1].z) {
		return 0
	}
	reach := sh[0].cells(apartShare * float64(period) / 2)
	c := likeness(logs(sh[0].z), logs(sh[1].z), reach)
	for i, v := range likeness(sh[0].bumps(), sh[1].bumps(), reach) {
		c[i] += v
	}
	return dsp.LagOf(c)
}

// likeness is the cross-correlation of a and b about their means, the greatest 1.
func likeness(a, b []float64, reach int) []float64 {
	a, _ = centred(a)
	b, _ = centred(b)
	c := dsp.CrossCorrelation(a, b, reach)
	most := math.Max(slices.Max(c), 1e-12)
	for i := range c {
		c[i] /= most
	}
	return c
}

// bumps are the rises that clear the noise, as bumps as wide as like sounds of
// unlike sides lie apart; a strong rise counts little more than a weak one.
func (s shape) bumps() []float64 {
	const most, clear, wide = 3.0, 4.0, 0.0003 // ln, sigmas, s
	rise, limit := s.rises(), s.riseLimit(clear)
	for i, v := range rise {
		rise[i] = math.Sqrt(math.Max(0, math.Min(v, most)-limit))
	}
	n := s.cells(wide)
	return boxed(boxed(rise, n), n)
}

// boxed is the sum over n cells about each.
func boxed(x []float64, n int) []float64 {
	out := make([]float64, len(x))
	var sum float64
	for i, v := range x {
		sum += v
		if i >= n {
			sum -= x[i-n]
		}
		if j := i - n/2; j >= 0 {
			out[j] = sum
		}
	}
	return out
}
