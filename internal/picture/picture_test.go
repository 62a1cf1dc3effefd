package picture

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/gif"
	"image/jpeg"
	"image/png"
	"os"
	"strings"
	"testing"
	"time"

	"beatwright"
)

// sides are what the stored first row and first column are as seen, for each
// Orientation: CIPA DC-008, tag 0x0112 (from memory; ffmpeg 5.1.9, which turns
// by EXIF, showed all eight pictures of storedAs upright).
var sides = [9][2]string{
	1: {"top", "left"},
	2: {"top", "right"},
	3: {"bottom", "right"},
	4: {"bottom", "left"},
	5: {"left", "top"},
	6: {"right", "top"},
	7: {"right", "bottom"},
	8: {"left", "bottom"},
}

var opposite = map[string]string{"top": "bottom", "bottom": "top", "left": "right", "right": "left"}

// seen is the colour of the corner where two sides meet.
func seen(a, b string) color.RGBA {
	if c, ok := corners[a+" "+b]; ok {
		return c
	}
	return corners[b+" "+a]
}

// storedAs makes the JPEG of a picture seen 300 wide and 200 tall that a camera
// held as turn would write.
func storedAs(t testing.TB, turn int) []byte {
	row, col := sides[turn][0], sides[turn][1]
	w, h := 300, 200
	if turn > 4 {
		w, h = h, w
	}
	return jpegBytes(t, quarters(w, h,
		seen(row, col), seen(row, opposite[col]),
		seen(opposite[row], col), seen(opposite[row], opposite[col])))
}

func TestTurned(t *testing.T) {
	for turn := 1; turn <= 8; turn++ {
		for _, o := range []binary.AppendByteOrder{binary.LittleEndian, binary.BigEndian} {
			b := withEXIF(storedAs(t, turn), makeEXIF(o, turn, nil, nil))
			i, err := lookAt(b)
			if err != nil || i.Turn != turn || i.Width != 300 || i.Height != 200 {
				t.Errorf("turn %d: %+v %v, want 300 × 200", turn, i, err)
			}
			for _, width := range []int{1000, 300, 150, 90, 21} {
				checkUpright(t, fmt.Sprintf("turn %d, %d wide", turn, width), b, width)
			}
		}
	}
}

func checkUpright(t *testing.T, name string, b []byte, width int) {
	t.Helper()
	m := copyOf(t, b, width)
	w, h := m.Bounds().Dx(), m.Bounds().Dy()
	if want := min(width, 300); w != want || h != (want*2+1)/3 {
		t.Errorf("%s: the copy is %d × %d", name, w, h)
	}
	for corner, want := range corners {
		x, y := w/5, h/5
		if strings.Contains(corner, "right") {
			x = w - 1 - x
		}
		if strings.Contains(corner, "bottom") {
			y = h - 1 - y
		}
		if got := m.At(x, y); !near(got, want) {
			t.Errorf("%s: %s is %v, want %v", name, corner, got, want)
		}
	}
}

