package sound

import (
	"bufio"
	"context"
	"fmt"
	"io"
)

// flacReader decodes FLAC, RFC 9639. It is our own because damage must leave
// a hole of the right length and no more, and because a hearing is read again
// many times: the library tried decodes some five times more slowly, stops at
// the first damaged block, does not know blocks that leave the width of their
// samples to the header, and writes to the log at some rates. It stays as the
// judge in the tests.
type flacReader struct {
	ctx    context.Context
	name   string
	bits   *flacBits
	info   flacInfo
	format Format
	chans  [][]int64 // the block decoded last
	at     int       // frames of it already given
	size   int       // frames in it
	pos    int64     // frames of sound given or ready, holes included
	base   int64     // what the first block says its number is
	begun  bool
	hole   int64 // frames of a hole still to be given
	holes  int64 // frames lost in all
	failed int64 // bytes and samples worked on in vain
	amiss  amiss
	warn   []string
	err    error
}

// newFLAC reads a FLAC from its marker on, and decodes its first block.
func newFLAC(ctx context.Context, name string, r *bufio.Reader) (Reader, error) {
	f := &flacReader{ctx: ctx, name: name, bits: newFLACBits(r)}
	info, err := readFLACInfo(f.bits)
	if err != nil {
		if e := f.bits.err; e != nil && e != io.EOF {
			return nil, readFailed(name, e)
		}
		return nil, because(name, "not a FLAC that can be read", doConvert, err)
	}
	if info.bits < 4 {
		return nil, unreadable(name, "the header says samples of %d bits", doConvert, info.bits)
	}
	f.info, f.format = info, info.format()
	if err := checkFormat(name, f.format); err != nil {
		return nil, err
	}
	f.chans = make([][]int64, info.channels)
	f.next()
	if f.size == 0 && f.err == io.EOF && (info.total > 0 || len(f.warn) > 0) {
		return nil, unreadable(name, "a FLAC without one whole block of sound", "copy the file again")
	}
	if f.size == 0 && f.err != io.EOF {
		return nil, f.err
	}
	return f, nil
}

func (f *flacReader) Format() Format { return f.format }

// Warnings tells what was amiss.
func (f *flacReader) Warnings() []string {
	w := append(f.amiss.warnings(), f.warn...)
	if f.holes == 0 {
		return w
	}
	lost := fmt.Sprintf("the file is damaged: %.3g s of sound are lost and left blank", float64(f.holes)/float64(f.info.rate))
	return append([]string{lost}, w...)
}

// Close ends reading.
func (f *flacReader) Close() error {
	f.err, f.size, f.at, f.hole = errClosed, 0, 0, 0
	return nil
}

// Read gives frames of one block, or of a hole.
func (f *flacReader) Read(dst []float32) (int, error) {
	n := len(dst) / f.info.channels
	if n == 0 {
		return 0, io.ErrShortBuffer
	}
	if f.at == f.size && f.err == nil {
		f.next()
	}
	if f.hole > 0 {
		n = int(min(int64(n), f.hole))
		f.hole -= int64(n)
		blank(dst[:n*f.info.channels])
		return n, nil
	}
	if f.at == f.size {
		return 0, f.err
	}
	n = min(n, f.size-f.at)
	f.interleave(dst[:n*f.info.channels], f.at)
	f.at += n
	return n, nil
}

// blank fills a hole with the faintest value there is: exact zeros would be
// taken for silence that a sound system put in, and cut out of the time.
func blank(dst []float32) {
	for i := range dst {
		dst[i] = gridStep
	}
}

// interleave gives the decoded block from frame at on, on the grid.
func (f *flacReader) interleave(dst []float32, at int) {
	stride := f.info.channels
	n := len(dst) / stride
	for c, ch := range f.chans {
		ch = ch[at : at+n]
		top := int64(1)<<(f.info.bits-1) - 1
		scale := 1 / float32(top+1)
		for i, v := range ch {
			if v > top || v < -top-1 { // a faulty encoder
				v = max(min(v, top), -top-1)
				f.amiss.beyond++
			}
			if f.info.bits > 24 {
				v, scale = int64(narrow(int32(v<<(32-f.info.bits)))), gridStep
			}
			dst[i*stride+c] = float32(v) * scale
		}
	}
}

// next decodes the next block that can be decoded, and notes the hole before
// it.
func (f *flacReader) next() {
	f.at, f.size = 0, 0
	broken := false
	for {
		if err := f.ctx.Err(); err != nil {
			f.err = fmt.Errorf("read %s: %w", plainName(f.name), err)
			return
		}
		head, err := parseFLACFrame(f.bits.peek(maxFLACFrameHead), f.info)
		if err == nil {
			if err = f.decode(head); err == nil {
				f.place(head, broken)
				return
			}
		}
		if f.ended(broken) {
			return
		}
		broken = true
		f.seekSync()
	}
}

