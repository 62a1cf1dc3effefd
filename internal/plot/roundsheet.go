package plot

// RoundSheet is the drawing of what a watch does by position: for each state
// its curve with its balance beside it, on one scale, then as found and as
// left in pairs.
type RoundSheet struct {
	Title    string
	Heard    string // what it is of
	Said     []Span // the sentence over it
	Curve    Curve
	Balances []Balance // one for each state of the curve
	Changes  []Change  // none for a single state
	Crowns   []float64 // as in Glyph
}

// Distances on the sheet, px.
const (
	sheetMargin = 40.0
	sheetGap    = 44.0
)

// Picture draws the sheet.
func (s RoundSheet) Picture() *Picture {
	head := &Picture{Width: curveWidth + sheetGap + balanceSide, Height: 72}
	head.Sentence(Point{0, 20}, s.Said...)
	head.Text(Second, Point{0, 46}, "start", s.Heard, false)
	rows := []*Picture{head}
	balances := Balances(s.Balances...)
	for i, curve := range s.Curve.Panels() {
		if i >= len(balances) {
			rows = append(rows, Captioned(curve, 1), gap(24))
			continue
		}
		lines := max(captionLines(curve), captionLines(balances[i]))
		row := []*Picture{
			Captioned(curve, lines),
			Stack("", Captioned(balances[i], lines), paragraph(balanceSide, wrapped(balanceSide, Span{balances[i].Desc, false}))),
		}
		rows = append(rows, Beside("", sheetGap, row...), gap(24))
	}
	if len(s.Curve.States) == 0 {
		rows = append(rows, s.Curve.Picture())
	}
	if len(s.Changes) > 0 {
		rows = append(rows, Captioned(FoundAndLeft(s.Changes, s.Crowns...), 1))
	}
	all := Stack(s.Title, rows...)
	all.Desc = s.Curve.Words().Sentence // of each pair once
	for _, b := range s.Balances {
		all.Desc += " " + b.Words().Sentence
	}
	return Framed(all, sheetMargin)
}

func captionLines(p *Picture) int { return len(wrapped(p.Width, p.Caption...)) }

// gap is room between rows.
func gap(height float64) *Picture { return &Picture{Height: height} }
