package plot

import (
	"math"
	"strings"
	"unicode"
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

// Captioned is the picture with its caption set above it.
func Captioned(p *Picture) *Picture {
	if len(p.Caption) == 0 {
		return p
	}
	const room = 32
	over := &Picture{Width: p.Width, Height: room}
	over.Spans(Second, Point{0, titleAt}, "start", p.Caption...)
	all := Stack(p.Title, over, p)
	all.Desc = p.Desc
	return all
}

// wide is about how wide words are set at 15 px, a little too wide rather
// than too narrow.
func wide(words string) float64 { return 6.9 * float64(utf8.RuneCountInString(words)) }

// inside moves the middle of something half as wide as half into a width.
func inside(at, half, width float64) float64 {
	return math.Max(half, math.Min(width-half, at))
}

// sentence ends what is said with its full stop, beginning with a capital.
func sentence(s string) string {
	if s == "" {
		return ""
	}
	first, n := utf8.DecodeRuneInString(s)
	return string(unicode.ToUpper(first)) + strings.TrimSuffix(s[n:], ".") + "."
}

// under prints a bound to two digits, rounded up.
func under(v float64) string {
	if !(v > 0) || math.IsInf(v, 0) {
		return say.Dash
	}
	step := math.Pow10(int(math.Floor(math.Log10(v))) - 1)
	return say.Plain(math.Ceil(v/step-1e-9) * step)
}
