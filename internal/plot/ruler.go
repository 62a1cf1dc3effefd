package plot

import (
	"math"

	"beatwright/internal/say"
	"beatwright/reading"
)

// Ruler is one statement of the live view on its scale.
type Ruler struct {
	What  string // "rate", for those who cannot see it
	Scale Scale
	// Standing is measured, at most or not resolved.
	Standing reading.Standing
	// Value is the value or, at most, the bound with its doubt added; U95 its
	// 95 % half-width.
	Value, U95 float64
	Sure       bool // enough to be said so
	Stale      bool // nothing is coming in: as last heard
	// Before is what was said before, oldest first; the last four are drawn.
	Before []Interval
	// Least is a limit that someone set; nil for none.
	Least *Bound
}

// Interval is what was said once: an interval, or all below To.
type Interval struct {
	From, To float64
	AtMost   bool
}

// Bound is a limit on a ruler, with words: "least, this workshop: 220°".
type Bound struct {
	At    float64
	Words string
}

// Places on a ruler, px.
const (
	rulerWidth, rulerHeight = 580.0, 71.0
	rulerAt                 = 40.0
	barFrom, barTo          = 32.0, 48.0
	pastFrom, pastStep      = 8.2, 5.2
	mostPast                = 4
)

type rulerGraph struct {
	Ruler
	p *Picture
	x axis
}

// Picture draws the ruler: the bar is the 95 % interval, the needle the value,
// end posts when it is sure; a bound is hatched up to its bracket, and what
// cannot be told is hatched throughout.
func (r Ruler) Picture() *Picture {
	g := rulerGraph{r, &Picture{Width: rulerWidth, Height: rulerHeight, Title: sentenceCase(r.What), Desc: r.Words().Sentence}, axis{r.Scale.Low, r.Scale.High, 0, rulerWidth}}
	if g.told() || g.bound() {
		g.before()
	}
	g.limit()
	g.divide()
	switch {
	case g.told():
		g.bar()
	case g.bound():
		g.atMost()
	default:
		g.nothing()
	}
	return g.p
}

func (r Ruler) told() bool {
	return r.Standing == reading.Measured && finite(r.Value, r.U95) && r.U95 >= 0
}

func (r Ruler) bound() bool { return r.Standing == reading.AtMost && finite(r.Value) }

func (g rulerGraph) limit() {
	l := g.Least
	if l == nil || !finite(l.At) || !g.x.holds(l.At) {
		return
	}
	x := g.x.at(l.At)
	g.p.Dotted(Thin, Point{x, 2}, Point{x, barTo})
	at, anchor := Point{x + 7, 13}, "start"
	if at.X+wide(l.Words) > rulerWidth {
		at.X, anchor = x-7, "end"
	}
	g.p.Label(Second, at, anchor, l.Words)
}

// before draws what was said before: a funnel that narrows is progress.
func (g rulerGraph) before() {
	past := g.Before[max(0, len(g.Before)-mostPast):]
	for i, v := range past {
		if !finite(v.To) || !v.AtMost && !finite(v.From) {
			continue
		}
		y, from, to := pastFrom+pastStep*float64(i), g.x.within(v.From), g.x.within(v.To)
		if v.AtMost {
			from = 0
			g.p.Line(Past, Point{to, y - 2}, Point{to, y + 2})
		}
		g.p.Line(Past, Point{from, y}, Point{to, y})
	}
}

func (g rulerGraph) divide() {
	g.p.Line(Axis, Point{0, rulerAt}, Point{rulerWidth, rulerAt})
	ticks, places := g.Scale.ticks()
	for i, v := range ticks {
		x := g.x.at(v)
		if i%2 == 1 {
			g.p.Line(Axis, Point{x, rulerAt}, Point{x, rulerAt + 6})
			continue
		}
		g.p.Line(Axis, Point{x, rulerAt}, Point{x, rulerAt + 11})
		word, anchor := say.Fixed(v, places), "middle"
		if g.Scale.Signed {
			word = signed(v, places)
		}
		switch {
		case i == 0:
			anchor = "start"
		case i == len(ticks)-1:
			anchor = "end"
		}
		g.p.Text(Second, Point{x, 66}, anchor, word, false)
	}
	if g.Scale.Signed && g.x.holds(0) {
		g.p.Line(Thin, Point{g.x.at(0), 31}, Point{g.x.at(0), 51})
	}
}

// bar draws the interval, cut where the ruler ends.
func (g rulerGraph) bar() {
	from, to := g.x.within(g.Value-g.U95), g.x.within(g.Value+g.U95)
	if to-from < 2 {
		mid := math.Max(1, math.Min(rulerWidth-1, (from+to)/2))
		from, to = mid-1, mid+1
	}
	pen := Solid
	if g.Stale {
		pen = Open
	}
	g.p.Bar(pen, Point{from, barFrom}, Point{to, barTo})
	if !g.x.holds(g.Value) {
		g.p.beyond(g.Value > g.Scale.High)
		return
	}
	g.p.Line(Needle, Point{g.x.at(g.Value), 25}, Point{g.x.at(g.Value), 55})
	if g.Sure && !g.Stale {
		g.p.Line(Post, Point{from, 28}, Point{from, 52})
		g.p.Line(Post, Point{to, 28}, Point{to, 52})
	}
}

// beyond points to the end past which the value lies.
func (p *Picture) beyond(high bool) {
	tip, back := 1.0, 9.0
	if high {
		tip, back = rulerWidth-1, rulerWidth-9
	}
	p.Area(Ink, Point{tip, rulerAt}, Point{back, rulerAt - 12}, Point{back, rulerAt + 12})
}

func (g rulerGraph) atMost() {
	to := math.Max(8, g.x.within(g.Value))
	box := []Point{{0, barFrom}, {to, barFrom}, {to, barTo}, {0, barTo}}
	g.p.Area(Paper, box...)
	if g.Stale {
		g.p.HatchInk(box...)
	} else {
		g.p.Hatch(box...)
	}
	g.p.Line(Bracket, Point{to - 8, 26}, Point{to, 26}, Point{to, 51})
}

func (g rulerGraph) nothing() {
	box := []Point{{0, barFrom}, {rulerWidth, barFrom}, {rulerWidth, barTo}, {0, barTo}}
	g.p.Area(Paper, box...)
	g.p.HatchInk(box...)
	g.p.Text(Ink, Point{0, 23}, "start", "no bound can be given", true)
}

// Words says the statement in figures.
func (r Ruler) Words() Words {
	s := r.What + " "
	switch {
	case r.told():
		s += say.With(r.Value, r.U95, r.Scale.Unit)
		if r.Scale.Signed {
			s = r.What + " " + say.SignedWith(r.Value, r.U95, r.Scale.Unit)
		}
		if r.Sure && !r.Stale {
			s += ", sure enough"
		}
	case r.bound():
		s += "at most " + say.Unit(say.Plain(math.Ceil(r.Value*10-1e-9)/10), r.Scale.Unit)
	default:
		s += "cannot be told: no bound can be given"
	}
	if r.Stale {
		s += ", as last heard"
	}
	if l := r.Least; l != nil && l.Words != "" {
		s += "; " + l.Words
	}
	return Words{Sentence: say.Sentence(s)}
}
