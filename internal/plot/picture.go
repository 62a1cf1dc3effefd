// Package plot draws what stands still: one description of a picture, set as
// SVG (and later on paper), in the program's look: ink on paper, one accent,
// light and dark.
//
// It measures nothing; what it draws it is given. Curves that move on the
// page are not drawn here.
package plot

import (
	"bytes"
	"fmt"
	"html"
	"io"
	"math"
	"slices"
	"strings"
)

// Pen is the role of a mark; the look gives each its colour and weight.
type Pen string

// The pens: data in ink, second voice and edges, grid, quiet ground, fills of
// uncertainty, and the one accent (as an area a wash; Solid fills it).
const (
	Ink    Pen = "ink"
	Thin   Pen = "thin" // the outline of what is open
	Second Pen = "second"
	Hair   Pen = "hair"
	Wash   Pen = "wash"
	Band   Pen = "band"
	Open   Pen = "open" // hollow dots
	Steel  Pen = "steel"
	Solid  Pen = "solid"
)

// Point is a place in the picture, px from its upper left.
type Point struct{ X, Y float64 }

// Picture is a description: marks in the order they are laid.
type Picture struct {
	Width, Height float64
	Title         string // for those who cannot see it
	marks         []mark
}

type mark struct {
	kind   string // line, dashed, area, hatch, dots, crosses, text
	pen    Pen
	points []Point
	words  []Span
	anchor string
	voice  string // "" shows; "says" is the voice of sentences
}

// Span is a piece of a line of text; Strong is semibold.
type Span struct {
	Words  string
	Strong bool
}

// Line lays a line through points.
func (p *Picture) Line(pen Pen, points ...Point) {
	p.marks = append(p.marks, mark{kind: "line", pen: pen, points: points})
}

// Dashed lays a broken line through points.
func (p *Picture) Dashed(pen Pen, points ...Point) {
	p.marks = append(p.marks, mark{kind: "dashed", pen: pen, points: points})
}

// Hatch fills the polygon of points with slanting lines: where the truth may
// still lie.
func (p *Picture) Hatch(points ...Point) {
	p.marks = append(p.marks, mark{kind: "hatch", points: points})
}

// Area fills the polygon of points.
func (p *Picture) Area(pen Pen, points ...Point) {
	p.marks = append(p.marks, mark{kind: "area", pen: pen, points: points})
}

// Dots sets a dot at each point.
func (p *Picture) Dots(pen Pen, points ...Point) {
	p.marks = append(p.marks, mark{kind: "dots", pen: pen, points: points})
}

// Crosses sets a small cross at each point.
func (p *Picture) Crosses(pen Pen, points ...Point) {
	p.marks = append(p.marks, mark{kind: "crosses", pen: pen, points: points})
}

// Text sets words at a point; anchor is start, middle or end.
func (p *Picture) Text(pen Pen, at Point, anchor, words string, strong bool) {
	p.Spans(pen, at, anchor, Span{words, strong})
}

// Spans sets a line of text whose pieces differ in weight.
func (p *Picture) Spans(pen Pen, at Point, anchor string, words ...Span) {
	p.marks = append(p.marks, mark{kind: "text", pen: pen, points: []Point{at}, words: words, anchor: anchor})
}

// Sentence sets what is said, in the voice of sentences: semibold what is
// sure, light what is not.
func (p *Picture) Sentence(at Point, words ...Span) {
	p.marks = append(p.marks, mark{kind: "text", pen: Ink, points: []Point{at}, words: words, anchor: "start", voice: "says"})
}

// style holds the tokens of the look.
const style = `text{font:15px "Source Sans 3","Segoe UI",Helvetica,Arial,"Liberation Sans",sans-serif;fill:#1a1916}
text.says{font:340 22px "Source Serif 4",Georgia,"Liberation Serif",serif}
text.second{fill:#504c44}text.steel{fill:#22408c}.strong{font-weight:600}text.second .strong{fill:#1a1916}
.paper{fill:#faf8f2}path{fill:none;stroke-width:2;stroke-linejoin:round}.dashed{stroke-dasharray:4 3}
path.ink{stroke:#1a1916}path.thin{stroke:#1a1916;stroke-width:1.2}path.second{stroke:#504c44;stroke-width:1}path.hair{stroke:#c8c2b3;stroke-width:1}path.steel{stroke:#22408c}
path.area{stroke:none}path.area.wash{fill:#efebdf}path.area.band{fill:#e2dbc8}path.area.steel{fill:#22408c;fill-opacity:.2}path.area.solid{fill:#22408c}path.area.ink{fill:#1a1916}
path.hatch{fill:url(#hatch);stroke:#22408c;stroke-width:1}path.slant{stroke:#22408c;stroke-width:1.5}
circle{r:2.5px;stroke-width:1.2}circle.open{fill:#faf8f2;stroke:#1a1916}circle.ink{fill:#1a1916}
@media (prefers-color-scheme:dark){text{fill:#ece7db}text.second{fill:#b3ad9e}text.steel{fill:#a3b8ff}text.second .strong{fill:#ece7db}.paper{fill:#171613}
path.ink,path.thin{stroke:#ece7db}path.second{stroke:#b3ad9e}path.hair{stroke:#4d493f}path.steel,path.slant,path.hatch{stroke:#a3b8ff}
path.area.wash{fill:#282620}path.area.band{fill:#3d3a31}path.area.steel,path.area.solid{fill:#a3b8ff}path.area.ink{fill:#ece7db}circle.open{fill:#171613;stroke:#ece7db}circle.ink{fill:#ece7db}}`

