package measure

import (
	"math"
	"runtime"
	"slices"
	"sync"

	"beatwright/beat"
	"beatwright/estimate"
	"beatwright/reading"
	"beatwright/unit"
)

// stretch is steady running: beats of one run between two changes, with the
// segments that hold them.
type stretch struct {
	segs   []*beat.Segment
	beats  []beat.Beat
	period unit.Seconds
	hum    bool // found under the mains' rhythm
	beside *beat.Neighbour
}

func (s stretch) span() unit.Seconds {
	if len(s.beats) == 0 {
		return 0
	}
	return s.beats[len(s.beats)-1].At - s.beats[0].At
}

// keptSpan is from the first to the last beat kept.
func (s stretch) keptSpan() (from, to unit.Seconds) {
	first := true
	for _, b := range s.beats {
		if b.Why == "" {
			if first {
				from, first = b.At, false
			}
			to = b.At
		}
	}
	return from, to
}

func (s stretch) kept() int {
	n := 0
	for _, b := range s.beats {
		if b.Why == "" {
			n += b.Count()
		}
	}
	return n
}

// stretches cuts the runs where something changed, within [from, to), and
// says what changed.
func stretches(runs []*beat.Run, from, to unit.Seconds) (out []stretch, changes []reading.Change) {
	for i, r := range runs {
		s := stretch{period: r.Period, hum: r.Hum, beside: r.Beside}
		for _, g := range r.Segments {
			bs := within(g.Beats, from, to)
			if len(bs) == 0 {
				continue
			}
			s.segs = append(s.segs, g)
			s.beats = append(s.beats, bs...)
		}
		if len(s.beats) == 0 {
			continue
		}
		if i > 0 && len(out) > 0 {
			changes = append(changes, between(runs[i-1], r, s.beats[0].At))
		}
		parts, cs := s.split()
		out = append(out, parts...)
		changes = append(changes, cs...)
	}
	return out, changes
}

func within(bs []beat.Beat, from, to unit.Seconds) []beat.Beat {
	lo := 0
	for lo < len(bs) && bs[lo].At < from {
		lo++
	}
	hi := len(bs)
	for hi > lo && bs[hi-1].At >= to {
		hi--
	}
	return bs[lo:hi]
}

// between names the change from one run to the next. A watch that was hidden
// for longer than turnedSec was turned or handled; one found at once in its old
// phase and rate was only not heard; otherwise its phase stepped.
func between(a, b *beat.Run, at unit.Seconds) reading.Change {
	const turnedSec = 1.5
	last := lastAt(a)
	rate := float64(unit.Day) * (float64(a.Period)/float64(b.Period) - 1)
	c := reading.Change{At: at, What: reading.PhaseStep}
	if onPhase(a, last, at) && math.Abs(rate) < sameRate {
		ms := float64(at-last) * 1e3
		c.What, c.Ms = reading.Gap, &ms
		return c
	}
	if at-last > turnedSec+a.Period || math.IsNaN(float64(b.Shift)) {
		c.What = reading.Turned
		c.PerDay = &rate
		return c
	}
	// Which side is which cannot be told: the step is the least that fits.
	beatTime := float64(b.Period) / 2
	ms := 1e3 * (float64(b.Shift) - beatTime*math.Round(float64(b.Shift)/beatTime))
	c.Ms = &ms
	return c
}

// sameRate: a watch found again at a rate within this, s/d, and in its old
// phase, was only not heard.
const sameRate = 15.0

// onPhase tells whether a beat at a moment falls where run a, had it gone on,
// would have one; either side's, as a beat error shifts one against the other.
func onPhase(a *beat.Run, last, at unit.Seconds) bool {
	n := float64((at - last) / (a.Period / 2))
	return math.Abs(n-math.Round(n)) < 0.03
}

func lastAt(r *beat.Run) unit.Seconds {
	s := r.Segments[len(r.Segments)-1]
	if len(s.Beats) == 0 {
		return 0
	}
	return s.Beats[len(s.Beats)-1].At
}

const (
	// leastBeats is the least evidence for a reading.
	leastBeats = 8
	// A step inside a run must clear its noise by this factor, and be at
	// least so large: smaller ones are a watch's ordinary wandering.
	stepSigmas   = 7.0
	leastStep    = 0.0004 // s
	leastRateGap = 8.0    // s/d
)

// split looks for the strongest change inside a stretch, a step of phase or
// of rate, and cuts there; then looks into both parts.
func (s stretch) split() (out []stretch, changes []reading.Change) {
	at, c, ok := s.strongest()
	if !ok {
		return []stretch{s}, nil
	}
	a, b := s.cutAt(at)
	if a.kept() < leastBeats || b.kept() < leastBeats || rms2(a)+rms2(b) > worthCutting*rms2(s) {
		return []stretch{s}, nil
	}
	left, lc := a.split()
	right, rc := b.split()
	changes = append(append(lc, c), rc...)
	return append(left, right...), changes
}

// worthCutting: a cut must take away so much of the squares about the line;
// a wave of the train takes less, a true step nearly all.
const worthCutting = 0.5

// rms2 is the sum of squares of a stretch about its own line, outliers held
// in.
func rms2(s stretch) float64 {
	p := timing(s.beats, func(float64) float64 { return 0 }, 0, 0)
	limit := 6 * p.line.Scale
	var sum float64
	for _, r := range p.line.Residual {
		sum += math.Min(r*r, limit*limit)
	}
	return sum
}

