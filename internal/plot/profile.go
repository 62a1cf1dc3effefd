package plot

import (
	"fmt"
	"math"

	"beatwright/unit"
)

// Standing says what the axis of a profile may claim.
type Standing int

// The standings: the swing is known, it is at most Amplitude, or it cannot be
// told and the axis is time.
const (
	Known Standing = iota
	AtMost
	NotTold
)

// Side is the averaged beat of one side: power over the noise (1) on a grid.
// Times count from the middle of the beat if the swing is known, else from
// the drop. Marks that were not heard are nil.
type Side struct {
	From, Cell               unit.Seconds
	Power                    []float64
	Unlocking, Impulse, Drop *unit.Seconds
	First                    *unit.Seconds // unlocking or impulse, not known which
}

// Profile is the averaged beat of both sides over the angle of the balance.
type Profile struct {
	Name      string
	Sides     [2]Side
	Standing  Standing
	Amplitude unit.Degrees // or the bound
	U95       unit.Degrees
	Lift      unit.Degrees
	BeatError unit.Degrees // of rest off the line of centres; 0 if not known
	Period    unit.Seconds // full
}

const (
	profileHeight = 455.0
	upperBase     = 240.0 // px, where the first side stands
	lowerBase     = 248.0
	sideHeight    = 105.0
	axisAt        = 387.0
	left, right   = 40.0, 920.0
	// msBefore and msAfter bound the axis of time where no angle is known.
	msBefore, msAfter = 45.0, 15.0
)

// Picture draws the first beat above in solid ink and the second mirrored
// below, open, its time running to the left: so that the swing is seen as an
// angle, and the beat error as the shift of the lift window from rest.
func (f Profile) Picture() (*Picture, error) {
	if len(f.Sides[0].Power) < 2 || len(f.Sides[1].Power) < 2 {
		return nil, ErrNothing
	}
	g := &profileGraph{f: f, p: &Picture{Width: 960, Height: profileHeight, Title: "Beat profile of " + f.Name}}
	g.scale()
	g.words()
	if f.Standing != NotTold {
		g.window()
	}
	g.side(0)
	g.side(1)
	g.axis()
	return g.p, nil
}

type profileGraph struct {
	f   Profile
	p   *Picture
	x   axis
	top float64 // dB of the loudest
}

func (g *profileGraph) scale() {
	reach := 1.15 * float64(g.f.Amplitude)
	g.x = axis{low: -reach, high: reach, from: left, to: right}
	if g.f.Standing == NotTold {
		g.x = axis{low: -msBefore, high: msAfter, from: left, to: right}
	}
	g.top = 10
	for _, s := range g.f.Sides {
		for _, v := range s.Power {
			g.top = math.Max(g.top, 10*math.Log10(math.Max(v, 1)))
		}
	}
}

// place is where time t of side s falls on the axis; false beyond the
// turning points or the axis.
func (g *profileGraph) place(s int, t unit.Seconds) (float64, bool) {
	if g.f.Standing == NotTold {
		ms := float64(t) * 1e3
		return ms, ms >= g.x.low && ms <= g.x.high
	}
	phase := 2 * math.Pi * float64(t+g.shift()) / float64(g.f.Period)
	if math.Abs(phase) > math.Pi/2 {
		return 0, false
	}
	a := float64(g.f.Amplitude) * math.Sin(phase)
	if s == 1 {
		a = -a
	}
	return a + float64(g.f.BeatError), true
}

// shift is the drop's time after the middle at the bound, where times count
// from the drop.
func (g *profileGraph) shift() unit.Seconds {
	if g.f.Standing == Known {
		return 0
	}
	return g.f.Period / (2 * math.Pi) * unit.Seconds(math.Asin(math.Min(1, float64(g.f.Lift/(2*g.f.Amplitude)))))
}

// height is how far a power reaches from its side's base, px: decibels over
// the noise.
func (g *profileGraph) height(v float64) float64 {
	return sideHeight * math.Max(0, 10*math.Log10(math.Max(v, 1e-9))) / g.top
}

func (g *profileGraph) side(s int) {
	base, sign := upperBase, -1.0
	if s == 1 {
		base, sign = lowerBase, 1.0
	}
	var line []Point
	for i, v := range g.f.Sides[s].Power {
		a, ok := g.place(s, g.f.Sides[s].From+unit.Seconds(i)*g.f.Sides[s].Cell)
		if ok {
			line = append(line, Point{g.x.at(a), base + sign*g.height(v)})
		}
	}
	if len(line) < 2 {
		return
	}
	closed := append([]Point{{line[0].X, base}}, line...)
	closed = append(closed, Point{line[len(line)-1].X, base})
	if s == 0 {
		g.p.Area(Ink, closed...)
	}
	g.p.Line(Second, closed...)
	g.marks(s, base, sign)
}

