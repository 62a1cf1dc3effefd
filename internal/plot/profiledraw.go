package plot

import (
	"math"
	"strings"

	"beatwright/internal/say"
)

// Places in the pictures of beats, px.
const (
	pictureWidth = 960.0
	left, right  = 40.0, 920.0
	titleAt      = 22.0 // of every panel
)

// layout is where the parts of a profile's picture stand, px.
type layout struct {
	width, height, left, right      float64
	upperTop                        float64 // of the louder side's loudest sound
	upperBase, lowerBase, lowerFoot float64
	axisAt                          float64
}

// full is the layout of a picture that stands alone, small that of the live page,
// where the words are as large in less room.
var (
	full  = layout{pictureWidth, 412, left, right, 84, 184, 190, 290, 334}
	small = layout{700, 236, 22, 678, 64, 112, 117, 165, 202}
)

// Picture draws the first beat above in solid ink and the second mirrored
// below, open, its time running to the left: so that the swing is seen as an
// angle, and the beat error as the shift of the lift window from rest. Where
// the swing cannot be told the axis is time, and runs right for both.
func (f Profile) Picture() *Picture {
	l := full
	if f.Small {
		l = small
	}
	g := &profileGraph{f: f, l: l, p: &Picture{Width: l.width, Height: l.height, Title: "Beat profile", Desc: f.Words().Sentence}}
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
	l         layout
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
		if g.f.Small {
			how = " by balance angle; turning points at ±" + say.Unit(say.Value(a, float64(g.f.U95)), "°")
		}
	case AtMost:
		how = " by balance angle; axis drawn for " + say.Unit(say.Fixed(math.Ceil(a), 0), "°") +
			", the most it can be; hatched: where it may turn"
		if g.f.Small {
			how = strings.TrimSuffix(how, "; hatched: where it may turn")
		}
	}
	g.p.Spans(Second, Point{g.l.left, titleAt}, "start", Span{"Beat profile", true}, Span{how + ".", false})
}

// empty says in a dashed frame why nothing is drawn.
func (g *profileGraph) empty() {
	top, foot := g.l.upperTop-28, g.l.axisAt
	g.p.Dashed(Second, Point{g.l.left, top}, Point{g.l.right, top}, Point{g.l.right, foot}, Point{g.l.left, foot}, Point{g.l.left, top})
	g.p.Text(Ink, Point{g.l.left + 24, (top + foot) / 2}, "start", "Not drawn: the sounds lie below the noise.", false)
}

func (g *profileGraph) scale() {
	g.x = g.f.span(g.l.left, g.l.right)
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
	h := (g.l.upperBase - g.l.upperTop) * db / g.top
	if s == 0 {
		return g.l.upperBase - h
	}
	return g.l.lowerBase + h
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
		g.p.Text(Ink, Point{g.l.left, g.l.upperBase - 38}, "start", words, true)
		return
	}
	anchor, x := "end", g.l.right
	if g.f.Standing == NotTold {
		anchor, x = "start", g.l.left
	}
	g.p.Text(Ink, Point{x, g.l.lowerBase + 48}, anchor, words, true)
}

// mark sets the leader and word of a sound: at the outer sides of the lift,
// the impulse beyond them in a row of its own.
func (g *profileGraph) mark(s int, m named) {
	a, ok := g.f.place(s, m.at)
	if !ok || a < g.x.low || a > g.x.high {
		return
	}
	x := g.x.at(a)
	tip, word, row := g.l.upperTop-14, g.l.upperTop-5, -17.0
	if s == 1 {
		tip, word, row = g.l.lowerFoot+14, g.l.lowerFoot+14, 17.0
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
	g.p.Area(Wash, Point{l, g.l.upperTop}, Point{r, g.l.upperTop}, Point{r, g.l.axisAt}, Point{l, g.l.axisAt})
	g.p.Dashed(Second, Point{g.x.at(0), g.l.upperTop}, Point{g.x.at(0), g.l.lowerFoot})
}

// height sets how many px are so many dB, and names the noise.
func (g *profileGraph) height() {
	db := 10.0
	if g.top < 12 {
		db = 5
	}
	x := g.l.right - 8
	g.p.Line(Second, Point{x - 4, g.l.upperBase}, Point{x, g.l.upperBase}, Point{x, g.level(0, db)}, Point{x - 4, g.level(0, db)})
	word := g.level(0, db) + 10
	if g.f.Small {
		word = g.level(0, db) - 6
	}
	g.p.Text(Second, Point{x - 8, word}, "end", say.Unit(say.Fixed(db, 0), "dB")+" over the noise", false)
}

func (g *profileGraph) axis() {
	g.p.Line(Second, Point{g.l.left, g.l.axisAt}, Point{g.l.right, g.l.axisAt})
	step := 30.0
	if g.f.Standing == NotTold {
		step = 5
	}
	for v := g.x.low; v <= g.x.high+1e-9; v += step {
		x := g.x.at(v)
		g.p.Line(Second, Point{x, g.l.axisAt}, Point{x, g.l.axisAt + 6})
		switch {
		case g.f.Standing == NotTold:
			g.p.Text(Second, Point{x, g.l.axisAt + 24}, "middle", say.Fixed(v, 0), false)
		case v == 0:
			g.p.Text(Ink, Point{x, g.l.axisAt + 24}, "middle", "rest", true)
		case math.Mod(v, 60) == 0:
			g.p.Text(Second, Point{x, g.l.axisAt + 24}, "middle", say.Unit(say.Fixed(v, 0), "°"), false)
		}
	}
	if g.f.Standing == NotTold {
		g.p.Text(Second, Point{g.l.right, g.l.axisAt + 46}, "end", "milliseconds from the drop", false)
		return
	}
	if g.f.Small {
		return
	}
	g.p.Text(Second, Point{g.l.left, g.l.axisAt + 50}, "start",
		"Which beat swings right, and so to which side rest is off, is of the drawing: sound cannot tell.", false)
}

// turning draws where the balance turns: a bar as wide as the doubt with its
// needle, or hatching out to a bracket where only a bound is known.
func (g *profileGraph) turning(sign float64) {
	a, u := float64(g.f.Amplitude), float64(g.f.U95WithLift)
	if g.f.Standing == Known {
		l, r := g.x.at(sign*a-u), g.x.at(sign*a+u)
		g.p.Area(Solid, Point{l, g.l.axisAt - 8}, Point{r, g.l.axisAt - 8}, Point{r, g.l.axisAt + 8}, Point{l, g.l.axisAt + 8})
		g.p.Line(Ink, Point{g.x.at(sign * a), g.l.axisAt - 15}, Point{g.x.at(sign * a), g.l.axisAt + 11})
		return
	}
	l, r := g.x.at(float64(g.f.BeatError)+sign*float64(g.f.Lift)/2), g.x.at(sign*a)
	g.p.Hatch(Point{l, g.l.axisAt - 8}, Point{r, g.l.axisAt - 8}, Point{r, g.l.axisAt + 8}, Point{l, g.l.axisAt + 8})
	g.p.Line(Ink, Point{r - sign*7, g.l.axisAt - 13}, Point{r, g.l.axisAt - 13}, Point{r, g.l.axisAt + 10})
}