func copyOf(t *testing.T, b []byte, width int) image.Image {
	t.Helper()
	var out bytes.Buffer
	if err := Copy(context.Background(), &out, bytes.NewReader(b), int64(len(b)), width); err != nil {
		t.Fatal(err)
	}
	m, err := jpeg.Decode(&out)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// TestNoPlaceLeft: a copy is pixels and nothing else, by its segments and by
// its bytes.
func TestNoPlaceLeft(t *testing.T) {
	b := withEXIF(small(t), makeEXIF(binary.BigEndian, 6, nil, []tag{words(tagTaken, "2026:03:04 05:06:07")}))
	b = withSegment(b, 0xE1, []byte("http://ns.adobe.com/xap/1.0/\x00<x:xmpmeta>INVENTED MAKER</x:xmpmeta>"))
	b = withSegment(b, 0xFE, []byte("INVENTED MAKER said so"))
	original := bytes.Clone(b)
	secrets := []string{"Exif", string(place), "INVENTED", "xmp", "2026"}
	for _, s := range secrets {
		if !bytes.Contains(b, []byte(s)) {
			t.Fatalf("the picture made for this has no %q", s)
		}
	}
	for _, width := range []int{Thumbnail, View, 10} {
		c, err := Copies(context.Background(), bytes.NewReader(b), int64(len(b)), width)
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range secrets {
			if bytes.Contains(c[0], []byte(s)) {
				t.Errorf("the copy %d wide has %q in it", width, s)
			}
		}
		// What a picture needs: tables, frame, scan (T.81 table B.1).
		segments(bytes.NewReader(c[0]), int64(len(c[0])), func(marker byte, _, _ int64) bool {
			if marker != 0xDB && marker != 0xC0 && marker != 0xC4 {
				t.Errorf("the copy %d wide has a segment %X", width, marker)
			}
			return true
		})
	}
	if !bytes.Equal(b, original) {
		t.Error("the picture itself was changed")
	}
}

func TestTaken(t *testing.T) {
	utc := time.Date(2026, 3, 4, 5, 6, 7, 0, time.UTC)
	for _, c := range []struct {
		name  string
		data  []tag
		want  time.Time
		zoned bool
	}{
		{"clock's face", []tag{words(tagTaken, "2026:03:04 05:06:07")}, utc, false},
		{"with its zone", []tag{words(tagTaken, "2026:03:04 07:06:07"), words(tagZone, "+02:00")}, utc, true},
		{"zone first", []tag{words(tagZone, "-05:30"), words(tagTaken, "2026:03:03 23:36:07")}, utc, true},
		{"zone unknown", []tag{words(tagTaken, "2026:03:04 05:06:07"), words(tagZone, "   :  ")}, utc, false},
		{"digitised only", []tag{words(tagDigitised, "2026:03:04 05:06:07")}, utc, false},
		{"both", []tag{words(tagDigitised, "2020:03:04 05:06:07"), words(tagTaken, "2026:03:04 05:06:07")}, utc, false},
		{"not known", []tag{words(tagTaken, "    :  :     :  :  ")}, time.Time{}, false},
		{"clock not set", []tag{words(tagTaken, "0000:00:00 00:00:00")}, time.Time{}, false},
		{"clock at its beginning", []tag{words(tagTaken, "1970:01:01 00:00:00")}, time.Time{}, false},
		{"no such day", []tag{words(tagTaken, "2026:02:30 00:00:00")}, time.Time{}, false},
		{"not text", []tag{{tagTaken, typeLong, 1, []byte{1, 2, 3, 4}}}, time.Time{}, false},
		{"length beyond the end", []tag{{tagTaken, typeASCII, 4_000_000_000, []byte{255, 255, 255, 255}}}, time.Time{}, false},
		{"none", nil, time.Time{}, false},
	} {
		for _, o := range []binary.AppendByteOrder{binary.LittleEndian, binary.BigEndian} {
			i, err := lookAt(withEXIF(small(t), makeEXIF(o, 1, nil, c.data)))
			if err != nil || !i.Taken.Equal(c.want) || i.Zoned != c.zoned {
				t.Errorf("%s: %v, zoned %v, %v; want %v", c.name, i.Taken, i.Zoned, err, c.want)
			}
		}
	}
}

func pngBytes(t testing.TB, m image.Image) []byte {
	var b bytes.Buffer
	if err := png.Encode(&b, m); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func gifBytes(t testing.TB, m image.Image) []byte {
	var b bytes.Buffer
	if err := gif.Encode(&b, m, nil); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// webpFile reads quarters as WebP, made from pngBytes by ffmpeg 5.1.9 with
// libwebp.
func webpFile(t testing.TB, name string) []byte {
	t.Helper()
	b, err := os.ReadFile("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func TestFormats(t *testing.T) {
	m := quarters(60, 40, corners["top left"], corners["top right"], corners["bottom left"], corners["bottom right"])
	for _, c := range []struct {
		want Format
		b    []byte
	}{
		{JPEG, jpegBytes(t, m)},
		{PNG, pngBytes(t, m)},
		{GIF, gifBytes(t, m)},
		{WebP, webpFile(t, "quarters.webp")},
		{WebP, webpFile(t, "quarters-lossy.webp")},
	} {
		i, err := lookAt(c.b)
		if err != nil || i.Format != c.want || i.Width != 60 || i.Height != 40 || i.Turn != 1 || !i.Taken.IsZero() {
			t.Errorf("%s: %+v %v", c.want, i, err)
		}
		got := copyOf(t, c.b, 30)
		if !near(got.At(3, 3), corners["top left"]) || !near(got.At(26, 17), corners["bottom right"]) {
			t.Errorf("%s: the corners are %v and %v", c.want, got.At(3, 3), got.At(26, 17))
		}
	}
}

// TestTurnedElsewhere: PNG and WebP can say how they lie as well.
func TestTurnedElsewhere(t *testing.T) {
	x := makeEXIF(binary.LittleEndian, 8, nil, []tag{words(tagTaken, "2026:03:04 05:06:07")})
	p := pngBytes(t, image.NewGray(image.Rect(0, 0, 5, 9)))
	chunk := append(binary.BigEndian.AppendUint32(nil, uint32(len(x))), "eXIf"...)
	chunk = append(append(chunk, x...), 0, 0, 0, 0) // the sum is not looked at here
	p = append(append(bytes.Clone(p[:33]), chunk...), p[33:]...)
	for name, tiff := range map[string][]byte{"plain": x, "as JPEG has it": append([]byte("Exif\x00\x00"), x...)} {
		w := append(webpFile(t, "quarters.webp"), "EXIF"...)
		w = append(binary.LittleEndian.AppendUint32(w, uint32(len(tiff))), tiff...)
		binary.LittleEndian.PutUint32(w[4:], uint32(len(w)-8))
		if got := readEXIF(findEXIF(WebP, bytes.NewReader(w), int64(len(w)))); got.turn != 8 || got.taken.IsZero() {
			t.Errorf("WebP, %s: %+v", name, got)
		}
	}
	if got := readEXIF(findEXIF(PNG, bytes.NewReader(p), int64(len(p)))); got.turn != 8 || got.taken.IsZero() {
		t.Errorf("PNG: %+v", got)
	}
}

func TestRefused(t *testing.T) {
	for _, c := range []struct {
		name, b string
		kind    error
		says    string
	}{
		{"empty", "", ErrKind, "empty"},
		{"HEIC", "\x00\x00\x00\x24ftypheic\x00\x00\x00\x00mif1heic", ErrKind, "take JPEG"},
		{"HEIC by a compatible brand", "\x00\x00\x00\x1cftypabcd\x00\x00\x00\x00mif1heix", ErrKind, "take JPEG"},
		{"HEIC by its container", "\x00\x00\x00\x18ftypmif1\x00\x00\x00\x00miaf", ErrKind, "take JPEG"},
		{"AVIF", "\x00\x00\x00\x1cftypavif\x00\x00\x00\x00mif1miaf", ErrKind, "send JPEG"},
		{"film", "\x00\x00\x00\x18ftypmp42\x00\x00\x00\x00mp42isom", ErrKind, "send JPEG"},
		{"SVG", `<svg xmlns="http://www.w3.org/2000/svg"/>`, ErrKind, "send JPEG"},
		{"text", "x", ErrKind, "send JPEG"},
		{"JPEG's first bytes", "\xff\xd8\xff", ErrBroken, "broken"},
		{"PNG's first bytes", "\x89PNG\r\n\x1a\n", ErrBroken, "broken"},
		{"WebP's first bytes", "RIFF\x00\x00\x00\x00WEBP", ErrBroken, "broken"},
		{"GIF's first bytes", "GIF89a", ErrBroken, "broken"},
		{"GIF of nothing", "GIF89a\x00\x00\x00\x00\x00\x00\x00", ErrBroken, "broken"},
	} {
		_, err := lookAt([]byte(c.b))
		if !errors.Is(err, c.kind) || beatwright.CodeOf(err) != beatwright.Wrong || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v, want %v with %q", c.name, err, c.kind, c.says)
		}
	}
}

func TestCutShort(t *testing.T) {
	for _, whole := range [][]byte{small(t), pngBytes(t, image.NewGray(image.Rect(0, 0, 90, 90)))} {
		b := whole[:len(whole)-20]
		_, err := Copies(context.Background(), bytes.NewReader(b), int64(len(b)), 10)
		if !errors.Is(err, ErrBroken) {
			t.Errorf("%.4q cut short: %v, want ErrBroken", b, err)
		}
	}
}

// TestPartialFrame: a GIF whose first frame fills but a part keeps its shape.
func TestPartialFrame(t *testing.T) {
	pal := color.Palette{color.Black}
	var b bytes.Buffer
	err := gif.EncodeAll(&b, &gif.GIF{
		Image: []*image.Paletted{image.NewPaletted(image.Rect(20, 0, 40, 10), pal)}, Delay: []int{0},
		Config: image.Config{ColorModel: pal, Width: 40, Height: 40},
	})
	if err != nil {
		t.Fatal(err)
	}
	m := copyOf(t, b.Bytes(), 40)
	if m.Bounds().Dx() != 40 || m.Bounds().Dy() != 40 || !near(m.At(30, 3), color.RGBA{0, 0, 0, 255}) ||
		!near(m.At(5, 3), color.RGBA{255, 255, 255, 255}) || !near(m.At(30, 30), color.RGBA{255, 255, 255, 255}) {
		t.Errorf("%v: %v %v %v", m.Bounds(), m.At(30, 3), m.At(5, 3), m.At(30, 30))
	}
}

// TestClear: what is transparent becomes white, not black.
func TestClear(t *testing.T) {
	if got := copyOf(t, pngBytes(t, image.NewNRGBA(image.Rect(0, 0, 40, 40))), 10).At(5, 5); !near(got, color.RGBA{255, 255, 255, 255}) {
		t.Errorf("got %v", got)
	}
}

func TestFit(t *testing.T) {
	for _, c := range []struct{ w, h, max, wantW, wantH int }{
		{4000, 3000, 1600, 1600, 1200},
		{3000, 4000, 320, 320, 427},
		{100, 50, 320, 100, 50},     // never larger
		{1000, 60000, 320, 11, 640}, // a strip: at most twice as tall
		{60000, 10, 320, 320, 1},    // never nothing
		{10, 60000, 1600, 1, 3200},
	} {
		if w, h := fit(c.w, c.h, c.max); w != c.wantW || h != c.wantH {
			t.Errorf("%d × %d in %d: %d × %d, want %d × %d", c.w, c.h, c.max, w, h, c.wantW, c.wantH)
		}
	}
}

// TestStrips: pictures of extreme shape make copies.
func TestStrips(t *testing.T) {
	for _, p := range []image.Point{{1, 1}, {3000, 1}, {1, 3000}, {641, 2}, {319, 1000}} {
		m := copyOf(t, pngBytes(t, image.NewGray(image.Rectangle{Max: p})), 320)
		if s := m.Bounds().Size(); s.X < 1 || s.Y < 1 || s.X > 320 || s.Y > 640 {
			t.Errorf("%v: copy of %v", p, s)
		}
	}
}
