package wave

import "math"

// Least is how large a wave of a period, in steps, must be for Find to tell it in
// 95 of 100 series whose noise is x; 0 where x holds too little to say.
//
// Find counts a wave from z times the level on, z by the chance; the size found
// scatters about the true one by √(2·level/n).
func Least(x []float64, period float64, o Options) float64 {
	const oneSided95 = 1.645
	o = o.orUsual(len(x))
	n := float64(held(x))
	if n < leastValues {
		return 0
	}
	s := powers(x)
	lo, hi := s.searched(o)
	level, m := s.level(s.nearest(period, lo, hi))
	one := -math.Expm1(math.Log1p(-o.Chance) / s.chances(lo, hi))
	z := m * math.Expm1(-math.Log(one)/m)
	return 2*math.Sqrt(z*level/n) + oneSided95*math.Sqrt(2*level/n)
}

// Doubted is w with its uncertainties by the noise about its frequency in x, in
// which it no longer is; w as it is where x holds too little to say.
func (w Wave) Doubted(x []float64) Wave {
	if held(x) < leastValues {
		return w
	}
	s := powers(x)
	level, _ := s.level(s.nearest(w.Period, int(s.bins), len(s.power)-2))
	if level <= 0 {
		return w
	}
	return w.doubted(x, level)
}

// nearest is the frequency of a period, in steps, between lo and hi.
func (s spectrum) nearest(period float64, lo, hi int) int {
	return min(max(lo, int(math.Round(1/period/s.step))), hi)
}
