package sound

import (
	"bufio"
	"bytes"
	"encoding/binary"
	"io"
)

// oggPage is a page of an Ogg stream, RFC 3533 §6.
type oggPage struct {
	continued, first, last bool
	granule                int64 // −1: no packet ends here
	serial, seq            uint32
	lacing, body           []byte // good until the next page
}

const (
	oggHead    = 27
	oggMaxPage = oggHead + 255 + 255*255
	// oggMaxSearch bounds how far a page is looked for in damaged data, and
	// oggMaxVain the bytes of all pages in a file that prove to be none; chosen.
	oggMaxSearch = 16 << 20
	oggMaxVain   = 64 << 20
)

// oggReader takes an Ogg stream apart into pages. Its buffer must hold a
// whole page.
type oggReader struct {
	b    *bufio.Reader
	vain int
}

// next reads a page, skipping what is none; skipped says how much.
func (o *oggReader) next() (p oggPage, skipped int, err error) {
	for skipped <= oggMaxSearch && o.vain <= oggMaxVain {
		head, err := o.b.Peek(oggHead)
		if err != nil {
			return p, skipped + len(head), err
		}
		if string(head[:4]) == "OggS" && head[4] == 0 {
			if p, n := o.whole(head); n > 0 {
				return p, skipped, nil
			}
		}
		n, err := o.search()
		skipped += n
		if err != nil {
			return p, skipped, err
		}
	}
	return p, skipped, io.EOF
}

// search discards up to the next thing that begins like a page.
func (o *oggReader) search() (int, error) {
	buf, err := o.b.Peek(max(o.b.Buffered(), oggHead))
	if err != nil {
		return len(buf), err
	}
	n := bytes.Index(buf[1:], []byte("OggS"))
	if n < 0 {
		n = len(buf) - 4
	}
	return o.b.Discard(n + 1)
}

// whole reads the page at hand if its check sum fits; 0 if not.
func (o *oggReader) whole(head []byte) (oggPage, int) {
	lacing := int(head[26])
	all, err := o.b.Peek(oggHead + lacing)
	if err != nil {
		return oggPage{}, 0
	}
	size := oggHead + lacing
	for _, n := range all[oggHead:] {
		size += int(n)
	}
	if all, err = o.b.Peek(size); err != nil {
		return oggPage{}, 0
	}
	sum := oggCRC(0, all[:22])
	sum = oggCRC(sum, []byte{0, 0, 0, 0})
	sum = oggCRC(sum, all[26:])
	le := binary.LittleEndian
	if sum != le.Uint32(all[22:]) {
		o.vain += size
		return oggPage{}, 0
	}
	_, _ = o.b.Discard(size) // the bytes stay in the buffer until the next read
	return oggPage{
		continued: all[5]&1 != 0, first: all[5]&2 != 0, last: all[5]&4 != 0,
		granule: int64(le.Uint64(all[6:])), serial: le.Uint32(all[14:]), seq: le.Uint32(all[18:]),
		lacing: all[oggHead : oggHead+lacing], body: all[oggHead+lacing:],
	}, size
}
