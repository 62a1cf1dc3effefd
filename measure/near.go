package measure

import (
	"math"
	"slices"

	"beatwright/dsp"
	"beatwright/estimate"
	"beatwright/unit"
)

// near is a second watch of the same beat rate: its sounds run aslant through
// those of the first, or stay beside them, so that they stand in the averaged
// beat and may be taken for the first's own.
type near struct {
	// pace is by how much its sounds come later as time goes on, s a s, u95 its
	// half-width; 0 where it does not move.
	pace, u95 float64
	// apart is how much later its second beat comes after the first's second
	// than its first after the first's first, s.
	apart float64
	level float64 // dB
	// known says that the engine found it, and beats were averaged without it.
	known bool
	// rough says that the pace is good for its sense only.
	rough bool
	// amidst says that it was found among the watch's own sounds.
	amidst bool
}

const (
	// nearRates is how near the periods of two watches of one beat rate are.
	nearRates = 2e-3
	// Strikes that are none of the watch's own lie outside the window in which
	// any swing could put its own: from lateSec after the drop on, or more than
	// this share of a beat before it.
	lateSec, earlyShare = 0.004, 0.30
	// longEcho is how late an echo may come, s: from a wall seven metres off.
	longEcho = 0.045
	// A strike that moves must do so by leastMove over the stretch, and clear
	// its own scatter by so much.
	leastMove, moveSigmas = 0.00012, 8.0
	// Sounds of a second watch that do not move lie unlike behind the two beats
	// by this much at least, and at most, s.
	leastUnlike, mostUnlike = 0.0003, 0.006
)

// near finds a second watch of the same beat rate, nil if there is none.
func (v view) near(st stretch) *near {
	if n := st.beside; n != nil {
		if d := 2*float64(n.Beat)/float64(st.period) - 1; math.Abs(d) < nearRates && (!n.Unsure || v.stands(d)) {
			out := &near{pace: d, u95: float64(n.U95 / n.Beat), level: float64(n.Level), known: true, rough: n.Rough}
			if better := v.moving(st.period, d); n.Rough && better != nil && better.pace*d > 0 {
				out.pace, out.u95, out.rough = better.pace, better.u95, false
			}
			return out
		}
	}
	if n := v.moving(st.period, 0); n != nil {
		return n
	}
	if n := v.amidst(); n != nil {
		return n
	}
	return v.still(st.period)
}

// stands tells whether on both sides a sound well before the drop does not move
// to it, though something does at the pace: where the swing changes, all do.
func (v view) stands(pace float64) bool {
	const before, still, sure = 0.004, 0.08, 0.1
	for s := range v.m {
		if !v.ok[s] || len(v.parts) < 4 {
			return false
		}
		m := v.m[s]
		drop, _, ok := v.track(s, m.drop.idx, 0)
		found := slices.ContainsFunc(m.s.onsets(riseSigmas), func(o onset) bool {
			if float64(m.drop.idx-o.idx)*m.s.cell < before {
				return false
			}
			p, sd, ok := v.track(s, o.idx, 0)
			return ok && math.Abs(p-drop) < still*math.Abs(pace) && sd < sure*math.Abs(pace)
		})
		if !ok || !found {
			return false
		}
	}
	return true
}

// outside are the strikes of side s that cannot be the watch's own, strongest
// first.
func (v view) outside(s int, period unit.Seconds) []onset {
	m := v.m[s]
	early := earlyShare * float64(period) / 2
	var out []onset
	for _, o := range m.s.onsets(riseSigmas) {
		after := float64(o.idx-m.drop.idx) * m.s.cell
		if after > lateSec || after < -early {
			out = append(out, o)
		}
	}
	slices.SortFunc(out, func(a, b onset) int {
		return int(math.Copysign(1, b.rise-a.rise))
	})
	return out[:min(len(out), 3)]
}

