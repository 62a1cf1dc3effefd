package plot

import (
	"math"
	"strings"

	"beatwright/internal/say"
	"beatwright/measure"
	"beatwright/reading"
)

// Teeth is the escape wheel tooth by tooth: how late the beats of each come.
type Teeth struct {
	Teeth []reading.Tooth
	// ByPair is set where it cannot be told which second beat is of which tooth:
	// they then stand with the first beat before them.
	ByPair bool
}

// TeethOf is the map of a result's escape wheel, ok if it has one.
func TeethOf(r measure.Result) (t Teeth, ok bool) {
	if r.Watch == nil {
		return t, false
	}
	for _, p := range r.Watch.Periodic {
		if len(p.Teeth) > 0 {
			return Teeth{Teeth: p.Teeth, ByPair: p.SecondBy == reading.ByPair}, true
		}
	}
	return t, false
}

// sureTooth is the chance below which a tooth counts as out: one hearing of a
// hundred would show one by noise.
const sureTooth = 0.01

// out is what stands out, as tooth and side.
func (t Teeth) out() (words []string) {
	for _, x := range t.Teeth {
		for i, l := range []reading.ToothLag{x.First, x.Second} {
			if l.Chance < sureTooth {
				sign := " ms late"
				if l.Ms < 0 {
					sign = " ms early"
				}
				words = append(words, "tooth "+say.Count(x.Tooth)+", "+[]string{"first", "second"}[i]+" beat "+say.Value(math.Abs(l.Ms), l.U95)+sign)
			}
		}
	}
	return words
}

// Words says which teeth stand out, and gives every tooth as a row.
func (t Teeth) Words() Words {
	w := Words{Head: []string{"tooth", "first beat, ms late", "second beat, ms late"}}
	out := t.out()
	const most = 4
	switch {
	case len(out) == 0:
		w.Sentence = "No single tooth of the escape wheel stands out."
	case len(out) > most:
		w.Sentence = "The escape wheel’s teeth are uneven: " + say.Count(len(out)) + " of " + say.Count(2*len(t.Teeth)) + " beats of its turn stand out."
	default:
		w.Sentence = "Of the escape wheel’s teeth these stand out: " + strings.Join(out, "; ") + "."
	}
	w.Sentence += " Teeth are counted from the first beat heard; which tooth that is, sound does not say."
	if t.ByPair {
		w.Sentence += " Which second beat is of which tooth cannot be told: each stands with the first beat before it."
	}
	for _, x := range t.Teeth {
		w.Rows = append(w.Rows, []string{
			say.Count(x.Tooth), say.SignedWith(x.First.Ms, x.First.U95, "ms"), say.SignedWith(x.Second.Ms, x.Second.U95, "ms"),
		})
	}
	return w
}

// Places in the picture of the teeth, px.
const (
	teethHeight          = 330.0
	firstTop, firstFoot  = 66.0, 166.0
	secondTop            = 178.0
	secondFoot, teethRow = 278.0, 24.0
	toothDot             = 4.5
)

// Picture draws the teeth along a plain axis: first beats above, solid, second
// below, open, each with its 95 % bar, on one scale.
func (t Teeth) Picture() *Picture {
	p := &Picture{Width: pictureWidth, Height: teethHeight, Title: "Teeth of the escape wheel", Desc: t.Words().Sentence}
	how := " how late their beats come, with 95 % bars; first beats solid, second open"
	if t.ByPair {
		how += ", with the first before them"
	}
	p.Spans(Second, Point{left, titleAt}, "start", Span{"Teeth of the escape wheel:", true}, Span{how + ".", false})
	least, most := 0.0, 0.0
	for _, x := range t.Teeth {
		for _, l := range []reading.ToothLag{x.First, x.Second} {
			if finite(l.Ms, l.U95) {
				least, most = math.Min(least, l.Ms-l.U95), math.Max(most, l.Ms+l.U95)
			}
		}
	}
	least, most = apart(least, most, 0.1)
	x := axis{0.5, float64(len(t.Teeth)) + 0.5, 86, 806}
	t.row(p, x, axis{least, most, firstFoot, firstTop}, Ink, "first", func(x reading.Tooth) reading.ToothLag { return x.First })
	t.row(p, x, axis{least, most, secondFoot, secondTop}, Open, "second", func(x reading.Tooth) reading.ToothLag { return x.Second })
	p.Text(Second, Point{x.from - 10, firstTop - 10}, "end", "ms", false)
	p.Text(Second, Point{x.from, firstTop - 10}, "start", "late", false)
	every := 1 + (len(t.Teeth)-1)/30
	for _, tooth := range t.Teeth {
		if at := x.at(float64(tooth.Tooth)); (tooth.Tooth-1)%every == 0 {
			p.Line(Second, Point{at, secondFoot}, Point{at, secondFoot + 6})
			p.Text(Second, Point{at, secondFoot + teethRow}, "middle", say.Count(tooth.Tooth), false)
		}
	}
	p.Line(Second, Point{x.from, secondFoot}, Point{x.to, secondFoot})
	p.Text(Second, Point{x.to + 10, secondFoot + teethRow}, "start", "tooth", false)
	return p
}

// row draws one side's beats.
func (t Teeth) row(p *Picture, x, y axis, pen Pen, name string, of func(reading.Tooth) reading.ToothLag) {
	p.about(x, y, 4)
	p.Text(Second, Point{x.to + 10, y.at(0) + 5}, "start", name, false)
	for _, tooth := range t.Teeth {
		l, at := of(tooth), x.at(float64(tooth.Tooth))
		if !finite(l.Ms, l.U95) {
			continue
		}
		p.Line(Ink, Point{at, y.within(l.Ms - l.U95)}, Point{at, y.within(l.Ms + l.U95)})
		p.Spot(pen, Point{at, y.within(l.Ms)}, toothDot)
	}
}

// about draws lines across at some n values about 0, each with its sign.
func (p *Picture) about(x, y axis, n int) {
	ticks, places := y.steps(n)
	for _, v := range ticks {
		hair := Hair
		if v == 0 {
			hair = Axis
		}
		p.Line(hair, Point{x.from, y.at(v)}, Point{x.to, y.at(v)})
		p.Text(Second, Point{x.from - 10, y.at(v) + 5}, "end", signed(v, places), false)
	}
}
