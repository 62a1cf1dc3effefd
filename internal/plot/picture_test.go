package plot

import (
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"maps"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"beatwright/estimate"
	"beatwright/poise"
	"beatwright/position"
	"beatwright/reading"
	"beatwright/unit"

	"pgregory.net/rapid"
)

// TestGallery holds every drawing to its picture in testdata.
func TestGallery(t *testing.T) {
	pictures := gallery(t)
	for _, name := range slices.Sorted(maps.Keys(pictures)) {
		t.Run(name, func(t *testing.T) {
			sound(t, pictures[name])
			golden(t, name+".svg", string(pictures[name].Inline(name)))
		})
	}
}

// TestInlineObeysThePage: a page forbids styles and scripts in its text, and
// its colours follow the theme.
func TestInlineObeysThePage(t *testing.T) {
	seen := map[string]bool{}
	for name, p := range gallery(t) {
		got := string(p.Inline(name))
		for _, not := range []string{"style", "<script", "var(", "rgb", "xlink"} {
			if strings.Contains(got, not) {
				t.Errorf("%s has %q within", name, not)
			}
		}
		if strings.Contains(strings.ReplaceAll(got, "url(#"+name+"-hatch", ""), "#") {
			t.Errorf("%s has a colour, or a name that is not its own", name)
		}
		for _, id := range ids(t, got) {
			if seen[id] {
				t.Errorf("%s has the id %q of another picture", name, id)
			}
			seen[id] = true
		}
		if p.Title != "" && (!strings.Contains(got, `role="img"`) || !strings.Contains(got, "<title ")) {
			t.Errorf("%s does not say what it is", name)
		}
	}
	if strings.Contains(PageStyle, "#") {
		t.Error("the page's style has a colour of its own")
	}
	if strings.Contains(alone, "var(") {
		t.Error("a picture that stands alone has a variable without value")
	}
}

func ids(t *testing.T, text string) []string {
	t.Helper()
	var out []string
	eachElement(t, text, func(e xml.StartElement) {
		for _, a := range e.Attr {
			if a.Name.Local == "id" {
				out = append(out, a.Value)
			}
		}
	})
	return out
}

func eachElement(t testing.TB, text string, f func(xml.StartElement)) {
	t.Helper()
	for d := xml.NewDecoder(strings.NewReader(text)); ; {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return
		}
		if err != nil {
			t.Fatalf("the picture is no XML: %v", err)
		}
		if e, ok := token.(xml.StartElement); ok {
			f(e)
		}
	}
}

// TestStyled: every class that a drawing uses is named in the style.
func TestStyled(t *testing.T) {
	for name, p := range gallery(t) {
		eachElement(t, string(p.Inline(name)), func(e xml.StartElement) {
			for _, a := range e.Attr {
				if a.Name.Local != "class" {
					continue
				}
				for _, class := range strings.Fields(a.Value) {
					// These stand for what the element is by itself, or name it
					// for a page.
					if !strings.Contains(PageStyle, "."+class) && !slices.Contains([]string{"area", "bar"}, class) && !(e.Name.Local == "text" && class == "ink") {
						t.Errorf("%s: no style for class %q of %s", name, class, e.Name.Local)
					}
				}
			}
		})
	}
}

// slack is how far a mark may stand out of its picture, px: half a heavy line,
// or the line of now that joins the rows.
const slack = 2

// sound checks that a picture has only finite places, all within it, words
// included.
func sound(t interface {
	Helper()
	Errorf(string, ...any)
}, p *Picture,
) {
	t.Helper()
	if !finite(p.Width, p.Height) || p.Width <= 0 || p.Height <= 0 {
		t.Errorf("%s is %v by %v px", p.Title, p.Width, p.Height)
	}
	for _, m := range p.marks {
		for _, q := range m.points {
			l, r := q.X-m.size, q.X+m.size
			if m.kind == "text" {
				l, r = extent(m)
			}
			if !finite(q.X, q.Y, m.size) {
				t.Errorf("%s: %s %s has the place %v", p.Title, m.kind, m.pen, q)
			}
			if l < -slack || r > p.Width+slack || q.Y-m.size < -slack || q.Y+m.size > p.Height+slack {
				t.Errorf("%s: %s %s %q reaches from %v to %v at %v, out of %v by %v", p.Title, m.kind, m.pen, fmt.Sprint(m.words), l, r, q.Y, p.Width, p.Height)
			}
		}
	}
}

