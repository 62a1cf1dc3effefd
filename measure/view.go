package measure

import (
	"math"
	"slices"

	"beatwright/balance"
	"beatwright/beat"
	"beatwright/estimate"
	"beatwright/reading"
	"beatwright/unit"
)

// view is what a stretch's averaged beats show: the sounds marked in the
// profile of the whole stretch, and in that of each segment.
type view struct {
	m     [2]sounds
	ok    [2]bool
	lag   float64 // of the second side behind the first, cells
	parts []part
	// first and drop are where the strikes of either side lie in the parts
	// (middle.go), nil where there is nothing to follow.
	first, drop [2][]move
	// halves are the sounds of the first and of the second half.
	halves []part
	// usual is the interval at 200°, s.
	usual float64
}

// part is one segment's own view.
type part struct {
	m    [2]sounds
	ok   [2]bool
	at   float64 // s, mean moment of its beats
	last float64 // s, from its first beat to its last
	lags [2]float64
	sw   swing
	// learnt says that the standing was learnt from a neighbour.
	learnt bool
}

func (p part) complete() bool { return bothFirst(p.m, p.ok) }

// sure tells whether the part shows its unlocking for certain.
func (p part) sure() bool { return p.complete() && p.sw.standing == reading.Measured }

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
	v.lag = apartness(sh, st.period)
	v.usual = float64(balance.Interval(lift, 200, st.period))
	v.m, v.ok = mark(sh, v.lag, st.period, lift)
	if v.ok[0] && v.ok[1] {
		reconcile(&v.m)
	}
	if len(st.segs) < 2 {
		return v
	}
	for i, g := range st.segs {
		p := part{at: meanAtOf(g.Beats), last: float64(g.Beats[len(g.Beats)-1].At - g.Beats[0].At), lags: lags[i]}
		var own [2]shape
		for s := range own {
			if g.Profile[s].N >= 4 {
				own[s] = whiten(g.Profile[s])
			}
		}
		p.m, p.ok = mark(own, v.lag+p.lags[1]-p.lags[0], st.period, lift)
		if p.complete() {
			reconcile(&p.m)
			p.sw = weigh(p.m, p.ok, st.period, lift, 0)
		}
		v.parts = append(v.parts, p)
	}
	v.doubtOdd()
	v.learn()
	v.agree()
	v.sharpen(st.period, lift)
	v.halve(st, lift)
	return v
}

// agree marks the first sound of the whole where the segments have it, when
// seven in ten of them are sure and the whole shows another: a knock that is
// heard in the mean, or a swing that changes, gives it an edge before.
func (v *view) agree() {
	for s := range v.m {
		var t []float64
		for _, p := range v.parts {
			if p.sure() {
				t = append(t, p.m[s].interval())
			}
		}
		if !v.ok[s] || len(t) < 2 || 10*len(t) < 7*len(v.parts) {
			continue
		}
		near := estimate.Median(t)
		if m := &v.m[s]; m.first == nil || math.Abs(m.interval()-near) > tolerance(near) {
			m.first = nil
			m.takeNear(near)
		}
	}
}

// halve marks the sounds of either half of the stretch.
func (v *view) halve(st stretch, lift unit.Degrees) {
	n := len(st.segs)
	for _, segs := range [][]*beat.Segment{st.segs[:n/2], st.segs[n/2:]} {
		var p part
		var sh [2]shape
		for s := range sh {
			if pr, l := merge(segs, s); pr.N > 0 {
				sh[s] = whiten(pr)
				p.lags[s] = l[0]
			}
		}
		p.m, p.ok = mark(sh, apartness(sh, st.period), st.period, lift)
		if p.complete() {
			reconcile(&p.m)
		}
		v.halves = append(v.halves, p)
	}
}

