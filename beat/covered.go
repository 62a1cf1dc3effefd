package beat

import (
	"math"
	"slices"

	"beatwright/dsp"
	"beatwright/estimate"
	"beatwright/unit"
)

// What another watch covers is left out of templates and profiles, and beats are
// dated by the rest of their sound.

const (
	// lookAgain is after how many segments without one another watch is looked
	// for again: eight minutes.
	lookAgain = 96
	// mostGone is in how many segments in a row a known one may be missed.
	mostGone = 3
	// leastHeard is the share of the beats that must be heard at a place for a
	// mean.
	leastHeard = 0.15
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

// addUncovered adds the cut y, which begins at cell from, at fraction f, but
// where the other watch is loud, and counts what is added at each place.
func (s *tally) addUncovered(b *beside, from int64, side int, y []float32, f float32) {
	mask := make([]bool, len(y))
	b.covered(from, side, -1, mask)
	if s.each == nil {
		s.each = slices.Repeat([]float32{float32(s.n)}, len(s.sum))
	}
	v := make([]float32, len(s.sum))
	dsp.AddBetween(v, y, f)
	for i := range v {
		if !mask[i+1] && !mask[i+2] {
			s.sum[i] += v[i]
			s.each[i]++
		}
	}
}

// share divides the sums of mean by how many each place has.
func (t *template) share(of []*tally) {
	each := make([]float64, len(t.mean))
	for _, s := range of {
		for i := range s.sum {
			if s.each != nil {
				each[i] += float64(s.each[i])
			} else {
				each[i] += float64(s.n)
			}
		}
	}
	open := make([]bool, len(each))
	for i, n := range each {
		if open[i] = n < math.Max(1, leastHeard*float64(t.n)); !open[i] {
			t.mean[i] /= float32(n)
		}
	}
	bridge(t.mean, open)
}

// bridge lays straight lines over the open places of y.
func bridge(y []float32, open []bool) {
	n := len(y)
	for i := 0; i < n; i++ {
		if !open[i] {
			continue
		}
		j := i
		for j < n && open[j] {
			j++
		}
		switch {
		case i == 0 && j == n:
			clear(y)
		case i == 0:
			for k := i; k < j; k++ {
				y[k] = y[j]
			}
		case j == n:
			for k := i; k < j; k++ {
				y[k] = y[i-1]
			}
		default:
			a, b := y[i-1], y[j]
			for k := i; k < j; k++ {
				y[k] = a + (b-a)*float32(k-i+1)/float32(j-i+1)
			}
		}
		i = j
	}
}

// filled gives y, which begins at cell from, with the template where the other
// watch is loud; the template's active part lies at y[lead].
func (t *template) filled(b *beside, from int64, side int, y []float32, lead int) []float32 {
	mask := make([]bool, len(y))
	b.covered(from, side, t.lo-lead, mask)
	out := y
	for i, m := range mask {
		if !m {
			continue
		}
		if &out[0] == &y[0] {
			out = slices.Clone(y)
		}
		out[i] = t.floor
		if j := t.lo + i - lead; j >= 0 && j < len(t.mean) {
			out[i] += t.mean[j]
		}
	}
	return out
}

// addUncovered is add for the cells from i on that mask leaves, which it counts.
func (a *averager) addUncovered(i int, e []float32, mask []bool, drop int, f float32, each []float32) {
	for c := range len(e)/lanes - 1 {
		if mask[c] || mask[c+1] {
			continue
		}
		each[i+c]++
		for l := range lanes {
			v := e[lanes*c+l] + f*(e[lanes*(c+1)+l]-e[lanes*c+l])
			for _, top := range a.tops[:drop] {
				if t := top[lanes*(i+c)+l]; v >= t {
					top[lanes*(i+c)+l], v = v, t
				}
			}
			a.sum[lanes*(i+c)+l] += v
		}
	}
}

// uncovered is the profile p of the beats at the given moments, without what
// the other watch covers.
func (r *run) uncovered(p Profile, side int, at []float64, drop int) Profile {
	n := len(p.Loud)
	a := &r.c.average
	a.reset(lanes*n, drop)
	each := make([]float32, n)
	mask := make([]bool, n+1)
	for _, m := range at {
		k := int64(m)
		from := k - int64(r.l.pre)
		r.c.other.covered(from, side, 0, mask)
		r.c.tape.spans(from, n, func(i int, e []float32) {
			a.addUncovered(i, e, mask[i:], drop, float32(m-float64(k)), each)
		})
	}
	p.Heard = each
	open := make([]bool, n)
	for i, c := range each {
		open[i] = c < float32(math.Max(2, leastHeard*float64(p.N)))
	}
	for b := range r.c.tape.bank.Bands {
		e := make([]float32, n)
		for i := range e {
			if !open[i] {
				e[i] = a.sum[lanes*i+b] / max(1, each[i]-float32(drop))
			}
		}
		bridge(e, open)
		p.Energy = append(p.Energy, e)
	}
	for i, c := range each {
		p.Heard[i] = c / float32(max(1, p.N))
		if open[i] {
			p.Heard[i] = 0
		}
	}
	return p
}

// covered tells whether any of the profiles has places that were not heard.
func covered(ps []Profile) bool {
	return slices.ContainsFunc(ps, func(p Profile) bool { return p.Heard != nil })
}

// mergeCovered is Merge where some places were heard in a part of the beats.
func mergeCovered(sum Profile, ps []Profile, ref Profile, lags []float64) (Profile, []float64) {
	n := len(ref.Loud)
	total := make([][]float64, len(ref.Energy))
	for b := range total {
		total[b] = make([]float64, n)
	}
	weight := make([]float64, n)
	product := make([]float32, n)
	for i, p := range ps {
		if p.N == 0 || len(p.Loud) != n {
			continue
		}
		if &p.Loud[0] != &ref.Loud[0] {
			lags[i] = lag(ref.Loud, p.Loud)
		}
		heard := p.Heard
		if heard == nil {
			heard = slices.Repeat([]float32{1}, n)
		}
		for b := range total {
			for k, h := range heard {
				product[k] = h * p.Energy[b][k]
			}
			addShifted(total[b], product, lags[i], float64(p.N))
		}
		addShifted(weight, heard, lags[i], float64(p.N))
		sum.N += p.N
	}
	open := make([]bool, n)
	sum.Heard = make([]float32, n)
	for k, w := range weight {
		open[k] = w < leastHeard*float64(sum.N)
		if !open[k] {
			sum.Heard[k] = float32(w / float64(max(1, sum.N)))
		}
	}
	for _, t := range total {
		e := make([]float32, n)
		for k := range e {
			if !open[k] {
				e[k] = float32(t[k] / weight[k])
			}
		}
		bridge(e, open)
		sum.Energy = append(sum.Energy, e)
	}
	return sum, lags
}
