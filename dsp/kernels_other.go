//go:build !amd64

package dsp

// Without assembly the portable forms do all.

func weighFast(dst, energies []float32, weight *[Lanes]float32) int { return 0 }

func logSmoothFast(dst, sums []float32) int { return 0 }

func correlateFast(c, m, y []float32) int { return 0 }

func addWeightedFast(sum, y []float32, w *[4]float32) int { return 0 }

func addTrimmedFast(sum, top, e []float32, f float32) int { return 0 }

func addFast(sum, y []float32) int { return 0 }

func addShiftedFast(sum, y []float32, f, w float32) int { return 0 }

func leaveOutFast(v, mean []float32, floor, n float32) int { return 0 }
