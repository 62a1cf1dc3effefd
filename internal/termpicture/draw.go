package main

import (
	"fmt"
	"html"
	"strings"
	"unicode/utf8"
)

// Measures of the picture, px: a cell of a 14 px face of one width, and the
// margin round the text.
const (
	cellWidth  = 8.4
	lineHeight = 20
	margin     = 20
	columns    = 80
)

// style holds the tokens of the program's look: ink on paper, light and dark.
const style = `text{font:14px "Liberation Mono","DejaVu Sans Mono",Menlo,Consolas,monospace;fill:#1a1916;white-space:pre}
.paper{fill:#faf8f2}.rule{stroke:#c8c2b3}.typed{fill:#504c44}.sure{font-weight:600}.block{fill:#1a1916}
@media (prefers-color-scheme:dark){text,.block{fill:#ece7db}.paper{fill:#171613}.rule{stroke:#4d493f}.typed{fill:#b3ad9e}}`

const (
	bold   = "\x1b[1m"
	normal = "\x1b[0m"
)

// prompt sets a command as it is typed, on as many lines as it needs.
func prompt(command string) string {
	var b strings.Builder
	line := "$ beatwright"
	if after, ok := strings.CutPrefix(command, "plain "); ok { // a program of its own
		line, command = "$ plain", after
	}
	for i, part := range strings.Split(command, " --") {
		if i > 0 {
			part = "--" + part // a flag and its value stay together
		}
		if utf8.RuneCountInString(line)+1+utf8.RuneCountInString(part) > columns-2 {
			b.WriteString(line + " \\\n")
			line = "   "
		}
		line += " " + part
	}
	return b.String() + line + "\n"
}

// draw sets the lines of a typescript as SVG. Each run of characters is given
// its exact width, so that columns stand whatever face is at hand.
func draw(typescript string) string {
	lines := strings.Split(strings.TrimRight(typescript, "\n"), "\n")
	width := int(columns*cellWidth) + 2*margin
	height := len(lines)*lineHeight + 2*margin
	var b strings.Builder
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" width="%d" height="%d" viewBox="0 0 %d %d" role="img">`+"\n", width, height, width, height)
	b.WriteString("<title>A run of beatwright in a terminal</title>\n<style>" + style + "</style>\n")
	fmt.Fprintf(&b, `<rect class="paper" width="%d" height="%d"/>`+"\n", width, height)
	fmt.Fprintf(&b, `<path class="rule" fill="none" d="M0 .5H%d M0 %v.5H%d"/>`+"\n", width, height-1, width)
	typed := false
	for i, line := range lines {
		typed = strings.HasPrefix(line, "$ ") || typed && strings.HasPrefix(line, "    ")
		class := ""
		if typed {
			class = "typed"
		}
		drawLine(&b, drawBlocks(&b, line, margin+lineHeight*(i+1)), class, margin+lineHeight*i+15)
	}
	b.WriteString("</svg>\n")
	return b.String()
}

// drawBlocks sets block characters as a terminal does, filling their cells up
// from foot, whatever face is at hand, and gives the line without them.
func drawBlocks(b *strings.Builder, line string, foot int) string {
	var d strings.Builder
	column := 0
	rest := strings.Map(func(r rune) rune {
		column++
		if r < '▁' || r > '█' {
			return r
		}
		height := float64(lineHeight) * float64(r-'▁'+1) / 8
		fmt.Fprintf(&d, "M%.1f %dh%.1fv%.1fh%.1fz", margin+float64(column-1)*cellWidth, foot, cellWidth, -height, -cellWidth)
		return ' '
	}, line)
	if d.Len() > 0 {
		fmt.Fprintf(b, `<path class="block" d="%s"/>`+"\n", d.String())
	}
	return rest
}

func drawLine(b *strings.Builder, line, class string, y int) {
	column := 0
	for rest := line; rest != ""; {
		piece, c := rest, class
		if after, isBold := strings.CutPrefix(rest, bold); isBold {
			piece, rest, _ = strings.Cut(after, normal)
			c = "sure"
		} else if i := strings.Index(rest, bold); i >= 0 {
			piece, rest = rest[:i], rest[i:]
		} else {
			rest = ""
		}
		drawPieces(b, piece, c, column, y)
		column += utf8.RuneCountInString(piece)
	}
}

// drawPieces sets what stands apart in columns each in its own place: some
// renderers make one space of many.
func drawPieces(b *strings.Builder, text, class string, column, y int) {
	for piece := range strings.SplitSeq(text, "  ") {
		drawPiece(b, piece, class, column, y)
		column += utf8.RuneCountInString(piece) + 2
	}
}

func drawPiece(b *strings.Builder, piece, class string, column, y int) {
	words := strings.TrimLeft(piece, " ")
	column += len(piece) - len(words)
	words = strings.TrimRight(words, " ")
	if words == "" {
		return
	}
	if class != "" {
		class = ` class="` + class + `"`
	}
	// The thin space is as wide as any other cell of a terminal.
	words = strings.ReplaceAll(words, "\u2009", "\u00a0")
	fmt.Fprintf(b, `<text%s x="%.1f" y="%d" textLength="%.1f">%s</text>`+"\n", class,
		margin+float64(column)*cellWidth, y, float64(utf8.RuneCountInString(words))*cellWidth, html.EscapeString(words))
}
