package sound

import (
	"encoding/binary"
	"errors"
	"io"
	"math/bits"
)

// maxFLACFrame bounds one frame in bytes: 65 535 samples of 8 channels of 33
// bits are 2.2 MB; what needs more is broken.
const maxFLACFrame = 4 << 20

var (
	errFrameEnds  = errors.New("the data end inside a block")
	errFrameLarge = errors.New("a block without an end")
)

// flacBits reads bits from a stream, keeping the bytes since mark so that a
// frame can be checked, or looked through again when it proves broken.
type flacBits struct {
	src  io.Reader
	buf  []byte
	mark int // start of what must be kept
	pos  int // next byte to enter acc
	end  int // end of what was read
	acc  uint64
	n    uint  // bits in acc, at its top
	err  error // of src, io.EOF at its end
	bad  error // the frame asked for more than there is
}

func newFLACBits(src io.Reader) *flacBits {
	return &flacBits{src: src, buf: make([]byte, blockBytes)}
}

// more reads once; false when nothing more comes.
func (b *flacBits) more() bool {
	if b.err != nil {
		return false
	}
	if b.mark > 0 && b.end == len(b.buf) {
		copy(b.buf, b.buf[b.mark:b.end])
		b.pos, b.end, b.mark = b.pos-b.mark, b.end-b.mark, 0
	}
	if b.end == len(b.buf) {
		if len(b.buf) >= maxFLACFrame {
			b.bad = errFrameLarge
			return false
		}
		b.buf = append(b.buf, make([]byte, len(b.buf))...)
	}
	for range 100 { // a reader may give nothing now and then, not for ever
		var n int
		n, b.err = b.src.Read(b.buf[b.end:])
		b.end += n
		if n > 0 {
			return true
		}
		if b.err != nil {
			return false
		}
	}
	b.err = io.ErrNoProgress
	return false
}

// restart begins reading bits at byte at, which is kept from now on.
func (b *flacBits) restart(at int) {
	b.mark, b.pos, b.acc, b.n, b.bad = at, at, 0, 0, nil
}

// peek makes sure of n bytes from mark on; fewer only at the end.
func (b *flacBits) peek(n int) []byte {
	for b.end-b.mark < n && b.more() {
	}
	return b.buf[b.mark:min(b.end, b.mark+n)]
}

// skip drops n bytes from mark on; false if there are not so many.
func (b *flacBits) skip(n int) bool {
	for n > 0 {
		if b.mark == b.end {
			b.pos = b.end
			if !b.more() {
				return false
			}
		}
		step := min(n, b.end-b.mark)
		b.mark += step
		b.pos = b.mark
		n -= step
	}
	return true
}

// fill makes acc hold at least 56 bits, fewer only at the end.
func (b *flacBits) fill() {
	if b.end-b.pos >= 8 {
		b.acc |= binary.BigEndian.Uint64(b.buf[b.pos:]) >> b.n
		b.pos += int((63 - b.n) >> 3)
		b.n |= 56
		return
	}
	b.fillSlow()
}

func (b *flacBits) fillSlow() {
	for b.n <= 56 {
		if b.pos == b.end && !b.more() {
			return
		}
		b.acc |= uint64(b.buf[b.pos]) << (56 - b.n)
		b.pos++
		b.n += 8
	}
}

// drop takes k bits off acc.
func (b *flacBits) drop(k uint) {
	if k > b.n {
		b.short()
		return
	}
	b.acc <<= k
	b.n -= k
}

// short notes that bits are missing.
func (b *flacBits) short() {
	b.acc, b.n = 0, 0
	if b.bad == nil {
		b.bad = errFrameEnds
	}
}

// read gives k bits, 0 to 33, as an unsigned number.
func (b *flacBits) read(k uint) uint64 {
	if b.n < k {
		b.fill()
	}
	v := b.acc >> 1 >> (63 - k)
	b.drop(k)
	return v
}

// signed gives k bits, 0 to 33, as a two's complement number.
func (b *flacBits) signed(k uint) int64 {
	if b.n < k {
		b.fill()
	}
	v := int64(b.acc) >> 1 >> (63 - k)
	if k == 0 {
		v = 0
	}
	b.drop(k)
	return v
}

// unary counts 0 bits up to the next 1.
func (b *flacBits) unary() uint64 {
	var q uint64
	for {
		if b.n == 0 {
			b.fill()
		}
		z := uint(bits.LeadingZeros64(b.acc))
		if z < b.n {
			b.drop(z + 1)
			return q + uint64(z)
		}
		q += uint64(b.n)
		b.acc, b.n = 0, 0
		if b.fill(); b.n == 0 {
			b.short()
			return q
		}
	}
}

// align drops the bits up to the next whole byte and gives the index of that
// byte in buf.
func (b *flacBits) align() int {
	b.drop(b.n & 7)
	return b.pos - int(b.n/8)
}
