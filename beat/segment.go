package beat

import (
	"beatwright/dsp"
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
	// Heard is the share of the beats averaged at each cell, where another watch
	// beside covered some; nil if none was.
	Heard []float32
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

// averager sums energies cell by cell, lanes values each, and keeps the
// greatest apart.
type averager struct {
	sum  []float32
	tops [][]float32
}

// reset prepares for n values, the drop greatest of each left out.
func (a *averager) reset(n, drop int) {
	a.sum = atLeast(a.sum, n)
	clear(a.sum[:n])
	for len(a.tops) < drop {
		a.tops = append(a.tops, nil)
	}
	for i := range a.tops[:drop] {
		a.tops[i] = atLeast(a.tops[i], n)
		clear(a.tops[i][:n])
	}
}

// profile averages the energies around the given moments (cells) of one side.
func (k *keeper) profile(v *sight, side int, at []float64) Profile {
	n, nb := v.l.pre+v.l.post, len(v.tape.bank.Bands)
	p := Profile{N: len(at), Origin: v.l.pre, Cell: v.tape.bank.Cell(), Loud: v.loud[side]}
	drop := int(trim * float64(len(at)))
	if len(at) >= 8 {
		drop = max(1, drop)
	}
	if v.other != nil {
		return k.uncovered(v, p, side, at, drop)
	}
	a := &k.average
	a.reset(lanes*n, drop)
	for _, m := range at {
		c := int64(m)
		v.tape.spans(c-int64(v.l.pre), n, func(i int, e []float32) {
			a.add(lanes*i, e, drop, float32(m-float64(c)))
		})
	}
	p.Energy = rows(k.zeros(nb*n), nb)
	scale := 1 / float32(max(1, len(at)-drop))
	for b, e := range p.Energy {
		for i := range e {
			e[i] = a.sum[lanes*i+b] * scale
		}
	}
	return p
}

// add takes the energies e, shifted by the fraction f of a cell, at value i.
func (a *averager) add(i int, e []float32, drop int, f float32) {
	n := len(e) - lanes
	tops := make([][]float32, 0, 2)
	for _, t := range a.tops[:drop] {
		tops = append(tops, t[i:i+n])
	}
	dsp.AddTrimmed(a.sum[i:i+n], tops, e, f)
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
	if !r.settled {
		r.starts = append(r.starts, r.closed)
		r.closed = n
		if len(r.starts) == settleSegs {
			r.settle()
		}
		return
	}
	r.closed = n
	r.heedBeside(fresh)
	r.retemplate(append(r.rolling[:len(r.rolling):len(r.rolling)], r.tally(fresh))...)
	r.redate(fresh, r.reachOf(0.0004), true)
	r.mark(fresh)
	r.roll(fresh)
	r.keep(fresh, r.glimpses(fresh))
	r.forget()
}

// roll adds the beats of a segment to those that the next is dated by.
func (r *run) roll(bs []moment) {
	r.rolling = append(r.rolling, r.tally(bs))
	if extra := len(r.rolling) - (settleSegs - 1); extra > 0 {
		r.rolling = r.rolling[extra:]
	}
}

// forget lets go of the sound of beats in finished segments, and of the beats
// themselves but for the last.
func (r *run) forget() {
	const most = 1024
	for i := r.closed - 1; i >= 0 && r.beats[i].cut.y != nil; i-- {
		r.c.release(&r.beats[i].cut)
	}
	if extra := r.closed - judgedBeats; extra > most {
		r.beats = r.beats[:copy(r.beats, r.beats[extra:])]
		r.closed -= extra
	}
}

// settle makes one template of all beats so far, while all their sound is at
// hand, and dates them all again by it.
func (r *run) settle() {
	if r.settled {
		return
	}
	r.settled = true
	r.seekBeside(r.beats[:r.closed])
	all := r.beats[:r.closed]
	for range 2 {
		r.retemplate(r.tally(all))
		r.redate(all, r.reachOf(0.0012), true)
		r.mark(all)
	}
	for i, from := range r.starts {
		to := r.closed
		if i+1 < len(r.starts) {
			to = r.starts[i+1]
		}
		r.roll(r.beats[from:to])
		r.keep(r.beats[from:to], nil)
	}
	r.starts = nil
	r.show(all)
	r.forget()
}
