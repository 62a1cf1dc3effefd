package plot

import (
	"math"
	"slices"

	"beatwright/estimate"
	"beatwright/internal/say"
	"beatwright/position"
	"beatwright/round"
)

// Change is one quantity by position, as found and as left.
type Change struct {
	What, Unit string // "rate", "s/d"
	Signed     bool   // has a zero, and figures carry their sign
	Rows       []ChangeRow
}

// ChangeRow is one position; what was not heard is nil.
type ChangeRow struct {
	Position    position.Position
	Found, Left *Figure
}

// Figure is a value with its doubt, or a bound.
type Figure struct {
	Value, U95 float64
	AtMost     bool
}

func (f *Figure) known() bool { return f != nil && math.Abs(f.Value) <= mostRate }

func (f *Figure) text(c Change) string {
	switch {
	case !f.known():
		return say.Dash
	case f.AtMost:
		return "at most " + say.Fixed(math.Ceil(f.Value-1e-9), 0)
	case c.Signed:
		return say.SignedWith(f.Value, f.U95, "")
	}
	return say.With(f.Value, f.U95, "")
}

// Changes takes two rounds apart into rate, swing and beat error, one row for
// each position heard in either. A rate's doubt is by the sound alone, as its
// clock is shared.
func Changes(found, left round.Round) []Change {
	out := []Change{
		{What: "rate", Unit: perDay, Signed: true},
		{What: "swing", Unit: "°"},
		{What: "beat error", Unit: "ms"},
	}
	for _, p := range joined(found, left) {
		rows := [3]ChangeRow{{Position: p}, {Position: p}, {Position: p}}
		for i, r := range []*round.Reading{found.At(p), left.At(p)} {
			if r == nil {
				continue
			}
			swing := figure(r.Amplitude, false)
			if swing != nil && r.Standing == round.AtMost {
				swing.AtMost = true
			}
			if r.Standing == round.NotResolved || r.Contradicted != "" {
				swing = nil
			}
			for k, f := range []*Figure{figure(r.Rate, true), swing, figure(r.BeatError, false)} {
				if i == 0 {
					rows[k].Found = f
				} else {
					rows[k].Left = f
				}
			}
		}
		for k := range out {
			out[k].Rows = append(out[k].Rows, rows[k])
		}
	}
	return out
}

func figure(e *estimate.Estimate, alone bool) *Figure {
	if e == nil {
		return nil
	}
	u := e.U95()
	if alone {
		u = e.Own
	}
	return &Figure{Value: e.Value, U95: u}
}

// joined are the positions of both rounds, level ones first, then round the
// dial.
func joined(found, left round.Round) []position.Position {
	var out []position.Position
	for _, r := range append(slices.Clone(found.Readings), left.Readings...) {
		if r.Position.Valid() && !slices.Contains(out, r.Position) {
			out = append(out, r.Position)
		}
	}
	slices.Sort(out)
	return out
}

// Places in a cell of the pair, px.
const (
	cellWidth, cellHeight, cellHead = 166.0, 38.0, 24.0
	cellLeft, cellRight             = 14.0, 152.0
	pairSpot                        = 5.0
)

func (c Change) scale() axis {
	low, high := math.Inf(1), math.Inf(-1)
	for _, r := range c.Rows {
		for _, f := range []*Figure{r.Found, r.Left} {
			if f.known() {
				low, high = math.Min(low, f.Value), math.Max(high, f.Value)
			}
		}
	}
	if !finite(low, high) {
		low, high = 0, 1
	}
	low, high = apart(low, high, 0.1)
	low, high = reach(low, high, 0)
	return axis{low, high, cellLeft, cellRight}.whole(4)
}

// Axis draws the figures over a column of cells.
func (c Change) Axis() *Picture {
	p := &Picture{Width: cellWidth, Height: cellHead, Shown: cellWidth}
	x := c.scale()
	ticks, places := x.steps(4)
	for i, v := range ticks {
		p.Line(Axis, Point{x.at(v), cellHead - 5}, Point{x.at(v), cellHead})
		if len(ticks) > 4 && i%2 == 1 {
			continue
		}
		word := say.Fixed(v, places)
		if c.Signed {
			word = signed(v, places)
		}
		p.Text(Second, Point{inside(x.at(v), wide(word)/2, cellWidth), 14}, "middle", word, false)
	}
	return p
}

