//go:build !amd64

package dsp

func fromS16Fast(dst []float32, src []byte) int { return 0 }

func nonzeroFast(x []float32) int { return 0 }

func levelFast(l *levels, x []float32) { levelPortable(l, x) }

func sumsFast(s *[2][8]float32, x []float32) int { return 0 }