// doubtOdd takes the marks from parts whose interval jumps away from those
// beside it: between disturbances a swing follows free decay and drive with a
// time constant of 16–25 s (Q·T/π), so a jump is a misreading, and a steady
// course is none however steep.
func (v *view) doubtOdd() {
	var k []int
	for i, p := range v.parts {
		if p.sure() {
			k = append(k, i)
		}
	}
	t := make([]float64, len(k))
	for n, i := range k {
		t[n] = v.parts[i].interval()
	}
	for n, i := range k {
		if len(k) >= 3 && odd(t, n) {
			v.parts[i].ok = [2]bool{}
		}
	}
}

// odd tells whether t[n] lies outside what its neighbours span; at either end,
// what the nearest two make of it between standing still and going on.
func odd(t []float64, n int) bool {
	last := len(t) - 1
	a, b := t[max(n-1, 0)], t[min(n+1, last)]
	switch n {
	case 0:
		a, b = t[1], 2*t[1]-t[2]
	case last:
		a, b = t[last-1], 2*t[last-1]-t[last-2]
	}
	margin := 0.08*estimate.Median([]float64{a, b, t[n]}) + 0.0003
	return t[n] < math.Min(a, b)-margin || t[n] > math.Max(a, b)+margin
}

// learn makes parts sure that carry on from a sure neighbour: the unlocking,
// once heard beyond doubt, is known by its strength and place in the next
// segment too.
func (v *view) learn() {
	n := len(v.parts)
	for i := 1; i < n; i++ {
		v.parts[i].learnFrom(v.parts[i-1])
	}
	for i := n - 2; i >= 0; i-- {
		v.parts[i].learnFrom(v.parts[i+1])
	}
}

func (p *part) learnFrom(q part) {
	if q.sure() && p.complete() && p.sw.standing == reading.AtMost && continues(*p, q) {
		p.sw.standing = reading.Measured
		p.learnt = true
	}
}

// continues tells whether on both sides the first sound of p is that of q, a
// neighbour: the interval changed by no more than a free balance's swing can
// in one segment, and its strength only as the drop's did, within 6 dB, for
// all strikes weaken together with the balance's speed.
func continues(p, q part) bool {
	const louder, longer = 1.4, 0.12
	for s := range p.m {
		a, b := p.m[s], q.m[s]
		first := math.Log(over(a.first.crest) / over(b.first.crest))
		drop := math.Log(over(a.drop.crest) / over(b.drop.crest))
		if math.Abs(first-drop) > louder || math.Abs(a.interval()/b.interval()-1) > longer {
			return false
		}
	}
	return true
}

// over is a crest's power without the noise.
func over(crest float64) float64 { return math.Max(crest-1, 0.01) }

// interval is the mean of the sides, s.
func (p part) interval() float64 { return (p.m[0].interval() + p.m[1].interval()) / 2 }

// swing weighs the whole and the parts. When every segment shows its unlocking
// for certain, or seven in ten that agree, their mean is the swing: a swing that changes smears
// the whole's profile, not theirs. The whole alone is believed only where
// nothing says that the swing changed: the first edge of a smeared profile is
// that of its lowest swing.
func (v view) swing(period unit.Seconds, lift unit.Degrees, scatter float64) swing {
	whole := weigh(v.m, v.ok, period, lift, scatter)
	var got []swing
	for _, p := range v.parts {
		if p.sure() {
			got = append(got, p.weighed(period, lift, scatter))
		}
	}
	n := len(v.parts)
	if len(got) >= 2 && (len(got) == n || 10*len(got) >= 7*n && !differ(got)) {
		return meanOf(got, whole)
	}
	if n >= 2 && v.changing(got, whole) {
		b := v.boundOfParts(period, lift, whole)
		b.changing = true
		return b
	}
	return v.atMost(whole, period, lift)
}

