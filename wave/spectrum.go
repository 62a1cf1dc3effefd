package wave

import (
	"cmp"
	"math"
	"slices"

	"beatwright/dsp"
	"beatwright/estimate"
)

// finer is how many frequencies are looked at for each independent one, so
// that a wave between two is not missed.
const finer = 4

// spectrum is the power of a series at frequencies j/(steps·finer).
type spectrum struct {
	power []float64
	step  float64   // 1/steps
	bins  float64   // frequencies to an independent one
	logs  []float64 // of whole numbers
	// ofPower are the powers' logarithms, 0 where one was not yet asked for.
	ofPower []float64
}

// newSearch prepares for series of n values.
func newSearch(n int) *search {
	k := &search{size: 1}
	for k.size < finer*n {
		k.size *= 2
	}
	k.logs = make([]float64, k.size/2+1)
	for i := range k.logs {
		k.logs[i] = math.Log(float64(i))
	}
	return k
}

func (k *search) powers(x []float64) spectrum {
	seq := make([]float64, k.size)
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
	coeff := dsp.Transform(seq)
	p := seq[:len(coeff)]
	for j, c := range coeff {
		p[j] = (real(c)*real(c) + imag(c)*imag(c)) / n
	}
	return spectrum{p, 1 / float64(k.size), float64(k.size) / float64(len(x)), k.logs, make([]float64, len(p))}
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
	type peak struct {
		at   int
		over float64
	}
	var kept []peak
	for _, j := range at {
		if l, m := level(j); l > 0 {
			kept = append(kept, peak{j, logChance(s.power[j]/l, m)})
		}
	}
	slices.SortFunc(kept, func(a, b peak) int { return cmp.Compare(a.over, b.over) })
	out := make([]int, min(n, len(kept)))
	for i := range out {
		out[i] = kept[i].at
	}
	return out
}

// roughly gives the level of the nearest of few frequencies; all of them where
// there are few.
func (s spectrum) roughly(lo, hi int) func(j int) (level, m float64) {
	var at []int
	for j := float64(lo); j <= float64(hi); j = max(j+1, j*(1+rough)) {
		at = append(at, int(j))
	}
	for i := range s.power { // all are needed, by several at once
		s.logPower(i)
	}
	type known struct{ level, m float64 }
	grid := each(at, func(j int) known {
		l, m := s.level(j)
		return known{l, m}
	})
	k := 0 // asked in order
	return func(j int) (level, m float64) {
		for k+1 < len(at) && at[k+1] <= j {
			k++
		}
		return grid[k].level, grid[k].m
	}
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
	n := neighbours{at: j, apart: apart * s.bins, step: max(1, int(s.bins/2))}
	n.first, n.last = int(math.Max(s.bins, lo)), int(math.Min(float64(len(s.power)-1), hi))
	near := make([]float64, 0, max(0, n.last-n.first)/n.step+1)
	for i := n.first; i <= n.last; i += n.step {
		if n.holds(i) && s.power[i] > 0 {
			near = append(near, s.power[i])
		}
	}
	if len(near) < fewest/2 {
		return 0, 1
	}
	m = float64(len(near)) * float64(n.step) / s.bins
	level = estimate.Nth(near, len(near)/2) / math.Ln2
	return math.Max(level, s.slanted(n, float64(len(near)))), m
}

// neighbours are frequencies from first to last, in steps, without those near
// to the one at.
type neighbours struct {
	at, first, last, step int
	apart                 float64
}

func (n neighbours) holds(i int) bool { return math.Abs(float64(i-n.at)) > n.apart }

// slanted is the level where the neighbours' power falls with the frequency,
// as that of all slow wandering does: the straight line in logarithms through
// the count of them that have any. Near the lower end most neighbours lie
// above, and their middle alone would call wandering a wave.
func (s spectrum) slanted(n neighbours, count float64) float64 {
	var mx, my, sxx, sxy float64
	for i := n.first; i <= n.last; i += n.step {
		if n.holds(i) && s.power[i] > 0 {
			mx, my = mx+s.logs[i], my+s.logPower(i)
		}
	}
	mx, my = mx/count, my/count
	for i := n.first; i <= n.last; i += n.step {
		if n.holds(i) && s.power[i] > 0 {
			dx := s.logs[i] - mx
			sxx += dx * dx
			sxy += dx * (s.logPower(i) - my)
		}
	}
	if sxx <= 0 || sxy >= 0 {
		return 0
	}
	// The logarithm of exponential power lies on average Euler's constant
	// under the logarithm of its mean.
	const euler = 0.5772156649
	return math.Exp(my + sxy/sxx*(s.logs[n.at]-mx) + euler)
}

// logPower is ln of the power at frequency i, reckoned once.
func (s spectrum) logPower(i int) float64 {
	if s.ofPower[i] == 0 && s.power[i] != 1 {
		s.ofPower[i] = math.Log(s.power[i])
	}
	return s.ofPower[i]
}