// moving looks for strikes outside that move alike on both sides, also near the
// pace about.
func (v view) moving(period unit.Seconds, about float64) *near {
	if len(v.parts) < 4 || !v.ok[0] || !v.ok[1] {
		return nil
	}
	var best [2]*run
	for s := range best {
		for _, o := range v.outside(s, period) {
			r := v.runOf(s, o, about)
			if r != nil && (best[s] == nil || math.Abs(r.pace)/r.sd > math.Abs(best[s].pace)/best[s].sd) {
				best[s] = r
			}
		}
	}
	a, b := best[0], best[1]
	if a == nil || b == nil || math.Abs(a.pace-b.pace) > math.Max(4*math.Hypot(a.sd, b.sd), 0.15*math.Abs(a.pace)) {
		return nil
	}
	wa, wb := 1/(a.sd*a.sd), 1/(b.sd*b.sd)
	n := &near{pace: (wa*a.pace + wb*b.pace) / (wa + wb), level: math.Max(a.level, b.level)}
	n.u95 = math.Max(2/math.Sqrt(wa+wb), math.Abs(a.pace-b.pace))
	return n
}

// track follows the strike at cell idx of side s through the parts and gives its
// pace, the surest of those found near the paces tried and the one about.
func (v view) track(s, idx int, about float64) (pace, sd float64, ok bool) {
	segs, guess := make([]shape, len(v.parts)), make([]float64, len(v.parts))
	for i, p := range v.parts {
		segs[i] = p.m[s].s
	}
	sd = math.Inf(1)
	seed := len(v.parts) / 2
	for _, try := range append(tried, about*float64(unit.Day)) {
		for i, p := range v.parts {
			guess[i] = float64(idx) + p.lags[s] + try/float64(unit.Day)*(p.at-v.parts[seed].at)/v.m[s].s.cell
		}
		if a, b, found := v.paceOf(s, follow(segs, guess, seed)); found && b < sd {
			pace, sd, ok = a, b, true
		}
	}
	return pace, sd, ok
}

// tried are the paces, s/d, near which a moving strike is looked for.
var tried = []float64{0, -8, 8, -16, 16}

// run is how a strike moves against the drop.
type run struct{ pace, sd, level float64 }

// runOf follows strike o of side s through the parts; nil if it does not
// clearly move, or may be an echo of a first sound that does.
func (v view) runOf(s int, o onset, about float64) *run {
	pace, sd, ok := v.track(s, o.idx, about)
	if !ok || math.Abs(pace)*v.length() < leastMove || math.Abs(pace) < moveSigmas*sd {
		return nil
	}
	m := v.m[s]
	if m.first != nil && v.first[s] != nil && float64(o.idx-m.first.idx)*m.s.cell < longEcho && o.idx > m.first.idx {
		own, ownSd, ok := v.paceOf(s, v.first[s])
		if ok && math.Abs(own-pace) < 4*math.Hypot(sd, ownSd) {
			return nil
		}
	}
	return &run{pace, sd, 10 * math.Log10(over(o.crest)/over(m.drop.crest))}
}

// paceOf is the pace of a strike followed through the parts of side s against
// their dates, s a s, by a straight line with its scatter.
func (v view) paceOf(s int, ms []move) (pace, sd float64, ok bool) {
	var at, y []float64
	for i, m := range ms {
		if m.ok {
			at, y = append(at, v.parts[i].at), append(y, (m.at-float64(v.parts[i].m[s].s.origin)-v.parts[i].lags[s])*v.m[s].s.cell)
		}
	}
	if len(at) < 4 || 10*len(at) < 7*len(v.parts) {
		return 0, 0, false
	}
	l := estimate.FitLine(at, y, make([]int, len(at)))
	mean := dsp.Mean(at)
	var sxx float64
	for _, t := range at {
		sxx += (t - mean) * (t - mean)
	}
	s2 := squares(l.Residual)/float64(len(at)-2) + strikeScatter*strikeScatter/float64(max(1, v.m[s].s.n/len(v.parts)))
	return l.Slope, math.Sqrt(s2 / sxx), true
}

// still looks for sounds after the drop that lie otherwise behind the second
// beat than behind the first: an echo keeps its lag, a second watch has a beat
// error of its own.
func (v view) still(period unit.Seconds) *near {
	if !v.ok[0] || !v.ok[1] || v.m[0].alone {
		return nil
	}
	a, b := v.m[0], v.m[1]
	reach := a.s.cells(mostUnlike)
	lo0, lo1 := a.drop.idx+a.s.cells(lateSec)+reach, b.drop.idx+b.s.cells(lateSec)
	n := min(len(a.s.z)-lo0, len(b.s.z)-lo1-2*reach)
	if n < a.s.cells(0.010) {
		return nil
	}
	la, lb := logs(a.s.z[lo0:lo0+n]), logs(b.s.z[lo1:lo1+n+2*reach])
	r, lag, peak := slide(la, lb, reach)
	here := correlation(la, lb[reach:reach+n])
	apart := lag * a.s.cell
	const alike, better = 0.75, 0.35
	if !peak || r < alike || here > r-better || math.Abs(apart) < leastUnlike || v.paired(period, apart) < 2 {
		return nil
	}
	x := &near{apart: apart, level: math.Inf(-1)}
	for s := range v.m {
		for _, o := range v.outside(s, period) {
			x.level = math.Max(x.level, 10*math.Log10(over(o.crest)/over(v.m[s].drop.crest)))
		}
	}
	return x
}