// atMost is a bound of the whole, raised to what any of a few parts allows: of so
// few it is not told whether the swing changes, and the first edge of the whole is
// that of the lowest.
func (v view) atMost(whole swing, period unit.Seconds, lift unit.Degrees) swing {
	if whole.standing != reading.AtMost || len(v.parts) >= fewParts {
		return whole
	}
	for _, p := range v.parts {
		if !p.complete() {
			continue
		}
		switch w := weigh(p.m, p.ok, period, lift, 0); w.standing {
		case reading.Measured:
			whole.value = math.Max(whole.value, w.value+w.u95)
		case reading.AtMost:
			whole.value = math.Max(whole.value, w.value)
		}
	}
	return whole
}

// fewParts is from how many on a swing that changes shows in their order.
const fewParts = 4

// weighed is the swing of a sure part.
func (p part) weighed(period unit.Seconds, lift unit.Degrees, scatter float64) swing {
	w := weigh(p.m, p.ok, period, lift, scatter)
	if p.learnt && w.standing == reading.AtMost {
		w = weighAs(p.m, period, lift, scatter)
	}
	return w
}

// changing tells whether the swings of parts, or of the two halves where no
// part is sure, differ among themselves or from the whole's.
func (v view) changing(got []swing, whole swing) bool {
	if whole.interval == 0 {
		return len(got) >= 2 && differ(got)
	}
	if _, ok := v.oneWay(); ok {
		return true
	}
	off := 0
	for _, w := range got {
		if math.Abs(w.interval/whole.interval-1) > 0.08 {
			off++
		}
	}
	// One segment in three may be misread; a swing that changes shows in more.
	if 3*off > len(got) {
		return true
	}
	if len(got) > 0 || whole.standing != reading.Measured {
		return differ(got)
	}
	for _, h := range v.halves {
		if h.complete() && math.Abs(h.interval()/whole.interval-1) > 0.06 {
			return true
		}
	}
	return false
}

// oneWay tells whether the intervals of either side, sure or not, only grow or
// only shrink through the parts, by more than a steady watch's differ, and by
// how much, s.
func (v view) oneWay() (by float64, ok bool) {
	const steady = 0.08
	for s := range v.m {
		var t []float64
		for _, p := range v.parts {
			if p.complete() {
				t = append(t, p.m[s].interval())
			}
		}
		up, down := true, true
		for i := 1; i < len(t); i++ {
			up, down = up && t[i] > t[i-1], down && t[i] < t[i-1]
		}
		if len(t) >= fewParts && (up || down) && math.Abs(math.Log(t[len(t)-1]/t[0])) > steady {
			by, ok = math.Max(by, math.Abs(t[len(t)-1]-t[0])), true
		}
	}
	return by, ok
}

// boundOfParts is the highest swing that any segment's first sound allows.
func (v view) boundOfParts(period unit.Seconds, lift unit.Degrees, whole swing) swing {
	why := "the swing changes through the hearing, and the unlocking is not heard in all of it: read shorter windows"
	out := swing{standing: reading.AtMost, why: why, interval: whole.interval}
	for _, p := range v.parts {
		w := weigh(p.m, p.ok, period, lift, 0)
		if !p.complete() || w.standing == reading.NotResolved {
			return swing{standing: reading.NotResolved, why: why}
		}
		if w.standing == reading.Measured {
			w.value += w.u95
		}
		out.value = math.Max(out.value, w.value)
	}
	return out
}

// differ tells whether the swings of segments differ by more than a steady
// watch's do.
func differ(got []swing) bool {
	if len(got) < 2 {
		return false
	}
	a := make([]float64, len(got))
	for i, w := range got {
		a[i] = w.value
	}
	slices.Sort(a)
	lo, hi := a[0], a[len(a)-1]
	if len(a) >= 5 { // one odd one at either end is none
		lo, hi = a[1], a[len(a)-2]
	}
	return hi > 1.08*lo
}

// meanOf is the mean of the segments' swings, and of their doubts: what an
// onset's definition costs they share, and it is nearly all.
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
