package plot

import (
	"math"
	"strings"
	"unicode/utf8"

	"beatwright/internal/say"
)

// Words is what a picture shows, for those who cannot see it: a sentence, and
// its figures as a table.
type Words struct {
	Sentence string
	Head     []string
	Rows     [][]string
}

// Captioned is the picture with its caption set above it, in as many lines as
// it needs; least is the number of lines for which there is room at least, so
// that pictures beside each other can stand level.
func Captioned(p *Picture, least int) *Picture {
	lines := wrapped(p.Width, p.Caption...)
	over := paragraph(p.Width, lines)
	over.Height = math.Max(over.Height, lineHeight*float64(least)) + 10
	return Stack(p.Title, over, p)
}

// lineHeight is from line to line of small words, px.
const lineHeight = 21.0

// paragraph sets lines one below another.
func paragraph(width float64, lines [][]Span) *Picture {
	p := &Picture{Width: width, Height: lineHeight * float64(len(lines))}
	for i, line := range lines {
		p.Spans(Second, Point{0, lineHeight*float64(i) + 16}, "start", line...)
	}
	return p
}

// wrapped breaks words at plain spaces into lines of a width.
func wrapped(width float64, words ...Span) [][]Span {
	var lines [][]Span
	at := math.Inf(1)
	for _, s := range words {
		for i, word := range strings.Split(s.Words, " ") {
			glue := i > 0
			if at+wide(" "+word) > width && (glue || at > width) {
				lines, at, glue = append(lines, nil), 0, false
			}
			if glue {
				word = " " + word
			}
			last := len(lines) - 1
			lines[last] = append(lines[last], Span{word, s.Strong})
			at += wide(word)
		}
	}
	return joinedSpans(lines)
}

// joinedSpans joins neighbours of one weight.
func joinedSpans(lines [][]Span) [][]Span {
	for i, line := range lines {
		var out []Span
		for _, s := range line {
			if n := len(out); n > 0 && out[n-1].Strong == s.Strong {
				out[n-1].Words += s.Words
				continue
			}
			out = append(out, s)
		}
		lines[i] = out
	}
	return lines
}

// wide is about how wide words are set at 15 px, a little too wide rather
// than too narrow.
func wide(words string) float64 { return 6.9 * float64(utf8.RuneCountInString(words)) }

// inside moves the middle of something half as wide as half into a width.
func inside(at, half, width float64) float64 {
	return math.Max(half, math.Min(width-half, at))
}

// under prints a bound to two digits, rounded up.
func under(v float64) string {
	if !(v > 0) || math.IsInf(v, 0) {
		return say.Dash
	}
	step := math.Pow10(int(math.Floor(math.Log10(v))) - 1)
	return say.Plain(math.Ceil(v/step-1e-9) * step)
}
