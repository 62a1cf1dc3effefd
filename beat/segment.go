package beat

import (
	"slices"

	"beatwright/unit"
)

// Profile is the averaged sound of one side's beats in a segment: for each
// band the mean energy on the grid, aligned by the beats' own dates, with the
// loudest few per cent at each place left out.
type Profile struct {
	// N is the number of beats averaged.
	N int
	// Energy is the trimmed mean square by band and cell; Origin is the cell
	// that the beats' dates name.
	Energy [][]float32
	Origin int
	Cell   unit.Seconds
	// Loud is the mean of the log-loudness that dated the beats, ln units
	// over the floor.
	Loud []float32
}

// Segment is about five seconds of a run, complete in itself: its beats and
// the profile of either side.
type Segment struct {
	Beats   []Beat
	Profile [2]Profile
}

// trim is the part of the beats left out as loudest at each place of a
// profile: knocks are short and rare, and what they cover is still heard in
// the other beats.
const trim = 0.06

// profile averages the energies around the given moments (cells).
func profile(c *cutter, l layout, at []float64, tmpl *template) Profile {
	n := l.pre + l.post
	nb := len(c.weight)
	p := Profile{N: len(at), Origin: l.pre, Cell: c.tape.bank.Cell(), Loud: tmpl.loud()}
	p.Energy = make([][]float32, nb)
	raw := make([][]float32, nb)
	cuts := make([][][]float32, nb) // band, beat, cell
	for b := range raw {
		raw[b] = make([]float32, n+1)
	}
	for _, a := range at {
		k := int64(a)
		f := float32(a - float64(k))
		c.tape.energies(k-int64(l.pre), n+1, raw)
		for b, e := range raw {
			cut := make([]float32, n)
			for i := range cut {
				cut[i] = e[i] + f*(e[i+1]-e[i])
			}
			cuts[b] = append(cuts[b], cut)
		}
	}
	for b := range cuts {
		p.Energy[b] = trimmedMean(cuts[b], n)
	}
	return p
}

// trimmedMean averages each column of rows without its largest values.
func trimmedMean(rows [][]float32, n int) []float32 {
	out := make([]float32, n)
	if len(rows) == 0 {
		return out
	}
	drop := int(trim * float64(len(rows)))
	if len(rows) >= 8 {
		drop = max(1, drop)
	}
	col := make([]float32, len(rows))
	for i := range out {
		for r, row := range rows {
			col[r] = row[i]
		}
		if drop > 0 {
			slices.Sort(col)
		}
		var s float64
		for _, v := range col[:len(col)-drop] {
			s += float64(v)
		}
		out[i] = float32(s / float64(len(col)-drop))
	}
	return out
}

const (
	// segmentSec: long enough for a mean of twenty beats a side, short enough
	// that a swing which runs down changes little within.
	segmentSec = 5.0
	// settleSegs is how many segments share one template from the start, and
	// over how many it rolls later: 30 s.
	settleSegs = 6
)

// closeSegment finishes the beats since the last segment, up to beat n. The
// first segments wait for their template until it has settled; later ones
// are dated by a template that rolls over the last.
func (r *run) closeSegment(n int) {
	if n <= r.closed {
		return
	}
	fresh := r.beats[r.closed:n]
	r.starts = append(r.starts, r.closed)
	r.closed = n
	if !r.settled {
		if len(r.starts) == settleSegs {
			r.settle()
		}
		return
	}
	r.retemplate(r.beats[r.starts[max(0, len(r.starts)-settleSegs)]:n])
	r.redate(fresh, r.reachOf(0.0012), true)
	r.mark(fresh)
	r.segs = append(r.segs, r.segment(len(r.starts)-1))
	r.compact()
}

// settle makes one template of all beats so far, while all their sound is at
// hand, and dates them all again by it.
func (r *run) settle() {
	if r.settled {
		return
	}
	r.settled = true
	all := r.beats[:r.closed]
	for range 2 {
		r.retemplate(all)
		r.redate(all, r.reachOf(0.0012), true)
		r.mark(all)
	}
	for i := range r.starts {
		r.segs = append(r.segs, r.segment(i))
	}
}

// segment makes the finished segment i.
func (r *run) segment(i int) *Segment {
	hi := r.closed
	if i+1 < len(r.starts) {
		hi = r.starts[i+1]
	}
	bs := r.beats[r.starts[i]:hi]
	s := &Segment{}
	var at [2][]float64
	for _, b := range bs {
		s.Beats = append(s.Beats, Beat{K: b.k, At: unit.Seconds(b.at * r.c.tape.cell()), Score: b.score, Miss: b.miss, Why: b.why})
		if b.why == "" && r.inside(b.at) {
			at[b.k&1] = append(at[b.k&1], b.at)
		}
	}
	for side := range at {
		s.Profile[side] = profile(r.c, r.l, at[side], &r.tmpl[side])
	}
	return s
}