func (g *profileGraph) marks(s int, base, sign float64) {
	side := g.f.Sides[s]
	for _, m := range []struct {
		at   *unit.Seconds
		word string
		row  float64
	}{{side.Unlocking, "unlocking", 0}, {side.First, "first sound", 0}, {side.Impulse, "impulse", 1}, {side.Drop, "drop", 0}} {
		if m.at == nil {
			continue
		}
		a, ok := g.place(s, *m.at)
		if !ok {
			continue
		}
		x := g.x.at(a)
		tip := base + sign*(sideHeight+6)
		g.p.Line(Second, Point{x, base}, Point{x, tip})
		if s == 0 {
			g.p.Text(Ink, Point{x, tip - 4 - 16*m.row}, "middle", m.word, false)
		}
	}
}

// window washes the lift about the line of centres.
func (g *profileGraph) window() {
	half := float64(g.f.Lift) / 2
	l, r := g.x.at(float64(g.f.BeatError)-half), g.x.at(float64(g.f.BeatError)+half)
	top, foot := upperBase-sideHeight, lowerBase+sideHeight
	g.p.Area(Band, Point{l, top}, Point{r, top}, Point{r, foot}, Point{l, foot})
	for _, x := range []float64{l, r} {
		g.p.Line(Hair, Point{x, top}, Point{x, foot})
	}
	g.p.Line(Hair, Point{g.x.at(0), top}, Point{g.x.at(0), axisAt})
}

func (g *profileGraph) axis() {
	g.p.Line(Second, Point{left, axisAt}, Point{right, axisAt})
	step := 30.0
	unitWord := "balance angle from rest, degrees"
	if g.f.Standing == NotTold {
		step, unitWord = 5, "milliseconds from the drop"
	} else if g.f.Amplitude > 200 {
		step = 60
	}
	for v := math.Ceil(g.x.low/step) * step; v <= g.x.high; v += step {
		x := g.x.at(v)
		g.p.Line(Second, Point{x, axisAt}, Point{x, axisAt + 6})
		word := fmt.Sprintf("%.0f", math.Abs(v))
		switch {
		case v == 0 && g.f.Standing != NotTold:
			word = "rest"
		case v < 0:
			word = "−" + word
		}
		g.p.Text(Second, Point{x, axisAt + 24}, "middle", word, false)
	}
	g.p.Text(Second, Point{right, axisAt + 46}, "end", unitWord, false)
	for _, sign := range []float64{-1, 1} {
		g.turning(sign)
	}
}

// turning draws where the balance turns: a bar as wide as the doubt with its
// needle, or hatching out to a bracket where only a bound is known.
func (g *profileGraph) turning(sign float64) {
	a, u := float64(g.f.Amplitude), float64(g.f.U95)
	switch g.f.Standing {
	case Known:
		l, r := g.x.at(sign*a-u), g.x.at(sign*a+u)
		g.p.Area(Steel, Point{l, axisAt - 8}, Point{r, axisAt - 8}, Point{r, axisAt + 8}, Point{l, axisAt + 8})
		g.p.Line(Steel, Point{l, axisAt - 8}, Point{l, axisAt + 8})
		g.p.Line(Steel, Point{r, axisAt - 8}, Point{r, axisAt + 8})
		g.p.Line(Ink, Point{g.x.at(sign * a), axisAt - 12}, Point{g.x.at(sign * a), axisAt + 12})
	case AtMost:
		for v := float64(g.f.Lift) / 2; v < a; v += a / 40 {
			x := g.x.at(sign * v)
			g.p.Line(Second, Point{x - 4, axisAt + 7}, Point{x + 4, axisAt - 7})
		}
		x := g.x.at(sign * a)
		g.p.Line(Ink, Point{x - sign*7, axisAt - 11}, Point{x, axisAt - 11}, Point{x, axisAt + 11}, Point{x - sign*7, axisAt + 11})
	}
}

func (g *profileGraph) words() {
	g.p.Text(Ink, Point{20, 30}, "start", "Beat profile of "+g.f.Name, true)
	g.p.Text(Second, Point{20, 54}, "start", "First beat above, second mirrored below with its time running left; height in dB over the noise.", false)
	how := "No angle: the swing cannot be told."
	switch g.f.Standing {
	case Known:
		how = "Washed: the lift about the line of centres. Bars: where it turns. Which beat swings right is of the drawing."
	case AtMost:
		how = fmt.Sprintf("Unlocking: not heard for certain. It turns somewhere in the hatching, at most at %.0f°.", float64(g.f.Amplitude))
	}
	g.p.Text(Second, Point{20, 75}, "start", how, false)
}

// Stack sets one picture above another.
func Stack(above, below *Picture) *Picture {
	p := &Picture{Width: math.Max(above.Width, below.Width), Height: above.Height + below.Height, Title: above.Title + "; " + below.Title}
	p.marks = append(p.marks, above.marks...)
	for _, m := range below.marks {
		moved := make([]Point, len(m.points))
		for i, q := range m.points {
			moved[i] = Point{q.X, q.Y + above.Height}
		}
		m.points = moved
		p.marks = append(p.marks, m)
	}
	return p
}
