// Package plot draws what stands still: one description of a picture, set as
// SVG for a page, as SVG that stands alone (and later on paper), in the
// program's look: ink on paper, one accent, light and dark.
//
// Every drawing also says in words what it shows (Words), for those who cannot
// see it.
//
// It measures nothing; what it draws it is given. Curves that move on the
// page are not drawn here.
package plot

// Pen is the role of a mark; the look gives each its colour and weight.
type Pen string

// The pens: data in ink, second voice and edges, grid, quiet ground, fills of
// uncertainty, and the one accent (as an area a wash; Solid fills it).
const (
	Ink     Pen = "ink"
	Thin    Pen = "thin"    // the outline of what is open
	Axis    Pen = "axis"    // the thinnest ink
	Needle  Pen = "needle"  // a value
	Bracket Pen = "bracket" // a bound
	Second  Pen = "second"
	Past    Pen = "past" // what was said before
	Hair    Pen = "hair"
	Wash    Pen = "wash"
	Band    Pen = "band"
	Edged   Pen = "edged" // a band with its edge
	Open    Pen = "open"  // hollow
	Paper   Pen = "paper"
	Steel   Pen = "steel"
	Post    Pen = "post" // the accent's end posts
	Solid   Pen = "solid"
)

// Point is a place in the picture, px from its upper left.
type Point struct{ X, Y float64 }

// Picture is a description: marks in the order they are laid.
type Picture struct {
	Width, Height float64
	// Shown is the width at which a page shows it, px; 0 fills the page's
	// column.
	Shown float64
	Title string // for those who cannot see it
	// Desc is the sentence that says what it shows.
	Desc string
	// Caption is how to read it, for above it: a page sets it itself,
	// Captioned sets it into the picture.
	Caption []Span
	marks   []mark
}

type mark struct {
	kind   string // line, area, hatch, dots, crosses, ring, bar, text
	pen    Pen
	points []Point
	size   float64 // radius, px
	dash   string  // "" or a class of dashes
	words  []Span
	anchor string
	voice  string // "" shows; "says" is the voice of sentences
}

// Span is a piece of a line of text; Strong is semibold.
type Span struct {
	Words  string
	Strong bool
}

// dotSize is the radius of a dot among many, px.
const dotSize = 2.5

// Line lays a line through points.
func (p *Picture) Line(pen Pen, points ...Point) { p.line(pen, "", points) }

// Dashed lays a broken line through points.
func (p *Picture) Dashed(pen Pen, points ...Point) { p.line(pen, "dashed", points) }

// Broken lays a line of long dashes: a curve that is the hollow one of a pair.
func (p *Picture) Broken(pen Pen, points ...Point) { p.line(pen, "broken", points) }

// Dotted lays a dotted line: a limit that someone set, or a moment.
func (p *Picture) Dotted(pen Pen, points ...Point) { p.line(pen, "dotted", points) }

func (p *Picture) line(pen Pen, dash string, points []Point) {
	p.marks = append(p.marks, mark{kind: "line", pen: pen, dash: dash, points: points})
}

// Hatch fills the polygon of points with slanting lines: where the truth may
// still lie, of what is being heard now.
func (p *Picture) Hatch(points ...Point) {
	p.marks = append(p.marks, mark{kind: "hatch", pen: Steel, points: points})
}

// HatchInk is Hatch of what is not now.
func (p *Picture) HatchInk(points ...Point) {
	p.marks = append(p.marks, mark{kind: "hatch", pen: Ink, points: points})
}

// HatchLight is HatchInk thinner, without an edge, over what is to be seen
// through it.
func (p *Picture) HatchLight(points ...Point) {
	p.marks = append(p.marks, mark{kind: "hatch", pen: Second, points: points})
}

// Area fills the polygon of points.
func (p *Picture) Area(pen Pen, points ...Point) {
	p.marks = append(p.marks, mark{kind: "area", pen: pen, points: points})
}

// Bar fills an upright rectangle, from and to its corners; a page may move it.
func (p *Picture) Bar(pen Pen, from, to Point) {
	p.marks = append(p.marks, mark{kind: "bar", pen: pen, points: []Point{from, to}})
}

// Ring lays a circle about a point.
func (p *Picture) Ring(pen Pen, at Point, radius float64) {
	p.marks = append(p.marks, mark{kind: "ring", pen: pen, points: []Point{at}, size: radius})
}

// DottedRing is Ring, dotted: a circle to read sizes by.
func (p *Picture) DottedRing(pen Pen, at Point, radius float64) {
	p.marks = append(p.marks, mark{kind: "ring", pen: pen, dash: "dotted", points: []Point{at}, size: radius})
}

// Dots sets a dot at each point.
func (p *Picture) Dots(pen Pen, points ...Point) {
	p.marks = append(p.marks, mark{kind: "dots", pen: pen, points: points, size: dotSize})
}

// Spot sets one large dot, filled (Ink) or hollow (Open).
func (p *Picture) Spot(pen Pen, at Point, radius float64) {
	p.marks = append(p.marks, mark{kind: "dots", pen: pen, points: []Point{at}, size: radius})
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

// Label is Text that clears the paper about its letters, over lines.
func (p *Picture) Label(pen Pen, at Point, anchor, words string) {
	p.marks = append(p.marks, mark{kind: "text", pen: pen, points: []Point{at}, words: []Span{{words, false}}, anchor: anchor, voice: "halo"})
}

// Sentence sets what is said, in the voice of sentences: semibold what is
// sure, light what is not.
func (p *Picture) Sentence(at Point, words ...Span) {
	p.marks = append(p.marks, mark{kind: "text", pen: Ink, points: []Point{at}, words: words, anchor: "start", voice: "says"})
}
