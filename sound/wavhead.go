package sound

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"

	"beatwright/unit"
)

// Format tags of a WAVE fmt chunk that are read here.
const (
	tagPCM        = 1
	tagFloat      = 3
	tagExtensible = 0xFFFE
)

// Bounds on what stands before the sound; chosen so that a broken length is
// found at once and a bext or cover picture still passes.
const (
	maxFmtChunk    = 4096
	maxSkip        = 64 << 20
	maxChunksAhead = 1000
)

// wavHead is what a WAVE header says.
type wavHead struct {
	tag       int
	channels  int
	rate      int64
	align     int
	bits      int
	dataBytes int64 // −1: unknown, until the end of the stream
	ds64      int64 // data size by ds64; −1 without one
}

// errCompressed marks a WAVE whose samples are coded in a way not read here.
var errCompressed = errors.New("compressed WAVE")

// readWAVHead reads up to the first byte of sound. Errors are plain; the
// caller adds the name.
func readWAVHead(r io.Reader) (wavHead, error) {
	h := wavHead{ds64: -1}
	var b [12]byte
	if _, err := io.ReadFull(r, b[:]); err != nil {
		return h, errShortHead(err)
	}
	wide := string(b[:4]) == "RF64" || string(b[:4]) == "BW64"
	if !wide && string(b[:4]) != "RIFF" || string(b[8:]) != "WAVE" {
		return h, errors.New("it does not begin as a WAV file does")
	}
	for range maxChunksAhead {
		if _, err := io.ReadFull(r, b[:8]); err != nil {
			return h, errShortHead(err)
		}
		id, size := string(b[:4]), int64(binary.LittleEndian.Uint32(b[4:8]))
		if id == "data" {
			return h, h.startData(size, wide)
		}
		if err := h.chunk(r, id, size); err != nil {
			return h, err
		}
	}
	return h, fmt.Errorf("no sound within its first %d parts", maxChunksAhead)
}

// errShortHead tells an end inside the header from a failure to read.
func errShortHead(err error) error {
	if err == io.EOF || err == io.ErrUnexpectedEOF {
		return errors.New("the file ends inside its header")
	}
	return err
}

// chunk reads or skips one chunk ahead of the sound.
func (h *wavHead) chunk(r io.Reader, id string, size int64) error {
	padded := size + size&1
	var err error
	switch id {
	case "fmt ":
		if size < 16 || size > maxFmtChunk {
			return fmt.Errorf("the header's format part is %d bytes long", size)
		}
		b := make([]byte, padded)
		if _, err = io.ReadFull(r, b); err == nil {
			err = h.parseFmt(b[:size])
			return err
		}
	case "ds64":
		if size < 16 || size > maxFmtChunk {
			return fmt.Errorf("the header's 64-bit length part is %d bytes long", size)
		}
		b := make([]byte, padded)
		if _, err = io.ReadFull(r, b); err == nil {
			h.ds64 = int64(binary.LittleEndian.Uint64(b[8:]))
		}
	default:
		if size > maxSkip {
			return fmt.Errorf("the header says that %q before the sound is %d bytes long", id, size)
		}
		_, err = io.CopyN(io.Discard, r, padded)
	}
	if err != nil {
		return errShortHead(err)
	}
	return nil
}

// parseFmt reads the fields of a fmt chunk.
func (h *wavHead) parseFmt(b []byte) error {
	le := binary.LittleEndian
	h.tag = int(le.Uint16(b))
	h.channels = int(le.Uint16(b[2:]))
	h.rate = int64(le.Uint32(b[4:]))
	h.align = int(le.Uint16(b[12:]))
	h.bits = int(le.Uint16(b[14:]))
	if h.tag == tagExtensible {
		// The subformat GUID begins with the tag it extends; the rest of it
		// is fixed (KSDATAFORMAT_SUBTYPE), ambisonic variants included.
		if len(b) < 40 {
			return errors.New("the header's extensible part is cut short")
		}
		h.tag = int(le.Uint16(b[24:]))
	}
	if h.tag != tagPCM && h.tag != tagFloat {
		return fmt.Errorf("%w, code %#04x", errCompressed, h.tag)
	}
	return nil
}

// startData settles the length of the sound.
func (h *wavHead) startData(size int64, wide bool) error {
	if h.tag == 0 {
		return errors.New("the sound comes before its format is told")
	}
	h.dataBytes = size
	switch {
	case wide && size == 0xFFFFFFFF && h.ds64 > 0:
		h.dataBytes = h.ds64
	case unknownLength(size):
		h.dataBytes = -1
	}
	return nil
}

// unknownLength recognises what programs write that could not go back and
// put the length in: 0, the largest number, or just under 2 GiB.
func unknownLength(size int64) bool {
	return size == 0 || size >= 0xFFFFFF00 || size >= 0x7FFFF000-64 && size <= 0x80000000
}

// coding gives how samples are stored, or what contradicts itself.
func (h *wavHead) coding() (coding, error) {
	bytes := (h.bits + 7) / 8
	if h.channels > 0 && h.align != h.channels*bytes {
		return 0, fmt.Errorf("the header contradicts itself: %d channels of %d bits in %d bytes", h.channels, h.bits, h.align)
	}
	if h.tag == tagFloat {
		switch h.bits {
		case 32:
			return codeF32, nil
		case 64:
			return codeF64, nil
		}
	}
	// Widths between whole bytes are stored in the high bits, so that the
	// container's width is the one to read by.
	if h.tag == tagPCM && h.bits > 0 && h.bits <= 32 {
		return []coding{codeU8, codeS16, codeS24, codeS32}[bytes-1], nil
	}
	return 0, fmt.Errorf("the header says samples of %d bits", h.bits)
}

// format gives the stream's description.
func (h *wavHead) format(c coding) Format {
	f := Format{
		Rate: unit.Hertz(h.rate), Channels: h.channels, Kind: "WAV", Frames: -1,
	}
	if c != codeF32 && c != codeF64 {
		f.Bits = h.bits
	}
	if h.dataBytes >= 0 && h.channels > 0 {
		f.Frames = h.dataBytes / int64(h.channels*c.size())
	}
	return f
}
