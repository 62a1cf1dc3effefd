package beat

import (
	"math"

	"beatwright/estimate"
	"beatwright/unit"
)

const (
	// lookAgain is after how many segments without one another watch is looked
	// for again: eight minutes.
	lookAgain = 96
	// mostGone is in how many segments in a row a known one may be missed.
	mostGone = 3
)

// seekBeside looks for another watch among the first beats of a run, and turns
// to it if it is the louder of the two.
func (r *run) seekBeside(all []moment) {
	r.c.other = nil
	if len(all) < leastRest {
		return
	}
	from, to := int64(all[0].at)-int64(r.l.pre), int64(all[len(all)-1].at)+int64(r.l.post)
	if f, ok := r.interleaved(all); ok {
		r.turnTo(f, from)
	}
	b := r.lookBeside(from, to)
	if b != nil && b.Level > louder && b.Level < tooLoud && r.turnTo(find{T: b.T, Phase: b.phases()}, from) {
		b = r.lookBeside(from, to)
	}
	r.takeBeside(b)
}

// louder is by how much another watch must be louder for the run to turn to it;
// one that is louder than tooLoud would have been found first.
const louder, tooLoud unit.Decibels = 1.5, 12

// interleaved tells whether what was taken for the two sides of one watch are two
// watches of half the beat rate that beat by turns: each has a beat error of its
// own, so that every fourth beat comes late. It gives the clearer one.
func (r *run) interleaved(all []moment) (find, bool) {
	const least, clearly = 0.00008, 6.0 // s, standard deviations
	var lines [2]estimate.Line
	for s := range lines {
		var k, at []float64
		var turn []int
		for _, b := range all {
			if b.why == "" && b.k&1 == s {
				k, at, turn = append(k, float64(b.k)), append(at, b.at), append(turn, b.k>>1&1)
			}
		}
		if len(k) < 4*leastRest {
			return find{}, false
		}
		lines[s] = estimate.FitLine(k, at, turn)
		apart := math.Abs(lines[s].Offset[1] - lines[s].Offset[0])
		sd := 2 * lines[s].Scale / math.Sqrt(float64(len(k)))
		if apart < clearly*sd || apart*r.c.tape.cell() < least {
			return find{}, false
		}
	}
	s := 0
	if r.tmpl[1].power > r.tmpl[0].power {
		s = 1
	}
	k := float64(all[0].k&^3 + 4 + s)
	return find{T: 4 * lines[s].Slope, Phase: [2]float64{lines[s].At(k, 0), lines[s].At(k+2, 1)}}, true
}

// turnTo has the run follow what was found instead, from cell from on. What was
// closed of it before stays closed.
func (r *run) turnTo(f find, from int64) bool {
	f.Hum = r.hum
	for _, w := range r.c.weight[:len(r.c.tape.bank.Bands)] {
		f.Floor = append(f.Floor, 1/(float64(w)*float64(len(r.c.tape.bank.Bands))))
	}
	turn := math.Ceil((float64(from)-f.Phase[0])/f.T) * f.T
	f.Phase[0], f.Phase[1] = f.Phase[0]+turn, f.Phase[1]+turn
	n, ok := lock(r.c.tape, f, from, r.c.tape.endCell())
	if !ok || math.Abs(2*n.line.Slope/f.T-1) > sameTurn {
		return false
	}
	whole := r.closed == len(r.beats)
	end := math.Inf(1)
	if !whole {
		end = math.Floor(r.beats[r.closed].at / r.segCells)
	}
	r.c, r.l, r.tmpl, r.beats, r.line, r.base, r.bumpy = n.c, n.l, n.tmpl, n.beats, n.line, n.base, n.bumpy
	r.missed, r.weak = 0, 0
	r.starts, r.closed = nil, 0
	for r.closed < len(r.beats) && r.segmentOf(r.closed) < end {
		if k := r.closed; k == 0 || r.segmentOf(k) != r.segmentOf(k-1) {
			r.starts = append(r.starts, k)
		}
		r.closed++
	}
	return r.closed > 0
}

// sameTurn is how near its period the watch turned to must be, as a share.
const sameTurn = 1e-4

// phases are the loudest moments of its two sounds, cells.
func (b *beside) phases() [2]float64 {
	n := len(b.z)
	first := 0
	for i, v := range b.z {
		if v > b.z[first] {
			first = i
		}
	}
	at, _ := halfPeak(b.z)
	one := b.at + (float64(first)+0.5)*coarse
	return [2]float64{one, one + at*b.T/float64(n)}
}

func (r *run) takeBeside(b *beside) {
	r.unlooked = 0
	if b == nil {
		return
	}
	if !b.Rough {
		r.c.other = b
	}
	if r.beside == nil {
		n := b.Neighbour
		r.beside = &n
	}
}

// heedBeside follows the neighbour through a new segment's beats, or looks
// for one from time to time.
func (r *run) heedBeside(fresh []moment) {
	if len(fresh) == 0 {
		return
	}
	from, to := int64(fresh[0].at)-int64(r.l.pre), int64(fresh[len(fresh)-1].at)+int64(r.l.post)
	if b := r.c.other; b != nil {
		if b.follow(r, from, to) {
			r.beside.To = b.To
		} else if b.gone > mostGone {
			r.c.other = nil
		}
		return
	}
	if r.unlooked++; r.unlooked >= lookAgain {
		r.takeBeside(r.lookBeside(to-int64(2*segmentSec/r.c.tape.cell()), to))
	}
}

// follow looks where the neighbour's sounds fall in a stretch.
func (b *beside) follow(r *run, from, to int64) bool {
	const reachSec, gain = 0.003, 0.1
	x := restOf(r, from, to, b.base)
	if x == nil {
		b.gone++
		return false
	}
	T, at := b.T/coarse, (b.at-float64(from))/coarse
	lag, like := circularLag(b.z, foldInto(x.z, T, at, len(b.z)), int(reachSec/x.step))
	if like < 0.3 {
		b.gone++
		return false
	}
	b.gone = 0
	b.To = unit.Seconds(float64(to) * r.c.tape.cell())
	turns := math.Round((float64(from) - b.at) / b.T)
	b.at += turns*b.T + lag*coarse
	if turns > 0 {
		b.T += gain * lag * coarse / turns
	}
	return true
}
