package measure

import "math"

// onset is the beginning of one strike in an averaged beat. Where a strike
// begins is a matter of definition. Tried on simulated beats of two unlike
// simulators, over crests looked for within 0.1 to 1 ms and levels from 2 to
// 50 % of the crest: the half-height of the whole strike errs by 0.1–0.3 ms
// (strikes swell over several turns of their ringing), a twentieth of what is
// reached within 0.15 ms of the steepest rise by 0.02–0.04 ms. The latter is
// used; what it leaves is a term of the uncertainty (defSec).
type onset struct {
	idx   int     // cell of the steepest rise
	rise  float64 // ln, how far it lifts the sound over what was before
	base  float64 // whitened power before it
	first float64 // greatest power within firstSec of idx
	crest float64 // greatest power within crestSec
	top   int     // cell of first
}

const (
	afterSec  = 0.0004
	beforeSec = 0.0005
	gapSec    = 0.0001
	firstSec  = 0.00015
	crestSec  = 0.0015
	apartSec  = 0.0005
	lowLevel  = 0.05
	// A rise counts from this many standard deviations of the rises in the
	// quiet of the profile: among some thousand places noise reaches 5.
	riseSigmas = 6.0
)

// riseLimit is the least rise, in ln units, that is not noise.
func (s shape) riseLimit(sigmas float64) float64 { return math.Max(0.06, sigmas*s.riseNoise) }

// faintest is the crest, over the noise, of the faintest strike whose rise
// would have counted.
func (s shape) faintest() float64 { return math.Exp(s.riseLimit(riseSigmas)*1.4) - 1 }

// onsets finds all rises of a shape that clear the noise by sigmas.
func (s shape) onsets(sigmas float64) []onset {
	rise := s.rises()
	limit, apart := s.riseLimit(sigmas), s.cells(apartSec)
	var out []onset
	for i := range rise {
		if rise[i] >= limit && topOf(rise, i, apart) {
			out = append(out, s.strike(i, rise[i]))
		}
	}
	return out
}

// rises gives for every cell how much louder (ln) the sound is just after it
// than it was just before.
func (s shape) rises() []float64 {
	after, before, gap := s.cells(afterSec), s.cells(beforeSec), s.cells(gapSec)
	sum := make([]float64, len(s.z)+1)
	for i, v := range s.z {
		sum[i+1] = sum[i] + math.Log(math.Max(v, 0.2))
	}
	rise := make([]float64, len(s.z))
	for i := before + gap; i+after < len(s.z); i++ {
		rise[i] = (sum[i+after]-sum[i])/float64(after) - (sum[i-gap]-sum[i-gap-before])/float64(before)
	}
	return rise
}

func (s shape) cells(sec float64) int { return max(1, int(math.Round(sec/s.cell))) }

func topOf(x []float64, i, reach int) bool {
	for j := max(0, i-reach); j <= min(len(x)-1, i+reach); j++ {
		if x[j] > x[i] || x[j] == x[i] && j < i {
			return false
		}
	}
	return true
}

// strike describes the strike whose steepest rise is at cell i.
func (s shape) strike(i int, rise float64) onset {
	o := onset{idx: i, rise: rise, base: math.Inf(1), top: i}
	for j := max(0, i-s.cells(0.0004)); j <= i; j++ {
		o.base = math.Min(o.base, s.z[j])
	}
	for j := i; j <= min(len(s.z)-1, i+s.cells(crestSec)); j++ {
		if j <= i+s.cells(firstSec) && s.z[j] > s.z[o.top] {
			o.top = j
		}
		o.crest = math.Max(o.crest, s.z[j])
	}
	o.first = s.z[o.top]
	return o
}

// at is where the strike passes the fraction q of its first height over what
// was before, cells.
func (s shape) at(o onset, q float64) float64 {
	return crossing(s.z, o.top, o.idx-s.cells(0.0014), o.base+q*(o.first-o.base))
}

// fraction is the least fraction of its height at which a strike can be told
// from the noise before it.
func (s shape) fraction(o onset) float64 {
	return math.Min(0.5, math.Max(lowLevel, 3*s.noise*math.Max(1, o.base)/math.Max(o.first-o.base, 1e-9)))
}

// crossing is where z, followed back from index from to lo, falls below the
// level.
func crossing(z []float64, from, lo int, level float64) float64 {
	for j := from; j > max(lo, 0); j-- {
		if z[j-1] < level {
			d := z[j] - z[j-1]
			if d <= 0 {
				return float64(j)
			}
			return float64(j-1) + (level-z[j-1])/d
		}
	}
	return float64(max(lo, 0))
}
