package beat

import (
	"cmp"
	"slices"

	"beatwright/unit"
)

const (
	// mostBeats is how many beats a run keeps one by one: two hours and a
	// quarter of a quick watch. Beyond them beats of one side that follow each
	// other become one that stands for all of them, so that a day of sound needs
	// no more memory: of the scatter of a line through them nothing changes.
	mostBeats = 1 << 16
	// thinBy beats or points become one at a time.
	thinBy = 3
	// leadBeats at the beginning of a run, a good hour, stay as they are: in them
	// what recurs is sought.
	leadBeats = 1 << 15
)

// Count is how many beats b stands for.
func (b Beat) Count() int { return max(1, b.N) }

// thin makes the beats of all segments but the last fewer, until no more than
// mostBeats are left; beat is the time between two.
func (k *keeper) thin(beat unit.Seconds) {
	if k.beats {
		return
	}
	for {
		total := 0
		for _, s := range k.segs {
			total += len(s.Beats)
		}
		if total > mostBeats {
			k.standFor = max(1, k.standFor) * thinBy
		}
		if k.standFor > 1 {
			first := k.segs[0].Beats[0].K
			for _, s := range k.segs[:len(k.segs)-1] {
				lead := 0
				for lead < len(s.Beats) && s.Beats[lead].K-first < leadBeats {
					lead++
				}
				s.Beats = append(s.Beats[:lead:lead], thinned(s.Beats[lead:], k.standFor, beat)...)
			}
		}
		if total <= mostBeats {
			return
		}
	}
}

// thinned joins beats of one side and judgement until each stands for n.
func thinned(bs []Beat, n int, beat unit.Seconds) []Beat {
	out := make([]Beat, 0, len(bs)/thinBy+8)
	var open [2][]Beat
	flush := func(side int) {
		if len(open[side]) > 0 {
			out = append(out, joined(open[side], beat))
			open[side] = open[side][:0]
		}
	}
	for _, b := range bs {
		s := b.Side()
		if o := open[s]; len(o) > 0 && (o[0].Why != b.Why || b.K-o[len(o)-1].K > 4*n) {
			flush(s)
		}
		open[s] = append(open[s], b)
		if countOf(open[s]) >= n {
			flush(s)
		}
	}
	flush(0)
	flush(1)
	// Points were closed in the order of their last beats.
	slices.SortStableFunc(out, func(a, b Beat) int { return cmp.Compare(a.K, b.K) })
	return out
}

func countOf(bs []Beat) int {
	n := 0
	for _, b := range bs {
		n += b.Count()
	}
	return n
}

// joined is one point for beats of one side: their mean, moved along the line
// to the nearest beat of that side.
func joined(bs []Beat, beat unit.Seconds) Beat {
	if len(bs) == 1 {
		return bs[0]
	}
	out := bs[0]
	n := float64(countOf(bs))
	var k, at, score, miss float64
	for _, b := range bs {
		w := float64(b.Count()) / n
		k += w * float64(b.K-out.K)
		at += w * float64(b.At-out.At)
		score += w * b.Score
		miss += w * b.Miss
	}
	side := 2 * int(k/2+0.5)
	out.At += unit.Seconds(at) + beat*unit.Seconds(float64(side)-k)
	out.K, out.N, out.Score, out.Miss = out.K+side, int(n), score, miss
	return out
}
