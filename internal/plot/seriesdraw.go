package plot

import (
	"math"

	"beatwright/internal/say"
)

// Places in the picture of a series, px.
const (
	seriesWidth            = 920.0
	seriesFrom, seriesTo   = 64.0, 912.0
	eventRow               = 20.0
	seriesPanel, seriesGap = 116.0, 34.0
	mostEventRows          = 4
)

// Picture draws each quantity with its 95 % band; events are dotted lines
// through all, with their words above.
func (s Series) Picture() *Picture {
	p := &Picture{Width: seriesWidth, Height: 120, Title: "Over time", Desc: s.Words().Sentence}
	p.Caption = []Span{{"Over time,", true}, {" bands are 95 %; dotted: what happened.", false}}
	from, to := s.spanned()
	if !finite(from, to) {
		p.empty("Nothing was heard for long enough to draw over time.")
		return p
	}
	x := axis{from, math.Max(to, from+1), seriesFrom, seriesTo}
	head := s.eventHead(x)
	y := head + 22
	var panels [][2]float64
	for range s.Quantities {
		panels = append(panels, [2]float64{y, y + seriesPanel})
		y += seriesPanel + seriesGap
	}
	foot := y - seriesGap
	p.Height = foot + 30
	for i, q := range s.Quantities {
		s.panel(p, q, x, panels[i][0], panels[i][1])
	}
	s.events(p, x, foot)
	timeAxis(p, x, foot)
	return p
}

func timeAxis(p *Picture, x axis, y float64) {
	p.Line(Axis, Point{x.from, y}, Point{x.to, y})
	ticks, per, unit := x.clockTicks(10)
	for i, v := range ticks {
		word := say.Plain(math.Round(v/per*10) / 10)
		if i == len(ticks)-1 {
			word = say.Unit(word, unit)
		}
		p.Line(Axis, Point{x.at(v), y}, Point{x.at(v), y + 6})
		p.Text(Second, Point{inside(x.at(v), wide(word)/2, p.Width), y + 24}, "middle", word, false)
	}
}

// scale holds all values with their bands, and bounds.
func (q Quantity) scale(runs [][]Window, top, foot float64) axis {
	low, high := math.Inf(1), math.Inf(-1)
	for _, r := range runs {
		for _, w := range r {
			low, high = math.Min(low, w.Value-w.doubt()), math.Max(high, w.Value+w.doubt())
		}
	}
	if !finite(low, high) {
		low, high = 0, 1
	}
	low, high = apart(low, high, 0.1)
	return axis{low, high, foot, top}.whole(4)
}

func (s Series) panel(p *Picture, q Quantity, x axis, top, foot float64) {
	p.Spans(Second, Point{x.from, top - 10}, "start", Span{q.What, true}, Span{", " + q.Unit, false})
	runs := s.runs(q)
	if len(runs) == 0 {
		p.Text(Second, Point{x.from + 24, (top+foot)/2 + 5}, "start", "could not be told", false)
		return
	}
	y := q.scale(runs, top, foot)
	ticks, places := y.steps(4)
	for _, v := range ticks {
		pen := Hair
		if v == 0 && q.Signed {
			pen = Axis
		}
		word := say.Fixed(v, places)
		if q.Signed {
			word = signed(v, places)
		}
		p.Line(pen, Point{x.from, y.at(v)}, Point{x.to, y.at(v)})
		p.Text(Second, Point{x.from - 8, y.at(v) + 5}, "end", word, false)
	}
	for _, r := range runs {
		p.run(r, x, y)
	}
}

// run draws one stretch without a gap: the band, and the line through the
// middles of the windows.
func (p *Picture) run(r []Window, x, y axis) {
	if r[0].AtMost {
		p.boundRun(r, x, y)
		return
	}
	var line, edge, back []Point
	place := func(t float64, w Window) {
		at := x.within(t)
		line = append(line, Point{at, y.within(w.Value)})
		edge = append(edge, Point{at, y.within(w.Value + w.doubt())})
		back = append(back, Point{at, y.within(w.Value - w.doubt())})
	}
	place(float64(r[0].From), r[0])
	for _, w := range r {
		place(w.mid(), w)
	}
	place(float64(r[len(r)-1].To), r[len(r)-1])
	for i := len(back) - 1; i >= 0; i-- {
		edge = append(edge, back[i])
	}
	p.Area(Edged, edge...)
	p.Line(Ink, line...)
}

// boundRun hatches all that bounds leave open, up to their line.
func (p *Picture) boundRun(r []Window, x, y axis) {
	var top []Point
	for _, w := range r {
		at := y.within(w.Value)
		top = append(top, Point{x.within(float64(w.From)), at}, Point{x.within(float64(w.To)), at})
	}
	first, last := top[0], top[len(top)-1]
	p.HatchLight(append(top[:len(top):len(top)], Point{last.X, y.from}, Point{first.X, y.from})...)
	p.Line(Bracket, Point{first.X, first.Y + 8}, first)
	p.Line(Ink, top...)
	p.Line(Bracket, last, Point{last.X, last.Y + 8})
	if words := "at most"; wide(words)+16 < last.X-first.X {
		p.Label(Second, Point{first.X + 8, math.Min(first.Y+22, y.from-6)}, "start", words)
	}
}

// eventHead is how high the words of the events stand.
func (s Series) eventHead(x axis) float64 {
	_, rows := s.stagger(x)
	return eventRow * float64(rows)
}

// stagger gives each event a row in which its words are in no other's way; −1
// where there is none left.
func (s Series) stagger(x axis) (row []int, rows int) {
	var ends [mostEventRows]float64
	for i := range ends {
		ends[i] = math.Inf(-1)
	}
	for _, e := range s.Events {
		row = append(row, -1)
		if !x.holds(float64(e.At)) {
			continue
		}
		l, t := eventWords(x, e)
		for i := range ends {
			if l > ends[i]+10 {
				ends[i], row[len(row)-1], rows = t, i, max(rows, i+1)
				break
			}
		}
	}
	return row, rows
}

// eventWords is where the words of an event stand: right of its line, or left
// of it near the end.
func eventWords(x axis, e Event) (from, to float64) {
	at, w := x.at(float64(e.At)), wide(e.Words)
	if at+5+w > seriesWidth {
		return math.Max(0, at-5-w), at - 5
	}
	return at + 5, at + 5 + w
}

func (s Series) events(p *Picture, x axis, foot float64) {
	row, _ := s.stagger(x)
	for i, e := range s.Events {
		if !x.holds(float64(e.At)) {
			continue
		}
		at, top := x.at(float64(e.At)), eventRow*float64(max(row[i], 0))
		p.Dotted(Thin, Point{at, top + 4}, Point{at, foot})
		if row[i] < 0 {
			continue
		}
		l, t := eventWords(x, e)
		if l > at {
			p.Label(Ink, Point{l, top + 15}, "start", e.Words)
		} else {
			p.Label(Ink, Point{t, top + 15}, "end", e.Words)
		}
	}
}
