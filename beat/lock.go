package beat

import (
	"math"

	"beatwright/estimate"
)

// run is a stretch of beats followed without losing count. Moments are in
// cells.
type run struct {
	c        *cutter
	l        layout
	tmpl     [2]template
	beats    []moment
	line     estimate.Line // through the last beats, K against cells from base
	base     float64
	closed   int          // beats[:closed] are in finished segments
	kept     *keeper      // of the finished segments
	starts   []int        // first beat of each finished segment, until settled
	settled  bool         // the first segments have their template
	rolling  [][2]tallies // of the last segments, once settled
	segCells float64      // length of a segment, cells
	hum      bool         // found under the mains' rhythm
	missed   int          // beats in a row not heard
	weak     int          // beats in a row unlike the mean beat
	usual    float64      // likeness of the last beats heard, about sixteen
	bumpy    float64      // misfit above which another sound covers the beat
	beside   *Neighbour   // another watch heard in the run
	unlooked int          // segments since one was looked for
	turns    int          // full periods of a glimpse, 0 until one was made
}

type moment struct {
	k     int
	at    float64
	score float64
	miss  float64
	why   Reason
	cut   cut
}

// reachOf is a reach in seconds as whole cells.
func (r *run) reachOf(sec float64) int { return max(6, int(sec/r.c.tape.cell())) }

// lock follows the find through cells [from, to) and reports whether what is
// there behaves like beats.
func lock(t *tape, f find, from, to int64) (*run, bool) {
	r := &run{l: layoutFor(f.T / 2), segCells: math.Inf(1), hum: f.Hum}
	if !plausible(f.T, t) {
		return r, false
	}
	r.c = &cutter{tape: t}
	for b, fl := range f.Floor {
		r.c.weight[b] = float32(1 / fl / float64(len(f.Floor)))
	}
	first, second := f.Phase[0], f.Phase[1]
	for first-float64(from) >= f.T/2 {
		first, second = second-f.T, first
	}
	r.base = first
	for k := 0; ; k++ {
		at := first + f.T*float64(k/2)
		if k&1 == 1 {
			at = second + f.T*float64(k/2)
		}
		if at+float64(r.l.post) > float64(to) {
			break
		}
		r.beats = append(r.beats, moment{k: k, at: at, cut: r.c.newCut(at, r.l, r.reachOf(0.01))})
	}
	if len(r.beats) < 8 {
		return r, false
	}
	for i, reach := range []float64{0.005, 0.004, 0.003, 0.003} {
		r.retemplate(r.tally(r.beats))
		reach = math.Min(reach, 0.04*f.T/2*t.cell())
		r.redate(r.beats, r.reachOf(reach), i > 0)
		r.mark(r.beats)
		r.refit(len(r.beats))
	}
	return r, r.steady()
}

// plausible tells whether a full period in cells is one that was looked for.
func plausible(T float64, t *tape) bool {
	sec := T * t.cell()
	return sec > 1.9*shortestBeat && sec < 2*longestHalf
}

const (
	// keptLeast of the beats looked for must be there, and their scatter
	// about the line under mostScatter of a beat: escape wheels of old clocks
	// scatter by 0.4 % of a beat, music and engines by several per cent.
	keptLeast   = 0.6
	mostScatter = 0.01
)

// steady tells whether what was locked on behaves like a watch.
func (r *run) steady() bool {
	return plausible(2*r.line.Slope, r.c.tape) && heard(r.beats) >= 8 &&
		float64(heard(r.beats)) >= keptLeast*float64(len(r.beats)) &&
		r.line.Scale < mostScatter*r.line.Slope
}

// judgedBeats is how many of the last beats of a run say whether it went on.
const judgedBeats = 100

// steadyEnough asks the like of the last hundred beats of a run at its end,
// half of them heard: what locked by chance does not go on.
func (r *run) steadyEnough() bool {
	r.refit(judgedBeats)
	n := r.beats[max(0, len(r.beats)-judgedBeats):]
	return len(n) >= 4 && r.line.Scale < mostScatter*r.line.Slope && float64(heard(n)) >= 0.5*float64(len(n))
}

// tallies are the sums of one side's beats: those kept, and the others.
type tallies struct{ kept, left tally }

// tally sums up the beats of bs whose sound is in hand.
func (r *run) tally(bs []moment) (out [2]tallies) {
	for _, b := range bs {
		if !r.inside(b.at) {
			continue
		}
		side := &out[b.k&1]
		if b.why == "" {
			side.kept.add(r.c, b, r.l)
		} else {
			side.left.add(r.c, b, r.l)
		}
	}
	return out
}

// retemplate builds both sides' templates from the kept beats of some
// stretches; from all of them where fewer than half are kept, for a template
// of a few beats is like nothing but those.
func (r *run) retemplate(stretches ...[2]tallies) {
	for s := range 2 {
		var kept, left []*tally
		n, all := 0, 0
		for i := range stretches {
			t := &stretches[i][s]
			kept, left = append(kept, &t.kept), append(left, &t.left)
			n += t.kept.n
			all += t.kept.n + t.left.n
		}
		if 2*n < all {
			kept, n = append(kept, left...), all
		}
		if n >= 2 {
			r.tmpl[s] = newTemplate(r.l, kept...)
		}
	}
}

// inside tells whether the whole cut around at is in hand.
func (r *run) inside(at float64) bool {
	k := int64(at)
	return k-int64(r.l.pre)-8 >= r.c.tape.firstCell() && k+int64(r.l.post)+8 <= r.c.tape.endCell()
}

// redate matches every beat of bs again within ±reach of where it was.
func (r *run) redate(bs []moment, reach int, own bool) {
	for i := range bs {
		b := &bs[i]
		m := r.tmpl[b.k&1].match(r.c, *b, reach, own && b.why == "")
		b.at, b.score, b.miss = m.at, m.score, m.miss
	}
}

// refit lays the line through the last n beats. Too few on either side leave
// the line as it was.
func (r *run) refit(n int) {
	bs := r.beats[max(0, len(r.beats)-n):]
	all := make([]float64, 2*len(bs))
	x, y, side := all[:0:len(bs)], all[len(bs):len(bs)], make([]int, 0, len(bs))
	var each [2]int
	for _, b := range bs {
		if b.why == "" {
			x = append(x, float64(b.k))
			y = append(y, b.at-r.base)
			side = append(side, b.k&1)
			each[b.k&1]++
		}
	}
	if min(each[0], each[1]) < 2 {
		return
	}
	if l := estimate.FitLine(x, y, side); l.Slope > 0 {
		r.line = l
	}
}

// predict is where beat k should fall.
func (r *run) predict(k int) float64 { return r.base + r.line.At(float64(k), k&1) }
