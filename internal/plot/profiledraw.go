package plot

import (
	"math"

	"beatwright/internal/say"
)

// Places in the picture of a profile, px.
const (
	pictureWidth  = 960.0
	profileHeight = 412.0
	left, right   = 40.0, 920.0
	titleAt       = 22.0 // of every panel
	upperTop      = 84.0 // of the louder side's loudest sound
	upperBase     = 184.0
	lowerBase     = 190.0
	lowerFoot     = lowerBase + upperBase - upperTop
	axisAt        = 334.0
)

// Picture draws the first beat above in solid ink and the second mirrored
// below, open, its time running to the left: so that the swing is seen as an
// angle, and the beat error as the shift of the lift window from rest. Where
// the swing cannot be told the axis is time, and runs right for both.
func (f Profile) Picture() *Picture {
	g := &profileGraph{f: f, p: &Picture{Width: pictureWidth, Height: profileHeight, Title: "Beat profile", Desc: f.Words().Sentence}}
	g.title()
	if !f.sound() || !f.Sides[0].heard() && !f.Sides[1].heard() {
		g.empty()
		return g.p
	}
	g.scale()
	if f.Standing != NotTold {
		g.window()
	}
	for s := range f.Sides {
		g.side(s)
	}
	g.height()
	g.axis()
	if f.Standing != NotTold {
		g.turning(-1)
		g.turning(1)
	}
	return g.p
}

type profileGraph struct {
	f         Profile
	p         *Picture
	x         axis
	at, power [2][]float64
	top       float64 // dB of the loudest
}

func (g *profileGraph) title() {
	how := " not drawn with angles: the swing cannot be told. Milliseconds from the drop, first beats above, second mirrored below"
	a := float64(g.f.Amplitude)
	switch g.f.Standing {
	case Known:
		how = " by balance angle from rest; bars: turning points at ±" + say.Unit(say.Value(a, float64(g.f.U95)), "°") +
			"; the shaded lift’s shift from rest is the beat error"
	case AtMost:
		how = " by balance angle; axis drawn for " + say.Unit(say.Fixed(math.Ceil(a), 0), "°") +
			", the most it can be; hatched: where it may turn"
	}
	g.p.Spans(Second, Point{left, titleAt}, "start", Span{"Beat profile", true}, Span{how + ".", false})
}

// empty says in a dashed frame why nothing is drawn.
func (g *profileGraph) empty() {
	top, foot := upperTop-28, axisAt
	g.p.Dashed(Second, Point{left, top}, Point{right, top}, Point{right, foot}, Point{left, foot}, Point{left, top})
	g.p.Text(Ink, Point{left + 24, (top + foot) / 2}, "start", "Not drawn: the sounds lie below the noise.", false)
}

func (g *profileGraph) scale() {
	g.x = g.f.span(left, right)
	g.top = 6
	for s := range g.f.Sides {
		g.at[s], g.power[s] = g.f.pool(s, g.x)
		for _, v := range g.power[s] {
			g.top = math.Max(g.top, over(v))
		}
	}
}

// level is where dB over the noise stand on side s.
func (g *profileGraph) level(s int, db float64) float64 {
	h := (upperBase - upperTop) * db / g.top
	if s == 0 {
		return upperBase - h
	}
	return lowerBase + h
}

func (g *profileGraph) side(s int) {
	g.call(s)
	if len(g.at[s]) < 2 {
		return
	}
	line := []Point{{g.at[s][0], g.level(s, 0)}}
	for i, x := range g.at[s] {
		line = append(line, Point{x, g.level(s, over(g.power[s][i]))})
	}
	line = append(line, Point{line[len(line)-1].X, g.level(s, 0)}, line[0])
	if s == 0 {
		g.p.Area(Ink, line...)
	}
	g.p.Line(Thin, line...)
	for _, m := range g.f.marks(s) {
		g.mark(s, m)
	}
}

// call names a side.
func (g *profileGraph) call(s int) {
	words := [2]string{"first beat", "second beat"}[s]
	if g.f.Standing != NotTold {
		words += [2]string{", swinging right", ", swinging left"}[s]
	}
	if len(g.at[s]) < 2 {
		words += ": not heard"
	}
	if s == 0 {
		g.p.Text(Ink, Point{left, upperBase - 38}, "start", words, true)
		return
	}
	anchor, x := "end", right
	if g.f.Standing == NotTold {
		anchor, x = "start", left
	}
	g.p.Text(Ink, Point{x, lowerBase + 48}, anchor, words, true)
}