// hatching is the pattern of Hatch: lines at 45°, 6 px apart.
const hatching = `<defs><pattern id="hatch" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><path class="slant" d="M3 0V6"/></pattern></defs>`

// WriteSVG sets the picture as SVG. Places are rounded to a tenth of a px, so
// that every machine writes the same.
func (p *Picture) WriteSVG(w io.Writer) error {
	var b bytes.Buffer
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" width="%.0f" height="%.0f" viewBox="0 0 %.0f %.0f" role="img" xml:space="preserve">`+"\n",
		p.Width, p.Height, p.Width, p.Height)
	fmt.Fprintf(&b, "<title>%s</title>\n<style>%s</style>\n", html.EscapeString(p.Title), style)
	if slices.ContainsFunc(p.marks, func(m mark) bool { return m.kind == "hatch" }) {
		b.WriteString(hatching + "\n")
	}
	fmt.Fprintf(&b, `<rect class="paper" width="%.0f" height="%.0f"/>`+"\n", p.Width, p.Height)
	for _, m := range p.marks {
		m.writeSVG(&b)
	}
	b.WriteString("</svg>\n")
	_, err := w.Write(b.Bytes())
	return err
}

func (m mark) writeSVG(b *bytes.Buffer) {
	switch m.kind {
	case "line":
		fmt.Fprintf(b, `<path class="%s" d="%s"/>`+"\n", m.pen, track(m.points))
	case "dashed":
		fmt.Fprintf(b, `<path class="%s dashed" d="%s"/>`+"\n", m.pen, track(m.points))
	case "hatch":
		fmt.Fprintf(b, `<path class="hatch" d="%sZ"/>`+"\n", track(m.points))
	case "area":
		fmt.Fprintf(b, `<path class="area %s" d="%sZ"/>`+"\n", m.pen, track(m.points))
	case "dots":
		for _, q := range m.points {
			fmt.Fprintf(b, `<circle class="%s" cx="%s" cy="%s" r="2.5"/>`+"\n", m.pen, px(q.X), px(q.Y))
		}
	case "crosses":
		var d strings.Builder
		for _, q := range m.points {
			fmt.Fprintf(&d, "M%s %sl6 6m0-6l-6 6", px(q.X-3), px(q.Y-3))
		}
		fmt.Fprintf(b, `<path class="%s" d="%s"/>`+"\n", m.pen, d.String())
	case "text":
		m.writeText(b)
	}
}

func (m mark) writeText(b *bytes.Buffer) {
	class := strings.TrimSpace(string(m.pen) + " " + m.voice)
	if len(m.words) == 1 && m.words[0].Strong {
		class += " strong"
	}
	fmt.Fprintf(b, `<text class="%s" x="%s" y="%s" text-anchor="%s">`, class, px(m.points[0].X), px(m.points[0].Y), m.anchor)
	for _, w := range m.words {
		words := html.EscapeString(w.Words)
		if w.Strong && len(m.words) > 1 {
			words = `<tspan class="strong">` + words + `</tspan>`
		}
		b.WriteString(words)
	}
	b.WriteString("</text>\n")
}

func track(points []Point) string {
	var b strings.Builder
	for i, q := range points {
		c := "L"
		if i == 0 {
			c = "M"
		}
		b.WriteString(c + px(q.X) + " " + px(q.Y))
	}
	return b.String()
}

// px rounds to a tenth and never writes minus zero.
func px(v float64) string {
	r := math.Round(v*10) / 10
	if r == 0 {
		r = 0
	}
	return strings.TrimSuffix(fmt.Sprintf("%.1f", r), ".0")
}
