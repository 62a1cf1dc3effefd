package wave

import "math"

// Noise is what a series without its waves says of those there may be.
type Noise struct {
	s     spectrum
	n     float64 // values
	steps int
}

// NoiseOf takes a series with no trend and no wave left, whose NaNs are missing
// values; ok is false where it holds too little to say.
func NoiseOf(x []float64) (n Noise, ok bool) {
	if held(x) < leastValues {
		return n, false
	}
	return Noise{newSearch(len(x)).powers(x), float64(held(x)), len(x)}, true
}

// Least is how large a wave of a period, in steps, must be for Find to tell it in
// 95 of 100 series of this noise.
//
// Find counts a wave from z times the level on, z by the chance; the size found
// scatters about the true one by √(2·level/n).
func (n Noise) Least(period float64, o Options) float64 {
	const oneSided95 = 1.645
	o = o.orUsual(n.steps)
	lo, hi := n.s.searched(o)
	level, m := n.s.level(n.nearest(period, lo, hi))
	one := -math.Expm1(math.Log1p(-o.Chance) / n.s.chances(lo, hi))
	z := m * math.Expm1(-math.Log(one)/m)
	return 2*math.Sqrt(z*level/n.n) + oneSided95*math.Sqrt(2*level/n.n)
}

// Doubt is w with its uncertainties by the noise about its frequency.
func (n Noise) Doubt(w Wave) Wave {
	level, _ := n.s.level(n.nearest(w.Period, int(n.s.bins), len(n.s.power)-2))
	if level <= 0 {
		return w
	}
	return w.doubted(n.steps, n.n, level)
}

// nearest is the frequency of a period, in steps, between lo and hi.
func (n Noise) nearest(period float64, lo, hi int) int {
	return min(max(lo, int(math.Round(1/period/n.s.step))), hi)
}
