package beat

import (
	"math"

	"beatwright/estimate"
)

const (
	// heardScore is the least likeness to the mean beat (1) of a beat that
	// counts as heard; sound that is none scatters about 0.
	heardScore = 0.3
	// weakScore is the share of the likeness usual in this run below which a
	// beat is weak: noise lowers all alike.
	weakScore = 0.5
	// lostSec without a beat heard, and at least lostBeats, is a lost watch.
	lostSec   = 1.0
	lostBeats = 4
	// lineBeats is how many beats the prediction stands on.
	lineBeats = 40
	// refitEvery is after how many beats the line is laid anew: the beats are
	// looked for over a reach that hides what four more would change.
	refitEvery = 4
)

// track follows the run up to the end of the tape; it reports false when the
// watch is lost.
func (r *run) track() bool {
	for {
		k := r.nextK()
		p := r.predict(k)
		reach := r.reach()
		need := p + float64(reach+r.l.post+16)
		if need > float64(r.c.tape.endCell()) {
			return true
		}
		b := moment{k: k, at: p, cut: r.c.newCut(p, r.l, reach)}
		m := r.near(b, reach)
		b.at, b.score, b.miss = m.at, m.score, m.miss
		b.why = r.judge(b)
		r.beats = append(r.beats, b)
		r.weak++
		if b.score >= weakScore*r.usual {
			r.weak = 0
		}
		if b.why == "" {
			r.missed = 0
			r.usual += (math.Min(1, b.score) - r.usual) / 16
			if len(r.beats)%refitEvery == 0 || math.Abs(b.at-p) > 2*r.line.Scale {
				r.refit(lineBeats)
			}
			if !plausible(2*r.line.Slope, r.c.tape) {
				return false
			}
		} else {
			r.missed++
		}
		if r.lost() {
			return false
		}
		r.closeDue()
	}
}

const (
	// nearReach is how far from its prediction a beat is looked for at first,
	// cells (0.6 ms): as many lags as the fast form takes at once.
	nearReach = 14
	// nearScore is the share of the likeness usual in this run from which a beat
	// found so near is not looked for further off.
	nearScore = 0.8
)

// near matches a beat near its prediction, and within reach where that shows
// none like the others.
func (r *run) near(b moment, reach int) matched {
	t := &r.tmpl[b.k&1]
	if reach > nearReach && 4*r.line.Scale < nearReach {
		m := t.match(r.c, b, nearReach, false)
		if m.score >= nearScore*r.usual && math.Abs(m.at-b.at) < nearReach-2 {
			return m
		}
	}
	return t.match(r.c, b, reach, false)
}

// lost tells whether the beats have stopped coming: none heard for long
// enough, or none that was half like the mean. A watch that
// stepped by a part of its beat is found again and again by a sound's likeness
// to another of its own.
func (r *run) lost() bool {
	n := max(lostBeats, int(lostSec/(r.line.Slope*r.c.tape.cell())))
	if r.weak >= n {
		for i := max(r.closed, len(r.beats)-r.weak); i < len(r.beats); i++ {
			r.beats[i].why = NotHeard
		}
		return true
	}
	return r.missed >= n
}

func (r *run) nextK() int { return r.beats[len(r.beats)-1].k + 1 }

// closeDue closes every open segment that the last beat lies beyond.
func (r *run) closeDue() {
	for {
		n := r.closed
		for n < len(r.beats) && r.segmentOf(n) == r.segmentOf(r.closed) {
			n++
		}
		if n == len(r.beats) {
			return
		}
		r.closeSegment(n)
		r.refit(lineBeats)
	}
}

// segmentOf is the number of the segment that beat i falls in.
func (r *run) segmentOf(i int) float64 { return math.Floor(r.beats[i].at / r.segCells) }

// reach is how far from its prediction a beat is looked for: five times the
// scatter seen, within what a pickup's noise and a small step may ask.
func (r *run) reach() int {
	beat := r.line.Slope * r.c.tape.cell()
	sec := math.Min(0.05*beat, math.Max(0.0012, 5*r.line.Scale*r.c.tape.cell()))
	return r.reachOf(sec)
}

func (r *run) judge(b moment) Reason {
	switch {
	case b.score < heardScore:
		return NotHeard
	case b.miss > r.bumpy:
		return Bump
	}
	return ""
}

