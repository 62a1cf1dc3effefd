package picture

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"flag"
	"fmt"
	"image"
	"image/color"
	"math/rand/v2"
	"testing"
	"time"
)

// frame makes the head of a JPEG: marker C0 for baseline, C2 for progressive.
func frame(marker byte, w, h int, sampling ...byte) []byte {
	b := []byte{0xFF, 0xD8, 0xFF, marker, 0, byte(8 + 3*len(sampling)), 8}
	b = binary.BigEndian.AppendUint16(b, uint16(h))
	b = binary.BigEndian.AppendUint16(b, uint16(w))
	b = append(b, byte(len(sampling)))
	for i, s := range sampling {
		b = append(b, byte(i+1), s, 0)
	}
	return b
}

// pngHead makes the head of a PNG with 8 or 16 bits in RGBA.
func pngHead(t *testing.T, w, h uint32, bits byte) []byte {
	t.Helper()
	m := image.Image(image.NewNRGBA(image.Rect(0, 0, 1, 1)))
	if bits == 16 {
		m = image.NewNRGBA64(image.Rect(0, 0, 1, 1))
	}
	b := pngBytes(t, m)
	binary.BigEndian.PutUint32(b[16:], w)
	binary.BigEndian.PutUint32(b[20:], h)
	binary.BigEndian.PutUint32(b[29:], crc(b[12:29]))
	return b
}

// TestTooLarge: what would take too much is refused before it is decoded.
func TestTooLarge(t *testing.T) {
	full, half := []byte{0x11, 0x11, 0x11}, []byte{0x22, 0x11, 0x11}
	gifHead := []byte("GIF89a\xff\xff\xff\xff\x00\x00\x00,\x00\x00\x00\x00\x01\x00\x01\x00\x00")
	for _, c := range []struct {
		name string
		b    []byte
		ok   bool
	}{
		{"JPEG, 60 Mpx", frame(0xC0, 10000, 6000, full...), true},
		{"JPEG, just more", frame(0xC0, 10000, 6001, full...), false},
		{"JPEG, 65 500 × 65 500", frame(0xC0, 65500, 65500, 0x11), false},
		{"progressive, colours at half size, 50 Mpx", frame(0xC2, 10000, 5000, half...), true},
		{"progressive, all colours, 50 Mpx", frame(0xC2, 10000, 5000, full...), false},
		{"PNG, 60 Mpx", pngHead(t, 10000, 6000, 8), true},
		{"PNG, 60 Mpx of 16 bits", pngHead(t, 10000, 6000, 16), true},
		{"PNG, more", pngHead(t, 100000, 6000, 8), false},
		{"PNG, 2³¹−1 × 1", pngHead(t, 1<<31-1, 1, 8), false},
		{"GIF, 65 535 × 65 535", gifHead, false},
	} {
		i, err := lookAt(append(c.b, 0xFF, 0xDA, 0, 8)) // where the head of a JPEG ends
		if c.ok && err != nil || !c.ok && !errors.Is(err, ErrTooLarge) {
			t.Errorf("%s: %+v %v, want taken: %v", c.name, i, err, c.ok)
		}
	}
	if _, err := Look(bytes.NewReader(small(t)), MaxBytes+1); !errors.Is(err, ErrTooLarge) {
		t.Errorf("too many bytes: %v", err)
	}
}

// manyScans makes a progressive JPEG, grey, w × w, with scans that each pass
// over all of it in some dozens of bytes.
func manyScans(w, scans int) []byte {
	b := frame(0xC2, w, w, 0x11)
	b = append(b, 0xFF, 0xDB, 0, 67, 0)
	b = append(b, bytes.Repeat([]byte{1}, 64)...)
	table := func(class, symbol byte) { // one code, "00", T.81 B.2.4.2
		b = append(b, 0xFF, 0xC4, 0, 20, class, 0, 1, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, symbol)
	}
	table(0x00, 0)    // a difference of nothing
	table(0x10, 0xE0) // a run of blocks that end, up to 32 767
	blocks := (w + 7) / 8 * ((w + 7) / 8)
	// The code and 14 ones; a zero is stuffed behind a byte of ones.
	scan := bytes.Repeat([]byte{0x3F, 0xFF, 0}, blocks/32767+1)
	for range scans {
		b = append(b, 0xFF, 0xDA, 0, 8, 1, 1, 0, 1, 63, 0)
		b = append(b, scan...)
	}
	return append(b, 0xFF, 0xD9)
}

// TestTime: decoding that would take hours is given up in time.
func TestTime(t *testing.T) {
	b := manyScans(7000, 50_000)
	if _, err := lookAt(b); err != nil {
		t.Fatalf("look: %v", err)
	}
	const bound = 200 * time.Millisecond
	ctx, stop := context.WithTimeout(context.Background(), bound)
	defer stop()
	begin := time.Now()
	_, err := Copies(ctx, bytes.NewReader(b), int64(len(b)), 10)
	took := time.Since(begin)
	if !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("after %v: %v, want that it took too long", took, err)
	}
	if took > bound+5*time.Second {
		t.Errorf("it was given up after %v, want %v and little more", took, bound)
	}
	t.Logf("%d bytes, given up after %v", len(b), took)
}

// TestOneAtATime: waiting for another picture ends with the context.
func TestOneAtATime(t *testing.T) {
	slot <- struct{}{}
	defer func() { <-slot }()
	ctx, stop := context.WithCancel(context.Background())
	stop()
	b := small(t)
	if _, err := Copies(ctx, bytes.NewReader(b), int64(len(b)), 10); !errors.Is(err, context.Canceled) {
		t.Errorf("got %v", err)
	}
}

