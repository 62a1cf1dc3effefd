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
	"math"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"
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
	seek := newSearch(len(x))
	var found []Wave
	for len(found) < o.Most {
		w, ok := seek.strongest(rest, o)
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

// each does what is asked for every one of js, on all cores.
func each[T any](js []int, do func(j int) T) []T {
	out := make([]T, len(js))
	var next atomic.Int64
	var wg sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), len(js)) {
		wg.Go(func() {
			for i := next.Add(1) - 1; i < int64(len(js)); i = next.Add(1) - 1 {
				out[i] = do(js[i])
			}
		})
	}
	wg.Wait()
	return out
}

func without(x []float64, w Wave) []float64 {
	rest := slices.Clone(x)
	for k := range rest {
		rest[k] -= w.At(float64(k)) // NaN stays NaN
	}
	return rest
}

// candidates is how many of the highest peaks are looked at closely.
const candidates = 5

// search holds what every look at a series of one length needs.
type search struct {
	size int
	logs []float64 // of whole numbers
}

// strongest gives the wave that stands out most, if it does. A wave leaks into
// the frequencies about it, so the level is taken where it was taken out.
func (k *search) strongest(x []float64, o Options) (Wave, bool) {
	s := k.powers(x)
	lo, hi := s.searched(o)
	searched := s.chances(lo, hi)
	waves := each(s.peaks(lo, hi), func(j int) Wave {
		w := refine(x, 1/(float64(j)*s.step))
		level, m := k.powers(without(x, w)).level(j)
		if level <= 0 {
			return Wave{Chance: 1}
		}
		z := w.Peak * w.Peak / 4 * float64(held(x)) / level
		w = w.doubted(len(x), float64(held(x)), level)
		w.Chance = -math.Expm1(searched * math.Log1p(-math.Exp(math.Min(-1e-300, logChance(z, m)))))
		return w
	})
	best, found := Wave{Chance: o.Chance}, false
	for _, w := range waves {
		if w.Chance < best.Chance {
			best, found = w, true
		}
	}
	return best, found
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
