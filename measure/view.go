package measure

import (
	"math"

	"beatwright/estimate"
	"beatwright/reading"
	"beatwright/unit"
)

// view is what a stretch's averaged beats show: the sounds marked in the
// profile of the whole stretch, and in that of each segment.
type view struct {
	m     [2]sounds
	ok    [2]bool
	parts []part
}

// part is one segment's own view.
type part struct {
	m    [2]sounds
	ok   [2]bool
	at   float64 // s, mean moment of its beats
	lags [2]float64
}

func (p part) complete() bool { return bothFirst(p.m, p.ok) }

func bothFirst(m [2]sounds, ok [2]bool) bool {
	return ok[0] && ok[1] && m[0].first != nil && m[1].first != nil
}

// look marks the sounds of a stretch.
func look(st stretch, lift unit.Degrees) view {
	var v view
	var sh [2]shape
	lags := make([][2]float64, len(st.segs))
	for s := range sh {
		p, l := merge(st.segs, s)
		for i := range l {
			lags[i][s] = l[i]
		}
		if p.N > 0 {
			sh[s] = whiten(p)
		}
	}
	v.m, v.ok = mark(sh, st.period, lift)
	if len(st.segs) < 2 {
		return v
	}
	for i, g := range st.segs {
		p := part{at: meanAtOf(g.Beats), lags: lags[i]}
		var own [2]shape
		for s := range own {
			if g.Profile[s].N >= 4 {
				own[s] = whiten(g.Profile[s])
			}
		}
		p.m, p.ok = mark(own, st.period, lift)
		if p.complete() {
			reconcile(&p.m)
		}
		v.parts = append(v.parts, p)
	}
	v.doubtOdd()
	return v
}

// doubtOdd takes the marks from parts whose interval jumps away from both
// neighbours': between disturbances a swing follows free decay and drive with
// a time constant of 16–25 s (Q·T/π), so a jump is a misreading.
func (v *view) doubtOdd() {
	var k []int
	for i, p := range v.parts {
		if p.complete() {
			k = append(k, i)
		}
	}
	t := make([]float64, len(k))
	for n, i := range k {
		t[n] = v.parts[i].interval()
	}
	for n, i := range k {
		lo := min(max(0, n-1), max(0, len(k)-3))
		near := estimate.Median(t[lo:min(len(k), lo+3)])
		if len(k) >= 3 && math.Abs(t[n]-near) > 0.08*near+0.0003 {
			v.parts[i].ok = [2]bool{}
		}
	}
}

// interval is the mean of the sides, s.
func (p part) interval() float64 { return (p.m[0].interval() + p.m[1].interval()) / 2 }

// swing weighs the whole and the parts. When every segment shows its
// unlocking, their mean is the swing: a swing that changes smears the whole's
// profile, not theirs.
func (v view) swing(period unit.Seconds, lift unit.Degrees, scatter float64) swing {
	whole := weigh(v.m, v.ok, period, lift, scatter)
	var got []swing
	for _, p := range v.parts {
		if w := weigh(p.m, p.ok, period, lift, scatter); w.standing == reading.Measured {
			got = append(got, w)
		}
	}
	need := len(v.parts)
	if whole.standing != reading.Measured {
		need = (7*need + 9) / 10
	}
	if len(got) < 2 || len(got) < need {
		return whole
	}
	return meanOf(got, whole)
}

// meanOf is the mean of the segments' swings. What an onset's definition
// costs they share; what noise costs, and how they scatter, falls with their
// number.
func meanOf(got []swing, whole swing) swing {
	n := float64(len(got))
	m := swing{standing: reading.Measured, odds: got[0].odds}
	for _, w := range got {
		m.value += w.value / n
		m.u95 += w.u95 / n
		m.sd += w.sd / n
		m.interval += w.interval / n
		m.odds = math.Min(m.odds, w.odds)
		for s := range m.side {
			m.side[s] += w.side[s] / n
		}
	}
	if whole.standing == reading.Measured {
		m.odds = math.Max(m.odds, whole.odds)
	}
	return m
}

// middles gives the correction of dates to middles over the stretch and the
// standard deviation of the rate it leaves (rate.go).
func (v view) middles(st stretch) (middleAt, float64) {
	none := func(float64) float64 { return 0 }
	unheard := unheardDrift / math.Max(10, float64(st.span()))
	at, c, sd := v.bySegment(st)
	if len(at) < 2 {
		return none, unheard
	}
	slope, slopeSd := weightedSlope(at, c, sd)
	w := driftOdds(slope / slopeSd)
	mid := func(t float64) float64 { return w * interpolate(at, c, t) }
	bend := w * bendOf(at, c, sd) / math.Max(10, float64(st.span()))
	return mid, math.Sqrt(w*slopeSd*slopeSd + w*(1-w)*slope*slope + bend*bend)
}

// bendOf is how much the middles bend between segments beyond their own
// scatter, s: what straight lines between them leave out.
func bendOf(at, c, sd []float64) float64 {
	var sum, noise float64
	n := 0
	for i := 1; i+1 < len(c); i++ {
		b := c[i] - (c[i-1]+c[i+1])/2
		sum += b * b
		noise += sd[i]*sd[i] + (sd[i-1]*sd[i-1]+sd[i+1]*sd[i+1])/4
		n++
	}
	if n == 0 || sum <= noise {
		return 0
	}
	return math.Sqrt((sum - noise) / float64(n))
}

// bySegment gives each segment's middle against the dates: by how its strikes
// moved against the whole profile where they moved little (sharp), else by
// its own marks.
func (v view) bySegment(st stretch) (at, c, sd []float64) {
	if bothFirst(v.m, v.ok) && v.spread() < movedReach {
		if at, c, sd = middleBySegment(st, v.m); len(at) == len(st.segs) {
			return at, c, sd
		}
	}
	at, c, sd = nil, nil, nil
	for _, p := range v.parts {
		if !p.complete() {
			continue
		}
		mid := 0.0
		for s := range p.m {
			x := p.m[s]
			mid += ((x.at+x.dropAt)/2 - float64(x.s.origin) - p.lags[s]) * x.s.cell / 2
		}
		at, c, sd = append(at, p.at), append(c, mid), append(sd, defSec)
	}
	if 10*len(at) < 7*len(v.parts) {
		return nil, nil, nil
	}
	return at, c, sd
}

// spread is how much the interval differs over the segments, s.
func (v view) spread() float64 {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, p := range v.parts {
		if p.complete() {
			t := p.interval()
			lo, hi = math.Min(lo, t), math.Max(hi, t)
		}
	}
	return hi - lo
}
