package plot

import (
	"math"

	"beatwright/internal/say"
	"beatwright/position"
)

// Places in the picture of a curve, px.
const (
	curveWidth, curveHeight = 576.0, 240.0
	hoursFrom, hoursTo      = 58.0, 446.0
	curveTop, curveFoot     = 14.0, 190.0
	flatFrom, flatTo        = 468.0, 532.0
	sharedAt, curveEnd      = 553.0, 572.0
	spotSize                = 6.0
	curveStep               = 3.0 // px between points of a wave
)

// Picture draws all states in one panel.
func (c Curve) Picture() *Picture { return c.panel(c.States) }

// Panels draws each state in a panel of its own, on the same scale.
func (c Curve) Panels() []*Picture {
	var out []*Picture
	for _, s := range c.States {
		out = append(out, c.panel([]State{s}))
	}
	return out
}

type curveGraph struct {
	c    Curve
	p    *Picture
	y    axis
	x    axis // hours
	busy []Point
}

func (c Curve) panel(states []State) *Picture {
	states = states[:min(len(states), 2)]
	g := curveGraph{
		c: c, p: &Picture{Width: curveWidth, Height: curveHeight}, y: c.scale(curveFoot, curveTop),
		x: axis{0, 12, hoursFrom, hoursTo},
	}
	shown := Curve{states, c.Limits}
	g.p.Title, g.p.Desc, g.p.Caption = "Rate by position", shown.Words().Sentence, shown.caption()
	if low, high := shown.spanned(); !finite(low, high) {
		g.p.empty("No rate by position has been heard.")
		return g.p
	}
	g.grid()
	for _, s := range states {
		g.wave(s)
	}
	for i, s := range states {
		g.points(s, 4*float64(i*2-1)*float64(len(states)-1))
	}
	g.share(states)
	g.limits()
	g.axes()
	return g.p
}

// empty says in a dashed frame why nothing is drawn.
func (p *Picture) empty(words string) {
	l, t, r, f := 1.0, 1.0, p.Width-1, p.Height-1
	p.Dashed(Second, Point{l, t}, Point{r, t}, Point{r, f}, Point{l, f}, Point{l, t})
	p.Text(Ink, Point{24, (t+f)/2 + 5}, "start", words, false)
}

func (g *curveGraph) grid() {
	ticks, places := g.y.steps(7)
	for _, v := range ticks {
		pen := Hair
		if v == 0 {
			pen = Axis
		}
		y := g.y.at(v)
		g.p.Line(pen, Point{hoursFrom, y}, Point{curveEnd, y})
		g.p.Text(Second, Point{hoursFrom - 14, y + 5}, "end", signed(v, places), false)
	}
}

// signed prints a tick with its sign.
func signed(v float64, places int) string {
	s := say.Fixed(v, places)
	if v > 0 {
		return "+" + s
	}
	return s
}

func (g *curveGraph) wave(s State) {
	if !s.waved() {
		return
	}
	var line, upper, lower []Point
	for x := hoursFrom; x <= hoursTo+1e-9; x += curveStep {
		v, u := s.alike((x - hoursFrom) / (hoursTo - hoursFrom) * 12)
		line = append(line, Point{x, g.y.within(v)})
		upper = append(upper, Point{x, g.y.within(v + u)})
		lower = append(lower, Point{x, g.y.within(v - u)})
	}
	edge := append([]Point{}, upper...)
	for i := len(lower) - 1; i >= 0; i-- {
		edge = append(edge, lower[i])
	}
	g.busy = append(g.busy, edge...)
	g.p.Area(Edged, edge...)
	if s.Left {
		g.p.Line(Ink, line...)
	} else {
		g.p.Broken(Ink, line...)
	}
}

// points sets each rate at its hour, 12 at both ends, and the level ones
// apart; two states stand shift px beside their hour.
func (g *curveGraph) points(s State, shift float64) {
	for _, p := range s.drawable() {
		for _, x := range g.places(p.Position) {
			g.point(Point{x + shift, g.y.within(p.Value)}, p, s.Left)
		}
	}
}

func (g *curveGraph) places(p position.Position) []float64 {
	switch {
	case p == position.CH:
		return []float64{flatFrom + 14}
	case p == position.FH:
		return []float64{flatFrom + 50}
	case p == position.H12:
		return []float64{hoursFrom, hoursTo}
	}
	return []float64{g.x.at(p.HourUp())}
}

