package sound

import (
	"encoding/binary"
	"math"

	"beatwright/dsp"
)

// coding is how one sample is stored.
type coding int

const (
	codeU8 coding = iota
	codeS16
	codeS24
	codeS32
	codeF32
	codeF64
)

// size is the bytes of one sample.
func (c coding) size() int { return [...]int{1, 2, 3, 4, 4, 8}[c] }

// bits is what Format.Bits says of it.
func (c coding) bits() int { return [...]int{8, 16, 24, 32, 0, 0}[c] }

// decode turns the stored samples in src into grid samples; src holds exactly
// len(dst) samples.
func (c coding) decode(dst []float32, src []byte, a *amiss) {
	switch c {
	case codeU8:
		for i, b := range src[:len(dst)] {
			dst[i] = float32(int(b)-128) * (1.0 / 128)
		}
	case codeS16:
		dsp.FromS16(dst, src)
	case codeS24:
		decodeS24(dst, src)
	case codeS32:
		src = src[:4*len(dst)]
		for i := range dst {
			dst[i] = float32(narrow(int32(binary.LittleEndian.Uint32(src[4*i:])))) * gridStep
		}
	case codeF32:
		decodeF32(dst, src, a)
	case codeF64:
		decodeF64(dst, src, a)
	}
}

func decodeS24(dst []float32, src []byte) {
	src = src[:3*len(dst)]
	for i := range dst {
		s := src[3*i : 3*i+3 : 3*i+3]
		v := int32(uint32(s[0])<<8|uint32(s[1])<<16|uint32(s[2])<<24) >> 8
		dst[i] = float32(v) * gridStep
	}
}

// narrow rounds 32 bits to 24, half to even; the very top is held, not
// counted: it is within full scale.
func narrow(v int32) int32 {
	w := (int64(v) + 0x7f + int64(v>>8&1)) >> 8
	return int32(min(w, gridTop))
}

func decodeF32(dst []float32, src []byte, a *amiss) {
	for i := range dst {
		s := src[4*i : 4*i+4 : 4*i+4]
		y := float64(math.Float32frombits(binary.LittleEndian.Uint32(s))) * gridSteps
		if !(y >= -gridSteps && y <= gridTop) {
			dst[i] = a.mend(y)
			continue
		}
		dst[i] = float32((y+roundMagic)-roundMagic) * gridStep
	}
}

func decodeF64(dst []float32, src []byte, a *amiss) {
	src = src[:8*len(dst)]
	for i := range dst {
		y := math.Float64frombits(binary.LittleEndian.Uint64(src[8*i:])) * gridSteps
		if !(y >= -gridSteps && y <= gridTop) {
			dst[i] = a.mend(y)
			continue
		}
		dst[i] = float32((y+roundMagic)-roundMagic) * gridStep
	}
}
