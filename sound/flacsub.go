package sound

import (
	"encoding/binary"
	"errors"
	"math/bits"
)

var errSubframe = errors.New("a block contradicts itself")

// readSubframe decodes one channel of width bits a sample into out.
func readSubframe(b *flacBits, out []int64, width uint) error {
	head := b.read(8)
	var wasted uint
	if head&1 == 1 {
		u := b.unary()
		if u+1 >= uint64(width) {
			return errSubframe
		}
		wasted = uint(u) + 1
	}
	if head>>7 == 1 {
		return errSubframe
	}
	err := readPredicted(b, out, width-wasted, int(head>>1))
	if wasted > 0 {
		for i := range out {
			out[i] <<= wasted
		}
	}
	return err
}

// readPredicted decodes by the kind of subframe, §9.2.1.
func readPredicted(b *flacBits, out []int64, width uint, kind int) error {
	switch {
	case kind == 0:
		v := b.signed(width)
		for i := range out {
			out[i] = v
		}
		return b.bad
	case kind == 1:
		for i := range out {
			out[i] = b.signed(width)
		}
		return b.bad
	case kind >= 8 && kind <= 12:
		return readFixed(b, out, width, kind-8)
	case kind >= 32:
		return readLPC(b, out, width, kind-31)
	}
	return errSubframe
}

// warmUp reads the samples that the predictor begins with.
func warmUp(b *flacBits, out []int64, width uint, order int) error {
	if order > len(out) {
		return errSubframe
	}
	for i := range order {
		out[i] = b.signed(width)
	}
	return b.bad
}

func readFixed(b *flacBits, out []int64, width uint, order int) error {
	if err := warmUp(b, out, width, order); err != nil {
		return err
	}
	if err := readResidual(b, out, order); err != nil {
		return err
	}
	restoreFixed(out, order)
	return nil
}

// restoreFixed turns residuals into samples.
func restoreFixed(s []int64, order int) {
	switch order {
	case 1:
		for i := 1; i < len(s); i++ {
			s[i] += s[i-1]
		}
	case 2:
		for i := 2; i < len(s); i++ {
			s[i] += 2*s[i-1] - s[i-2]
		}
	case 3:
		for i := 3; i < len(s); i++ {
			s[i] += 3*(s[i-1]-s[i-2]) + s[i-3]
		}
	case 4:
		for i := 4; i < len(s); i++ {
			s[i] += 4*(s[i-1]+s[i-3]) - 6*s[i-2] - s[i-4]
		}
	}
}

func readLPC(b *flacBits, out []int64, width uint, order int) error {
	if err := warmUp(b, out, width, order); err != nil {
		return err
	}
	precision := uint(b.read(4)) + 1
	shift := b.signed(5)
	if precision == 16 || shift < 0 {
		return errSubframe
	}
	var c [32]int64
	for i := range order {
		c[i] = b.signed(precision)
	}
	if err := readResidual(b, out, order); err != nil {
		return err
	}
	restoreLPC(out, c[:order], uint(shift))
	return nil
}

// restoreLPC turns residuals into samples.
func restoreLPC(s, coefs []int64, shift uint) {
	// Newest coefficient last, so that both slices run forwards.
	var rev [32]int64
	order := len(coefs)
	for i, c := range coefs {
		rev[order-1-i] = c
	}
	c := rev[:order]
	for i := order; i < len(s); i++ {
		past := s[i-order : i]
		past = past[:len(c)]
		var sum int64
		for j, x := range c {
			sum += x * past[j]
		}
		s[i] += sum >> (shift & 63)
	}
}

// readResidual decodes the Rice-coded residuals, §9.2.7.
func readResidual(b *flacBits, out []int64, order int) error {
	method := b.read(2)
	parts := 1 << b.read(4)
	if method > 1 || len(out)%parts != 0 || len(out)/parts < order {
		return errSubframe
	}
	paramBits := uint(4 + method)
	per := len(out) / parts
	for p := range parts {
		run := out[p*per : (p+1)*per]
		if p == 0 {
			run = run[order:]
		}
		k := uint(b.read(paramBits))
		if k == 1<<paramBits-1 {
			width := uint(b.read(5))
			for i := range run {
				run[i] = b.signed(width)
			}
		} else {
			b.rice(run, k)
		}
		if b.bad != nil {
			return b.bad
		}
	}
	return nil
}

// rice decodes a run of Rice-coded numbers with parameter k, at most 30. It
// is where decoding spends its time, and keeps the bit reader in registers.
func (b *flacBits) rice(run []int64, k uint) {
	acc, n := b.acc, b.n
	for i := range run {
		if n < 56 {
			if b.end-b.pos >= 8 {
				acc |= binary.BigEndian.Uint64(b.buf[b.pos:]) >> (n & 63)
				b.pos += int((63 - n) >> 3)
				n |= 56
			} else {
				b.acc, b.n = acc, n
				b.fillSlow()
				acc, n = b.acc, b.n
			}
		}
		z := uint(bits.LeadingZeros64(acc))
		used := z + 1 + k
		var u uint64
		if used <= n {
			u = uint64(z)<<(k&63) | acc<<(z&63)<<1>>1>>((63-k)&63)
			acc <<= used & 63
			n -= used
		} else {
			b.acc, b.n = acc, n
			q := b.unary()
			u = q<<(k&63) | b.read(k)
			acc, n = b.acc, b.n
			if b.bad != nil || q > 1<<33 {
				b.short()
				return
			}
		}
		run[i] = int64(u>>1) ^ -int64(u&1)
	}
	b.acc, b.n = acc, n
}