func (g *curveGraph) point(at Point, r Rate, left bool) {
	u := own(r.Estimate)
	g.p.beam(Thin, at.X, g.y.within(r.Value-u), g.y.within(r.Value+u), 6)
	g.busy = append(g.busy, at, Point{at.X, g.y.within(r.Value + u)}, Point{at.X, g.y.within(r.Value - u)})
	g.p.Spot(hollow(left), at, spotSize)
}

func hollow(left bool) Pen {
	if left {
		return Ink
	}
	return Open
}

// beam is a bar of doubt with its ends.
func (p *Picture) beam(pen Pen, x, from, to, half float64) {
	p.Line(pen, Point{x, from}, Point{x, to})
	p.Line(pen, Point{x - half, from}, Point{x + half, from})
	p.Line(pen, Point{x - half, to}, Point{x + half, to})
}

// share draws the doubt that all points have in common once, at the side,
// where it can be seen at this scale.
func (g *curveGraph) share(states []State) {
	for _, s := range states {
		u, x := s.shared(), sharedAt
		high := g.y.at(0) - g.y.at(u)
		if high < 3 || 2*high > curveFoot-curveTop {
			continue
		}
		mid := math.Max(curveTop+high, math.Min(curveFoot-high, g.y.within(s.middle())))
		g.p.beam(Past, x, mid-high, mid+high, 4)
		g.p.Text(Second, Point{x, curveFoot + 26}, "middle", s.sharedName(), false)
		return
	}
}

// middle is the mean of the points.
func (s State) middle() float64 {
	sum, n := 0.0, 0
	for _, p := range s.drawable() {
		sum, n = sum+p.Value, n+1
	}
	return sum / float64(max(n, 1))
}

// limits are dotted, with whose.
func (g *curveGraph) limits() {
	for _, l := range g.c.Limits {
		var at []float64
		for _, v := range []float64{float64(l.High), float64(l.Low)} {
			if finite(v) && g.y.holds(v) {
				g.p.Dotted(Thin, Point{hoursFrom, g.y.at(v)}, Point{curveEnd, g.y.at(v)})
				at = append(at, g.y.at(v))
			}
		}
		if len(at) > 0 {
			words := l.words()
			g.p.Label(Second, g.room(at, wide(words)), "start", words)
		}
	}
}

// room is where words of a limit stand clear of the curve: over or under its
// lines, as far left as can be.
func (g *curveGraph) room(at []float64, w float64) Point {
	first := Point{hoursFrom + 8, at[0] - 6}
	for _, y := range []float64{at[0] - 6, at[len(at)-1] + 17} {
		for x := hoursFrom + 8; x+w < flatFrom; x += 20 {
			if y > curveTop && y < curveFoot && g.free(Point{x, y}, w) {
				return Point{x, y}
			}
		}
	}
	return first
}

func (g *curveGraph) free(at Point, w float64) bool {
	for _, q := range g.busy {
		if q.X > at.X-8 && q.X < at.X+w+8 && q.Y > at.Y-20 && q.Y < at.Y+10 {
			return false
		}
	}
	return true
}

func (g *curveGraph) axes() {
	g.p.Line(Axis, Point{hoursFrom, curveFoot}, Point{hoursTo, curveFoot})
	for h := 0; h <= 12; h++ {
		x, tick := g.x.at(float64(h)), 5.0
		if h%3 == 0 {
			tick = 10
			word := say.Count(h)
			if h == 0 {
				word = "12"
			}
			g.p.Text(Ink, Point{x, curveFoot + 26}, "middle", word, true)
		}
		g.p.Line(Axis, Point{x, curveFoot}, Point{x, curveFoot + tick})
	}
	g.p.Text(Second, Point{(hoursFrom + hoursTo) / 2, curveFoot + 45}, "middle", "hour that is up", false)
	g.p.Line(Axis, Point{flatFrom, curveFoot}, Point{flatTo, curveFoot})
	for _, p := range []position.Position{position.CH, position.FH} {
		g.p.Text(Ink, Point{g.places(p)[0], curveFoot + 26}, "middle", p.String(), true)
	}
	g.p.Text(Second, Point{flatFrom + 32, curveFoot + 45}, "middle", "lying flat", false)
}