// ended settles whether nothing more can come.
func (f *flacReader) ended(broken bool) bool {
	switch b := f.bits; {
	case f.info.total > 0 && f.pos >= f.info.total:
		f.err = io.EOF // what follows is a tag or rubbish
	case b.err != nil && b.err != io.EOF:
		f.err = readFailed(f.name, b.err)
	case b.err == io.EOF && b.end-b.mark < 6:
		f.finish(broken)
	case f.failed > 16<<20+8*f.pos:
		f.warn = append(f.warn, fmt.Sprintf("the file is damaged from %.4g s on; the rest was left out", float64(f.pos)/float64(f.info.rate)))
		f.err = io.EOF
	default:
		return false
	}
	return true
}

// finish notes what is missing at the end.
func (f *flacReader) finish(broken bool) {
	f.err = io.EOF
	switch {
	case f.info.total > f.pos:
		f.warn = append(f.warn, endsEarly(f.format, f.pos))
	case broken:
		f.warn = append(f.warn, "the file ends inside a block, which was left out")
	}
}

// seekSync goes on to where the next block may begin.
func (f *flacReader) seekSync() {
	b := f.bits
	at := b.mark + 1
	for {
		for ; at+1 < b.end; at++ {
			if b.buf[at] == 0xFF && b.buf[at+1]&0xFE == 0xF8 {
				f.failed += int64(at - b.mark)
				b.restart(at)
				return
			}
		}
		f.failed += int64(at - b.mark)
		b.restart(at) // nothing before it is needed
		if !b.more() {
			b.restart(b.end)
			return
		}
		at = b.mark
	}
}

// place notes the hole between the block before and this one.
func (f *flacReader) place(head flacFrame, broken bool) {
	at := head.num
	if !head.variable {
		at *= int64(max(f.info.maxBlock, 1))
	}
	if !f.begun {
		f.begun, f.base = true, at
		if broken {
			f.warn = append(f.warn, "the file is damaged at its start, which was left out")
		}
	}
	gap := at - f.base - f.pos
	// A block that says another place without damage before it stands in a
	// file that was cut and joined: the sound follows on.
	if gap != 0 && (!broken || gap < 0 || gap > int64(60*f.info.rate)) {
		f.base += gap
		gap = 0
	}
	f.hole = gap
	f.holes += gap
	f.pos += gap + int64(head.size)
}

// decode reads the frame whose header stands at mark.
func (f *flacReader) decode(head flacFrame) error {
	b := f.bits
	start := b.mark
	b.restart(start + head.bytes)
	b.mark = start
	for c := range f.chans {
		if cap(f.chans[c]) < head.size {
			f.chans[c] = make([]int64, head.size)
		}
		f.chans[c] = f.chans[c][:head.size]
		width := uint(f.info.bits)
		if head.stereo == 9 && c == 0 || (head.stereo == 8 || head.stereo == 10) && c == 1 {
			width++
		}
		if err := readSubframe(b, f.chans[c], width); err != nil {
			return f.failedAt(err)
		}
	}
	size := b.align() - b.mark // from mark, because reading may move both
	sum := b.read(16)
	if b.bad != nil {
		return f.failedAt(b.bad)
	}
	if uint16(sum) != crc16(b.buf[b.mark:b.mark+size]) {
		return f.failedAt(errSubframe)
	}
	b.restart(b.mark + size + 2)
	f.unmix(head.stereo)
	f.size = head.size
	return nil
}

// failedAt goes back to the start of the frame and counts the work.
func (f *flacReader) failedAt(err error) error {
	f.failed += int64(f.bits.pos-f.bits.mark) + int64(len(f.chans)*len(f.chans[0]))
	f.bits.restart(f.bits.mark)
	return err
}

// unmix makes left and right from the stereo forms, §9.1.3.
func (f *flacReader) unmix(stereo int) {
	if stereo < 8 {
		return
	}
	l, r := f.chans[0], f.chans[1]
	r = r[:len(l)]
	switch stereo {
	case 8:
		for i, x := range l {
			r[i] = x - r[i]
		}
	case 9:
		for i, x := range r {
			l[i] += x
		}
	case 10:
		for i, side := range r {
			mid := l[i]<<1 | side&1
			l[i], r[i] = (mid+side)>>1, (mid-side)>>1
		}
	}
}
