package picture

import (
	"context"
	"errors"
	"fmt"
	"image"
	"image/gif"
	"image/jpeg"
	"image/png"
	"io"
	"time"

	"golang.org/x/image/webp"

	"beatwright"
)

// Format is a kind of picture, as the ending of a file name.
type Format string

// The formats that can be shown.
const (
	JPEG Format = "jpg"
	PNG  Format = "png"
	GIF  Format = "gif"
	WebP Format = "webp"
)

// Bounds of what is taken, chosen: above what telephones and cameras give.
const (
	// MaxBytes is the most a picture's file may have.
	MaxBytes = 64 << 20
	// MaxPixels is the most pixels it may have.
	MaxPixels = 60_000_000
	// maxMemory is the most bytes that decoding may take.
	maxMemory = 512 << 20
)

// Widths of the copies, in pixels.
const (
	Thumbnail = 320
	View      = 1600
)

// What errors.Is finds behind the errors of this package; the words for a
// person are in the *beatwright.Error around them.
var (
	// ErrKind: not a kind that can be shown.
	ErrKind = errors.New("not a picture of a kind that can be shown")
	// ErrTooLarge: too many bytes or pixels.
	ErrTooLarge = errors.New("picture too large")
	// ErrBroken: a picture that cannot be decoded.
	ErrBroken = errors.New("broken picture")
)

// Info is what is known of a picture without decoding it.
type Info struct {
	Format Format
	// Width and Height are pixels as the picture is to be shown, upright.
	Width, Height int
	// Turn is how it has to be turned for that, as EXIF numbers it: 1 (not
	// at all) to 8.
	Turn int
	// Taken is when the camera's clock says it was taken; zero if it does
	// not. Zoned tells whether the camera said its zone; if not, Taken is the
	// clock's face in UTC.
	Taken time.Time
	Zoned bool
}

// Look tells what the picture in the size bytes of r is, or why it is none
// that can be shown.
func Look(r io.ReaderAt, size int64) (i Info, err error) {
	if size > MaxBytes {
		return i, tooLarge(fmt.Sprintf("the picture has %d MB; at most %d are taken", size/1e6, MaxBytes/1_000_000))
	}
	i.Format, err = sniff(r, size)
	if err != nil {
		return i, err
	}
	c, err := config(i.Format, io.NewSectionReader(r, 0, size))
	if err != nil {
		return i, broken(i.Format, err)
	}
	cost := decodingCost(i.Format, c, r, size)
	px := int64(c.Width) * int64(c.Height)
	switch {
	case c.Width < 1 || c.Height < 1:
		return i, broken(i.Format, errors.New("it has no pixels"))
	case px > MaxPixels || cost > maxMemory:
		return i, tooLarge(fmt.Sprintf("the picture has %d × %d pixels, which is too large", c.Width, c.Height))
	}
	i.Width, i.Height = c.Width, c.Height
	e := readEXIF(findEXIF(i.Format, r, size))
	i.Turn, i.Taken, i.Zoned = e.turn, e.taken, e.zoned
	if i.Turn > 4 {
		i.Width, i.Height = i.Height, i.Width
	}
	return i, nil
}

func tooLarge(text string) error {
	return &beatwright.Error{
		Code: beatwright.Wrong, Text: text, Do: "take it at a lower resolution, or make it smaller", Err: ErrTooLarge,
	}
}

func broken(f Format, err error) error {
	return &beatwright.Error{
		Code: beatwright.Wrong, Text: fmt.Sprintf("the picture (%s) is broken and cannot be shown", f),
		Do: "send it again, or take another", Err: fmt.Errorf("%w: %w", ErrBroken, err),
	}
}

// config reads the size and colours of a picture.
func config(f Format, r io.Reader) (c image.Config, err error) {
	defer notPanic(&err)
	switch f {
	case JPEG:
		return jpeg.DecodeConfig(r)
	case PNG:
		return png.DecodeConfig(r)
	case GIF:
		return gif.DecodeConfig(r)
	}
	return webp.DecodeConfig(r)
}

// decode reads the pixels; of a moving picture, the first.
func decode(ctx context.Context, f Format, r io.Reader) (m image.Image, err error) {
	defer notPanic(&err)
	r = &slowReader{ctx, r}
	switch f {
	case JPEG:
		return jpeg.Decode(r)
	case PNG:
		return png.Decode(r)
	case GIF:
		return gif.Decode(r)
	}
	return webp.Decode(r)
}

// notPanic makes an error of a decoder's panic: pictures come from anywhere.
func notPanic(err *error) {
	if p := recover(); p != nil {
		*err = fmt.Errorf("the decoder gave up: %v", p)
	}
}

// slowReader gives little at a time and asks the context before each, since a
// few hundred bytes can hold many passes over a large picture.
type slowReader struct {
	ctx context.Context
	r   io.Reader
}

func (s *slowReader) Read(b []byte) (int, error) {
	if err := s.ctx.Err(); err != nil {
		return 0, err
	}
	return s.r.Read(b[:min(len(b), 256)])
}
