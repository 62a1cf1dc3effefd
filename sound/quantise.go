package sound

import "fmt"

// The 24-bit grid.
const (
	gridSteps = 1 << 23         // steps from 0 to full scale
	gridTop   = 1<<23 - 1       // the highest step
	gridStep  = 1.0 / (1 << 23) // one step
)

// roundMagic added to a float64 below 2⁵¹ and taken off again rounds it to a
// whole number, half to even: at 1.5·2⁵² the spacing of float64 is 1.
const roundMagic = 3 << 51

// amiss counts what had to be mended on the way to the grid.
type amiss struct {
	notNumbers int64
	beyond     int64
}

// warnings says what was counted.
func (a *amiss) warnings() []string {
	var w []string
	if a.notNumbers > 0 {
		w = append(w, count(a.notNumbers, "sample was no number", "samples were no numbers")+" and taken as 0")
	}
	if a.beyond > 0 {
		w = append(w, fmt.Sprintf("%s beyond full scale and held there", count(a.beyond, "sample was", "samples were")))
	}
	return w
}

func count(n int64, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// quantise puts src on the grid, into dst of the same length; they may be
// the same slice.
func (a *amiss) quantise(dst, src []float32) {
	src = src[:len(dst)]
	for i, x := range src {
		y := float64(x) * gridSteps
		if !(y >= -gridSteps && y <= gridTop) {
			dst[i] = a.mend(y)
			continue
		}
		dst[i] = float32((y+roundMagic)-roundMagic) * gridStep
	}
}

// mend handles the steps y outside the grid and what is no number.
func (a *amiss) mend(y float64) float32 {
	switch {
	case y-y != 0: // NaN and both infinities
		a.notNumbers++
		return 0
	case y < 0:
		a.beyond++
		return -1
	}
	// Exactly +1.0 is full scale, only just not on the grid: no fault.
	if y > gridSteps {
		a.beyond++
	}
	return gridTop * gridStep
}

// toGrid gives the step (−2²³ … 2²³−1) of a sample already on the grid.
func toGrid(x float32) int32 { return int32(x * gridSteps) }
