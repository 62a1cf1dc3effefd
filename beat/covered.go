package beat

import (
	"math"
	"slices"

	"beatwright/dsp"
)

// What another watch covers is left out of templates and profiles, and beats are
// dated by the rest of their sound.

// leastHeard is the share of the beats that must be heard at a place for a mean.
const leastHeard = 0.15

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
func (k *keeper) uncovered(v *sight, p Profile, side int, at []float64, drop int) Profile {
	n := len(p.Loud)
	a := &k.average
	a.reset(lanes*n, drop)
	each := make([]float32, n)
	mask := make([]bool, n+1)
	for _, m := range at {
		c := int64(m)
		from := c - int64(v.l.pre)
		v.other.covered(from, side, 0, mask)
		v.tape.spans(from, n, func(i int, e []float32) {
			a.addUncovered(i, e, mask[i:], drop, float32(m-float64(c)), each)
		})
	}
	p.Heard = each
	open := make([]bool, n)
	for i, c := range each {
		open[i] = c < float32(math.Max(2, leastHeard*float64(p.N)))
	}
	for b := range v.tape.bank.Bands {
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
	total := make([][]float32, len(ref.Energy))
	for b := range total {
		total[b] = make([]float32, n)
	}
	weight := make([]float32, n)
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
		open[k] = float64(w) < leastHeard*float64(sum.N)
		if !open[k] {
			sum.Heard[k] = w / float32(max(1, sum.N))
		}
	}
	for _, t := range total {
		e := make([]float32, n)
		for k := range e {
			if !open[k] {
				e[k] = t[k] / weight[k]
			}
		}
		bridge(e, open)
		sum.Energy = append(sum.Energy, e)
	}
	return sum, lags
}
