package plot

import (
	"math"
	"strings"
	"unicode/utf8"

	"beatwright/internal/say"
)

// eighths are the block characters by their height, from nothing to full.
var eighths = []rune(" ▁▂▃▄▅▆▇█")

// blockRows is how many rows of characters a side's beat stands high.
const blockRows = 2

// Blocks draws the beats with block characters in so many columns, for a
// terminal: for either side the words of its sounds and two rows of blocks,
// heights in dB over the noise, the axis between. Blocks cannot hang, so the
// second beat stands upright too; its time runs to the left all the same. It
// is nil where there is nothing to draw.
func (f Profile) Blocks(columns int) []string {
	if !f.sound() || columns < 40 || !f.Sides[0].heard() && !f.Sides[1].heard() {
		return nil
	}
	x := f.span(0, float64(columns))
	top := 6.0
	for s := range f.Sides {
		_, power := f.pool(s, x)
		for _, v := range power {
			top = math.Max(top, over(v))
		}
	}
	lines := append(f.blockSide(0, x, columns, top), f.blockAxis(x, columns))
	lines = append(lines, f.blockSide(1, x, columns, top)...)
	for i := range lines {
		lines[i] = strings.TrimRight(lines[i], " ")
	}
	return lines
}

// blockSide is the words of a side's sounds and its rows of blocks.
func (f Profile) blockSide(s int, x axis, columns int, top float64) []string {
	words := blank(columns)
	rows := [blockRows][]rune{blank(columns), blank(columns)}
	at, power := f.pool(s, x)
	for i, px := range at {
		k := min(int(px), columns-1)
		h := 1 + int(math.Round((8*blockRows-1)*over(power[i])/top))
		for r := range rows {
			// The last row is the foot.
			rows[r][k] = eighths[max(0, min(8, h-8*(blockRows-1-r)))]
		}
	}
	set(words, 0, [2]string{"first", "second"}[s])
	for _, m := range f.marks(s) {
		if a, ok := f.place(s, m.at); ok && a >= x.low && a < x.high {
			f.blockWord(words, s, int(x.at(a)), m)
		}
	}
	return []string{string(words), string(rows[0]), string(rows[1])}
}

// blockWord sets a tick over a sound, and its word to the outer side of the
// lift where there is room; the impulse, between them, has a tick alone.
func (f Profile) blockWord(words []rune, s, k int, m named) {
	set(words, k, "╷")
	word, _, _ := strings.Cut(m.word, " for certain")
	rightwards := (m.word == "drop") != (s == 1 && f.Standing != NotTold)
	switch {
	case m.word == "impulse":
	case rightwards:
		set(words, k+1, word)
	default:
		set(words, k-utf8.RuneCountInString(word), word)
	}
}

// blockAxis is the line of figures between the sides.
func (f Profile) blockAxis(x axis, columns int) string {
	line := []rune(strings.Repeat("─", columns))
	step, unitWord := 60.0, "°"
	switch {
	case f.Standing == NotTold:
		step, unitWord = 15, "ms"
	case f.reach() < 120:
		step = 30
	case f.reach() > 240:
		step = 120
	}
	for v := math.Ceil(x.low/step) * step; v <= x.high; v += step {
		word := say.Unit(say.Fixed(v, 0), unitWord)
		if v == 0 {
			word = "rest"
			if f.Standing == NotTold {
				word = "0"
			}
		}
		k := int(x.at(v)) - utf8.RuneCountInString(word)/2
		set(line, max(0, min(k, columns-utf8.RuneCountInString(word))), word)
	}
	return string(line)
}

func blank(columns int) []rune { return []rune(strings.Repeat(" ", columns)) }

// set writes a word into a line where it is in the way of no other.
func set(line []rune, at int, word string) {
	n := utf8.RuneCountInString(word)
	if at < 0 || at+n > len(line) {
		return
	}
	for _, r := range line[at : at+n] {
		if r != ' ' && r != '─' {
			return
		}
	}
	copy(line[at:], []rune(word))
}
