package movement

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
)

// Columns are those of a table of movements: the fields of the movement file.
// Teeth and leaves stand as "barrel=78 centre=80", complications parted by
// semicolons; a name that holds such a sign stands in quotes as in JSON.
var Columns = []string{
	"name", "beats_per_hour", "lift_deg", "lift_u95_deg", "lift_standing", "lift_source", "escapement", "escape_teeth",
	"wheels", "pinions", "inertia_mg_cm2", "crown_hour", "winding", "complications",
}

// Row is one movement of a table or a list, with the texts of further columns
// that whoever reads it asked for.
type Row struct {
	Movement Movement
	Extra    map[string]string
	// Line is where it began, from 1.
	Line int
}

// BadRow is what keeps a row of a table or an entry of a list from being used.
type BadRow struct {
	// Line is where the row began and Entry which of a list it is, both from
	// 1; Entry is 0 in a table.
	Line, Entry int
	// Column is to blame, empty for the whole row.
	Column string
	// Want says what is there and what is wanted instead.
	Want string
}

// Error says where, and what is wrong.
func (b BadRow) Error() string {
	s := fmt.Sprintf("line %d", b.Line)
	if b.Entry > 0 {
		s = fmt.Sprintf("entry %d, line %d", b.Entry, b.Line)
	}
	if b.Column != "" {
		s += ", " + b.Column
	}
	return s + ": " + b.Want
}

// WriteTable writes movements as CSV, one a row, with further columns.
func WriteTable(w io.Writer, rows []Row, extra ...string) error {
	out := csv.NewWriter(w)
	if err := out.Write(slices.Concat(Columns, extra)); err != nil {
		return err
	}
	for _, r := range rows {
		cells := r.Movement.Cells()
		var row []string
		for _, c := range Columns {
			row = append(row, cells[c])
		}
		for _, c := range extra {
			row = append(row, r.Extra[c])
		}
		if err := out.Write(row); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

// Cells are a movement as the texts of a row, by column; empty where a field is
// not known.
func (m Movement) Cells() map[string]string {
	c := map[string]string{
		"name": m.Name, "lift_standing": string(m.LiftStanding), "lift_source": m.LiftSource, "escapement": string(m.Escapement),
		"winding": string(m.Winding), "wheels": writeCounts(m.Wheels), "pinions": writeCounts(m.Pinions), "complications": writeWords(m.Complications),
		"beats_per_hour": figure(m.BeatsPerHour), "lift_deg": figure(m.Lift), "lift_u95_deg": figure(m.LiftU95),
		"inertia_mg_cm2": figure(m.Inertia), "crown_hour": figure(m.CrownHour),
	}
	if m.EscapeTeeth != nil {
		c["escape_teeth"] = strconv.Itoa(*m.EscapeTeeth)
	}
	return c
}

func figure[T ~float64](v *T) string {
	if v == nil {
		return ""
	}
	return strconv.FormatFloat(float64(*v), 'f', -1, 64)
}

// ReadTable reads movements from CSV (commas, semicolons or tabs; decimals with
// point or comma), by the names of its columns in any order; columns may be
// missing, and extra names further ones that are read as text. What keeps a row
// from being used is told, the other rows are read. Columns that are not known
// are given back in passed. The error is for a table that is none.
func ReadTable(r io.Reader, extra ...string) (rows []Row, bad []BadRow, passed []string, err error) {
	data, err := io.ReadAll(r)
	if err != nil {
		return nil, nil, nil, err
	}
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	in := csv.NewReader(bytes.NewReader(data))
	in.Comma, in.FieldsPerRecord, in.TrimLeadingSpace = separator(data), -1, true
	head, passed, err := readHead(in, extra)
	if err != nil {
		return nil, nil, nil, err
	}
	for {
		cells, err := in.Read()
		if errors.Is(err, io.EOF) {
			return rows, bad, passed, nil
		}
		if err != nil {
			bad = append(bad, brokenRow(err))
			continue
		}
		line, _ := in.FieldPos(0)
		row, wrong := fromCells(head, cells, extra)
		if row == nil {
			bad = append(bad, at(wrong, line, 0)...)
			continue
		}
		if row.Line = line; len(row.Extra) > 0 || row.Movement.Name != "" {
			rows = append(rows, *row)
		}
	}
}

// readHead reads the names of the columns; one that is not known is emptied,
// so that its cells are passed over.
func readHead(in *csv.Reader, extra []string) (head, passed []string, err error) {
	want := "want a first line with columns such as " + strings.Join(Columns[:4], ",")
	head, err = in.Read()
	if err != nil {
		return nil, nil, errors.New("no table: " + want)
	}
	for i, h := range head {
		head[i] = strings.ToLower(strings.TrimSpace(h))
		switch {
		case head[i] == "":
		case slices.Contains(head[:i], head[i]):
			return nil, nil, fmt.Errorf("line 1: the column %s stands there twice; want each once", head[i])
		case !slices.Contains(Columns, head[i]) && !slices.Contains(extra, head[i]):
			passed = append(passed, clip(head[i]))
			head[i] = ""
		}
	}
	if !slices.Contains(head, "name") {
		return nil, nil, errors.New("line 1: there is no column called name; " + want)
	}
	return head, passed, nil
}

// brokenRow tells of a row whose quotes do not pair.
func brokenRow(err error) BadRow {
	b := BadRow{Want: err.Error()}
	if p, ok := errors.AsType[*csv.ParseError](err); ok {
		b.Line, b.Want = p.StartLine, fmt.Sprintf("a quote at line %d, place %d does not pair; want quotes around a whole cell, and doubled inside it", p.Line, p.Column)
	}
	return b
}

// at puts the place into what is wrong with one row.
func at(bad []BadRow, line, entry int) []BadRow {
	for i := range bad {
		bad[i].Line, bad[i].Entry = line, entry
	}
	return bad
}

func separator(data []byte) rune {
	first, _, _ := bytes.Cut(data, []byte("\n"))
	best, most := ',', bytes.Count(first, []byte(","))
	for _, c := range []rune{';', '\t'} {
		if n := bytes.Count(first, []byte(string(c))); n > most {
			best, most = c, n
		}
	}
	return best
}

// fromCells makes a movement of the cells of a row. A row without a single
// letter gives an empty one.
func fromCells(head, cells, extra []string) (*Row, []BadRow) {
	if strings.TrimSpace(strings.Join(cells, "")) == "" {
		return &Row{}, nil
	}
	if len(cells) > len(head) {
		return nil, []BadRow{{Want: fmt.Sprintf("%d cells; want at most %d, one a column", len(cells), len(head))}}
	}
	texts, row := map[string]string{}, Row{}
	for i, cell := range cells {
		switch {
		case slices.Contains(Columns, head[i]):
			texts[head[i]] = cell
		case head[i] != "" && cell != "":
			if row.Extra == nil {
				row.Extra = map[string]string{}
			}
			row.Extra[head[i]] = cell
		}
	}
	m, bad := FromCells(texts)
	if len(bad) > 0 {
		return nil, bad
	}
	row.Movement = m
	return &row, nil
}
