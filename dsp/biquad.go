package dsp

import (
	"math"

	"beatwright/unit"
)

// Section is one second-order filter section with a0 = 1:
//
//	y[n] = b0·x[n] + b1·x[n−1] + b2·x[n−2] − a1·y[n−1] − a2·y[n−2]
type Section struct{ B0, B1, B2, A1, A2 float64 }

// HighPass2 is the second-order Butterworth high-pass, −3 dB at f.
func HighPass2(f, rate unit.Hertz) Section { return highPass(f, rate, math.Sqrt2) }

// LowPass2 is the second-order Butterworth low-pass, −3 dB at f.
func LowPass2(f, rate unit.Hertz) Section { return lowPass(f, rate, math.Sqrt2) }

// HighPass4 is the fourth-order Butterworth high-pass, −3 dB at f.
func HighPass4(f, rate unit.Hertz) [2]Section {
	// Damping 2·cos of the pole angles π/8 and 3π/8.
	return [2]Section{
		highPass(f, rate, 2*math.Cos(math.Pi/8)),
		highPass(f, rate, 2*math.Cos(3*math.Pi/8)),
	}
}

// highPass transforms s²/(s² + d·s + 1), warped so that f is exact.
func highPass(f, rate unit.Hertz, d float64) Section {
	k := math.Tan(math.Pi * float64(f/rate))
	n := 1 / (1 + d*k + k*k)
	return Section{B0: n, B1: -2 * n, B2: n, A1: 2 * (k*k - 1) * n, A2: (1 - d*k + k*k) * n}
}

// lowPass transforms 1/(s² + d·s + 1), warped so that f is exact.
func lowPass(f, rate unit.Hertz, d float64) Section {
	k := math.Tan(math.Pi * float64(f/rate))
	n := 1 / (1 + d*k + k*k)
	return Section{B0: k * k * n, B1: 2 * k * k * n, B2: k * k * n, A1: 2 * (k*k - 1) * n, A2: (1 - d*k + k*k) * n}
}
