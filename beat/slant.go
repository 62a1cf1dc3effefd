package beat

import (
	"math"
	"slices"

	"beatwright/estimate"
	"beatwright/unit"
)

const (
	// A second watch of the same beat rate is looked for within so many s/d.
	mostApart = 100
	// Laid along it the rest must be sharper by so much than laid along others,
	// by less where it stands where the watch itself does not sound, and run so
	// far in the stretch, s.
	ownSlant    = 3.3
	beyondSlant = 2.6
	leastRun    = 0.003
	// maskedRun is how far a second watch of the same rate must run for its sounds
	// to be left out: less, and they cover the same places all the time, s.
	maskedRun = 0.008
	// alikeRun is how far sounds must run for their paces to be told apart, s.
	alikeRun = 0.010
)

// slanted looks for a second watch of the same beat rate: laid out period by
// period, its sounds run aslant through the first's. T is its full period; unsure
// where an unlocking that moves with the swing would look like it.
func (x *rest) slanted() (T float64, unsure, ok bool) {
	chunks, at := x.chunks()
	if len(chunks) < 4 {
		return 0, false, false
	}
	lessMiddle(chunks)
	span := at[len(at)-1] - at[0]
	var all []float64
	best, d := 0.0, 0
	for k := -mostApart; k <= mostApart; k++ {
		q := sharpness(laid(chunks, at, float64(k)/float64(unit.Day)))
		all = append(all, q)
		if q > best {
			best, d = q, k
		}
	}
	slant := float64(d) / float64(unit.Day)
	clear := best / estimate.Median(all)
	run := math.Abs(slant) * span
	if clear < beyondSlant || run*x.step < leastRun {
		return 0, false, false
	}
	p := laid(chunks, at, slant)
	if hums(p, x.step) { // a hum runs aslant through most beats
		return 0, false, false
	}
	T = x.T * (1 - slant)
	if x.beyond(p, run/2) {
		return T, false, true
	}
	return T, run*x.step < alikeRun, clear > ownSlant && x.parallel(chunks, at, p, d)
}

// chunks are the means of the rest over about a second each by the phase of the
// watch's own period, and their moments in steps.
func (x *rest) chunks() (out [][]float64, at []float64) {
	rows, bins := x.rows(), len(x.base)
	per := max(1, int(1/(x.T*x.step)))
	for i := 0; i+per <= len(rows); i += per {
		c := make([]float64, bins)
		for _, s := range rows[i : i+per] {
			for b := range c {
				if s+b < len(x.z) {
					c[b] += x.z[s+b] / float64(per)
				}
			}
		}
		out, at = append(out, c), append(at, float64(rows[i]+rows[i+per-1])/2)
	}
	return out, at
}

// lessMiddle takes from every phase of the chunks the middle of it.
func lessMiddle(chunks [][]float64) {
	column := make([]float64, len(chunks))
	for b := range chunks[0] {
		for j, c := range chunks {
			column[j] = c[b]
		}
		m := estimate.Median(column)
		for _, c := range chunks {
			c[b] -= m
		}
	}
}

// laid is the mean of the chunks, each moved by the slant since the middle.
func laid(chunks [][]float64, at []float64, slant float64) []float64 {
	bins := len(chunks[0])
	mid := (at[0] + at[len(at)-1]) / 2
	sum := make([]float64, bins)
	for j, c := range chunks {
		sh := (int(math.Round(slant*(at[j]-mid)))%bins + bins) % bins
		for b, v := range c[:bins-sh] {
			sum[b+sh] += v
		}
		for b, v := range c[bins-sh:] {
			sum[b] += v
		}
	}
	for b := range sum {
		sum[b] /= float64(len(chunks))
	}
	return sum
}

// sharpness is the mean square.
func sharpness(p []float64) float64 {
	var s float64
	for _, v := range p {
		s += v * v
	}
	return s / float64(len(p))
}

// beyond tells whether of what runs aslant, p in the middle of the stretch and
// as far as reach from there at its ends, something stands at one time where the
// watch itself cannot sound, whatever its swing: from 4 ms after a drop to three
// tenths of a beat before the next.
func (x *rest) beyond(p []float64, reach float64) bool {
	const late, early = 0.004, 0.7
	bins := len(p)
	half := float64(bins) / 2
	top := slices.Max(p)
	for i, v := range p {
		if v < top/2 {
			continue
		}
		for _, at := range []float64{float64(i) - reach, float64(i), float64(i) + reach} {
			if after := x.after(at); after > late/x.step && after < early*half {
				return true
			}
		}
	}
	return false
}

// after is how long after the last beat of either side a phase is, steps.
func (x *rest) after(phase float64) float64 {
	since := func(beat float64) float64 {
		d := math.Mod(phase-beat, x.T)
		if d < 0 {
			d += x.T
		}
		return d
	}
	return math.Min(since(0), since(x.next))
}

// parallel tells whether on both sides two sounds run aslant alike, as those of a
// second watch do: an unlocking that moves because the swing falls runs faster
// than the impulse, and the drop the other way. p is what lies along d s/d.
func (x *rest) parallel(chunks [][]float64, at []float64, p []float64, d int) bool {
	var lines [2]int
	for _, i := range x.peaks(p) {
		if pace := paceAt(chunks, at, i, d); math.Abs(float64(pace-d)) <= math.Max(3, 0.12*math.Abs(float64(d))) {
			side := 0
			if math.Abs(float64(i)-x.next) < x.T/4 {
				side = 1
			}
			lines[side]++
		}
	}
	return lines[0] >= 2 && lines[1] >= 2
}

// peaks are the places of p that stand out, the loudest within 2.5 ms.
func (x *rest) peaks(p []float64) (at []int) {
	const share, apart = 0.25, 0.0025
	n, reach := len(p), int(apart/x.step)
	top := slices.Max(p)
	for i, v := range p {
		highest := v > share*top
		for k := -reach; k <= reach && highest; k++ {
			w := p[((i+k)%n+n)%n]
			highest = w < v || w == v && k >= 0
		}
		if highest {
			at = append(at, i)
		}
	}
	return at
}

// paceAt is the slant near d, s/d, along which the sound at phase i is loudest.
func paceAt(chunks [][]float64, at []float64, i, d int) int {
	n := len(chunks[0])
	mid := (at[0] + at[len(at)-1]) / 2
	best, out := math.Inf(-1), d
	for k := d - 40; k <= d+40; k++ {
		var sum float64
		for j, c := range chunks {
			b := i - int(math.Round(float64(k)/float64(unit.Day)*(at[j]-mid)))
			for m := -1; m <= 1; m++ {
				sum += c[((b+m)%n+n)%n]
			}
		}
		if sum > best {
			best, out = sum, k
		}
	}
	return out
}
