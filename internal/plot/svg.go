package plot

import (
	"bytes"
	"fmt"
	"html"
	"html/template"
	"io"
	"math"
	"slices"
	"strings"
)

// WriteSVG sets the picture as SVG that stands alone. Places are rounded to a
// tenth of a px, so that every machine writes the same.
func (p *Picture) WriteSVG(w io.Writer) error {
	var b bytes.Buffer
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" class="plot" width="%.0f" height="%.0f" viewBox="0 0 %.0f %.0f" role="img" xml:space="preserve">`+"\n",
		p.Width, p.Height, p.Width, p.Height)
	fmt.Fprintf(&b, "<title>%s</title>\n", html.EscapeString(p.Title))
	if p.Desc != "" {
		fmt.Fprintf(&b, "<desc>%s</desc>\n", html.EscapeString(p.Desc))
	}
	fmt.Fprintf(&b, "<style>%s</style>\n", alone)
	p.patterns(&b, "hatch")
	fmt.Fprintf(&b, `<rect class="paper" width="%.0f" height="%.0f"/>`+"\n", p.Width, p.Height)
	for _, m := range p.marks {
		m.writeSVG(&b, "hatch")
	}
	b.WriteString("</svg>\n")
	_, err := w.Write(b.Bytes())
	return err
}

// Inline sets the picture as SVG for within a page that has PageStyle: no
// style, script or colour of its own. id must be the page's only one of its
// kind: letters, digits and dashes (others are dropped).
func (p *Picture) Inline(id string) template.HTML {
	id = strings.Map(idRune, id)
	var b bytes.Buffer
	b.WriteString(`<svg class="plot`)
	if p.Width > longest {
		b.WriteString(" long")
	}
	b.WriteString(`"`)
	if p.Shown > 0 {
		fmt.Fprintf(&b, ` width="%s" height="%s"`, px(p.Shown), px(p.Shown*p.Height/p.Width))
	}
	fmt.Fprintf(&b, ` viewBox="0 0 %s %s" xml:space="preserve"`, px(p.Width), px(p.Height))
	if p.Title == "" {
		b.WriteString(` aria-hidden="true">`)
	} else {
		named := id + "-title"
		if p.Desc != "" {
			named += " " + id + "-desc"
		}
		fmt.Fprintf(&b, ` role="img" aria-labelledby="%s"><title id="%s-title">%s</title>`, named, id, html.EscapeString(p.Title))
		if p.Desc != "" {
			fmt.Fprintf(&b, `<desc id="%s-desc">%s</desc>`, id, html.EscapeString(p.Desc))
		}
	}
	b.WriteString("\n")
	p.patterns(&b, id+"-hatch")
	for _, m := range p.marks {
		m.writeSVG(&b, id+"-hatch")
	}
	b.WriteString("</svg>\n")
	return template.HTML(b.String()) // every word in it is escaped above
}

// longest is the width, px, to which a picture can shrink on a phone and still
// be read.
const longest = 720

func idRune(r rune) rune {
	if r == '-' || r >= '0' && r <= '9' || r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' {
		return r
	}
	return -1
}

// patterns defines the hatchings that the picture uses: lines at 45°. Their
// names carry the picture's own, since a page has many.
func (p *Picture) patterns(b *bytes.Buffer, id string) {
	for _, pen := range []Pen{Steel, Ink, Second} {
		used := func(m mark) bool { return m.kind == "hatch" && m.pen == pen }
		if slices.ContainsFunc(p.marks, used) {
			fmt.Fprintf(b, `<defs><pattern id="%s-%s" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><path class="slant %s" d="M3 0V6"/></pattern></defs>`+"\n", id, pen, pen)
		}
	}
}

func (m mark) writeSVG(b *bytes.Buffer, hatch string) {
	switch m.kind {
	case "line":
		fmt.Fprintf(b, `<path class="%s" d="%s"/>`+"\n", classes(m.pen, m.dash), track(m.points))
	case "hatch":
		fmt.Fprintf(b, `<path class="hatch %s" fill="url(#%s-%s)" d="%sZ"/>`+"\n", m.pen, hatch, m.pen, track(m.points))
	case "area":
		fmt.Fprintf(b, `<path class="area %s" d="%sZ"/>`+"\n", m.pen, track(m.points))
	case "bar":
		a, c := m.points[0], m.points[1]
		fmt.Fprintf(b, `<rect class="bar %s" x="%s" y="%s" width="%s" height="%s"/>`+"\n",
			m.pen, px(math.Min(a.X, c.X)), px(math.Min(a.Y, c.Y)), px(math.Abs(c.X-a.X)), px(math.Abs(c.Y-a.Y)))
	case "ring":
		m.circles(b, classes("ring "+m.pen, m.dash))
	case "dots":
		m.circles(b, m.dotClass())
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

func (m mark) circles(b *bytes.Buffer, class string) {
	for _, q := range m.points {
		fmt.Fprintf(b, `<circle class="%s" cx="%s" cy="%s" r="%s"/>`+"\n", class, px(q.X), px(q.Y), px(m.size))
	}
}

func (m mark) dotClass() string {
	if m.size > dotSize {
		return "spot " + string(m.pen)
	}
	return string(m.pen)
}

func classes(pen Pen, dash string) string { return strings.TrimSpace(string(pen) + " " + dash) }

func (m mark) writeText(b *bytes.Buffer) {
	class := classes(m.pen, m.voice)
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