// amidst looks for a second watch whose sound comes before the watch's own and is
// taken for its first. Where a swing changes, all of a beat's sounds move to the
// drop in proportion to how long before it they come; of two watches' each moves
// with the first or stays with the drop.
func (v view) amidst() *near {
	if len(v.parts) < 4 {
		return nil
	}
	const clearly = 25.0 // of the squares in standard deviations
	var first [2]run
	var swing, two float64
	for s := range first {
		if !v.ok[s] || v.m[s].first == nil {
			return nil
		}
		f, a, b, ok := v.families(s)
		if !ok {
			return nil
		}
		first[s], swing, two = f, swing+a, two+b
	}
	a, b := first[0], first[1]
	if swing < two+clearly || math.Abs(a.pace-b.pace) > math.Max(4*math.Hypot(a.sd, b.sd), 0.15*math.Abs(a.pace)) {
		return nil
	}
	return &near{
		pace: (a.pace + b.pace) / 2, u95: math.Max(math.Hypot(a.sd, b.sd), math.Abs(a.pace-b.pace)),
		level: math.Max(a.level, b.level), amidst: true,
	}
}

// families sets the paces of the sounds of side s between the first and the drop
// against those of a swing that changes and against those of two watches: the
// squares of what is off, in standard deviations. It is not ok where the first
// does not clearly move.
func (v view) families(s int) (first run, swing, two float64, ok bool) {
	const alike = 0.07 // how much sounds of one watch may differ in pace, of it
	m := v.m[s]
	drop, dropSd, ok1 := v.track(s, m.drop.idx, 0)
	pace, sd, ok2 := v.track(s, m.first.idx, 0)
	first = run{pace: pace - drop, sd: math.Hypot(sd, dropSd), level: 10 * math.Log10(over(m.first.crest)/over(m.drop.crest))}
	if !ok1 || !ok2 || math.Abs(first.pace)*v.length() < leastMove || math.Abs(first.pace) < 0.75*moveSigmas*first.sd {
		return first, 0, 0, false
	}
	for _, o := range m.s.onsets(riseSigmas) {
		if o.idx <= m.first.idx+m.s.cells(apartSec) || o.idx >= m.drop.idx-m.s.cells(apartSec) {
			continue
		}
		p, sd, ok := v.track(s, o.idx, 0)
		if !ok {
			continue
		}
		u := math.Hypot(math.Hypot(sd, dropSd), alike*first.pace)
		share := float64(m.drop.idx-o.idx) / float64(m.drop.idx-m.first.idx)
		off := func(want float64) float64 { return (p - drop - want) / u * (p - drop - want) / u }
		swing += off(share * first.pace)
		two += math.Min(off(0), off(first.pace))
	}
	return first, swing, two, true
}

// length is from the first part to the last, s.
func (v view) length() float64 {
	if len(v.parts) == 0 {
		return 0
	}
	return v.parts[len(v.parts)-1].at - v.parts[0].at
}

// paired is how many strikes outside the watch's own lie so much later behind the
// second drop than behind the first, and not as late.
func (v view) paired(period unit.Seconds, apart float64) int {
	const near = 0.0002
	n := 0
	second := v.outside(1, period)
	for _, a := range v.outside(0, period) {
		lag := func(b onset) float64 {
			return float64(b.idx-v.m[1].drop.idx-a.idx+v.m[0].drop.idx) * v.m[0].s.cell
		}
		as := slices.ContainsFunc(second, func(b onset) bool { return math.Abs(lag(b)-apart) < near })
		alike := slices.ContainsFunc(second, func(b onset) bool { return math.Abs(lag(b)) < near })
		if as && !alike {
			n++
		}
	}
	return n
}