// mark judges every beat of bs again, by the misfit usual among them.
func (r *run) mark(bs []moment) {
	var miss []float64
	for _, b := range bs {
		if b.score >= heardScore {
			miss = append(miss, b.miss)
		}
	}
	r.bumpy = 4*estimate.Median(miss) + 0.3
	for i := range bs {
		bs[i].why = r.judge(bs[i])
	}
}

// cut drops the beats after the last one heard: they were looked for in vain.
func (r *run) cut() {
	n := len(r.beats)
	for n > r.closed && r.beats[n-1].why != "" {
		n--
	}
	r.beats = r.beats[:n]
}

// heard counts the beats kept.
func heard(bs []moment) int {
	n := 0
	for _, b := range bs {
		if b.why == "" {
			n++
		}
	}
	return n
}

// relock looks for the same watch, in any phase, in the last beats of the
// tape from cell from on. It gives the shift of phase in cells, nearest to
// none, and whether the beats found there are like those of the run.
func (r *run) relock(from int64) (next *run, shift float64, ok bool) {
	t := r.c.tape
	n := int((t.endCell() - from) / coarse)
	T := 2 * r.line.Slope
	if !plausible(T, t) || float64(n*coarse) < 1.9*T {
		return nil, 0, false
	}
	y, _ := loudness(t, from, n)
	removeSlow(y, int(3*T/coarse))
	p := fold(y, T/coarse)
	want := r.expected(from, T)
	best, at := -math.MaxFloat64, 0
	for d := range p {
		var s float64
		for i, w := range want {
			s += w * p[(i+d)%len(p)]
		}
		if s > best {
			best, at = s, d
		}
	}
	shift = float64(at) / foldBins * T
	if shift > T/2 {
		shift -= T
	}
	next, ok = r.follow(from, shift)
	if !ok {
		return nil, 0, false
	}
	return next, next.predict(next.beats[0].k) - r.predict(next.beats[0].k), true
}

// expected is the templates laid into the bins of a period as the run
// predicts them, phase 0 at cell from.
func (r *run) expected(from int64, T float64) []float64 {
	want := make([]float64, foldBins)
	k := int((float64(from) - r.base - r.line.Offset[0]) / r.line.Slope)
	for _, k := range []int{k &^ 1, k | 1} {
		p := r.predict(k) - float64(from)
		tm := &r.tmpl[k&1]
		for i := tm.lo; i < tm.hi; i++ {
			ph := (p + float64(i-tm.pre)) / T
			want[int((ph-math.Floor(ph))*foldBins)%foldBins] += float64(tm.mean[i]) / T * foldBins
		}
	}
	m := 0.0
	for _, v := range want {
		m += v / foldBins
	}
	for i := range want {
		want[i] -= m
	}
	return want
}

// againScore is the least median likeness of beats found again: the best of
// many places in mere noise is like them by up to a half.
const againScore = 0.6

func medianScore(bs []moment) float64 {
	s := make([]float64, len(bs))
	for i, b := range bs {
		s[i] = b.score
	}
	return estimate.Median(s)
}

// follow starts a run with the templates of r at the given shift and checks
// it by the beats since cell from.
func (r *run) follow(from int64, shift float64) (*run, bool) {
	n := &run{hum: r.hum, segCells: r.segCells, c: r.c, l: r.l, tmpl: r.tmpl, base: r.base, bumpy: r.bumpy}
	// Too few beats may be heard to lay a line of its own: it starts on the old.
	n.line = r.line
	n.line.Offset[0] += shift
	n.line.Offset[1] += shift
	k := int((float64(from) - r.base - shift - r.line.Offset[0]) / r.line.Slope)
	end := float64(r.c.tape.endCell() - int64(r.l.post+16))
	for ; ; k++ {
		at := r.predict(k) + shift
		if at-float64(r.l.pre) < float64(from) {
			continue
		}
		if at+float64(r.reachOf(0.006)) > end {
			break
		}
		n.beats = append(n.beats, moment{k: k, at: at, cut: r.c.newCut(at, r.l, r.reachOf(0.01))})
	}
	if len(n.beats) < 4 {
		return nil, false
	}
	for _, sec := range []float64{0.006, 0.003} {
		n.redate(n.beats, r.reachOf(sec), false)
		n.mark(n.beats)
		n.refit(len(n.beats))
		for i := range n.beats {
			n.beats[i].at = n.predict(n.beats[i].k)
		}
	}
	n.redate(n.beats, r.reachOf(0.002), false)
	n.mark(n.beats)
	good := heard(n.beats)
	return n, good >= 4 && good*10 >= len(n.beats)*7 && medianScore(n.beats) >= againScore
}