// Cell draws one row: hollow as found, filled as left, joined by a line. A
// bound is a bracket, thin as found, thick as left.
func (c Change) Cell(r ChangeRow) *Picture {
	p := &Picture{Width: cellWidth, Height: cellHeight, Shown: cellWidth, Title: r.Position.String() + " " + c.What, Desc: c.says(r)}
	x, y := c.scale(), cellHeight/2
	if c.Signed && x.holds(0) {
		p.Line(Hair, Point{x.at(0), 0}, Point{x.at(0), cellHeight})
	}
	if r.Found.known() && r.Left.known() {
		p.Line(Thin, Point{x.within(r.Found.Value), y}, Point{x.within(r.Left.Value), y})
	}
	for i, f := range []*Figure{r.Found, r.Left} {
		if !f.known() {
			continue
		}
		at := x.within(f.Value)
		if f.AtMost {
			pen := [2]Pen{Thin, Bracket}[i]
			p.Line(pen, Point{at - 6, y - 7}, Point{at, y - 7}, Point{at, y + 7}, Point{at - 6, y + 7})
			continue
		}
		p.Spot(hollow(i == 1), Point{at, y}, pairSpot)
	}
	return p
}

func (c Change) says(r ChangeRow) string {
	return say.Sentence("as found " + r.Found.text(c) + ", as left " + r.Left.text(c) + " " + c.Unit)
}

// Words says the change as a table, one row a position.
func (c Change) Words() Words {
	w := Words{Sentence: say.Sentence(c.What + " by position, as found and as left"), Head: []string{"position", "as found, " + c.Unit, "as left, " + c.Unit}}
	for _, r := range c.Rows {
		w.Rows = append(w.Rows, []string{r.Position.String(), r.Found.text(c), r.Left.text(c)})
	}
	return w
}

// Places in the whole table of pairs, px.
const (
	pairNames  = 92.0
	pairFigure = 76.0 // of figures on either side of a cell
	pairHead   = 52.0
)

// FoundAndLeft draws whole changes beside one another: for each position its
// watch and symbol, then for each quantity the figures as found, the marks,
// and the figures as left. crowns are as in Glyph.
func FoundAndLeft(changes []Change, crowns ...float64) *Picture {
	each := 2*pairFigure + cellWidth
	p := &Picture{Width: pairNames + each*float64(len(changes)), Title: "As found and as left, by position"}
	if len(changes) == 0 || len(changes[0].Rows) == 0 {
		p.Width, p.Height = pairNames+each, 80
		p.empty("Nothing was heard both as found and as left.")
		return p
	}
	p.Caption = []Span{{"As found and as left,", true}, {" hollow to filled; figures as found on the left, as left on the right.", false}}
	p.Height = pairHead + cellHeight*float64(len(changes[0].Rows))
	for i, r := range changes[0].Rows {
		y := pairHead + cellHeight*float64(i)
		p.Line(Hair, Point{0, y + cellHeight}, Point{p.Width, y + cellHeight})
		p.layScaled(Glyph(r.Position, 31, crowns...), Point{0, y + 3}, 31/glyphSide)
		p.Text(Ink, Point{40, y + 25}, "start", r.Position.String(), true)
	}
	for k, c := range changes {
		p.change(c, Point{pairNames + each*float64(k), 0})
	}
	p.Line(Axis, Point{0, pairHead}, Point{p.Width, pairHead})
	return p
}

func (p *Picture) change(c Change, at Point) {
	p.Text(Ink, Point{at.X + pairFigure + cellWidth/2, 16}, "middle", c.What+", "+c.Unit, true)
	p.Text(Second, Point{at.X + pairFigure, 16}, "end", "found", false)
	p.Text(Ink, Point{at.X + pairFigure + cellWidth, 16}, "start", "left", false)
	p.lay(c.Axis(), Point{at.X + pairFigure, pairHead - cellHead})
	for i, r := range c.Rows {
		y := pairHead + cellHeight*float64(i)
		p.lay(c.Cell(r), Point{at.X + pairFigure, y})
		p.Text(Second, Point{at.X + pairFigure, y + 25}, "end", short(r.Found, c), false)
		p.Text(Ink, Point{at.X + pairFigure + cellWidth, y + 25}, "start", short(r.Left, c), false)
	}
}

// finest is the doubt below which figures are not given further digits.
const finest = 0.01

// short is a figure without its doubt.
func short(f *Figure, c Change) string {
	switch {
	case !f.known():
		return say.Dash
	case f.AtMost:
		return "at most " + say.Fixed(math.Ceil(f.Value-1e-9), 0)
	case c.Signed:
		return say.Signed(f.Value, math.Max(f.U95, finest))
	}
	return say.Value(f.Value, math.Max(f.U95, finest))
}

// layScaled is lay, smaller.
func (p *Picture) layScaled(q *Picture, at Point, k float64) {
	for _, m := range q.marks {
		moved := make([]Point, len(m.points))
		for i, r := range m.points {
			moved[i] = Point{r.X*k + at.X, r.Y*k + at.Y}
		}
		m.points, m.size = moved, m.size*k
		p.marks = append(p.marks, m)
	}
}
