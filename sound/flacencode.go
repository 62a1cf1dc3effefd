package sound

import (
	"encoding/binary"
	"math/bits"
)

// flacEncoder makes frames. It uses constant, verbatim and fixed predictors
// of order 0 to 4 (RFC 9639 §9.2) with partitioned Rice coding.
type flacEncoder struct {
	out     bitSink
	samples [][]int32
	resid   [5][]int32
}

func newFLACEncoder(channels int) *flacEncoder {
	e := &flacEncoder{samples: make([][]int32, channels)}
	for i := range e.samples {
		e.samples[i] = make([]int32, flacBlock)
	}
	for i := range e.resid {
		e.resid[i] = make([]int32, flacBlock)
	}
	return e
}

// encode makes the frame of an interleaved block; it is good until the next.
func (e *flacEncoder) encode(block []int32, info flacInfo, num int64) []byte {
	n := len(block) / info.channels
	for c := range e.samples {
		e.samples[c] = e.samples[c][:n]
		for i := range e.samples[c] {
			e.samples[c][i] = block[i*info.channels+c]
		}
	}
	e.out.reset()
	e.out.b = appendFLACFrameHead(e.out.b, n, info, num)
	for _, s := range e.samples {
		e.subframe(s)
	}
	e.out.align()
	e.out.b = binary.BigEndian.AppendUint16(e.out.b, crc16(e.out.b))
	return e.out.b
}

// appendFLACFrameHead writes a frame header, §9.1, for fixed-size blocks.
func appendFLACFrameHead(b []byte, n int, info flacInfo, num int64) []byte {
	start := len(b)
	sizeCode := byte(7)
	if n == flacBlock {
		sizeCode = 12
	}
	rateCode, rateTail := flacRateCode(info.rate)
	b = append(b, 0xFF, 0xF8, sizeCode<<4|rateCode, byte(info.channels-1)<<4|6<<1)
	b = appendCoded(b, num)
	if sizeCode == 7 {
		b = binary.BigEndian.AppendUint16(b, uint16(n-1))
	}
	b = append(b, rateTail...)
	return append(b, crc8(b[start:]))
}

// flacRateCode gives the rate's code and what stands after the header for it.
// A rate that no code holds is left to the stream's description.
func flacRateCode(rate int) (byte, []byte) {
	for code, r := range []int{1: 88200, 176400, 192000, 8000, 16000, 22050, 24000, 32000, 44100, 48000, 96000} {
		if r == rate {
			return byte(code), nil
		}
	}
	switch {
	case rate%1000 == 0 && rate/1000 < 256:
		return 12, []byte{byte(rate / 1000)}
	case rate < 1<<16:
		return 13, binary.BigEndian.AppendUint16(nil, uint16(rate))
	case rate%10 == 0 && rate/10 < 1<<16:
		return 14, binary.BigEndian.AppendUint16(nil, uint16(rate/10))
	}
	return 0, nil
}

// appendCoded writes a frame number as codedNumber reads it.
func appendCoded(b []byte, n int64) []byte {
	if n < 0x80 {
		return append(b, byte(n))
	}
	more := 1
	for n >= 1<<(5*more+6) && more < 6 {
		more++
	}
	b = append(b, byte(uint(0xFF)<<(7-more)|uint(n>>(6*more))))
	for i := more - 1; i >= 0; i-- {
		b = append(b, 0x80|byte(n>>(6*i)&0x3F))
	}
	return b
}

// subframe writes one channel by the shortest means it knows.
func (e *flacEncoder) subframe(s []int32) {
	var any int32
	same := true
	for _, v := range s {
		any |= v
		same = same && v == s[0]
	}
	if same {
		e.out.put(0, 8)
		e.out.put(uint64(s[0]), flacDepth)
		return
	}
	wasted := uint(bits.TrailingZeros32(uint32(any)))
	if wasted > 0 {
		for i := range s {
			s[i] >>= wasted
		}
	}
	width := flacDepth - wasted
	order := e.chooseFixed(s)
	plan := planRice(e.resid[order][order:len(s)], order, len(s))
	if order*int(width)+plan.bits >= len(s)*int(width) {
		e.head(1, wasted)
		for _, v := range s {
			e.out.put(uint64(v), width)
		}
		return
	}
	e.head(8+order, wasted)
	for _, v := range s[:order] {
		e.out.put(uint64(v), width)
	}
	e.out.residual(e.resid[order][order:len(s)], order, plan)
}

// head writes a subframe header, §9.2.1 and §9.2.2.
func (e *flacEncoder) head(kind int, wasted uint) {
	if wasted == 0 {
		e.out.put(uint64(kind)<<1, 8)
		return
	}
	e.out.put(uint64(kind)<<1|1, 8)
	e.out.put(1, wasted)
}

// chooseFixed makes the residuals of every order and gives the one with the
// smallest sum. 24 bits and four differences stay within 28.
func (e *flacEncoder) chooseFixed(s []int32) int {
	copy(e.resid[0], s)
	best, least := 0, sumAbs(s)
	for order := 1; order <= 4 && order < len(s); order++ {
		prev, r := e.resid[order-1][:len(s)], e.resid[order][:len(s)]
		for i := order; i < len(s); i++ {
			r[i] = prev[i] - prev[i-1]
		}
		if sum := sumAbs(r[order:]); sum < least {
			best, least = order, sum
		}
	}
	return best
}

func sumAbs(s []int32) (sum uint64) {
	for _, v := range s {
		sum += uint64(max(v, -v))
	}
	return sum
}
