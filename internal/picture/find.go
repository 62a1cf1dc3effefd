package picture

import (
	"encoding/binary"
	"image"
	"image/color"
	"io"
)

// maxEXIF is the most of EXIF that is read: what a JPEG segment can hold.
const maxEXIF = 64 << 10

// maxChunks bounds how many chunks or segments are walked over.
const maxChunks = 4096

// findEXIF gives the TIFF structure beside the pixels, nil if there is none.
func findEXIF(f Format, r io.ReaderAt, size int64) []byte {
	var found []byte
	take := func(at, n int64) {
		b := make([]byte, min(n, maxEXIF))
		k, _ := r.ReadAt(b, at)
		found = b[:k]
	}
	switch f {
	case JPEG:
		segments(r, size, func(marker byte, at, n int64) bool {
			if marker == 0xE1 && n > 6 && is(r, at, "Exif\x00") { // APP1; the sixth byte pads
				take(at+6, n-6)
			}
			return found == nil
		})
	case PNG:
		pngChunks(r, size, func(at, n int64) { take(at, n) })
	case WebP:
		webpChunks(r, size, func(at, n int64) { take(at, n) })
	}
	return found
}

// is tells whether r has this text at at.
func is(r io.ReaderAt, at int64, text string) bool {
	b := make([]byte, len(text))
	n, _ := r.ReadAt(b, at)
	return string(b[:n]) == text
}

// segments walks over the segments of a JPEG up to its first scan, T.81 B.1.1.
// visit gets where the content is and how long; it says whether to go on.
func segments(r io.ReaderAt, size int64, visit func(marker byte, at, n int64) bool) {
	at := int64(2)
	for range maxChunks {
		var h [4]byte
		if k, _ := r.ReadAt(h[:], at); k < len(h) || h[0] != 0xFF {
			return
		}
		if h[1] == 0xFF { // fill before a marker
			at++
			continue
		}
		n := int64(binary.BigEndian.Uint16(h[2:]))
		if h[1] == 0xDA || h[1] == 0xD9 || n < 2 || at+2+n > size {
			return // scan, end, or broken
		}
		if !visit(h[1], at+4, n-2) {
			return
		}
		at += 2 + n
	}
}

// pngChunks visits the first eXIf chunk.
func pngChunks(r io.ReaderAt, size int64, visit func(at, n int64)) {
	at := int64(8)
	for range maxChunks {
		var h [8]byte
		if k, _ := r.ReadAt(h[:], at); k < len(h) {
			return
		}
		n := int64(binary.BigEndian.Uint32(h[:]))
		if at+12+n > size {
			return
		}
		if string(h[4:]) == "eXIf" {
			visit(at+8, n)
			return
		}
		at += 12 + n
	}
}

// webpChunks visits the first EXIF chunk. Some writers keep JPEG's "Exif"
// before the TIFF structure; it is skipped.
func webpChunks(r io.ReaderAt, size int64, visit func(at, n int64)) {
	at := int64(12)
	for range maxChunks {
		var h [8]byte
		if k, _ := r.ReadAt(h[:], at); k < len(h) {
			return
		}
		n := int64(binary.LittleEndian.Uint32(h[4:]))
		if at+8+n > size {
			return
		}
		if string(h[:4]) == "EXIF" {
			if n > 6 && is(r, at+8, "Exif\x00\x00") {
				at, n = at+6, n-6
			}
			visit(at+8, n)
			return
		}
		at += 8 + n + n&1
	}
}

// decodingCost is how many bytes decoding takes, roughly and not less than it
// does.
func decodingCost(f Format, c image.Config, r io.ReaderAt, size int64) int64 {
	px := int64(c.Width) * int64(c.Height)
	switch f {
	case JPEG:
		return px * jpegCost(r, size) / 4
	case GIF:
		return px
	}
	switch c.ColorModel {
	case color.RGBA64Model, color.NRGBA64Model:
		return 8 * px
	}
	return 4 * px
}

// jpegCost is four times the bytes a pixel takes while a JPEG is decoded. A
// progressive one keeps all coefficients, four bytes each, besides.
func jpegCost(r io.ReaderAt, size int64) int64 {
	cost := int64(4 * 4) // four components, if no header is found
	segments(r, size, func(marker byte, at, n int64) bool {
		if marker < 0xC0 || marker > 0xC2 {
			return true
		}
		b := make([]byte, min(n, 6+3*4))
		k, _ := r.ReadAt(b, at)
		area := 4 * samplesPerPixel(b[:k])
		cost = int64(area) + 1
		if marker == 0xC2 {
			cost += 4 * cost
		}
		return false
	})
	return cost
}

// samplesPerPixel reads a frame header, T.81 B.2.2: 3 for colour, 1.5 with
// colour at half size both ways.
func samplesPerPixel(b []byte) float64 {
	const most = 4
	if len(b) < 6 || len(b) < 6+3*int(b[5]) || b[5] < 1 || b[5] > most {
		return most
	}
	sum, h, v := 0, 1, 1
	for i := range int(b[5]) {
		f := b[6+3*i+1]
		sum += int(f>>4) * int(f&15)
		h, v = max(h, int(f>>4)), max(v, int(f&15))
	}
	return min(most, float64(sum)/float64(h*v))
}
