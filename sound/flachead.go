package sound

import (
	"encoding/binary"
	"errors"
	"fmt"

	"beatwright/unit"
)

// flacInfo is the STREAMINFO block, RFC 9639 §8.2.
type flacInfo struct {
	maxBlock int
	rate     int
	channels int
	bits     int
	total    int64 // frames; 0 unknown
}

const maxFLACBlocks = 10000 // metadata blocks before the sound; chosen

// readFLACInfo reads the marker and all metadata, up to the first frame.
func readFLACInfo(b *flacBits) (flacInfo, error) {
	var info flacInfo
	if string(b.peek(4)) != "fLaC" {
		return info, errors.New("it does not begin as a FLAC file does")
	}
	b.skip(4)
	for i := range maxFLACBlocks {
		h := b.peek(4)
		if len(h) < 4 {
			return info, errors.New("the file ends inside its header")
		}
		last, kind, size := h[0]>>7 == 1, h[0]&0x7f, int(binary.BigEndian.Uint32(h)&0xFFFFFF)
		b.skip(4)
		if i == 0 {
			if kind != 0 || size != 34 {
				return info, errors.New("its first part is not a description of the sound")
			}
			info = parseFLACInfo(b.peek(34))
		}
		if !b.skip(size) {
			return info, errors.New("the file ends inside its header")
		}
		if last {
			return info, nil
		}
	}
	return info, errors.New("no sound after its descriptions")
}

func parseFLACInfo(p []byte) flacInfo {
	if len(p) < 34 {
		return flacInfo{} // the skip that follows says so
	}
	x := binary.BigEndian.Uint64(p[10:])
	return flacInfo{
		maxBlock: int(binary.BigEndian.Uint16(p[2:])),
		rate:     int(x >> 44),
		channels: int(x>>41&7) + 1,
		bits:     int(x>>36&31) + 1,
		total:    int64(x & (1<<36 - 1)),
	}
}

func (i flacInfo) format() Format {
	f := Format{Rate: unit.Hertz(i.rate), Channels: i.channels, Bits: i.bits, Kind: "FLAC", Frames: -1}
	if i.total > 0 {
		f.Frames = i.total
	}
	return f
}

// flacFrame is a frame header, RFC 9639 §9.1.
type flacFrame struct {
	variable bool
	size     int // samples of each channel
	stereo   int // channel code: 0–7 plain, 8 left-side, 9 side-right, 10 mid-side
	num      int64
	bytes    int // of the header
}

// maxFLACFrameHead is the longest frame header in bytes.
const maxFLACFrameHead = 16

var errNoSync = errors.New("no block begins here")

// parseFLACFrame reads the header at the start of p and holds it against the
// stream's description.
func parseFLACFrame(p []byte, info flacInfo) (flacFrame, error) {
	var f flacFrame
	if len(p) < 6 || p[0] != 0xFF || p[1]&0xFE != 0xF8 {
		return f, errNoSync
	}
	f.variable = p[1]&1 == 1
	sizeCode, rateCode := int(p[2]>>4), int(p[2]&15)
	f.stereo = int(p[3] >> 4)
	bitsCode := int(p[3] >> 1 & 7)
	if p[3]&1 != 0 || f.stereo > 10 || sizeCode == 0 || rateCode == 15 {
		return f, errNoSync
	}
	n, at := codedNumber(p[4:])
	if at == 0 {
		return f, errNoSync
	}
	f.num = n
	at += 4
	var ok bool
	if f.size, at, ok = flacSize(p, at, sizeCode); !ok {
		return f, errNoSync
	}
	rate, at, ok := flacRate(p, at, rateCode, info.rate)
	if !ok || at >= len(p) || crc8(p[:at]) != p[at] {
		return f, errNoSync
	}
	f.bytes = at + 1
	return f, f.agrees(info, rate, bitsCode)
}

// agrees holds a frame against the stream's description.
func (f flacFrame) agrees(info flacInfo, rate, bitsCode int) error {
	channels := f.stereo + 1
	if f.stereo >= 8 {
		channels = 2
	}
	bits := [8]int{info.bits, 8, 12, -1, 16, 20, 24, 32}[bitsCode]
	if rate != info.rate || channels != info.channels || bits != info.bits {
		return fmt.Errorf("a block of %d Hz, %d channels, %d bits in a file of %d Hz, %d channels, %d bits",
			rate, channels, bits, info.rate, info.channels, info.bits)
	}
	return nil
}

// codedNumber reads the frame or sample number, coded as UTF-8 is but up to
// 36 bits; 0 bytes if it is not one.
func codedNumber(p []byte) (n int64, bytes int) {
	b := p[0]
	if b < 0x80 {
		return int64(b), 1
	}
	more := 0
	for b<<(more+1)&0x80 != 0 {
		more++
	}
	if more < 1 || more > 6 || len(p) <= more {
		return 0, 0
	}
	n = int64(b & (0x3F >> more))
	for _, c := range p[1 : more+1] {
		if c&0xC0 != 0x80 {
			return 0, 0
		}
		n = n<<6 | int64(c&0x3F)
	}
	return n, more + 1
}

// flacSize decodes the block size, §9.1.1.
func flacSize(p []byte, at, code int) (size, next int, ok bool) {
	switch {
	case code == 1:
		return 192, at, true
	case code <= 5:
		return 144 << code, at, true
	case code == 6 && at < len(p):
		return int(p[at]) + 1, at + 1, true
	case code == 7 && at+1 < len(p):
		return int(binary.BigEndian.Uint16(p[at:])) + 1, at + 2, true
	case code >= 8:
		return 1 << code, at, true
	}
	return 0, at, false
}

// flacRate decodes the sampling rate, §9.1.2.
func flacRate(p []byte, at, code, streamRate int) (rate, next int, ok bool) {
	switch {
	case code < 12:
		return [12]int{
			streamRate, 88200, 176400, 192000, 8000, 16000,
			22050, 24000, 32000, 44100, 48000, 96000,
		}[code], at, true
	case code == 12 && at < len(p):
		return int(p[at]) * 1000, at + 1, true
	case code == 13 && at+1 < len(p):
		return int(binary.BigEndian.Uint16(p[at:])), at + 2, true
	case code == 14 && at+1 < len(p):
		return int(binary.BigEndian.Uint16(p[at:])) * 10, at + 2, true
	}
	return 0, at, false
}
