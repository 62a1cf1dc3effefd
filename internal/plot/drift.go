package plot

import (
	"errors"
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
	Beats []Beat // in order of time
	// Rate is the fitted slope and its 95 % half-width by the sound alone;
	// Known is false when no nominal beat is, and the drift is then against
	// the watch's own mean beat.
	Rate, U95 unit.SecondsPerDay
	Known     bool
	// BeatError is how far the two sides' lines lie apart, half the difference
	// of alternate beats: above 0 if the first come late, below if early.
	BeatError unit.Milliseconds
	// Small draws it for the live page.
	Small bool
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
	g.fan()
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
	right         float64 // where the fan ends
}

func (d Drift) graph() (*graph, error) {
	g := &graph{d: d, p: &Picture{Width: pictureWidth, Height: 372, Title: "Drift", Desc: d.Words().Sentence}, right: right}
	if d.Small {
		g.p.Width, g.p.Height, g.right = 450, 236, 450
	}
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
	off := float64(g.d.BeatError) / 2
	if b.First {
		off = -off
	}
	q := Point{float64(b.At), g.d.line(float64(b.At)) - float64(b.Late) + off}
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
	if from := low.X - 0.05*(high.X-low.X); from < 0 {
		low.X = 0
	}
	room := math.Max((high.Y-low.Y)*0.05, 0.05)
	g.x = axis{low.X, math.Max(high.X, low.X+1), 86, 806}
	g.y = axis{low.Y - room, high.Y + room, 306, 66}
	if g.d.Small {
		g.x.from, g.x.to = 44, 336
		g.y.from, g.y.to = 196, 60
	}
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
	rows, columns := 6, 8
	if g.d.Small {
		rows, columns = 4, 5
	}
	ticks, places := g.y.steps(rows)
	for _, v := range ticks {
		y := g.y.at(v)
		g.p.Line(Hair, Point{g.x.from, y}, Point{g.x.to, y})
		g.p.Text(Second, Point{g.x.from - 10, y + 5}, "end", say.Fixed(v, places), false)
	}
	g.p.Text(Second, Point{g.x.from - 10, g.y.to - 10}, "end", "ms", false)
	g.p.Text(Second, Point{g.x.from, g.y.to - 10}, "start", "ahead", false)
	ticks, places = g.x.steps(columns)
	for i, v := range ticks {
		x, word := g.x.at(v), say.Fixed(v, places)
		if i == len(ticks)-1 {
			word = say.Unit(word, "s")
		}
		g.p.Line(Second, Point{x, g.y.from}, Point{x, g.y.from + 6})
		g.p.Text(Second, Point{x, g.y.from + 24}, "middle", word, false)
	}
	g.p.Line(Second, Point{g.x.from, g.y.from}, Point{g.x.to, g.y.from})
}

// fan gives the eye the scale: slopes of a round rate, drawn as steep as the
// drift beside them would be.
func (g *graph) fan() {
	// Reach is how far the rays run right, and about how far they may rise, px.
	const reach, rise = 36.0, 32.0
	at := Point{g.x.to + 30, (g.y.from + g.y.to) / 2}
	g.p.Text(Second, Point{g.right, g.y.to - 10}, "end", "slope, s/d", false)
	perRate := 1000 / float64(unit.Day) * (g.y.from - g.y.to) / (g.y.high - g.y.low) / ((g.x.to - g.x.from) / (g.x.high - g.x.low))
	rate := niceStep(rise / reach / perRate / 2)
	places := max(0, int(math.Ceil(-math.Log10(rate)-1e-9)))
	for _, sign := range []float64{1, 0, -1} {
		end := Point{at.X + reach, at.Y - sign*rate*perRate*reach}
		g.p.Line(Thin, at, end)
		word := say.Fixed(sign*rate, places)
		if sign > 0 {
			word = "+" + word
		}
		g.p.Text(Second, Point{end.X + 6, end.Y + 5 - 5*sign}, "start", word, false)
	}
}

// ribbon fills between the two sides' lines.
func (g *graph) ribbon() {
	h := float64(g.d.BeatError) / 2
	if h == 0 || math.IsNaN(h) {
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
	how := " first beats solid, second open, the ribbon between the beat error; steel: the line with its 95 % bow tie"
	if len(g.out) > 0 {
		how += "; crosses: left out (" + say.Count(len(g.out)) + ")"
	}
	if g.d.Small {
		g.p.Spans(Second, Point{0, titleAt}, "start", Span{"Drift", true}, Span{" solid first beats, open second", false})
		return
	}
	g.p.Spans(Second, Point{left, titleAt}, "start", Span{"Drift", true}, Span{how + ".", false})
	fitted := "against its own mean beat: no nominal beat is known"
	if g.d.Known {
		fitted = "the line: " + say.SignedWith(float64(g.d.Rate), float64(g.d.U95), "s/d") + " by the sound alone"
	}
	g.p.Text(Steel, Point{g.x.from, g.y.from + 50}, "start", fitted, false)
}
