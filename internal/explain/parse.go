package explain

import (
	"bufio"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"beatwright/position"
)

// BadInput is a table that cannot be used: where, and why. Line and Column
// count from 1; a zero is "the whole file".
type BadInput struct {
	Name         string
	Line, Column int
	ColumnName   string
	Err          error
}

func (b *BadInput) Error() string {
	where := b.Name
	if where == "" {
		where = "readings"
	}
	if b.Line > 0 {
		where += fmt.Sprintf(", line %d", b.Line)
	}
	if b.Column > 0 {
		where += fmt.Sprintf(", column %d", b.Column)
	}
	if b.ColumnName != "" {
		where += fmt.Sprintf(" (%s)", b.ColumnName)
	}
	return where + ": " + b.Err.Error()
}

func (b *BadInput) Unwrap() error { return b.Err }

// Limits on what is read (chosen: far above any round, far below trouble).
const (
	mostBytes = 8 << 20
	mostRows  = 20000
	mostText  = 80 // characters of a stage
)

// sheet is the table as it was read.
type sheet struct {
	rows     []row
	warnings []string
}

// row is one line; nil is an empty cell.
type row struct {
	position                      position.Position
	hours, rate, beat, swing      *float64
	rateU, beatU, swingU, celsius *float64
	chronograph, standing, stage  string
	cased                         *bool
}

// cell reads one cell of a column into a row.
type cell func(r *row, s string) error

// columns are those that are understood.
var columns = map[string]cell{
	"position": func(r *row, s string) (err error) {
		r.position, err = position.Parse(s)
		return err
	},
	"hours_since_full_wind": number(func(r *row) **float64 { return &r.hours }, 0, 1000, "h"),
	"rate_s_per_day":        number(func(r *row) **float64 { return &r.rate }, -86400, 86400, "s/d, of which a day has 86 400"),
	"beat_error_ms":         number(func(r *row) **float64 { return &r.beat }, 0, 250, "ms"),
	"amplitude_deg":         number(func(r *row) **float64 { return &r.swing }, 1, 360, "degrees"),
	"rate_u95":              number(func(r *row) **float64 { return &r.rateU }, 1e-6, 86400, "s/d"),
	"beat_error_u95":        number(func(r *row) **float64 { return &r.beatU }, 1e-6, 250, "ms"),
	"amplitude_u95":         number(func(r *row) **float64 { return &r.swingU }, 1e-6, 360, "degrees"),
	"temperature_c":         number(func(r *row) **float64 { return &r.celsius }, -60, 100, "°C"),
	"chronograph":           word(func(r *row) *string { return &r.chronograph }, "on", "off", "none"),
	"amplitude_standing":    word(func(r *row) *string { return &r.standing }, "measured", "at_most", "not_resolved"),
	"stage":                 stage,
	"cased":                 cased,
}

func number(field func(*row) **float64, lo, hi float64, unit string) cell {
	return func(r *row, s string) error {
		v, err := parseNumber(s)
		if err != nil {
			return err
		}
		if v < lo || v > hi {
			return fmt.Errorf("%s is out of reach: %g to %g %s", s, lo, hi, unit)
		}
		*field(r) = &v
		return nil
	}
}

// parseNumber takes plain decimal numbers only, with either minus.
func parseNumber(s string) (float64, error) {
	t := strings.ReplaceAll(s, "−", "-")
	if strings.Trim(t, "+-.0123456789eE") != "" {
		return 0, fmt.Errorf("%q is not a number", s)
	}
	v, err := strconv.ParseFloat(t, 64)
	if err != nil || math.IsInf(v, 0) {
		return 0, fmt.Errorf("%q is not a number", s)
	}
	return v, nil
}

func word(field func(*row) *string, allowed ...string) cell {
	return func(r *row, s string) error {
		for _, a := range allowed {
			if strings.EqualFold(s, a) {
				*field(r) = a
				return nil
			}
		}
		return fmt.Errorf("%q is none of %s", s, strings.Join(allowed, ", "))
	}
}

func stage(r *row, s string) error {
	if utf8.RuneCountInString(s) > mostText || !utf8.ValidString(s) || strings.ContainsFunc(s, unicode.IsControl) {
		return fmt.Errorf("a stage is plain text of at most %d characters", mostText)
	}
	r.stage = s
	return nil
}

func cased(r *row, s string) error {
	switch strings.ToLower(s) {
	case "yes", "true", "1", "cased":
		v := true
		r.cased = &v
	case "no", "false", "0", "holder":
		v := false
		r.cased = &v
	default:
		return fmt.Errorf("%q is neither yes nor no", s)
	}
	return nil
}

