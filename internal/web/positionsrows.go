package web

import (
	"html/template"
	"math"
	"slices"
	"strconv"

	"beatwright"
	"beatwright/estimate"
	"beatwright/internal/plot"
	"beatwright/internal/say"
	"beatwright/position"
	"beatwright/round"
)

// positionRow is one position: what each side says, and the pair drawn.
type positionRow struct {
	Symbol, Words string
	Glyph         template.HTML
	Cells         []positionCell
	Pair          template.HTML
	Last          bool
}

// positionCell is one reading in the table; Path leads to its hearing.
type positionCell struct {
	Path              string
	Times             int
	Rate, Beat, Swing figure
	Contradicted      string
}

// sumRow is a figure of a whole round.
type sumRow struct {
	Name  string
	Cells []sumCell
	First bool
}

type sumCell struct {
	figure
	Words string
}

func (v *positionsView) rows(p *beatwright.Papers) {
	v.Beat = "ms"
	var places []position.Position
	for _, sd := range v.Sides {
		for _, r := range sd.Report.Main.Readings {
			if !slices.Contains(places, r.Position) {
				places = append(places, r.Position)
			}
			if sd.Report.Degrees(r) != nil {
				v.Beat = "°"
			}
		}
	}
	slices.Sort(places)
	for i, pos := range places {
		row := positionRow{
			Symbol: pos.String(), Words: pos.Words(crown(p)), Last: i == len(places)-1,
			Glyph: plot.Glyph(pos, 31, crown(p)).Inline("row" + strconv.Itoa(i)),
		}
		for _, sd := range v.Sides {
			row.Cells = append(row.Cells, v.cell(sd, pos))
		}
		v.Rows = append(v.Rows, row)
	}
	if len(v.Sides) != 2 {
		return
	}
	pairs := plot.Changes(*v.Sides[0].Report.Main, *v.Sides[1].Report.Main)[0]
	v.Axis = pairs.Axis().Inline("pairs")
	for _, c := range pairs.Rows {
		if i := slices.Index(places, c.Position); i >= 0 {
			v.Rows[i].Pair = pairs.Cell(c).Inline("pair" + strconv.Itoa(i))
		}
	}
}

func (v *positionsView) cell(sd *side, pos position.Position) positionCell {
	none := figure{Value: say.Dash}
	r := sd.Report.Main.At(pos)
	if r == nil {
		return positionCell{Rate: none, Beat: none, Swing: none}
	}
	found := sd.Links[pos.String()]
	c := positionCell{Path: found.Newest(), Times: len(found), Rate: ownFigure(r.Rate), Beat: none, Swing: swingFigure(*r), Contradicted: r.Contradicted}
	if r.BeatError != nil {
		c.Beat = figure{Value: say.Value(r.BeatError.Value, r.BeatError.U95()), U: say.Uncertainty(r.BeatError.U95())}
		if angle := sd.Report.Degrees(*r); angle != nil {
			c.Beat = figure{Value: say.Value(angle.Value, angle.U95()), U: say.Uncertainty(angle.U95())}
		} else if v.Beat != "ms" {
			c.Beat.Unit = "ms"
		}
	}
	return c
}

// ownFigure is a rate with what the sound alone leaves open: the clock is the
// same in all rows.
func ownFigure(e *estimate.Estimate) figure {
	if e == nil {
		return figure{Value: say.Dash}
	}
	return figure{Value: say.Signed(e.Value, e.Own), U: say.Uncertainty(e.Own)}
}

// swingFigure is an amplitude with the lift's doubt in its own.
func swingFigure(r round.Reading) figure {
	e := r.Amplitude
	switch {
	case e == nil || r.Standing == round.NotResolved:
		return figure{Value: say.Dash}
	case r.Standing == round.AtMost:
		return figure{Value: say.Fixed(math.Ceil(e.Value-1e-9), 0), AtMost: true}
	}
	return figure{Value: say.Value(e.Value, e.U95()), U: say.Uncertainty(e.U95())}
}

// sums are what the positions of each round say together.
func (v *positionsView) sums() {
	mean := sumRow{Name: "Mean", First: true}
	if n := v.Sides[0].Report.Sum.Positions; n > 1 {
		mean.Name = "Mean of " + inWords(n)
	}
	apart, flat := sumRow{Name: "Widest apart"}, sumRow{Name: "Flat less standing"}
	for _, sd := range v.Sides {
		sum := sd.Report.Sum
		m := sumCell{figure: rateFigure(sum.MeanRate)}
		if sum.Positions != v.Sides[0].Report.Sum.Positions {
			m.Words = "of " + inWords(sum.Positions)
		}
		a := sumCell{figure: figure{Value: say.Dash}}
		if sp := sum.Spread; sp != nil {
			a.figure = figure{Value: say.Value(sp.Value, sp.U95()), U: say.Uncertainty(sp.U95())}
			a.Words = sp.Slowest.String() + " to " + sp.Fastest.String()
			if !sp.Clear() {
				a.Words = "no more than their doubt alone would give"
			}
		}
		f := sumCell{figure: rateFigure(sum.FlatLessUprightRate)}
		if e := sum.FlatLessUprightRate; e != nil && !e.Clear() {
			f.Words = "none that is told"
		}
		mean.Cells, apart.Cells, flat.Cells = append(mean.Cells, m), append(apart.Cells, a), append(flat.Cells, f)
	}
	v.Sums = []sumRow{mean, apart, flat}
}
