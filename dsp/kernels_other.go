//go:build !amd64

package dsp

// Without assembly the portable forms do all.

func bankPair(c *bankCoef, x, y []float32, warm, cells, step int, dx, dy []float32) {
	bankPairPortable(c, x, y, warm, cells, step, dx, dy)
}

func weighFast(dst, energies []float32, weight *[Lanes]float32) int { return 0 }

func logSmoothFast(dst, sums []float32) int { return 0 }

func correlateFast(c, m, y []float32) int { return 0 }

func addWeightedFast(sum, y []float32, w *[4]float32) int { return 0 }

func addTrimmedFast(sum, top, e []float32, f float32) int { return 0 }
