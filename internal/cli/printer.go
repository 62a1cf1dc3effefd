package cli

import (
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"unicode/utf8"

	"beatwright/internal/plot"
	"beatwright/internal/say"
	"beatwright/reading"
)

// printer puts readings on standard output: as JSON, as one block of text, or
// as a table.
type printer interface {
	reading(Result) error
	done() error
}

func (c *measureCmd) printer(m *hearing) printer {
	switch {
	case c.JSON:
		return jsonPrinter{m.session}
	case len(c.Files) == 1 && m.options.Every == 0:
		return blockPrinter{m.session, c.Profile || m.IsTerminal(m.stdout)}
	}
	return newTable(m.session, c.Files, m.options.Every)
}

// print writes text to standard output in one piece; what cannot be written
// (a full disk) ends the run.
func (s *session) print(text string) error {
	if _, err := s.stdout.Write([]byte(text)); err != nil {
		return fmt.Errorf("write the result: %w", err)
	}
	return nil
}

type jsonPrinter struct{ *session }

func (p jsonPrinter) reading(r Result) error {
	line, err := json.Marshal(r.Reading)
	if err != nil {
		return fmt.Errorf("write the reading of %s as JSON: %w", r.File, err)
	}
	return p.print(string(line) + "\n")
}

func (p jsonPrinter) done() error { return nil }

// width of a line of text, in characters (chosen: what a terminal has).
const width = 80

type blockPrinter struct {
	*session
	drawn bool // the averaged beat too
}

// reading prints the block. A sound that could not be read has been told on
// standard error already.
func (p blockPrinter) reading(r Result) error {
	if r.Fault != nil {
		return nil
	}
	text := block(r, p.IsTerminal(p.stdout))
	if p.drawn && r.Watch != nil {
		text += beatBlocks(r)
	}
	return p.print(text)
}

func (p blockPrinter) done() error { return nil }

// block is one reading for a person: the statements and how sure they are,
// then what limits them, what happened, and what to take care of.
func block(r Result, weight bool) string {
	g := &grid{weight: weight}
	g.line(display(r.File))
	if w := r.Watch; w != nil {
		g.line(say.Heard(w) + ".")
		g.gap()
		for _, s := range say.Statements(w) {
			g.row(s.Text, s.Detail, s.Sure)
			g.gap()
		}
		for i, l := range say.Limits(w) {
			g.row(first(i, "Limited by"), l, false)
		}
		for _, l := range soundsOf(r) {
			g.row(l[0], l[1], false)
		}
		for i, c := range w.Changes {
			g.row(first(i, "What happened"), "at "+say.Moment(c.At)+" "+say.Change(c)+".", false)
		}
		for i, p := range w.Periodic {
			g.row(first(i, "Heard in the drift"), say.Wave(p)+".", false)
		}
		for i, a := range w.AmplitudePeriodic {
			g.row(first(i, "Heard in the swing"), say.SwingWave(a)+".", false)
		}
		if t, ok := plot.TeethOf(r); ok {
			g.row("Escape wheel", t.Words().Sentence, false)
		}
		for i, note := range w.Warnings {
			g.row(first(i, "Take care"), note+fullStop(note), false)
		}
	} else if f := r.Refusal; f != nil {
		g.gap()
		g.row("No watch is heard.", f.Why, false)
	}
	return g.b.String()
}

// beatBlocks is the averaged beat drawn with characters, if there is one.
func beatBlocks(r Result) string {
	lines := plot.ProfileOf(r).Blocks(width - 2)
	if lines == nil {
		return ""
	}
	of := "balance angle from rest"
	switch a := r.Watch.Amplitude; a.Standing {
	case reading.AtMost:
		of += ", if it swings by all of " + say.Unit(say.Fixed(math.Ceil(*a.Value), 0), "°")
	case reading.NotResolved:
		of = "milliseconds from the drop, as the swing cannot be told"
	}
	return "\nBeat profile over " + of + ":\n " + strings.Join(lines, "\n ") + "\n"
}

// first names the first row of several of a kind.
func first(i int, name string) string {
	if i > 0 {
		return ""
	}
	return name
}

func fullStop(s string) string {
	if strings.HasSuffix(s, ".") {
		return ""
	}
	return "."
}

// grid sets rows of two columns: a hanging name or sentence, and its matter
// wrapped beside it.
type grid struct {
	b      strings.Builder
	weight bool // set what is sure in bold
}

// leftColumn holds "Out of beat by 1.96°, 1.219 ms." and a gap.
const leftColumn = 34

func (g *grid) line(s string) {
	for _, l := range wrap(s, width) {
		g.b.WriteString(printable(l) + "\n")
	}
}

func (g *grid) gap() { g.b.WriteByte('\n') }

func (g *grid) row(left, right string, sure bool) {
	lines := wrap(right, width-leftColumn)
	for i := range max(1, len(lines)) {
		if i > 0 {
			left = ""
		}
		pad := max(leftColumn-utf8.RuneCountInString(left), 1)
		text := ""
		if i < len(lines) {
			text = strings.Repeat(" ", pad) + printable(lines[i])
		}
		if left != "" && sure && g.weight {
			left = "\x1b[1m" + left + "\x1b[0m"
		}
		g.b.WriteString(strings.TrimRight(left+text, " ") + "\n")
	}
}

// wrap breaks s at plain spaces, so that no line is longer than n characters
// unless one word is; no-break and thin spaces hold.
func wrap(s string, n int) []string {
	var lines []string
	line := ""
	for word := range strings.SplitSeq(s, " ") {
		if word == "" {
			continue
		}
		switch {
		case line == "":
			line = word
		case utf8.RuneCountInString(line)+1+utf8.RuneCountInString(word) <= n:
			line += " " + word
		default:
			lines = append(lines, line)
			line = word
		}
	}
	if line != "" {
		lines = append(lines, line)
	}
	return lines
}