func extent(m mark) (from, to float64) {
	var words string
	for _, s := range m.words {
		words += s.Words
	}
	w, x := wide(words), m.points[0].X
	switch m.anchor {
	case "middle":
		return x - w/2, x + w/2
	case "end":
		return x - w, x
	}
	return x, x + w
}

func wellFormed(t *rapid.T, p *Picture) {
	sound(t, p)
	text := string(p.Inline("x"))
	for d := xml.NewDecoder(strings.NewReader(text)); ; {
		_, err := d.Token()
		if errors.Is(err, io.EOF) {
			return
		}
		if err != nil {
			t.Fatalf("the picture is no XML: %v", err)
		}
	}
}

// anyValue is a number as they come, and now and then one as they should not.
func anyValue(scale float64) *rapid.Generator[float64] {
	return rapid.Custom(func(t *rapid.T) float64 {
		if rapid.IntRange(0, 19).Draw(t, "odd") == 0 {
			return rapid.SampledFrom([]float64{math.NaN(), math.Inf(1), math.Inf(-1), 0, 1e9, -1e9, 1e-12}).Draw(t, "value")
		}
		return rapid.Float64Range(-scale, scale).Draw(t, "value")
	})
}

func anyEstimate(scale float64) *rapid.Generator[estimate.Estimate] {
	return rapid.Custom(func(t *rapid.T) estimate.Estimate {
		e := estimate.New(anyValue(scale).Draw(t, "of"), math.Abs(anyValue(scale/5).Draw(t, "own")))
		if rapid.Bool().Draw(t, "shares") {
			e = e.With("clock", rapid.Float64Range(0, scale/2).Draw(t, "clock"))
		}
		return e
	})
}

func anyState(left bool) *rapid.Generator[State] {
	return rapid.Custom(func(t *rapid.T) State {
		s := State{Name: rapid.SampledFrom([]string{"", "as found", "as <left>"}).Draw(t, "name"), Left: left}
		var rs []poise.Reading
		for range rapid.IntRange(0, 9).Draw(t, "positions") {
			e := anyEstimate(100).Draw(t, "rate")
			s.Points = append(s.Points, Rate{position.Position(rapid.IntRange(0, 28).Draw(t, "position")), e})
			rs = append(rs, poise.Reading{Position: s.Points[len(s.Points)-1].Position, Rate: e})
		}
		if w, err := poise.FitWave(rs); err == nil {
			s.Wave = &w
		}
		return s
	})
}

func TestCurvesStayWithin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := Curve{}
		for i := range rapid.IntRange(0, 2).Draw(t, "states") {
			c.States = append(c.States, anyState(i == 1).Draw(t, "state"))
		}
		if rapid.Bool().Draw(t, "limited") {
			c.Limits = []Limit{{unit.SecondsPerDay(anyValue(50).Draw(t, "low")), unit.SecondsPerDay(anyValue(50).Draw(t, "high")), "us"}}
		}
		wellFormed(t, c.Picture())
		for _, p := range c.Panels() {
			wellFormed(t, p)
		}
	})
}

func TestBalancesStayWithin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var bs []Balance
		for range rapid.IntRange(1, 2).Draw(t, "balances") {
			bs = append(bs, Balance{
				Told: rapid.Bool().Draw(t, "told"), Unit: "µg·mm", Left: rapid.Bool().Draw(t, "left"),
				Size: anyEstimate(200).Draw(t, "size"), Toward: anyEstimate(360).Draw(t, "toward"),
				Swing: anyValue(300).Draw(t, "swing"), FastHour: anyValue(12).Draw(t, "hour"),
			})
		}
		for _, p := range Balances(bs...) {
			wellFormed(t, p)
		}
	})
}

