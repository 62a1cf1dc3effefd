package wave

import (
	"math"

	"beatwright/estimate"

	"gonum.org/v1/gonum/stat/distuv"
)

// Fold is a series laid over itself every so many steps.
type Fold struct {
	// Mean is the mean at each step of the period, U95 its 95 % half-width.
	Mean, U95 []float64
	// Turns is how often the period was covered.
	Turns float64
	// Chance is how likely noise would make the means differ as much, by the
	// analysis of variance (F test).
	Chance float64
}

// leastTurns is how often a period must be covered before its means are told
// from chance.
const leastTurns = 3

// FoldOver gives the means of x over a period of whole steps; ok is false
// where it was not covered three times with values in each step.
func FoldOver(x []float64, period int) (f Fold, ok bool) {
	if period < 2 || len(x) < leastTurns*period {
		return Fold{}, false
	}
	sum, n := make([]float64, period), make([]float64, period)
	for k, v := range x {
		if v == v {
			sum[k%period] += v
			n[k%period]++
		}
	}
	var all, count float64
	f = Fold{Mean: make([]float64, period), U95: make([]float64, period), Turns: float64(len(x)) / float64(period)}
	for i := range sum {
		if n[i] < 2 {
			return Fold{}, false
		}
		f.Mean[i] = sum[i] / n[i]
		all, count = all+sum[i], count+n[i]
	}
	all /= count
	var within, between float64
	for k, v := range x {
		if v == v {
			d := v - f.Mean[k%period]
			within += d * d
		}
	}
	for i, m := range f.Mean {
		between += n[i] * (m - all) * (m - all)
		f.Mean[i] -= all
	}
	d1, d2 := float64(period-1), count-float64(period)
	s2 := within / d2
	for i := range f.U95 {
		f.U95[i] = estimate.Student95(d2) * math.Sqrt(s2/n[i])
	}
	f.Chance = 1
	if s2 > 0 {
		f.Chance = distuv.F{D1: d1, D2: d2}.Survival(between / d1 / s2)
	}
	return f, true
}
