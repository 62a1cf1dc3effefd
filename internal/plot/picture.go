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
	"strings"
)

// Pen is the role of a mark; the look gives each its colour and weight.
type Pen string

// The pens: data in ink, second voice and edges, grid, fills of uncertainty,
// and the one accent.
const (
	Ink    Pen = "ink"
	Second Pen = "second"
	Hair   Pen = "hair"
	Band   Pen = "band"
	Open   Pen = "open" // hollow dots
	Steel  Pen = "steel"
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
	kind   string // line, area, dots, crosses, text
	pen    Pen
	points []Point
	text   string
	anchor string
	strong bool
}

// Line lays a line through points.
func (p *Picture) Line(pen Pen, points ...Point) {
	p.marks = append(p.marks, mark{kind: "line", pen: pen, points: points})
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
	p.marks = append(p.marks, mark{kind: "text", pen: pen, points: []Point{at}, text: words, anchor: anchor, strong: strong})
}

// style holds the tokens of the look.
const style = `text{font:15px "Source Sans 3","Segoe UI",Helvetica,Arial,"Liberation Sans",sans-serif;fill:#1a1916}
text.second{fill:#504c44}text.steel{fill:#22408c}text.strong{font-weight:600;font-size:18px}
.paper{fill:#faf8f2}path{fill:none;stroke-width:2;stroke-linejoin:round}
path.ink{stroke:#1a1916}path.second{stroke:#504c44;stroke-width:1}path.hair{stroke:#c8c2b3;stroke-width:1}path.steel{stroke:#22408c}
path.area{stroke:none}path.area.band{fill:#e2dbc8}path.area.steel{fill:#22408c;fill-opacity:.14}path.area.ink{fill:#1a1916}
circle{r:2.5px;stroke-width:1.2}circle.open{fill:#faf8f2;stroke:#1a1916}circle.ink{fill:#1a1916}
@media (prefers-color-scheme:dark){text{fill:#ece7db}text.second{fill:#b3ad9e}text.steel{fill:#a3b8ff}.paper{fill:#171613}
path.ink{stroke:#ece7db}path.second{stroke:#b3ad9e}path.hair{stroke:#4d493f}path.steel{stroke:#a3b8ff}
path.area.band{fill:#3d3a31}path.area.steel{fill:#a3b8ff}path.area.ink{fill:#ece7db}circle.open{fill:#171613;stroke:#ece7db}circle.ink{fill:#ece7db}}`

// WriteSVG sets the picture as SVG. Places are rounded to a tenth of a px, so
// that every machine writes the same.
func (p *Picture) WriteSVG(w io.Writer) error {
	var b bytes.Buffer
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" width="%.0f" height="%.0f" viewBox="0 0 %.0f %.0f" role="img">`+"\n",
		p.Width, p.Height, p.Width, p.Height)
	fmt.Fprintf(&b, "<title>%s</title>\n<style>%s</style>\n", html.EscapeString(p.Title), style)
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
		class := string(m.pen)
		if m.strong {
			class += " strong"
		}
		fmt.Fprintf(b, `<text class="%s" x="%s" y="%s" text-anchor="%s">%s</text>`+"\n",
			class, px(m.points[0].X), px(m.points[0].Y), m.anchor, html.EscapeString(m.text))
	}
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