// seeds are small good pictures of every kind.
func seeds(t testing.TB) map[string][]byte {
	data := []tag{words(tagTaken, "2026:03:04 05:06:07"), words(tagZone, "+02:00")}
	m := image.NewPaletted(image.Rect(0, 0, 20, 20), color.Palette{color.Black, color.White})
	return map[string][]byte{
		"JPEG":        withEXIF(small(t), makeEXIF(binary.BigEndian, 6, nil, data)),
		"progressive": manyScans(64, 3),
		"PNG":         pngBytes(t, m),
		"GIF":         gifBytes(t, m),
		"WebP":        webpFile(t, "quarters.webp"),
		"WebP lossy":  webpFile(t, "quarters-lossy.webp"),
	}
}

// mutate copies b, cuts it or not, and changes up to 11 bytes, half of the
// time near the start, where the heads are.
func mutate(b []byte, rnd *rand.Rand) []byte {
	b = bytes.Clone(b)
	if rnd.IntN(3) == 0 {
		b = b[:rnd.IntN(len(b)+1)]
	}
	for range rnd.IntN(12) {
		if len(b) == 0 {
			break
		}
		at := rnd.IntN(len(b))
		if rnd.IntN(2) == 0 {
			at = rnd.IntN(min(len(b), 100))
		}
		b[at] = byte(rnd.IntN(256))
	}
	return b
}

var campaign = flag.Duration("campaign", 400*time.Millisecond, "how long to try broken files of each kind")

// TestBrokenFiles: whatever is changed in a picture, it is looked at and
// copied, or refused, in time.
func TestBrokenFiles(t *testing.T) {
	for name, b := range seeds(t) {
		rnd := rand.New(rand.NewPCG(3, 4))
		n, slowest := 0, time.Duration(0)
		for end := time.Now().Add(*campaign); time.Now().Before(end); n++ {
			begin := time.Now()
			tryOut(t, mutate(b, rnd))
			slowest = max(slowest, time.Since(begin))
		}
		if slowest > 5*time.Second {
			t.Errorf("%s: one took %v", name, slowest)
		}
		t.Logf("%s: %d files, the slowest took %v", name, n, slowest)
	}
}

// tryOut looks at b and copies it if it is not very large, for speed.
func tryOut(t *testing.T, b []byte) {
	t.Helper()
	i, err := lookAt(b)
	if err != nil {
		if !errors.Is(err, ErrKind) && !errors.Is(err, ErrTooLarge) && !errors.Is(err, ErrBroken) {
			t.Fatalf("an error that is none of ours: %v", err)
		}
		return
	}
	if i.Width < 1 || i.Height < 1 || i.Width*i.Height > MaxPixels || i.Turn < 1 || i.Turn > 8 {
		t.Fatalf("taken: %+v", i)
	}
	if i.Width*i.Height > 100_000 {
		return
	}
	c, err := Copies(context.Background(), bytes.NewReader(b), int64(len(b)), 16)
	if err != nil && !errors.Is(err, ErrBroken) {
		t.Fatal(err)
	}
	if err == nil {
		if got, err := lookAt(c[0]); err != nil || got.Width > 16 || got.Height > 32 || got.Turn != 1 {
			t.Fatalf("the copy: %+v %v", got, err)
		}
	}
}

// TestBrokenEXIF tries many more of EXIF alone.
func TestBrokenEXIF(t *testing.T) {
	data := []tag{words(tagTaken, "2026:03:04 05:06:07"), words(tagZone, "+02:00")}
	for _, o := range []binary.AppendByteOrder{binary.LittleEndian, binary.BigEndian} {
		rnd := rand.New(rand.NewPCG(5, 6))
		b := makeEXIF(o, 3, nil, data)[:2200]
		n, read := 0, 0
		for end := time.Now().Add(*campaign / 2); time.Now().Before(end); n++ {
			if checkEXIF(t, mutate(b, rnd)) {
				read++
			}
		}
		if read == 0 {
			t.Error("no date was read from any")
		}
		t.Logf("%v: %d, of which %d gave a date", o, n, read)
	}
}

func checkEXIF(t *testing.T, b []byte) bool {
	t.Helper()
	x := readEXIF(b)
	if x.turn < 1 || x.turn > 8 || !x.taken.IsZero() && x.taken.Year() < 1989 || x.taken.IsZero() && x.zoned {
		t.Fatalf("read %+v from %x", x, b)
	}
	return !x.taken.IsZero()
}

// TestCountlessEntries: a directory that claims to have no end is read to a
// bound.
func TestCountlessEntries(t *testing.T) {
	b := []byte("II*\x00\x08\x00\x00\x00\xff\xff")
	b = append(b, bytes.Repeat([]byte{0x12, 1, 3, 0, 1, 0, 0, 0, 9, 0, 0, 0}, 5000)...)
	n := 0
	tiff{b, binary.LittleEndian}.entries(8, func(entry) { n++ })
	if n != maxEntries || readEXIF(b).turn != 1 {
		t.Errorf("%d entries, turn %d; want %d and 1, for 9 is no turn", n, readEXIF(b).turn, maxEntries)
	}
}

func FuzzLook(f *testing.F) {
	for _, b := range seeds(f) {
		f.Add(b)
	}
	f.Fuzz(tryOut)
}

func FuzzEXIF(f *testing.F) {
	for turn := range 10 {
		f.Add(makeEXIF(binary.LittleEndian, turn, nil, []tag{words(tagTaken, fmt.Sprintf("202%d:01:02 03:04:05", turn))})[:2100])
	}
	f.Fuzz(func(t *testing.T, b []byte) { checkEXIF(t, b) })
}
