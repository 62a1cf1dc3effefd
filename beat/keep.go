package beat

import (
	"math"
	"sync"

	"beatwright/unit"
)

// keeper averages the finished segments of a run and keeps them. It works
// beside the one who follows the beats, a segment at a time, in turn, and on
// what there was when the segment ended: what comes of it is always the same.
type keeper struct {
	segs     []*Segment
	average  averager
	all      bool  // segments stay as they are
	beats    bool  // every beat stays
	standFor int   // beats that one of a long run stands for
	from     int64 // first cell that is looked at
	busy     sync.WaitGroup
	free     [][]float32 // memory of profiles that were merged
	watcher  Watcher     // is shown finished segments, nil if no one is
	shown    []Glimpse   // last
}

// sight is what is known of a run when a segment ends.
type sight struct {
	tape  *tape
	l     layout
	loud  [2][]float32 // the templates'
	other *beside
	beat  unit.Seconds
}

func (r *run) sight() *sight {
	t := r.c.tape
	s := &sight{tape: t.still(), l: r.l, other: r.c.other, beat: unit.Seconds(r.line.Slope * t.cell())}
	for side := range s.loud {
		if s.loud[side] = r.tmpl[side].mean; s.loud[side] == nil {
			s.loud[side] = make([]float32, r.l.pre+r.l.post)
		}
	}
	return s
}

// keep finishes a segment of the beats bs and shows it with its glimpses, if there
// are any.
func (r *run) keep(bs []moment, gs []Glimpse) {
	s := &Segment{Beats: make([]Beat, 0, len(bs))}
	var at [2][]float64
	first := math.Inf(1)
	for _, b := range bs {
		s.Beats = append(s.Beats, Beat{K: b.k, At: unit.Seconds(b.at * r.c.tape.cell()), Score: b.score, Miss: b.miss, Why: b.why})
		if b.why == "" && r.inside(b.at) {
			at[b.k&1] = append(at[b.k&1], b.at)
			first = min(first, b.at)
		}
	}
	k, v := r.kept, r.sight()
	k.wait()
	r.recycle(gs)
	k.from = math.MaxInt64
	if !math.IsInf(first, 1) {
		k.from = int64(first) - int64(r.l.pre)
	}
	k.busy.Go(func() {
		for side := range at {
			s.Profile[side] = k.profile(v, side, at[side])
		}
		if len(gs) > 0 {
			k.watcher(false, []*Segment{s}, gs)
		}
		k.segs = append(k.segs, s)
		k.compact(v.beat)
	})
	if v.other != nil { // which changes as it is followed
		k.wait()
	}
}

// wait waits for the segment that is averaged.
func (k *keeper) wait() { k.busy.Wait() }

// spare waits for it if it needs what lies before the given cell.
func (k *keeper) spare(before int64) {
	if k != nil && k.from < before {
		k.wait()
	}
}

// rows parts x into n of one length; the first can be made all of x again.
func rows(x []float32, n int) [][]float32 {
	out := make([][]float32, n)
	for i := range out {
		size := len(x) / n
		out[i] = x[i*size : (i+1)*size : (i+1)*size]
	}
	if n > 0 {
		out[0] = x[:len(x)/n]
	}
	return out
}

// reuse takes back the memory of rows that are no longer needed.
func (k *keeper) reuse(rows [][]float32) {
	if n := len(rows); n > 0 && cap(rows[0]) >= n*len(rows[0]) {
		k.free = append(k.free, rows[0][:n*len(rows[0])])
	}
}

// zeros is memory for n values.
func (k *keeper) zeros(n int) []float32 {
	for len(k.free) > 0 {
		x := k.free[len(k.free)-1]
		k.free = k.free[:len(k.free)-1]
		if len(x) == n {
			clear(x)
			return x
		}
	}
	return make([]float32, n)
}