func TestRulersStayWithin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := Ruler{
			What: "rate", Scale: rapid.SampledFrom([]Scale{RateScale(), BeatScale("ms"), SwingScale(), {}}).Draw(t, "scale"),
			Standing: rapid.SampledFrom([]reading.Standing{reading.Measured, reading.AtMost, reading.NotResolved, ""}).Draw(t, "standing"),
			Value:    anyValue(300).Draw(t, "value"), U95: anyValue(100).Draw(t, "u95"),
			Sure: rapid.Bool().Draw(t, "sure"), Stale: rapid.Bool().Draw(t, "stale"),
		}
		for range rapid.IntRange(0, 6).Draw(t, "before") {
			r.Before = append(r.Before, Interval{anyValue(300).Draw(t, "from"), anyValue(300).Draw(t, "to"), rapid.Bool().Draw(t, "at most")})
		}
		if rapid.Bool().Draw(t, "reaching") {
			r.Scale = r.Scale.Reaching(r.Value)
		}
		if rapid.Bool().Draw(t, "limited") {
			r.Least = &Bound{anyValue(300).Draw(t, "least"), "least: 220°"}
		}
		wellFormed(t, r.Picture())
	})
}

func TestDaysStayWithin(t *testing.T) {
	moment := rapid.Custom(func(t *rapid.T) time.Time {
		if rapid.IntRange(0, 4).Draw(t, "none") == 0 {
			return time.Time{}
		}
		return time.Date(2026, 3, 1, 0, rapid.IntRange(-5000, 5000).Draw(t, "minute"), 0, 0, time.UTC)
	})
	rapid.Check(t, func(t *rapid.T) {
		d := Day{From: moment.Draw(t, "day from"), To: moment.Draw(t, "day to"), Now: moment.Draw(t, "now")}
		if d.To.Sub(d.From) < 48*time.Hour {
			wellFormed(t, d.Head())
		}
		wellFormed(t, d.Row(Due{moment.Draw(t, "from"), moment.Draw(t, "to")}))
	})
}

func TestSeriesStayWithin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := Series{}
		for k := range rapid.IntRange(0, 3).Draw(t, "quantities") {
			q := Quantity{What: "rate", Unit: "s/d", Signed: k == 0}
			for i := range rapid.IntRange(0, 12).Draw(t, "windows") {
				q.Windows = append(q.Windows, Window{
					unit.Seconds(i), unit.Seconds(i + 1), anyValue(50).Draw(t, "value"), anyValue(9).Draw(t, "u"), rapid.Bool().Draw(t, "at most"),
				})
			}
			for i := range rapid.IntRange(0, 900).Draw(t, "further windows") {
				q.Windows = append(q.Windows, Window{From: unit.Seconds(12 + i), To: unit.Seconds(13 + i), Value: float64(i % 13), U95: 1, AtMost: i%99 > 70})
			}
			s.Quantities = append(s.Quantities, q)
		}
		for range rapid.IntRange(0, 8).Draw(t, "events") {
			s.Events = append(s.Events, Event{unit.Seconds(anyValue(800).Draw(t, "at")), "the watch was turned", true})
		}
		wellFormed(t, s.Picture())
	})
}

func TestPairsStayWithin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := Change{What: "rate", Unit: "s/d", Signed: rapid.Bool().Draw(t, "signed")}
		figure := func() *Figure {
			if rapid.IntRange(0, 3).Draw(t, "none") == 0 {
				return nil
			}
			f := &Figure{Value: anyValue(200).Draw(t, "value"), U95: anyValue(9).Draw(t, "u")}
			f.AtMost = f.Value >= 0 && f.Value < 360 && rapid.Bool().Draw(t, "at most") // only swings have bounds
			return f
		}
		for range rapid.IntRange(0, 6).Draw(t, "rows") {
			c.Rows = append(c.Rows, ChangeRow{position.H3, figure(), figure()})
			wellFormed(t, c.Cell(c.Rows[0]))
		}
		wellFormed(t, c.Axis())
		wellFormed(t, FoundAndLeft([]Change{c}))
	})
}
