// Package wave finds what recurs in a series of evenly numbered values, such as
// how late each beat of a watch is: sine waves with their period, size and
// the chance that noise alone would show as much anywhere in the search, and
// means folded over a whole number of steps.
//
// It knows no watches and no seconds: the unit of time is the step, the unit of
// size the series' own.
//
// How waves are found. The power of the series at each frequency is set against
// the level of its neighbours, since what scatters beats is not white. The middle
// power of the neighbours alone was tried first: of 300 series of 60 values, each
// nine tenths of the last, 42 showed a wave, since power falls with the frequency
// and at the low end most neighbours lie above. So a straight line through them
// in logarithms is the level where that is higher; then at most 4 of 150 do. A
// level taken with the wave still in was raised by what the wave leaks, and now
// and then hid one as large as the noise; so each of the highest peaks is fitted,
// taken out, and its level taken then. The likeliest wave is kept, and the search
// made again without it.
//
// Sources: power of noise in one frequency is exponential, and with a level
// taken from m others follows (1+z/m)^−m (ratio of chi-squares, F with 2 and
// 2m degrees); the chance over a search of M frequencies is 1−(1−p)^M; scatter
// of a fitted amplitude and period after Rife and Boorstyn (1974), from memory.
package wave

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/dsp/fourier"

	"beatwright/estimate"
)

// Wave is one sine wave: Sin·sin(2πk/Period) + Cos·cos(2πk/Period) at step k.
type Wave struct {
	// Period is in steps, PeriodU95 its 95 % half-width.
	Period, PeriodU95 float64
	Sin, Cos          float64
	// Peak is the size, half of peak to trough; U95 its 95 % half-width.
	Peak, U95 float64
	// Chance is how likely noise of the level seen about it would show one
	// as strong anywhere in the search.
	Chance float64
}

// At is the wave's value at step k.
func (w Wave) At(k float64) float64 {
	s, c := math.Sincos(2 * math.Pi * k / w.Period)
	return w.Sin*s + w.Cos*c
}

// Options bound the search; the zero value searches periods from 2.5 steps to
// half the series, for at most 6 waves of a chance below 0.003.
type Options struct {
	Shortest, Longest float64 // steps
	Chance            float64
	Most              int
}

// orUsual has the zero options of a series of n values set.
func (o Options) orUsual(n int) Options {
	if o.Shortest == 0 {
		o.Shortest = 2.5
	}
	if o.Longest == 0 {
		o.Longest = float64(n) / 2
	}
	if o.Chance == 0 {
		o.Chance = 0.003
	}
	if o.Most == 0 {
		o.Most = 6
	}
	return o
}

// leastValues is how many values a search needs: fewer give no level.
const leastValues = 40

// Find gives the waves in x, whose NaNs are missing values, strongest first.
// The series should have no trend left. It is nil where too little is known.
func Find(x []float64, o Options) []Wave {
	o = o.orUsual(len(x))
	rest := slices.Clone(x)
	if held(rest) < leastValues {
		return nil
	}
	var found []Wave
	for len(found) < o.Most {
		w, ok := strongest(rest, o)
		if !ok {
			break
		}
		found = append(found, w)
		rest = without(rest, w)
	}
	return found
}

func held(x []float64) int {
	n := 0
	for _, v := range x {
		if v == v {
			n++
		}
	}
	return n
}

// finer is how many frequencies are looked at for each independent one, so
// that a wave between two is not missed.
const finer = 4

// spectrum is the power of a series at frequencies j/(steps·finer).
type spectrum struct {
	power []float64
	step  float64 // 1/steps
	bins  float64 // frequencies to an independent one
}

func powers(x []float64) spectrum {
	size := 1
	for size < finer*len(x) {
		size *= 2
	}
	seq := make([]float64, size)
	mean, n := 0.0, 0.0
	for _, v := range x {
		if v == v {
			mean += v
			n++
		}
	}
	mean /= n
	for k, v := range x {
		if v == v {
			seq[k] = v - mean
		}
	}
	coeff := fourier.NewFFT(size).Coefficients(nil, seq)
	p := make([]float64, len(coeff))
	for j, c := range coeff {
		p[j] = (real(c)*real(c) + imag(c)*imag(c)) / n
	}
	return spectrum{p, 1 / float64(size), float64(size) / float64(len(x))}
}

