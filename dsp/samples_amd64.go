package dsp

func fromS16Fast(dst []float32, src []byte) int {
	n := len(dst) &^ 15
	if !fast || n == 0 {
		return 0
	}
	fromS16AVX2(&dst[0], &src[0], n)
	return n
}

func nonzeroFast(x []float32) int {
	n := len(x) &^ 31
	if !fast || n == 0 {
		return 0
	}
	return nonzeroAVX2(&x[0], n)
}

func levelFast(l *levels, x []float32) {
	if !fast {
		levelPortable(l, x)
	} else if len(x) > 0 {
		levelAVX2(l, &x[0], len(x))
	}
}

func sumsFast(s *[2][8]float32, x []float32) int {
	n := len(x) &^ 7
	if !fast || n == 0 {
		return 0
	}
	sumsAVX2(s, &x[0], n)
	return n
}

//go:noescape
func fromS16AVX2(dst *float32, src *byte, n int)

//go:noescape
func nonzeroAVX2(x *float32, n int) int

//go:noescape
func levelAVX2(l *levels, x *float32, n int)

//go:noescape
func sumsAVX2(s *[2][8]float32, x *float32, n int)
