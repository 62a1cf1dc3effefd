package picture

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"image"
	"image/jpeg"
	"io"
	"time"

	"golang.org/x/image/draw"

	"beatwright"
)

// quality of the copies, chosen: scratches and engravings stay clear, a copy
// 1 600 wide has some 300 kB.
const quality = 85

// tallest is how many times its width a copy may be tall, so that a strip of
// a picture makes no huge one.
const tallest = 2

// MaxTime bounds the making of copies of one picture: far above what
// MaxPixels take, far below what a file made to be slow would.
const MaxTime = 20 * time.Second

// slot lets one picture be decoded at a time, so that several sent at once
// take no more memory than one.
var slot = make(chan struct{}, 1)

// Copy writes the picture in the size bytes of r upright, at most maxWidth
// pixels wide and twice that tall, as JPEG without anything beside the pixels.
// It is never made larger; what is transparent becomes white.
func Copy(ctx context.Context, w io.Writer, r io.ReaderAt, size int64, maxWidth int) error {
	c, err := Copies(ctx, r, size, maxWidth)
	if err != nil {
		return err
	}
	if _, err := w.Write(c[0]); err != nil {
		return fmt.Errorf("write copy of picture: %w", err)
	}
	return nil
}

// Copies makes several copies, as Copy does, decoding once. The context and
// MaxTime bound the time.
func Copies(ctx context.Context, r io.ReaderAt, size int64, maxWidths ...int) ([][]byte, error) {
	i, err := Look(r, size)
	if err != nil {
		return nil, err
	}
	ctx, stop := context.WithTimeout(ctx, MaxTime)
	defer stop()
	select {
	case slot <- struct{}{}:
		defer func() { <-slot }()
	case <-ctx.Done():
		return nil, tooSlow(ctx.Err())
	}
	m, err := decode(ctx, i.Format, io.NewSectionReader(r, 0, size))
	if ctx.Err() != nil {
		return nil, tooSlow(ctx.Err())
	}
	if err != nil {
		return nil, broken(i.Format, err)
	}
	var copies [][]byte
	for _, width := range maxWidths {
		if width < 1 {
			return nil, fmt.Errorf("copy a picture %d pixels wide: %w", width, errors.ErrUnsupported)
		}
		if ctx.Err() != nil {
			return nil, tooSlow(ctx.Err())
		}
		var b bytes.Buffer
		if err := jpeg.Encode(&b, upright(shrink(m, i, width), i.Turn), &jpeg.Options{Quality: quality}); err != nil {
			return nil, fmt.Errorf("make copy of picture: %w", err)
		}
		copies = append(copies, b.Bytes())
	}
	return copies, nil
}

func tooSlow(err error) error {
	return &beatwright.Error{
		Code: beatwright.Wrong, Text: "making copies of the picture took too long, and was stopped",
		Do: "try again, or make the picture smaller", Err: err,
	}
}

// fit gives the size of a copy of w × h, both as shown.
func fit(w, h, maxWidth int) (cw, ch int) {
	f := min(1, float64(maxWidth)/float64(w), float64(tallest*maxWidth)/float64(h))
	return max(1, int(f*float64(w)+0.5)), max(1, int(f*float64(h)+0.5))
}

// shrink makes m small enough, still lying as it is stored. Whole numbers of
// pixels are averaged first, strip by strip, which takes little time and
// memory; the rest is done by a good filter.
func shrink(m image.Image, i Info, maxWidth int) *image.RGBA {
	w, h := fit(i.Width, i.Height, maxWidth)
	size := image.Pt(i.Width, i.Height)
	if i.Turn > 4 {
		w, h, size = h, w, image.Pt(size.Y, size.X)
	}
	s := average(m, size, max(1, min(size.X/w, size.Y/h)))
	if s.Rect.Dx() == w && s.Rect.Dy() == h {
		return s
	}
	d := image.NewRGBA(image.Rect(0, 0, w, h))
	draw.CatmullRom.Scale(d, d.Rect, s, s.Rect, draw.Src, nil)
	return d
}

// average gives m on white of a size, which m may not fill (a GIF's first
// frame), each k × k pixels made one; up to k−1 pixels at the right and below
// are left out.
func average(m image.Image, size image.Point, k int) *image.RGBA {
	w, h := max(1, size.X/k), max(1, size.Y/k)
	d := image.NewRGBA(image.Rect(0, 0, w, h))
	strip := image.NewRGBA(image.Rect(0, 0, w*k, k))
	for y := range h {
		draw.Draw(strip, strip.Rect, image.White, image.Point{}, draw.Src)
		draw.Draw(strip, strip.Rect, m, image.Pt(0, y*k), draw.Over)
		averageRow(d.Pix[y*d.Stride:], strip, w, k)
	}
	return d
}

func averageRow(to []byte, strip *image.RGBA, w, k int) {
	n := uint32(k * k)
	for x := range w {
		var sum [4]uint32
		for y := range k {
			p := strip.Pix[y*strip.Stride+4*x*k:][:4*k]
			for ; len(p) >= 4; p = p[4:] {
				for c := range sum {
					sum[c] += uint32(p[c])
				}
			}
		}
		for c, s := range sum {
			to[4*x+c] = byte((s + n/2) / n)
		}
	}
}
