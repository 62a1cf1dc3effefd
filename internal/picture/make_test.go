package picture

import (
	"bytes"
	"encoding/binary"
	"hash/crc32"
	"image"
	"image/color"
	"image/jpeg"
	"testing"
)

// tag is an entry of an EXIF directory made for a test.
type tag struct {
	id, kind uint16
	count    uint32
	value    []byte // any length; what is longer than 4 goes behind
}

// directory writes a directory of tags to be placed at at, with what goes
// behind it.
func directory(o binary.AppendByteOrder, at int, tags []tag) []byte {
	b := o.AppendUint16(nil, uint16(len(tags)))
	behind := []byte{}
	end := at + 2 + 12*len(tags) + 4
	for _, t := range tags {
		b = o.AppendUint16(b, t.id)
		b = o.AppendUint16(b, t.kind)
		b = o.AppendUint32(b, t.count)
		if len(t.value) > 4 {
			b = o.AppendUint32(b, uint32(end+len(behind)))
			behind = append(behind, t.value...)
			continue
		}
		b = append(b, append(bytes.Clone(t.value), 0, 0, 0, 0)[:4]...)
	}
	b = o.AppendUint32(b, 0)
	return append(b, behind...)
}

// words makes a text tag.
func words(id uint16, s string) tag {
	return tag{id, typeASCII, uint32(len(s) + 1), []byte(s + "\x00")}
}

// makeEXIF makes a TIFF structure: first directory with more, the one of the
// picture's data at 2000 and the one of the place at 4000.
func makeEXIF(o binary.AppendByteOrder, turn int, more, data []tag) []byte {
	b := []byte("II*\x00")
	if o.String() == binary.BigEndian.String() {
		b = []byte("MM\x00*")
	}
	b = o.AppendUint32(b, 8)
	first := append([]tag{
		words(0x010F, "INVENTED MAKER"),
		{tagOrientation, typeShort, 1, o.AppendUint16(nil, uint16(turn))},
		{tagExifIFD, typeLong, 1, o.AppendUint32(nil, 2000)},
		{0x8825, typeLong, 1, o.AppendUint32(nil, 4000)}, // the place's directory
	}, more...)
	b = append(b, directory(o, 8, first)...)
	b = append(append(b, make([]byte, 2000-len(b))...), directory(o, 2000, data)...)
	return append(append(b, make([]byte, 4000-len(b))...), directory(o, 4000, []tag{
		words(1, "N"),
		{2, 5, 3, place},
	})...)
}

// place is a latitude as three fractions, invented.
var place = []byte{0, 0, 0, 47, 0, 0, 0, 1, 0, 0, 0, 13, 0, 0, 0, 1, 0, 0, 0x30, 0x39, 0, 0, 1, 0}

// withEXIF puts a TIFF structure into a JPEG.
func withEXIF(jpg, tiff []byte) []byte {
	head := append([]byte("Exif\x00\x00"), tiff...)
	return withSegment(jpg, 0xE1, head)
}

func withSegment(jpg []byte, marker byte, content []byte) []byte {
	b := append(bytes.Clone(jpg[:2]), 0xFF, marker)
	b = binary.BigEndian.AppendUint16(b, uint16(len(content)+2))
	return append(append(b, content...), jpg[2:]...)
}

// corner colours of the upright picture: top left, top right, bottom left,
// bottom right.
var corners = map[string]color.RGBA{
	"top left": {220, 30, 30, 255}, "top right": {30, 200, 30, 255},
	"bottom left": {30, 30, 220, 255}, "bottom right": {230, 220, 40, 255},
}

// quarters makes a picture of four fields.
func quarters(w, h int, tl, tr, bl, br color.RGBA) *image.RGBA {
	m := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			c := [2][2]color.RGBA{{tl, tr}, {bl, br}}[2*y/h][2*x/w]
			m.SetRGBA(x, y, c)
		}
	}
	return m
}

func jpegBytes(t testing.TB, m image.Image) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := jpeg.Encode(&b, m, &jpeg.Options{Quality: 95}); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// small makes a small upright JPEG.
func small(t testing.TB) []byte {
	c := corners
	return jpegBytes(t, quarters(64, 48, c["top left"], c["top right"], c["bottom left"], c["bottom right"]))
}

func lookAt(b []byte) (Info, error) { return Look(bytes.NewReader(b), int64(len(b))) }

// crc is what a PNG chunk ends with.
func crc(b []byte) uint32 { return crc32.ChecksumIEEE(b) }

// near tells whether two colours are the same but for the losses of JPEG.
func near(a color.Color, b color.RGBA) bool {
	r, g, bl, _ := a.RGBA()
	d := func(x uint32, y uint8) bool { n := int(x>>8) - int(y); return n > -25 && n < 25 }
	return d(r, b.R) && d(g, b.G) && d(bl, b.B)
}