// strongest compares, at every second place with enough beats to either side, the
// lines through the nearest beats before and after it. Of many beats, every
// eighth place is looked at first, and what lies about those that show
// something.
func (s stretch) strongest() (at int, c reading.Change, ok bool) {
	const few, apart, hint = 2000, 8, 0.4
	var bs []beat.Beat
	for _, b := range s.beats {
		if b.Why == "" {
			bs = append(bs, b)
		}
	}
	if len(bs) < 4*leastBeats {
		return 0, c, false
	}
	best := 1.0
	first, last := 2*leastBeats, len(bs)-2*leastBeats
	look := func(j int) {
		if score, here := stepAt(bs, j); score > best {
			best, at, c, ok = score, bs[j].K, here, true
		}
	}
	if len(bs) <= few {
		for j := first; j <= last; j += 2 {
			look(j)
		}
		return at, c, ok
	}
	done := first
	for i, score := range stepsAt(bs, first, last, apart) {
		if j := first + i*apart; score > hint {
			for done = max(done, j-apart); done <= min(last, j+apart); done += 2 {
				look(done)
			}
		}
	}
	return at, c, ok
}

// stepsAt is how far what changes at every so manieth place from first to last
// clears its noise, reckoned on all cores.
func stepsAt(bs []beat.Beat, first, last, apart int) []float64 {
	scores := make([]float64, (last-first)/apart+1)
	share := len(scores)/runtime.GOMAXPROCS(0) + 1
	var wg sync.WaitGroup
	for from := 0; from < len(scores); from += share {
		wg.Go(func() {
			for i := from; i < min(from+share, len(scores)); i++ {
				scores[i], _ = stepAt(bs, first+i*apart)
			}
		})
	}
	wg.Wait()
	return scores
}

// stepAt is what changes at bs[j], and how far it clears its noise and the
// least that counts: 1 and more is a change.
func stepAt(bs []beat.Beat, j int) (score float64, c reading.Change) {
	const reach = 40
	l, lsd := localLine(bs[max(0, j-reach):j], bs[j])
	r, rsd := localLine(bs[j:min(len(bs), j+reach)], bs[j])
	sd := math.Max(math.Hypot(lsd.step, rsd.step), 1e-7)
	step := r.step - l.step
	ms := step * 1e3
	score = math.Min(math.Abs(step)/(stepSigmas*sd), math.Abs(step)/leastStep)
	c = reading.Change{At: bs[j].At, What: reading.PhaseStep, Ms: &ms}
	gap := float64(unit.Day) * (l.slope/r.slope - 1)
	gsd := float64(unit.Day) * math.Hypot(lsd.slope, rsd.slope) / l.slope
	if rate := math.Min(math.Abs(gap)/(stepSigmas*gsd), math.Abs(gap)/leastRateGap); rate > score && math.Abs(step) < leastStep {
		score, c = rate, reading.Change{At: bs[j].At, What: reading.RateStep, PerDay: &gap}
	}
	return score, c
}

type local struct{ step, slope float64 }

// localLine is the line through bs, its value at beat o relative to o, and
// the standard deviations of value and slope.
func localLine(bs []beat.Beat, o beat.Beat) (v, sd local) {
	x, y, side := make([]float64, len(bs)), make([]float64, len(bs)), make([]int, len(bs))
	for i, b := range bs {
		x[i], y[i], side[i] = float64(b.K-o.K), float64(b.At-o.At), b.Side()
	}
	l := estimate.FitLine(x, y, side)
	var m, sxx float64
	for _, xi := range x {
		m += xi / float64(len(x))
	}
	for _, xi := range x {
		sxx += (xi - m) * (xi - m)
	}
	v = local{step: (l.Offset[0] + l.Offset[1]) / 2, slope: l.Slope}
	n := float64(len(bs))
	sd = local{step: l.Scale * math.Sqrt(1/n+m*m/sxx), slope: l.Scale / math.Sqrt(sxx)}
	return v, sd
}

// cutAt parts the stretch before beat k; a segment that holds both sides goes
// to the part with more of its beats.
func (s stretch) cutAt(k int) (a, b stretch) {
	a, b = stretch{period: s.period, hum: s.hum, beside: s.beside}, stretch{period: s.period, hum: s.hum, beside: s.beside}
	for _, x := range s.beats {
		if x.K < k {
			a.beats = append(a.beats, x)
		} else {
			b.beats = append(b.beats, x)
		}
	}
	for _, g := range s.segs {
		before := 0
		for _, x := range g.Beats {
			if x.K < k {
				before++
			}
		}
		if 2*before >= len(g.Beats) {
			a.segs = append(a.segs, g)
		} else {
			b.segs = append(b.segs, g)
		}
	}
	return a, b
}

// longest is the stretch with the most beats kept, of those whose averaged sound is
// still at hand if there are any.
func longest(ss []stretch) (best stretch, ok bool) {
	n, sounds := leastBeats-1, false
	for _, s := range ss {
		k := s.kept()
		if k < leastBeats || len(s.segs) == 0 {
			continue
		}
		if p := s.profiled(); p && !sounds || p == sounds && k > n {
			best, n, sounds, ok = s, k, p, true
		}
	}
	return best, ok
}

func (s stretch) profiled() bool {
	return slices.ContainsFunc(s.segs, func(g *beat.Segment) bool { return g.Profile[0].N+g.Profile[1].N > 0 })
}