// candidates is how many of the highest peaks are looked at closely.
const candidates = 5

// strongest gives the wave that stands out most, if it does. A wave leaks into
// the frequencies about it, so the level is taken where it was taken out.
func strongest(x []float64, o Options) (Wave, bool) {
	s := powers(x)
	lo, hi := s.searched(o)
	searched := s.chances(lo, hi)
	best, found := Wave{Chance: o.Chance}, false
	for _, j := range s.peaks(lo, hi) {
		w := refine(x, 1/(float64(j)*s.step))
		level, m := powers(without(x, w)).level(j)
		if level <= 0 {
			continue
		}
		z := w.Peak * w.Peak / 4 * float64(held(x)) / level
		w.Chance = -math.Expm1(searched * math.Log1p(-math.Exp(math.Min(-1e-300, logChance(z, m)))))
		if w.Chance < best.Chance {
			best, found = w.doubted(len(x), float64(held(x)), level), true
		}
	}
	return best, found
}

// searched are the first and the last frequency that are looked at.
func (s spectrum) searched(o Options) (lo, hi int) {
	lo, hi = int(math.Ceil(1/o.Longest/s.step)), int(1/o.Shortest/s.step)
	return max(lo, int(s.bins)), min(hi, len(s.power)-2)
}

// chances is how many independent ones these are: a finer grid finds about twice
// as many.
func (s spectrum) chances(lo, hi int) float64 { return math.Max(1, float64(hi-lo+1)/s.bins*2) }

// closer is how many peaks are set against their own level. Which, is told by
// levels taken at frequencies a part of rough apart: they are costly, and
// between neighbours change little.
const (
	closer = 64
	rough  = 0.03
)

// peaks are the frequencies whose power stands highest over their level.
func (s spectrum) peaks(lo, hi int) []int {
	at := s.highest(s.maxima(lo, hi), closer, s.roughly(lo, hi))
	return s.highest(at, candidates, s.level)
}

// maxima are the frequencies whose power is no less than their neighbours'.
func (s spectrum) maxima(lo, hi int) (at []int) {
	for j := lo; j <= hi; j++ {
		if s.power[j] >= s.power[j-1] && s.power[j] >= s.power[j+1] {
			at = append(at, j)
		}
	}
	return at
}

// highest are the n of the frequencies at whose power is least likely for the
// level there.
func (s spectrum) highest(at []int, n int, level func(j int) (level, m float64)) []int {
	var kept []int
	over := map[int]float64{}
	for _, j := range at {
		if l, m := level(j); l > 0 {
			kept, over[j] = append(kept, j), logChance(s.power[j]/l, m)
		}
	}
	slices.SortFunc(kept, func(a, b int) int { return cmp.Compare(over[a], over[b]) })
	return kept[:min(n, len(kept))]
}

// roughly gives the level of the nearest of few frequencies; all of them where
// there are few.
func (s spectrum) roughly(lo, hi int) func(j int) (level, m float64) {
	type known struct {
		at       int
		level, m float64
	}
	var grid []known
	for j := float64(lo); j <= float64(hi); j = max(j+1, j*(1+rough)) {
		l, m := s.level(int(j))
		grid = append(grid, known{int(j), l, m})
	}
	k := 0 // asked in order
	return func(j int) (level, m float64) {
		for k+1 < len(grid) && grid[k+1].at <= j {
			k++
		}
		return grid[k].level, grid[k].m
	}
}

func without(x []float64, w Wave) []float64 {
	rest := slices.Clone(x)
	for k := range rest {
		rest[k] -= w.At(float64(k)) // NaN stays NaN
	}
	return rest
}

// logChance is the logarithm of the chance that noise exceeds z times its
// level, the level taken from m frequencies.
func logChance(z, m float64) float64 { return -m * math.Log1p(z/m) }

// The neighbours that give the level at a frequency: within a factor of
// nearby, at least fewest independent ones to either side where there are as
// many, without those nearer than apart independent ones.
const (
	nearby = 1.5
	fewest = 8
	apart  = 1.6
)

