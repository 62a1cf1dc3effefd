package picture

import (
	"encoding/binary"
	"strings"
	"time"
)

// exif is all that is read of EXIF.
type exif struct {
	turn  int
	taken time.Time
	zoned bool
}

// Tags, CIPA DC-008.
const (
	tagOrientation = 0x0112
	tagExifIFD     = 0x8769
	tagTaken       = 0x9003 // DateTimeOriginal
	tagDigitised   = 0x9004 // DateTimeDigitized
	tagZone        = 0x9011 // OffsetTimeOriginal
)

// Types, TIFF 6.0 section 2.
const (
	typeASCII = 2
	typeShort = 3
	typeLong  = 4
)

// maxEntries is the most entries of a directory that are looked at; cameras
// write some dozens.
const maxEntries = 512

// tiff is a TIFF structure.
type tiff struct {
	b     []byte
	order binary.ByteOrder
}

// entry is one entry of a directory.
type entry struct {
	tag, kind uint16
	count     uint32
	value     []byte // the four bytes of value or offset
}

// readEXIF reads a TIFF structure; whatever is not as it should be is as if
// it were not there.
func readEXIF(b []byte) exif {
	x := exif{turn: 1}
	t := tiff{b: b}
	switch {
	case len(b) < 8:
		return x
	case string(b[:4]) == "II*\x00":
		t.order = binary.LittleEndian
	case string(b[:4]) == "MM\x00*":
		t.order = binary.BigEndian
	default:
		return x
	}
	var sub uint32
	t.entries(t.order.Uint32(b[4:]), func(e entry) {
		switch e.tag {
		case tagOrientation:
			if n := t.short(e); n >= 1 && n <= 8 {
				x.turn = n
			}
		case tagExifIFD:
			if e.kind == typeLong {
				sub = t.order.Uint32(e.value)
			}
		}
	})
	if sub != 0 {
		x.taken, x.zoned = t.taken(sub)
	}
	return x
}

// entries visits the entries of the directory at at.
func (t tiff) entries(at uint32, visit func(entry)) {
	if uint64(at)+2 > uint64(len(t.b)) {
		return
	}
	b := t.b[at:]
	n := min(int(t.order.Uint16(b)), maxEntries, (len(b)-2)/12)
	for i := range n {
		e := b[2+12*i:]
		visit(entry{t.order.Uint16(e), t.order.Uint16(e[2:]), t.order.Uint32(e[4:]), e[8:12]})
	}
}

func (t tiff) short(e entry) int {
	if e.kind != typeShort || e.count != 1 {
		return 0
	}
	return int(t.order.Uint16(e.value))
}

// text gives a short text without its closing zero, "" if there is none.
func (t tiff) text(e entry) string {
	if e.kind != typeASCII || e.count > 32 {
		return ""
	}
	b := e.value
	if e.count > 4 {
		at := uint64(t.order.Uint32(e.value))
		if at+uint64(e.count) > uint64(len(t.b)) {
			return ""
		}
		b = t.b[at:]
	}
	s, _, _ := strings.Cut(string(b[:e.count]), "\x00")
	return s
}

// taken reads the date from the directory at at.
func (t tiff) taken(at uint32) (taken time.Time, zoned bool) {
	var original, digitised, zone string
	t.entries(at, func(e entry) {
		switch e.tag {
		case tagTaken:
			original = t.text(e)
		case tagDigitised:
			digitised = t.text(e)
		case tagZone:
			zone = t.text(e)
		}
	})
	if z, err := time.Parse("2006:01:02 15:04:05-07:00", original+zone); err == nil {
		return plausible(z), !plausible(z).IsZero()
	}
	for _, s := range []string{original, digitised} {
		if z, err := time.Parse("2006:01:02 15:04:05", s); err == nil {
			return plausible(z), false
		}
	}
	return time.Time{}, false
}

// plausible drops dates of a clock that was never set.
func plausible(t time.Time) time.Time {
	if t.Year() < 1990 { // before there were cameras that write EXIF
		return time.Time{}
	}
	return t
}
