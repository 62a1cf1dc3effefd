package sound

import (
	"bytes"
	"encoding/binary"
)

// mp3Head is a frame header of MPEG audio, ISO 11172-3 §2.4.1.3.
type mp3Head struct {
	version  int // 1, 2 or 25 for "2.5"
	layer    int
	rate     int
	channels int
	bytes    int // of the whole frame
	samples  int
	side     int // bytes of side information, layer III
}

var (
	mp3Rates  = [3]int{44100, 48000, 32000}
	mp3KbitV1 = [3][15]int{
		{0, 32, 64, 96, 128, 160, 192, 224, 256, 288, 320, 352, 384, 416, 448},
		{0, 32, 48, 56, 64, 80, 96, 112, 128, 160, 192, 224, 256, 320, 384},
		{0, 32, 40, 48, 56, 64, 80, 96, 112, 128, 160, 192, 224, 256, 320},
	}
	mp3KbitV2 = [3][15]int{
		{0, 32, 48, 56, 64, 80, 96, 112, 128, 144, 160, 176, 192, 224, 256},
		{0, 8, 16, 24, 32, 40, 48, 56, 64, 80, 96, 112, 128, 144, 160},
		{0, 8, 16, 24, 32, 40, 48, 56, 64, 80, 96, 112, 128, 144, 160},
	}
)

// parseMP3Head reads a frame header; false if it is none, or of free bit rate.
func parseMP3Head(b []byte) (mp3Head, bool) {
	if len(b) < 4 || b[0] != 0xFF || b[1]&0xE0 != 0xE0 {
		return mp3Head{}, false
	}
	version := [4]int{25, 0, 2, 1}[b[1]>>3&3]
	layer := 4 - int(b[1]>>1&3)
	kbit, rate := int(b[2]>>4), int(b[2]>>2&3)
	if version == 0 || layer == 4 || kbit == 0 || kbit == 15 || rate == 3 || b[3]&3 == 2 {
		return mp3Head{}, false
	}
	h := mp3Head{version: version, layer: layer, rate: mp3Rates[rate], channels: 2, samples: 1152, side: 32}
	bits := mp3KbitV1[layer-1][kbit] * 1000
	if version != 1 {
		bits = mp3KbitV2[layer-1][kbit] * 1000
		h.rate /= 2
		h.side = 17
		if layer == 3 {
			h.samples = 576
		}
	}
	if version == 25 {
		h.rate /= 2
	}
	if b[3]>>6 == 3 {
		h.channels, h.side = 1, h.side/2+1
	}
	pad := int(b[2] >> 1 & 1)
	if layer == 1 {
		h.samples = 384
		h.bytes = (12*bits/h.rate + pad) * 4
	} else {
		h.bytes = h.samples/8*bits/h.rate + pad
	}
	return h, true
}

// alike says whether two headers can belong to one stream.
func (h mp3Head) alike(o mp3Head) bool {
	return h.version == o.version && h.layer == o.layer && h.rate == o.rate
}

// findMP3 looks for the first frame in b: three headers that follow each
// other, or fewer at the very end.
func findMP3(b []byte) (at int, h mp3Head, ok bool) {
	for at = 0; at+4 <= len(b); at++ {
		i := bytes.IndexByte(b[at:], 0xFF)
		if i < 0 {
			break
		}
		at += i
		if h, ok = parseMP3Head(b[at:]); ok && followed(b[at:], h, at == 0) {
			return at, h, true
		}
	}
	return 0, mp3Head{}, false
}

// followed says whether two more frames like h follow in b; at the start of
// a stream that ends early one is enough, and there the first may be alone.
func followed(b []byte, h mp3Head, start bool) bool {
	next := h
	for i := range 2 {
		if len(b) < next.bytes+4 {
			return start || i > 0
		}
		b = b[next.bytes:]
		var ok bool
		if next, ok = parseMP3Head(b); !ok || !next.alike(h) {
			return false
		}
	}
	return true
}

// mp3Info is what the first frame may tell about the whole: "Xing" or "Info"
// with LAME's delays (from memory, common practice).
type mp3Info struct {
	present bool
	frames  int64 // −1 unknown
	delay   int64 // samples the encoder put before the sound
	padding int64 // and after it
}

func parseMP3Info(b []byte, h mp3Head) mp3Info {
	info := mp3Info{frames: -1}
	at := 4 + h.side
	if len(b) < h.bytes || h.bytes < at+8 {
		return info
	}
	b = b[at:h.bytes]
	if id := string(b[:4]); id != "Xing" && id != "Info" {
		return info
	}
	info.present = true
	flags := binary.BigEndian.Uint32(b[4:])
	b = b[8:]
	for _, f := range []struct{ flag, size int }{{1, 4}, {2, 4}, {4, 100}, {8, 4}} {
		if int(flags)&f.flag == 0 {
			continue
		}
		if len(b) < f.size {
			return info
		}
		if f.flag == 1 {
			info.frames = int64(binary.BigEndian.Uint32(b))
		}
		b = b[f.size:]
	}
	if len(b) >= 24 && b[0] != 0 {
		d := int64(b[21])<<16 | int64(b[22])<<8 | int64(b[23])
		info.delay, info.padding = d>>12, d&0xFFF
	}
	return info
}
