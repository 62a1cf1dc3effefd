package beat

import (
	"math"
	"slices"

	"beatwright/dsp"
)

const (
	// coarse is the number of cells in one step of the search grid: 0.5 ms,
	// wide enough for the scatter of tired beats, fine enough to tell beat
	// rates two per cent apart.
	coarse = 12
	// The search covers 7 000 to 40 000 beats an hour, and single sounds as
	// slow as one a second so that a stepping clock is known for what it is.
	shortestBeat = 3600.0 / 40000 * 0.97 // s
	longestBeat  = 1.06                  // s
	longestHalf  = 3600.0 / 7000 * 1.02  // s
	// mostShift is how far a beat error may move a beat, as a part of the
	// beat: a tenth covers 10 ms at 36 000.
	mostShift = 0.115
)

// find is a periodic sound found in a stretch: T is the full period and Phase
// the loudest moment of either side, both in cells from the first cell of the
// sound.
type find struct {
	T     float64
	Phase [2]float64
	// Single says that only one sound falls in each period.
	Single bool
	// Strength is the mean autocorrelation at the multiples of the period,
	// in units of its scatter.
	Strength float64
	// Present is, for a single sound a period, the part of the periods in
	// which it stands where it is due.
	Present  float64
	Floor    []float64 // by band, mean square
	Hum      bool      // the mains' rhythm had to be taken out
	Contrast float64   // of the folded beat, in log units over the floor
	Duty     float64   // part of the beat that is louder than half the contrast
}

// loudness gives the whitened loudness ln(mean over bands of energy/floor) of
// n coarse steps from cell from on, and the floors it used.
func loudness(t *tape, from int64, n int) (y, floor []float64) {
	nb := len(t.bank.Bands)
	e := make([][]float64, nb)
	for b := range e {
		e[b] = make([]float64, n)
	}
	t.spans(from, n*coarse, func(at int, cells []float32) {
		for left := len(cells)/lanes - 1; left > 0; {
			m := min(left, coarse-at%coarse)
			s := total(cells[:lanes*m])
			for b := range e {
				e[b][at/coarse] += s[b] / coarse
			}
			cells, at, left = cells[lanes*m:], at+m, left-m
		}
	})
	floor = make([]float64, nb)
	for b := range floor {
		floor[b] = floorOf(e[b])
	}
	y = make([]float64, n)
	for i := range y {
		var s float64
		for b := range e {
			s += e[b][i] / floor[b]
		}
		y[i] = math.Log(math.Max(s/float64(nb), 0.05))
	}
	return y, floor
}

// total adds up cells, band by band.
func total(cells []float32) (s [lanes]float64) {
	for ; len(cells) >= lanes; cells = cells[lanes:] {
		c := (*[lanes]float32)(cells)
		s[0], s[1], s[2], s[3] = s[0]+float64(c[0]), s[1]+float64(c[1]), s[2]+float64(c[2]), s[3]+float64(c[3])
	}
	return s
}

// leastFloor is a hundredth of a step of 24 bits, squared: what is quieter is
// silence.
const leastFloor = 1e-18

// floorOf is the noise floor of one band: the level that the quietest third
// of the sound stays below, over spans of 2 ms so that its own scatter is
// small, but not lower than 60 dB below the loudest thousandth.
func floorOf(e []float64) float64 {
	const span = 4
	s := make([]float64, 0, len(e)/span+1)
	for i := 0; i+span <= len(e); i += span {
		s = append(s, (e[i]+e[i+1]+e[i+2]+e[i+3])/span)
	}
	if len(s) == 0 {
		return leastFloor
	}
	slices.Sort(s)
	quiet := s[len(s)*3/10] / 0.85
	loud := s[len(s)-1-len(s)/1000]
	return math.Max(math.Max(quiet, loud*1e-6), leastFloor)
}

// acquire looks for a periodic sound in n coarse steps from cell from.
func acquire(t *tape, from int64, n int) (find, bool) {
	y, floor := loudness(t, from, n)
	step := t.cell() * coarse
	y = smooth(y)
	removeSlow(y, int(1.2/step))
	maxLag := int(float64(len(y)) * 0.8)
	r := dsp.Autocorrelation(y, maxLag)
	hum := humIn(r, step)
	if hum {
		y = dsp.WithoutLines(y, []float64{50 * step, 60 * step}, 0.004)
		r = dsp.Autocorrelation(y, maxLag)
	}
	beat, strength, ok := fundamental(r, len(y), step)
	f := find{Floor: floor, Strength: strength, Hum: hum}
	if !ok {
		return f, false
	}
	for _, T := range []float64{beat, 2 * beat} {
		if T*step < 2*shortestBeat || T*2.5 > float64(len(y)) {
			continue
		}
		T = refineByFold(y, T)
		p := fold(y, T)
		at, height := halfPeak(p)
		if height < 0.25 {
			continue
		}
		f.describe(p, T, at, float64(from))
		f.Single = T > 1.5*beat
		return f, true
	}
	// One sound a period, too slow for two.
	if beat*step > longestHalf*0.98 {
		f.T, f.Single = beat*coarse, true
		f.Present = present(y, beat, step)
		return f, true
	}
	return f, false
}

