package plot

import (
	"errors"
	"fmt"
	"math"

	"beatwright/internal/say"
	"beatwright/unit"
)

// Beat is one beat of a drift.
type Beat struct {
	At    unit.Seconds // from the first sample
	First bool         // of the two sides
	// Late is how far the beat lies behind its side's line.
	Late    unit.Milliseconds
	LeftOut bool
}

// Drift is how far a watch has run ahead or behind over a hearing.
type Drift struct {
	Name  string
	Beats []Beat // in order of time
	// Rate is the fitted slope and its 95 % half-width by the sound alone;
	// Known is false when no nominal beat is, and the drift is then against
	// the watch's own mean beat.
	Rate, U95 unit.SecondsPerDay
	Known     bool
	// BeatError is how far the two sides' lines lie apart: half the difference
	// of alternate beats. Which side is ahead, sound cannot tell; the first is
	// drawn ahead.
	BeatError unit.Milliseconds
}

// mostPoints is how many points of a side are drawn; more are averaged in
// even pieces (chosen: about two a px).
const mostPoints = 1500

// ErrNothing is a drift with fewer than two beats.
var ErrNothing = errors.New("fewer than two beats to draw")

// Picture draws the drift: ms ahead over time. First beats are a solid line,
// second beats open dots, the ribbon between them the beat error; the fitted
// line and its 95 % bow tie are steel.
func (d Drift) Picture() (*Picture, error) {
	g, err := d.graph()
	if err != nil {
		return nil, err
	}
	g.axes()
	g.ribbon()
	g.fit()
	g.sides()
	g.words()
	return g.p, nil
}

// graph is a drift being drawn.
type graph struct {
	d             Drift
	p             *Picture
	x, y          axis
	mid           float64 // s, middle of the hearing
	first, second []Point // values: s, ms ahead
	out           []Point
}

func (d Drift) graph() (*graph, error) {
	g := &graph{d: d, p: &Picture{Width: 960, Height: 480, Title: "Drift of " + d.Name}}
	for _, b := range d.Beats {
		if math.IsNaN(float64(b.At)) || math.IsNaN(float64(b.Late)) {
			continue
		}
		g.take(b)
	}
	if len(g.first)+len(g.second) < 2 {
		return nil, ErrNothing
	}
	g.first, g.second = thin(g.first), thin(g.second)
	g.scale()
	return g, nil
}

func (g *graph) take(b Beat) {
	sign := 1.0
	if b.First {
		sign = -1
	}
	q := Point{float64(b.At), g.d.line(float64(b.At)) - float64(b.Late) - sign*float64(g.d.BeatError)/2}
	switch {
	case b.LeftOut:
		g.out = append(g.out, q)
	case b.First:
		g.first = append(g.first, q)
	default:
		g.second = append(g.second, q)
	}
}

// line is the fitted drift, ms ahead: 1 s/d is 1000/86 400 ms a second.
func (d Drift) line(t float64) float64 { return float64(d.Rate) * t * 1000 / float64(unit.Day) }

// thin averages even pieces when there are more points than can be seen.
func thin(points []Point) []Point {
	n := len(points)
	if n <= mostPoints {
		return points
	}
	out := make([]Point, mostPoints)
	for i := range out {
		from, to := i*n/mostPoints, (i+1)*n/mostPoints
		for _, q := range points[from:to] {
			out[i].X += q.X / float64(to-from)
			out[i].Y += q.Y / float64(to-from)
		}
	}
	return out
}

func (g *graph) scale() {
	low, high := Point{math.Inf(1), math.Inf(1)}, Point{math.Inf(-1), math.Inf(-1)}
	for _, side := range [][]Point{g.first, g.second} {
		for _, q := range side {
			low.X, low.Y = math.Min(low.X, q.X), math.Min(low.Y, q.Y)
			high.X, high.Y = math.Max(high.X, q.X), math.Max(high.Y, q.Y)
		}
	}
	g.mid = (low.X + high.X) / 2
	room := math.Max((high.Y-low.Y)*0.08, 0.05)
	g.x = axis{low.X, math.Max(high.X, low.X+1), 76, 930}
	g.y = axis{low.Y - room, high.Y + room, 426, 80}
}