// mark sets the leader and word of a sound: at the outer sides of the lift,
// the impulse beyond them in a row of its own.
func (g *profileGraph) mark(s int, m named) {
	a, ok := g.f.place(s, m.at)
	if !ok || a < g.x.low || a > g.x.high {
		return
	}
	x := g.x.at(a)
	tip, word, row := upperTop-14, upperTop-5, -17.0
	if s == 1 {
		tip, word, row = lowerFoot+14, lowerFoot+14, 17.0
	}
	anchor, gap := "end", -6.0
	if (m.word == "drop") != (s == 1 && g.f.Standing != NotTold) {
		anchor, gap = "start", 6
	}
	if m.word == "impulse" {
		tip, word = tip+row, word+row
		anchor, gap = "start", 6
		if s == 1 && g.f.Standing != NotTold {
			anchor, gap = "end", -6
		}
	}
	lay := g.p.Line
	if !m.sure {
		lay = g.p.Dashed
	}
	lay(Second, Point{x, g.level(s, 0)}, Point{x, tip})
	g.p.Text(Ink, Point{x + gap, word}, anchor, m.word, true)
}

// window washes the lift about the line of centres.
func (g *profileGraph) window() {
	half, centre := float64(g.f.Lift)/2, float64(g.f.BeatError)
	l, r := g.x.at(centre-half), g.x.at(centre+half)
	g.p.Area(Wash, Point{l, upperTop}, Point{r, upperTop}, Point{r, axisAt}, Point{l, axisAt})
	g.p.Dashed(Second, Point{g.x.at(0), upperTop}, Point{g.x.at(0), lowerFoot})
}

// height sets how many px are so many dB, and names the noise.
func (g *profileGraph) height() {
	db := 10.0
	if g.top < 12 {
		db = 5
	}
	x := right - 8
	g.p.Line(Second, Point{x - 4, upperBase}, Point{x, upperBase}, Point{x, g.level(0, db)}, Point{x - 4, g.level(0, db)})
	g.p.Text(Second, Point{x - 8, g.level(0, db) + 10}, "end", say.Unit(say.Fixed(db, 0), "dB")+" over the noise", false)
}

func (g *profileGraph) axis() {
	g.p.Line(Second, Point{left, axisAt}, Point{right, axisAt})
	step := 30.0
	if g.f.Standing == NotTold {
		step = 5
	}
	for v := g.x.low; v <= g.x.high+1e-9; v += step {
		x := g.x.at(v)
		g.p.Line(Second, Point{x, axisAt}, Point{x, axisAt + 6})
		switch {
		case g.f.Standing == NotTold:
			g.p.Text(Second, Point{x, axisAt + 24}, "middle", say.Fixed(v, 0), false)
		case v == 0:
			g.p.Text(Ink, Point{x, axisAt + 24}, "middle", "rest", true)
		case math.Mod(v, 60) == 0:
			g.p.Text(Second, Point{x, axisAt + 24}, "middle", say.Unit(say.Fixed(v, 0), "°"), false)
		}
	}
	if g.f.Standing == NotTold {
		g.p.Text(Second, Point{right, axisAt + 46}, "end", "milliseconds from the drop", false)
		return
	}
	g.p.Text(Second, Point{left, axisAt + 50}, "start",
		"Which beat swings right, and so to which side rest is off, is of the drawing: sound cannot tell.", false)
}

// turning draws where the balance turns: a bar as wide as the doubt with its
// needle, or hatching out to a bracket where only a bound is known.
func (g *profileGraph) turning(sign float64) {
	a, u := float64(g.f.Amplitude), float64(g.f.U95WithLift)
	if g.f.Standing == Known {
		l, r := g.x.at(sign*a-u), g.x.at(sign*a+u)
		g.p.Area(Solid, Point{l, axisAt - 8}, Point{r, axisAt - 8}, Point{r, axisAt + 8}, Point{l, axisAt + 8})
		g.p.Line(Ink, Point{g.x.at(sign * a), axisAt - 15}, Point{g.x.at(sign * a), axisAt + 11})
		return
	}
	l, r := g.x.at(float64(g.f.BeatError)+sign*float64(g.f.Lift)/2), g.x.at(sign*a)
	g.p.Hatch(Point{l, axisAt - 8}, Point{r, axisAt - 8}, Point{r, axisAt + 8}, Point{l, axisAt + 8})
	g.p.Line(Ink, Point{r - sign*7, axisAt - 13}, Point{r, axisAt - 13}, Point{r, axisAt + 10})
}
