package plot

import "math"

// axis maps values to places.
type axis struct {
	low, high float64 // values
	from, to  float64 // px
}

func (a axis) at(v float64) float64 {
	if a.high == a.low {
		return (a.from + a.to) / 2
	}
	return a.from + (v-a.low)/(a.high-a.low)*(a.to-a.from)
}

// steps gives even ticks, about n of them, at 1, 2 or 5 times a power of ten,
// and how many digits after the point they need.
func (a axis) steps(n int) (ticks []float64, places int) {
	step := niceStep((a.high - a.low) / float64(n))
	if !(step > 0) || math.IsInf(step, 0) {
		return nil, 0
	}
	for i := math.Ceil(a.low/step - 1e-9); i*step <= a.high+1e-9*step; i++ {
		ticks = append(ticks, i*step)
	}
	return ticks, max(0, int(math.Ceil(-math.Log10(step)-1e-9)))
}

// niceStep is the smallest of 1, 2 or 5 times a power of ten not below v.
func niceStep(v float64) float64 {
	if !(v > 0) || math.IsInf(v, 0) {
		return 0
	}
	p := math.Pow(10, math.Floor(math.Log10(v)))
	for _, m := range []float64{1, 2, 5} {
		if m*p >= v*(1-1e-9) {
			return m * p
		}
	}
	return 10 * p
}

// whole widens the axis to whole steps, about n of them.
func (a axis) whole(n int) axis {
	step := niceStep((a.high - a.low) / float64(n))
	if step > 0 {
		a.low, a.high = math.Floor(a.low/step+1e-9)*step, math.Ceil(a.high/step-1e-9)*step
	}
	return a
}

// apart widens a range to at least so much, and to a hundredth of its values,
// so that ticks need few digits.
func apart(low, high, least float64) (l, h float64) {
	least = math.Max(least, math.Max(math.Abs(low), math.Abs(high))/100)
	if room := (least - (high - low)) / 2; room > 0 {
		return low - room, high + room
	}
	return low, high
}

// within is at, held to the axis.
func (a axis) within(v float64) float64 {
	p := a.at(v)
	return math.Max(math.Min(a.from, a.to), math.Min(math.Max(a.from, a.to), p))
}

// holds tells whether a value lies on the axis.
func (a axis) holds(v float64) bool {
	return v >= math.Min(a.low, a.high) && v <= math.Max(a.low, a.high)
}