// hums tells whether the loudness y rises and falls with the mains.
func hums(y []float64, step float64) bool {
	return humIn(dsp.Autocorrelation(y, int(0.1/step)), step)
}

// humIn tells it from the autocorrelation r, to a tenth of a second at least: beats
// do not come again after 20 to 80 ms, hum does.
func humIn(r []float64, step float64) bool {
	const humming = 0.1
	at := func(sec float64) float64 {
		best := -1.0
		for k := int(sec/step) - 1; k <= int(sec/step)+1; k++ {
			best = math.Max(best, r[min(k, len(r)-1)])
		}
		return best
	}
	for _, mains := range []float64{0.020, 1.0 / 60} {
		least := 1.0
		for k := 2; k <= 5 && float64(k)*mains < 0.09; k++ {
			least = math.Min(least, at(float64(k)*mains))
		}
		if least > humming {
			return true
		}
	}
	return false
}

// present tells in which part of the periods of y the loudest place of the
// folded sound is loud too, within 20 ms.
func present(y []float64, T, step float64) float64 {
	p := fold(y, T)
	top := slices.Index(p, slices.Max(p))
	peak := p[top] - dsp.Mean(p)
	reach := int(0.020 / step)
	n, there := 0.0, 0.0
	for at := float64(top) / foldBins * T; at < float64(len(y)); at += T {
		n++
		lo, hi := max(0, int(at)-reach), min(len(y), int(at)+reach)
		if lo < hi && slices.Max(y[lo:hi]) > 0.6*peak && peak > 1 {
			there++
		}
	}
	return there / math.Max(n, 1)
}

// describe fills the find from the folded profile p of period T (steps), with
// the second beat at steps after the first.
func (f *find) describe(p []float64, T, at, from float64) {
	w := len(p) / 100
	s := boxCircular(p, max(1, w/2))
	lo, hi := slices.Min(s), slices.Max(s)
	first := slices.Index(s, hi)
	second := math.Mod(float64(first)+at, float64(len(p)))
	scale := T / float64(len(p)) * coarse
	a, b := float64(first)*scale, second*scale
	if b < a {
		a, b = b, a
	}
	f.T = T * coarse
	f.Phase = [2]float64{from + a + coarse/2, from + b + coarse/2}
	f.Contrast = hi - lo
	n := 0
	for _, v := range s {
		if v > lo+(hi-lo)/2 {
			n++
		}
	}
	f.Duty = float64(n) / float64(len(s))
}

// fundamental finds the shortest period (in steps) at whose multiples the
// autocorrelation r of n steps is nearly as high as at any, and how far its mean
// stands above the scatter.
func fundamental(r []float64, n int, step float64) (period, strength float64, ok bool) {
	lo, hi := int(shortestBeat/step), min(int(longestBeat/step), (len(r)-1)/2)
	if hi <= lo+2 {
		return 0, 0, false
	}
	period, strength, ok = shortest(r, lo, hi, func(i int, scatter float64) bool {
		return r[i] >= 2*scatter/math.Sqrt(float64(n)/float64(i))
	}, func(float64) bool { return true })
	return period, strength, ok && strength > 0.9
}

// shortest gives the shortest period whose multiples stand nearly as high in the
// autocorrelation r as those of any, of the peaks from lag lo to hi that are high
// enough and whose refined period counts; and how far its mean stands above the
// scatter of r.
func shortest(r []float64, lo, hi int, high func(i int, scatter float64) bool, counts func(p float64) bool) (period, strength float64, ok bool) {
	scatter := scatterOf(r[lo:])
	type candidate struct{ p, s float64 }
	var cs []candidate
	best := 0.0
	for i := lo; i <= hi; i++ {
		if r[i] < r[i-1] || r[i] < r[i+1] || !high(i, scatter) {
			continue
		}
		if p, s := comb(r, i); counts(p) {
			cs = append(cs, candidate{p, s})
			best = math.Max(best, s)
		}
	}
	for _, c := range cs {
		if c.s >= 0.7*best {
			return c.p, c.s / scatter, true
		}
	}
	return 0, 0, false
}

