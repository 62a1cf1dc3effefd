package measure

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"beatwright/estimate"
	"beatwright/reading"
	"beatwright/wave"
)

const (
	// leastToothTurns is how many turns of the escape wheel must be heard before
	// its teeth are told one by one.
	leastToothTurns = 4
	// sameTooth is how alike the two sides' teeth must be, as a correlation, to
	// tell which second beat is of which tooth, and clearer how much more alike
	// than the other way round.
	sameTooth, clearer = 0.6, 0.3
)

// setTeeth adds the teeth to the periodicity of the escape wheel's turn. t is the
// wheel found by its comb, nil where a single wave may be its turn.
func (p *pace) setTeeth(all []reading.Periodicity, t *teeth, waves []wave.Wave, given int) {
	count := given
	if t != nil {
		count = t.count
	}
	if count <= 0 {
		return
	}
	for i, x := range all {
		beats := float64(x.Period) / p.beat
		if math.Abs(beats-float64(2*count)) < 0.004*beats+0.05 {
			all[i].Teeth, all[i].SecondBy = p.toothMap(count, waves)
			return
		}
	}
}

// toothMap folds the beats over the turn of an escape wheel, the waves that are
// not of the turn taken out; nil where it was not heard often enough.
func (p *pace) toothMap(count int, waves []wave.Wave) ([]reading.Tooth, string) {
	x := p.series()
	x = x[:min(len(x), mostSearched)]
	for _, w := range waves {
		if h := float64(2*count) / w.Period; math.Abs(h-math.Round(h)) > 0.02*math.Max(1, h) || math.Round(h) < 1 {
			for k := range x {
				x[k] -= w.At(float64(k))
			}
		}
	}
	if p.beats[0].Side() == 1 {
		x = x[1:] // the first tooth begins with a first beat
	}
	if len(x) < leastToothTurns*2*count {
		return nil, ""
	}
	f, ok := wave.FoldOver(x, 2*count)
	if !ok {
		return nil, ""
	}
	aboutMiddle(f)
	shift, by := secondShift(f, count)
	out := make([]reading.Tooth, count)
	for j := range out {
		out[j] = reading.Tooth{Tooth: j + 1, First: lagOf(f, 2*j), Second: lagOf(f, 2*((j+shift+count)%count)+1)}
	}
	return out, by
}

// aboutMiddle takes from either side's lags the middle one: a bad tooth is told
// against the good ones, and does not make those early.
func aboutMiddle(f wave.Fold) {
	for s := range 2 {
		var side []float64
		for i := s; i < len(f.Mean); i += 2 {
			side = append(side, f.Mean[i])
		}
		m := estimate.Median(side)
		for i := s; i < len(f.Mean); i += 2 {
			f.Mean[i] -= m
		}
	}
}

// lagOf is the lag in place i of a fold over the turn, with the chance of one as
// large in any place.
func lagOf(f wave.Fold, i int) reading.ToothLag {
	n := float64(len(f.Mean))
	l := reading.ToothLag{Ms: f.Mean[i] * 1e3, U95: f.U95[i] * 1e3, Chance: 1}
	if f.U95[i] > 0 {
		free := n * (f.Turns - 1)
		t := math.Abs(f.Mean[i]) / f.U95[i] * distuv.StudentsT{Mu: 0, Sigma: 1, Nu: free}.Quantile(0.975)
		one := 2 * distuv.StudentsT{Mu: 0, Sigma: 1, Nu: free}.Survival(t)
		l.Chance = -math.Expm1(n * math.Log1p(-math.Min(one, 1-1e-12)))
	}
	return l
}

// secondShift tells how many pairs later a tooth of a first beat gives a second
// one. The pallets span two spaces and a half [Playtner1910], so that a tooth is
// met again five beats later, or by the other pallet first five beats sooner:
// which pallet is whose side sound does not say, but the teeth do where they
// differ.
func secondShift(f wave.Fold, count int) (shift int, by string) {
	const later, sooner = 2, -3
	first, second := make([]float64, count), make([]float64, count)
	alike := func(shift int) float64 {
		for j := range first {
			first[j], second[j] = 1e3*f.Mean[2*j], 1e3*f.Mean[2*((j+shift+count)%count)+1]
		}
		return correlation(first, second)
	}
	a, b := alike(later), alike(sooner)
	switch {
	case a > sameTooth && a > b+clearer:
		return later, reading.ByTooth
	case b > sameTooth && b > a+clearer:
		return sooner, reading.ByTooth
	}
	return 0, reading.ByPair
}