// level is the noise power at frequency j, by the middle of its neighbours,
// and how many independent ones it came from.
func (s spectrum) level(j int) (level, m float64) {
	lo := min(float64(j)/nearby, float64(j)-fewest*s.bins)
	hi := math.Max(float64(j)*nearby, float64(j)+fewest*s.bins)
	first, last := int(math.Max(s.bins, lo)), int(math.Min(float64(len(s.power)-1), hi))
	step := max(1, int(s.bins/2))
	var near, logF, logP []float64
	for i := first; i <= last; i += step {
		if math.Abs(float64(i-j)) > apart*s.bins && s.power[i] > 0 {
			near = append(near, s.power[i])
			logF, logP = append(logF, math.Log(float64(i))), append(logP, math.Log(s.power[i]))
		}
	}
	if len(near) < fewest/2 {
		return 0, 1
	}
	m = float64(len(near)) * float64(step) / s.bins
	level = estimate.Nth(near, len(near)/2) / math.Ln2
	return math.Max(level, slanted(logF, logP, math.Log(float64(j)))), m
}

// slanted is the level where the neighbours' power falls with the frequency,
// as that of all slow wandering does: their straight line in logarithms, at
// frequency x. Near the lower end most neighbours lie above, and their middle
// alone would call wandering a wave.
func slanted(logF, logP []float64, x float64) float64 {
	var mx, my, sxx, sxy float64
	n := float64(len(logF))
	for i := range logF {
		mx, my = mx+logF[i]/n, my+logP[i]/n
	}
	for i := range logF {
		sxx += (logF[i] - mx) * (logF[i] - mx)
		sxy += (logF[i] - mx) * (logP[i] - my)
	}
	if sxx <= 0 || sxy >= 0 {
		return 0
	}
	// The logarithm of exponential power lies on average Euler's constant
	// under the logarithm of its mean.
	const euler = 0.5772156649
	return math.Exp(my + sxy/sxx*(x-mx) + euler)
}

// refine fits the wave near a period by least squares.
func refine(x []float64, period float64) Wave {
	f0, reach := 1/period, 0.6/float64(len(x))
	best, at := math.Inf(-1), f0
	for span := reach; span > reach/200; span /= 4 {
		centre := at
		for i := -6; i <= 6; i++ {
			f := centre + span*float64(i)/6
			if f <= 0 {
				continue
			}
			if _, _, p := fit(x, f); p > best {
				best, at = p, f
			}
		}
	}
	s, c, _ := fit(x, at)
	return Wave{Period: 1 / at, Sin: s, Cos: c, Peak: math.Hypot(s, c)}
}

// doubted gives the wave its uncertainties, of n values in so many steps. The level
// is the noise's variance a value, so either part of the fit scatters by √(2·level/n).
func (w Wave) doubted(steps int, n, level float64) Wave {
	sd := math.Sqrt(2 * level / n)
	w.U95 = 1.96 * sd
	f := math.Sqrt(3) / (math.Pi * float64(steps)) * sd / math.Max(w.Peak, sd)
	w.PeriodU95 = 1.96 * math.Sqrt2 * f * w.Period * w.Period
	return w
}

// fit gives the parts of the wave of frequency f and the power it explains.
func fit(x []float64, f float64) (sin, cos, power float64) {
	var ss, cc, sc, sx, cx float64
	// The angle turns by a fixed step: a turn of the pair (s, c) is much
	// cheaper than its sine and cosine, and over a day of beats off by less
	// than 1e-9.
	stepS, stepC := math.Sincos(2 * math.Pi * f)
	s, c := 0.0, 1.0
	for _, v := range x {
		if v == v {
			ss, cc, sc = ss+s*s, cc+c*c, sc+s*c
			sx, cx = sx+s*v, cx+c*v
		}
		s, c = s*stepC+c*stepS, c*stepC-s*stepS
	}
	det := ss*cc - sc*sc
	if det <= 0 {
		return 0, 0, 0
	}
	sin, cos = (sx*cc-cx*sc)/det, (cx*ss-sx*sc)/det
	return sin, cos, sin*sx + cos*cx
}