// comb follows the multiples of lag i through the autocorrelation and gives
// the refined lag and the mean height. Few multiples count a little less, so
// that chance cannot win with one.
func comb(r []float64, i int) (p, mean float64) {
	p, _ = dsp.Peak(r, i)
	var sum float64
	k := 1
	for ; float64(k)*p < float64(len(r)-2); k++ {
		c := int(math.Round(float64(k) * p))
		tol := max(2, int(0.004*float64(c)/float64(k)))
		best := c
		for j := max(1, c-tol); j <= min(len(r)-2, c+tol); j++ {
			if r[j] > r[best] {
				best = j
			}
		}
		at, h := dsp.Peak(r, best)
		if h > 0 && best > c-tol && best < c+tol {
			p += (at/float64(k) - p) * 0.5
		}
		sum += h
	}
	n := float64(k - 1)
	return p, sum / (n + 0.5)
}

// scatterOf is a robust spread of the autocorrelation.
func scatterOf(r []float64) float64 {
	a := make([]float64, len(r))
	for i, v := range r {
		a[i] = math.Abs(v)
	}
	slices.Sort(a)
	return a[len(a)/2]*1.4826 + 1e-9
}

// refineByFold finds the period near T that folds y most sharply.
func refineByFold(y []float64, T float64) float64 {
	turns := float64(len(y)) / T
	for _, reach := range []float64{2, 0.5} {
		d := reach / turns // a slip of reach steps over the whole stretch
		best, at := -1.0, T
		for k := -6; k <= 6; k++ {
			c := T + d*float64(k)/6*2
			if v := power(fold(y, c)); v > best {
				best, at = v, c
			}
		}
		T = at
	}
	return T
}

// foldBins is the number of bins to a period: under 1 ms at the slowest.
const foldBins = 512

// fold averages y over the period T (steps) into foldBins bins, spreading
// each sample over the two nearest.
func fold(y []float64, T float64) []float64 {
	sum := make([]float64, foldBins+1)
	n := make([]float64, foldBins+1)
	scale := foldBins / T
	whole := 0.0 // turns, in bins
	for i, v := range y {
		ph := float64(i)*scale - whole
		for ph >= foldBins {
			ph -= foldBins
			whole += foldBins
		}
		k := int(ph)
		w := ph - float64(k)
		sum[k] += v * (1 - w)
		n[k] += 1 - w
		sum[k+1] += v * w
		n[k+1] += w
	}
	sum[0] += sum[foldBins]
	n[0] += n[foldBins]
	out := make([]float64, foldBins)
	for i := range out {
		if n[i] > 0 {
			out[i] = sum[i] / n[i]
		} else if i > 0 {
			out[i] = out[i-1]
		}
	}
	return out
}

// halfPeak is the highest correlation of p with itself near half its length:
// the shift and the height in units of the variance.
func halfPeak(p []float64) (at, height float64) {
	n := len(p)
	m := dsp.Mean(p)
	corr := func(d int) float64 {
		var s float64
		for i := range p {
			s += (p[i] - m) * (p[(i+d)%n] - m)
		}
		return s
	}
	zero := corr(0)
	reach := int(mostShift / 2 * float64(n))
	c := make([]float64, 2*reach+3)
	best := 1
	for k := range c {
		c[k] = corr(n/2 - reach - 1 + k)
		if k > 0 && k < len(c)-1 && c[k] > c[best] {
			best = k
		}
	}
	x, h := dsp.Peak(c, best)
	return float64(n/2-reach-1) + x, h / (zero + 1e-12)
}

func power(p []float64) float64 {
	m := dsp.Mean(p)
	var s float64
	for _, v := range p {
		s += (v - m) * (v - m)
	}
	return s
}

// smooth is the three-point binomial mean.
func smooth(y []float64) []float64 {
	out := make([]float64, len(y))
	for i := range y {
		out[i] = (y[max(0, i-1)] + 2*y[i] + y[min(len(y)-1, i+1)]) / 4
	}
	return out
}

// removeSlow subtracts the running mean over span samples.
func removeSlow(y []float64, span int) {
	sum := make([]float64, len(y)+1)
	for i, v := range y {
		sum[i+1] = sum[i] + v
	}
	for i := range y {
		a, b := max(0, i-span/2), min(len(y), i+span/2+1)
		y[i] -= (sum[b] - sum[a]) / float64(b-a)
	}
}

// boxCircular is the mean over ±w with wrap-around.
func boxCircular(p []float64, w int) []float64 {
	n := len(p)
	out := make([]float64, n)
	for i := range out {
		var s float64
		for k := -w; k <= w; k++ {
			s += p[((i+k)%n+n)%n]
		}
		out[i] = s / float64(2*w+1)
	}
	return out
}
