package plot

import (
	"math"

	"beatwright/position"
)

// Glyph draws a watch as it lies, size px across: the dial with its mark at
// twelve and the crowns at their true angle, or from the side where it lies
// flat, the domed glass up or down. crowns are the hours at which they stand,
// the winding crown first; none is a crown at 3. A position that is none gives
// a watch with the 12 up.
func Glyph(p position.Position, size float64, crowns ...float64) *Picture {
	if len(crowns) == 0 {
		crowns = []float64{3}
	}
	g := &Picture{Width: glyphSide, Height: glyphSide, Shown: size, Title: p.String() + ", " + p.Words(crowns[0])}
	switch {
	case p.Flat():
		g.lying(p == position.CH)
	case p.Upright():
		g.standing(30*p.HourUp(), crowns)
	default:
		g.Title = "a watch"
		g.standing(0, crowns)
	}
	return g
}

// The glyph is drawn in a square of this side about its middle.
const (
	glyphSide = 52.0
	middle    = glyphSide / 2
)

// standing draws the dial turned counter-clockwise by λ, so that the hour at λ
// is up.
func (p *Picture) standing(λ float64, crowns []float64) {
	for i, hour := range crowns {
		width, out := 4.0, 25.0
		if i > 0 {
			width, out = 2, 22.5
		}
		p.Area(Ink, p.knob(30*hour-λ, 16.5, out, width)...)
	}
	p.Ring(Open, Point{middle, middle}, 18)
	p.Area(Ink, turnedBy(-λ, Point{0, -15.5}, Point{4, -8.5}, Point{-4, -8.5})...)
	for _, hour := range []float64{3, 6, 9} {
		p.Line(Thin, turnedBy(30*hour-λ, Point{0, -11.5}, Point{0, -15})...)
	}
}

// knob is a crown in direction θ, clockwise from up.
func (p *Picture) knob(θ, from, to, half float64) []Point {
	return turnedBy(θ, Point{-half, -from}, Point{-half, -to}, Point{half, -to}, Point{half, -from})
}

// turnedBy turns points about the middle, degrees clockwise.
func turnedBy(θ float64, points ...Point) []Point {
	sin, cos := math.Sincos(θ * math.Pi / 180)
	out := make([]Point, len(points))
	for i, q := range points {
		out[i] = Point{middle + q.X*cos - q.Y*sin, middle + q.X*sin + q.Y*cos}
	}
	return out
}

// lying draws the watch from the side on its table.
func (p *Picture) lying(up bool) {
	mid, flip := middle+4, 1.0
	if !up {
		mid, flip = middle+2, -1
	}
	at := func(x, y float64) Point { return Point{middle + x, mid + flip*y} }
	p.Area(Ink, at(18, -3), at(25, -3), at(25, 3), at(18, 3))
	dome := bow(at(-17, -5), at(-12, -14), at(12, -14), at(17, -5))
	p.Area(Paper, dome...)
	p.Line(Ink, dome...)
	p.Area(Ink, at(-20, -5), at(20, -5), at(20, 5), at(-20, 5))
	p.Area(Ink, at(-12, 5), at(12, 5), at(12, 8), at(-12, 8))
	p.Line(Second, Point{2, middle + 15.5}, Point{glyphSide - 2, middle + 15.5})
}

// bow is a cubic curve in short pieces.
func bow(a, b, c, d Point) []Point {
	const pieces = 16
	out := make([]Point, pieces+1)
	for i := range out {
		t := float64(i) / pieces
		w := [4]float64{(1 - t) * (1 - t) * (1 - t), 3 * t * (1 - t) * (1 - t), 3 * t * t * (1 - t), t * t * t}
		out[i] = Point{w[0]*a.X + w[1]*b.X + w[2]*c.X + w[3]*d.X, w[0]*a.Y + w[1]*b.Y + w[2]*c.Y + w[3]*d.Y}
	}
	return out
}
