package demo

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	stddraw "image/draw"
	"image/png"
	"math"
	"strings"

	"beatwright"
	"beatwright/internal/live"

	"golang.org/x/image/vector"
)

// Size of a drawing, px, and of the field that drawings are described in.
const (
	drawnWidth, drawnHeight = 640, 480
	fieldWidth, fieldHeight = 160, 120
)

var (
	paper = color.RGBA{0xef, 0xea, 0xdc, 0xff}
	ink   = color.RGBA{0x1a, 0x1a, 0x18, 0xff}
)

// drawing is a plain stand-in for a picture, in lines on paper.
type drawing struct {
	lines *vector.Rasterizer
}

// drawn gives the picture of what draw draws.
func drawn(draw func(*drawing)) *image.RGBA {
	d := &drawing{vector.NewRasterizer(drawnWidth, drawnHeight)}
	draw(d)
	img := image.NewRGBA(image.Rect(0, 0, drawnWidth, drawnHeight))
	stddraw.Draw(img, img.Bounds(), image.NewUniform(paper), image.Point{}, stddraw.Src)
	d.lines.Draw(img, img.Bounds(), image.NewUniform(ink), image.Point{})
	return img
}

type point struct{ x, y float64 }

// line draws through the points, width in units of the field.
func (d *drawing) line(width float64, points ...point) {
	const k = float64(drawnWidth) / fieldWidth
	z := d.lines
	for i := 1; i < len(points); i++ {
		a, b := points[i-1], points[i]
		dx, dy := b.x-a.x, b.y-a.y
		n := math.Hypot(dx, dy)
		if n == 0 {
			continue
		}
		// A little longer than the stretch, so that bends close.
		ex, ey := dx/n*width/4, dy/n*width/4
		px, py := -dy/n*width/2, dx/n*width/2
		at := func(p point, e, s float64) (float32, float32) {
			return float32((p.x + e*ex + s*px) * k), float32((p.y + e*ey + s*py) * k)
		}
		z.MoveTo(at(a, -1, 1))
		z.LineTo(at(b, 1, 1))
		z.LineTo(at(b, 1, -1))
		z.LineTo(at(a, -1, -1))
		z.ClosePath()
	}
}

// arc draws part of an ellipse, from and to in turns, clockwise from the top.
func (d *drawing) arc(width, cx, cy, rx, ry, from, to float64) {
	const steps = 96
	var ps []point
	for i := range steps + 1 {
		a := 2 * math.Pi * (from + (to-from)*float64(i)/steps)
		ps = append(ps, point{cx + rx*math.Sin(a), cy - ry*math.Cos(a)})
	}
	d.line(width, ps...)
}

func (d *drawing) ring(width, cx, cy, r float64) { d.arc(width, cx, cy, r, r, 0, 1) }

// spoke draws from one radius to another about the middle, at an hour.
func (d *drawing) spoke(width, hour, from, to float64) {
	a := 2 * math.Pi * hour / 12
	s, c := math.Sin(a), math.Cos(a)
	d.line(width, point{80 + from*s, 60 - from*c}, point{80 + to*s, 60 - to*c})
}

func (d *drawing) box(width, x, y, w, h float64) {
	d.line(width, point{x, y}, point{x + w, y}, point{x + w, y + h}, point{x, y + h}, point{x, y})
}

// dialWith draws a dial as it lies, with crowns at the given hours.
func dialWith(crowns ...float64) func(*drawing) {
	return func(d *drawing) {
		d.ring(1, 80, 60, 44)
		d.ring(1, 80, 60, 38)
		for h := range 12 {
			d.spoke(1, float64(h), 33, 36)
		}
		d.spoke(1.6, 10.2, 0, 20)
		d.spoke(1.2, 4.1, 0, 30)
		for _, c := range crowns {
			d.spoke(6, c, 44.5, 50)
		}
	}
}

func dateDial(d *drawing) {
	dialWith(2, 4)(d)
	d.box(1, 100, 55, 11, 10)
}

func backSlots(d *drawing) {
	d.ring(1, 80, 60, 44)
	d.ring(1, 80, 60, 37)
	for h := range 6 {
		d.spoke(3, float64(2*h)+1, 37.5, 43.5)
	}
	d.line(1.4, point{52, 82}, point{44, 88})
	d.line(1.4, point{55, 85}, point{46, 92})
}

func sealRing(d *drawing) {
	d.arc(1, 80, 60, 48, 36, 0, 1)
	d.arc(1, 80, 60, 43, 31, 0, 1)
	d.line(1, point{112, 84}, point{117, 91})
	d.line(1, point{108, 88}, point{112, 94})
}

func train(d *drawing) {
	d.ring(1, 80, 60, 46)
	d.ring(1, 64, 70, 16)
	d.ring(1, 64, 70, 3)
	d.ring(1, 98, 48, 12)
	d.ring(1, 98, 48, 2.5)
	d.arc(1, 80, 62, 46, 30, -0.25, 0.25)
}

func spiral(d *drawing) {
	d.ring(1, 80, 60, 46)
	var ps []point
	for i := range 301 {
		a := 2 * math.Pi * float64(i) / 100
		r := 6 + 10*float64(i)/100
		ps = append(ps, point{80 + r*math.Sin(a), 60 - r*math.Cos(a)})
	}
	d.line(1, ps...)
}

func pivot(d *drawing) {
	d.line(1, point{14, 48}, point{86, 48}, point{86, 36}, point{110, 36}, point{110, 54}, point{140, 54}, point{140, 62})
	d.line(1, point{14, 74}, point{86, 74}, point{86, 86}, point{110, 86}, point{110, 68}, point{136, 68}, point{140, 62})
}

func lid(d *drawing) {
	d.ring(1, 80, 66, 42)
	d.ring(1, 80, 66, 38)
	d.ring(1.4, 80, 14, 7)
	d.box(1, 75, 20, 10, 5)
	d.line(1, point{40, 84}, point{36, 92}, point{42, 95})
}

// picture keeps a drawn stand-in with the job, and with the finding that it
// shows, if any.
func (v *visit) picture(says string, draw func(*drawing), of *beatwright.Finding) {
	if v.err != nil {
		return
	}
	var b bytes.Buffer
	if err := (&png.Encoder{CompressionLevel: png.BestSpeed}).Encode(&b, drawn(draw)); err != nil {
		v.err = err
		return
	}
	ps := live.Pictures{
		Uploads: []live.Upload{{Name: strings.ReplaceAll(says, " ", "-") + ".png", Bytes: bytes.NewReader(b.Bytes()), Size: int64(b.Len())}},
		Says:    says + "; drawn", Who: who,
	}
	if of != nil {
		ps.Finding = of.ID
	}
	kept, err := v.bench.KeepPictures(v.ctx, string(v.job.ID), ps)
	if err != nil {
		v.err = fmt.Errorf("picture %s: %w", says, err)
		return
	}
	if of != nil {
		of.Rev++
		of.Pictures = append(of.Pictures, kept[0].ID)
	}
}