// parse reads the whole table or says where it cannot.
func parse(r io.Reader, name string) (sheet, error) {
	in := bufio.NewReader(io.LimitReader(r, mostBytes+1))
	if b, _ := in.Peek(3); string(b) == "\ufeff" {
		_, _ = in.Discard(3) // peeked, so it is there
	}
	counted := &counter{r: in}
	c := csv.NewReader(counted)
	c.FieldsPerRecord = -1
	c.TrimLeadingSpace = true
	c.Comma = separator(in)
	head, err := c.Read()
	if err != nil {
		return sheet{}, bad(name, err, "the file is empty: the first line must name the columns")
	}
	var s sheet
	cells, err := s.header(head, c, name)
	if err != nil {
		return sheet{}, err
	}
	for {
		rec, err := c.Read()
		switch {
		case errors.Is(err, io.EOF):
			if len(s.rows) == 0 {
				return sheet{}, &BadInput{Name: name, Line: 2, Err: errors.New("no readings follow the column names")}
			}
			return s, nil
		case err != nil:
			return sheet{}, bad(name, err, "")
		case counted.n > mostBytes || len(s.rows) >= mostRows:
			return sheet{}, &BadInput{Name: name, Err: fmt.Errorf("more than %d readings or %d MB: this is no table of one watch", mostRows, mostBytes>>20)}
		}
		if err := s.add(rec, cells, head, c, name); err != nil {
			return sheet{}, err
		}
	}
}

// separator looks at the first line: a semicolon or a tab separates where it
// stands and no comma does.
func separator(in *bufio.Reader) rune {
	b, _ := in.Peek(in.Size()) // a short file gives what there is
	line, _, _ := strings.Cut(string(b), "\n")
	for _, sep := range ";\t" {
		if strings.ContainsRune(line, sep) && !strings.Contains(line, ",") {
			return sep
		}
	}
	return ','
}

func (s *sheet) header(head []string, c *csv.Reader, name string) ([]cell, error) {
	seen := map[string]bool{}
	cells := make([]cell, len(head))
	for i, h := range head {
		h = strings.ToLower(strings.TrimSpace(h))
		head[i] = h
		line, _ := c.FieldPos(i)
		if seen[h] && h != "" {
			return nil, &BadInput{Name: name, Line: line, Column: i + 1, ColumnName: h, Err: errors.New("this column is there twice")}
		}
		seen[h] = true
		if cells[i] = columns[h]; cells[i] == nil && h != "" {
			s.warnings = append(s.warnings, fmt.Sprintf("column %d (%q) is not known and was not read", i+1, clip(h)))
		}
	}
	if !seen["position"] {
		return nil, &BadInput{Name: name, Line: 1, Err: errors.New(`no column "position": the first line must name the columns, as position,rate_s_per_day,amplitude_deg`)}
	}
	return cells, nil
}

// add reads one record. Blank lines are skipped by csv, rows of empty cells
// here.
func (s *sheet) add(rec []string, cells []cell, head []string, c *csv.Reader, name string) error {
	line, _ := c.FieldPos(0)
	if strings.TrimSpace(strings.Join(rec, "")) == "" {
		return nil
	}
	if len(rec) > len(cells) {
		return &BadInput{Name: name, Line: line, Column: len(cells) + 1, Err: fmt.Errorf("%d cells under %d column names; a decimal comma needs semicolons between the columns", len(rec), len(cells))}
	}
	var r row
	for i, v := range rec {
		v = strings.TrimSpace(v)
		if v == "" || cells[i] == nil {
			continue
		}
		if c.Comma != ',' && head[i] != "stage" {
			v = strings.Replace(v, ",", ".", 1)
		}
		if err := cells[i](&r, v); err != nil {
			line, _ := c.FieldPos(i)
			return &BadInput{Name: name, Line: line, Column: i + 1, ColumnName: head[i], Err: err}
		}
	}
	if !r.position.Valid() {
		for i, h := range head {
			if h == "position" {
				return &BadInput{Name: name, Line: line, Column: i + 1, ColumnName: h, Err: errors.New("no position")}
			}
		}
	}
	s.rows = append(s.rows, r)
	return nil
}

// bad wraps an error of the csv reader, whose columns count bytes.
func bad(name string, err error, atEnd string) error {
	var p *csv.ParseError
	switch {
	case errors.Is(err, io.EOF) && atEnd != "":
		return &BadInput{Name: name, Line: 1, Err: errors.New(atEnd)}
	case errors.As(err, &p):
		return &BadInput{Name: name, Line: p.Line, Column: p.Column, ColumnName: "counted in characters", Err: p.Err}
	}
	return &BadInput{Name: name, Err: fmt.Errorf("read the table: %w", err)}
}

func clip(s string) string {
	if r := []rune(s); len(r) > 30 {
		return string(r[:30]) + "…"
	}
	return s
}

// counter counts the bytes that went through.
type counter struct {
	r io.Reader
	n int
}

func (c *counter) Read(p []byte) (int, error) {
	n, err := c.r.Read(p)
	c.n += n
	return n, err
}