func (g *graph) at(q Point) Point { return Point{g.x.at(q.X), g.y.at(q.Y)} }

func (g *graph) all(points []Point) []Point {
	out := make([]Point, len(points))
	for i, q := range points {
		out[i] = g.at(q)
	}
	return out
}

func (g *graph) axes() {
	ticks, places := g.y.steps(6)
	for _, v := range ticks {
		y := g.y.at(v)
		g.p.Line(Hair, Point{g.x.from, y}, Point{g.x.to, y})
		g.p.Text(Second, Point{g.x.from - 10, y + 5}, "end", say.Fixed(v, places), false)
	}
	ticks, places = g.x.steps(8)
	for _, v := range ticks {
		x := g.x.at(v)
		g.p.Line(Second, Point{x, g.y.from}, Point{x, g.y.from + 6})
		g.p.Text(Second, Point{x, g.y.from + 24}, "middle", say.Fixed(v, places), false)
	}
	g.p.Line(Second, Point{g.x.from, g.y.from}, Point{g.x.to, g.y.from})
	g.p.Text(Second, Point{g.x.to, g.y.from + 44}, "end", "seconds heard", false)
}

// ribbon fills between the two sides' lines.
func (g *graph) ribbon() {
	h := float64(g.d.BeatError) / 2
	if !(h > 0) {
		return
	}
	l, r := g.x.low, g.x.high
	a, b := Point{l, g.d.line(l) + h}, Point{r, g.d.line(r) + h}
	c, e := Point{r, g.d.line(r) - h}, Point{l, g.d.line(l) - h}
	g.p.Area(Band, g.all([]Point{a, b, c, e})...)
	g.p.Line(Second, g.all([]Point{a, b})...)
	g.p.Line(Second, g.all([]Point{c, e})...)
}

// fit lays the fitted line with its bow tie: both ends as far off as the
// slope's doubt can make them.
func (g *graph) fit() {
	l, r := g.x.low, g.x.high
	off := float64(g.d.U95) * (r - g.mid) * 1000 / float64(unit.Day)
	g.p.Area(Steel, g.all([]Point{
		{l, g.d.line(l) - off}, {g.mid, g.d.line(g.mid)}, {l, g.d.line(l) + off},
	})...)
	g.p.Area(Steel, g.all([]Point{
		{r, g.d.line(r) - off}, {g.mid, g.d.line(g.mid)}, {r, g.d.line(r) + off},
	})...)
	g.p.Line(Steel, g.all([]Point{{l, g.d.line(l)}, {r, g.d.line(r)}})...)
}

func (g *graph) sides() {
	if len(g.first) > 1 {
		g.p.Line(Ink, g.all(g.first)...)
	}
	g.p.Dots(Open, g.all(g.second)...)
	var seen []Point
	for _, q := range g.out {
		if q.Y >= g.y.low && q.Y <= g.y.high && q.X >= g.x.low && q.X <= g.x.high {
			seen = append(seen, g.at(q))
		}
	}
	if len(seen) > 0 {
		g.p.Crosses(Second, seen...)
	}
}

func (g *graph) words() {
	g.p.Text(Ink, Point{20, 30}, "start", "Drift of "+g.d.Name, true)
	how := "Milliseconds ahead. First beats: solid line; second: open dots; the ribbon between is the beat error"
	if len(g.out) > 0 {
		how += fmt.Sprintf("; crosses: left out (%s)", say.Count(len(g.out)))
	}
	g.p.Text(Second, Point{20, 54}, "start", how+".", false)
	fitted := "against its own mean beat: no nominal beat is known"
	if g.d.Known {
		fitted = "the line: " + say.SignedWith(float64(g.d.Rate), float64(g.d.U95), "s/d") + " by the sound alone"
	}
	g.p.Text(Steel, Point{20, g.p.Height - 10}, "start", fitted, false)
}
