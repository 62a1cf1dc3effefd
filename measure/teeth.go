package measure

import (
	"math"
	"slices"

	"beatwright/wave"
)

// teeth is the escape wheel as its own beats show it, where one or some of its
// teeth stand off: a fault of a tooth returns once a turn, as a comb of waves
// and not as one.
type teeth struct {
	count   int
	members []int // of the waves found, those of the comb
	fold    wave.Fold
}

// An escape wheel whose count is not known is looked for among these (common
// practice: 15 in most, 12 to 24 met).
const fewestTeeth, mostTeeth = 12, 24

// leastComb is how many waves of one turn make a comb rather than a chance
// meeting of periods (chosen: two pairs of unrelated waves meet often).
const leastComb = 3

// combOf finds the escape wheel's comb among waves, nil if there is none. The
// count is the one given, or the one that explains most waves.
func combOf(waves []wave.Wave, given int) *teeth {
	least, most := fewestTeeth, mostTeeth
	if given > 0 {
		least, most = given, given
	}
	var best *teeth
	for z := least; z <= most; z++ {
		t := &teeth{count: z}
		for i, w := range waves {
			h := math.Round(float64(2*z) / w.Period)
			// Beyond a half of the turn's beats there are no harmonics.
			if h >= 1 && h <= float64(z) && math.Abs(h*w.Period-float64(2*z)) <= 1.5*h*w.PeriodU95+1e-3 {
				t.members = append(t.members, i)
			}
		}
		if len(t.members) >= leastComb && (best == nil || len(t.members) > len(best.members)) {
			best = t
		}
	}
	return best
}

// escapeWheel folds the beats over the turn of the escape wheel, other waves
// taken out.
func (p *pace) escapeWheel(waves []wave.Wave, given int) *teeth {
	t := combOf(waves, given)
	if t == nil {
		return nil
	}
	x := p.series()
	x = x[:min(len(x), mostSearched)]
	for i, w := range waves {
		if !slices.Contains(t.members, i) {
			for k := range x {
				x[k] -= w.At(float64(k))
			}
		}
	}
	fold, ok := wave.FoldOver(x, 2*t.count)
	if !ok {
		return nil
	}
	t.fold = fold
	return t
}

// farOff is how far from the line, in scatters, a beat still enters the search
// for what recurs: a bad tooth's beats are far off the line, and so is a knock.
const farOff = 15

// series is how late each beat is, s, from the first on; NaN where it was left
// out.
func (p *pace) series() []float64 {
	k0 := p.beats[0].K
	x := make([]float64, p.beats[len(p.beats)-1].K-k0+1)
	for i := range x {
		x[i] = math.NaN()
	}
	for i, b := range p.beats {
		if b.Why == "" {
			x[b.K-k0] = math.Max(-farOff*p.line.Scale, math.Min(farOff*p.line.Scale, p.resid[i]))
		}
	}
	return x
}

// peak is half the range of the turn, with its 95 % half-width, s.
func (t *teeth) peak() (size, u95 float64) {
	lo, hi := math.Inf(1), math.Inf(-1)
	for i, m := range t.fold.Mean {
		lo, hi = math.Min(lo, m), math.Max(hi, m)
		u95 = math.Max(u95, t.fold.U95[i])
	}
	return (hi - lo) / 2, u95 / math.Sqrt2
}

// joined are the waves with the comb told as what it is: one of the turn of the
// escape wheel.
func (t *teeth) joined(waves []wave.Wave) []wave.Wave {
	var rest []wave.Wave
	turn := wave.Wave{Period: float64(2 * t.count), Chance: 1}
	for i, w := range waves {
		if !slices.Contains(t.members, i) {
			rest = append(rest, w)
			continue
		}
		turn.Chance = math.Min(turn.Chance, w.Chance)
	}
	turn.Peak, turn.U95 = t.peak()
	return append(rest, turn)
}
