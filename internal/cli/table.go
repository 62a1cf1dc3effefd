package cli

import (
	"fmt"
	"math"
	"strings"
	"unicode/utf8"

	"beatwright/internal/say"
	"beatwright/reading"
	"beatwright/unit"
)

// table prints one row a file, or one a stretch of --every, as they come:
// the widths are fixed beforehand.
type table struct {
	*session
	every   unit.Seconds // length of a stretch; 0: a row is a file
	columns []column
	current string         // the file whose rows are being printed
	rows    map[string]int // rows printed by file
	notes   []*note
}

type column struct {
	title string
	width int
}

// note is a warning under the table, with the rows it belongs to.
type note struct {
	text string
	rows []string
}

// longestName is the widest first column, in characters.
const longestName = 36

func newTable(s *session, files []string, every unit.Seconds) *table {
	first := column{title: "file"}
	if every > 0 {
		first = column{title: "stretch", width: 18}
	} else {
		for _, f := range files {
			first.width = max(first.width, min(longestName, utf8.RuneCountInString(display(f))))
		}
	}
	return &table{session: s, every: every, rows: map[string]int{}, columns: []column{
		first,
		{"beats/h", 7},
		{"rate, s/d", 10},
		{"by sound alone", 15},
		{"out of beat, ms", 15},
		{"amplitude, °", 12},
		{"heard", 10},
	}}
}

func (t *table) reading(r Result) error {
	text := ""
	if r.File != t.current || len(t.rows) == 0 {
		text = t.head(r.File)
	}
	t.current = r.File
	n := t.rows[r.File]
	t.rows[r.File]++
	return t.print(text + t.row(r, n))
}

// head starts the table, and with --every the part of each file.
func (t *table) head(file string) string {
	var b strings.Builder
	if t.every > 0 {
		if len(t.rows) > 0 {
			b.WriteByte('\n')
		}
		b.WriteString(display(file) + "\n")
	} else if len(t.rows) > 0 {
		return ""
	}
	titles := make([]string, len(t.columns))
	for i, c := range t.columns {
		titles[i] = c.title
	}
	b.WriteString(t.set(titles))
	return b.String()
}

func (t *table) row(r Result, n int) string {
	label := t.label(r, n)
	switch {
	case r.Watch != nil:
		t.keepNotes(label, r.Watch)
		return t.set(cells(label, r.Watch))
	case r.Refusal != nil:
		return t.set([]string{label}) + "  no watch is heard: " + printable(r.Refusal.Why) + "\n"
	}
	return t.set([]string{label}) + "  cannot be read\n"
}

func (t *table) label(r Result, n int) string {
	if t.every <= 0 {
		return shorten(display(r.File), longestName)
	}
	from := t.every * unit.Seconds(n)
	return say.Moment(from) + " – " + say.Moment(from+t.every)
}

// set lays cells out; the first column is set left, the others right. A row
// of one cell is left open for words.
func (t *table) set(cells []string) string {
	var b strings.Builder
	for i, c := range cells {
		pad := strings.Repeat(" ", max(0, t.columns[i].width-utf8.RuneCountInString(c)))
		if i == 0 {
			b.WriteString(c + pad)
		} else {
			b.WriteString("  " + pad + c)
		}
	}
	if len(cells) == 1 {
		return b.String()
	}
	return strings.TrimRight(b.String(), " ") + "\n"
}

func cells(label string, w *reading.Watch) []string {
	beats, rate, alone, beatError := say.Dash, "not told", "", "not told"
	if w.BeatsPerHour != nil {
		beats = say.Plain(float64(*w.BeatsPerHour))
	}
	if r := w.Rate; r != nil {
		rate = say.SignedWith(r.Value, r.U95, "")
		alone = say.SignedWith(r.Value, r.U95Statistical, "")
	}
	if e := w.BeatError; e != nil {
		beatError = say.With(e.Value, e.U95, "")
	}
	return []string{label, beats, rate, alone, beatError, amplitudeCell(w.Amplitude), say.Span(w.To - w.From)}
}

func amplitudeCell(a reading.Amplitude) string {
	switch {
	case a.Value == nil:
		return "not told"
	case a.Standing == reading.AtMost:
		return say.Fixed(math.Ceil(*a.Value), 0) + " at most"
	case a.U95 == nil:
		return say.Fixed(*a.Value, 0)
	}
	return say.With(*a.Value, *a.U95, "")
}

// keepNotes gathers what has to be said under the table: alike notes of
// several rows once.
func (t *table) keepNotes(label string, w *reading.Watch) {
	for _, s := range say.Shared(w) {
		t.note("", s)
	}
	for _, c := range w.Changes {
		t.note(label, "at "+say.Moment(c.At)+" "+say.Change(c))
	}
	for _, s := range w.Warnings {
		t.note(label, s)
	}
}

func (t *table) note(row, text string) {
	for _, n := range t.notes {
		if n.text == text {
			n.rows = append(n.rows, row)
			return
		}
	}
	t.notes = append(t.notes, &note{text, []string{row}})
}

// namedRows is how many rows a note names before it counts the rest.
const namedRows = 3

func (t *table) done() error {
	if len(t.notes) == 0 {
		return nil
	}
	var b strings.Builder
	b.WriteByte('\n')
	for _, n := range t.notes {
		where := ""
		if n.rows[0] != "" {
			where = strings.Join(n.rows[:min(namedRows, len(n.rows))], ", ")
			if more := len(n.rows) - namedRows; more > 0 {
				where += fmt.Sprintf(" and %d more", more)
			}
			where += ": "
		}
		for _, l := range wrap(where+n.text+fullStop(n.text), width+20) {
			b.WriteString(printable(l) + "\n")
		}
	}
	return t.print(b.String())
}

// shorten keeps both ends of a long name: its start and what tells it from
// its neighbours.
func shorten(s string, n int) string {
	r := []rune(s)
	if len(r) <= n {
		return s
	}
	tail := (n - 1) / 2
	return string(r[:n-1-tail]) + "…" + string(r[len(r)-tail:])
}
