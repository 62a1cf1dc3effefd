package movement

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
)

// Columns are those of a table of movements: the fields of the movement file,
// with teeth and leaves as "barrel=78 centre=80" and complications parted by
// semicolons.
var Columns = []string{
	"name", "beats_per_hour", "lift_deg", "lift_u95_deg", "lift_standing", "lift_source", "escapement", "escape_teeth",
	"wheels", "pinions", "inertia_mg_cm2", "crown_hour", "winding", "complications",
}

// numeric are the columns that hold numbers.
var numeric = []string{"beats_per_hour", "lift_deg", "lift_u95_deg", "escape_teeth", "inertia_mg_cm2", "crown_hour"}

// BadRow is a row of a table or an entry of a list that cannot be used.
type BadRow struct {
	// Line counts from 1, of a table; Entry from 1, of a list.
	Line, Entry int
	Err         error
}

// Error says where, and what is wrong.
func (b BadRow) Error() string {
	if b.Line > 0 {
		return fmt.Sprintf("line %d: %v", b.Line, b.Err)
	}
	return fmt.Sprintf("entry %d: %v", b.Entry, b.Err)
}

// WriteTable writes movements as CSV, one a row.
func WriteTable(w io.Writer, all []Movement) error {
	out := csv.NewWriter(w)
	if err := out.Write(Columns); err != nil {
		return err
	}
	for _, m := range all {
		row, err := m.row()
		if err != nil {
			return err
		}
		if err := out.Write(row); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

// WriteRow writes a table of one row whose cells are in the order of Columns,
// as a form gives them.
func WriteRow(w io.Writer, cells []string) error {
	out := csv.NewWriter(w)
	if err := out.WriteAll([][]string{Columns, cells}); err != nil {
		return err
	}
	return out.Error()
}

func (m Movement) row() ([]string, error) {
	b, err := json.Marshal(m)
	if err != nil {
		return nil, err
	}
	var fields map[string]json.RawMessage
	if err := json.Unmarshal(b, &fields); err != nil {
		return nil, err
	}
	row := make([]string, len(Columns))
	for i, c := range Columns {
		switch raw := fields[c]; {
		case c == "wheels":
			row[i] = counts(m.Wheels)
		case c == "pinions":
			row[i] = counts(m.Pinions)
		case c == "complications":
			row[i] = strings.Join(m.Complications, "; ")
		case slices.Contains(numeric, c):
			row[i] = string(raw)
		case raw != nil:
			if err := json.Unmarshal(raw, &row[i]); err != nil {
				return nil, err
			}
		}
		if row[i] == "null" {
			row[i] = ""
		}
	}
	return row, nil
}

func counts(of map[string]int) string {
	var parts []string
	for name, n := range of {
		parts = append(parts, name+"="+strconv.Itoa(n))
	}
	slices.Sort(parts)
	return strings.Join(parts, " ")
}

// ReadTable reads movements from CSV (commas, semicolons or tabs), by the names
// of its columns in any order; columns may be missing. Rows that cannot be used
// are told one by one, the others are read. The error is for a table that is
// none.
func ReadTable(r io.Reader) ([]Movement, []BadRow, error) {
	data, err := io.ReadAll(r)
	if err != nil {
		return nil, nil, err
	}
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	in := csv.NewReader(bytes.NewReader(data))
	in.Comma, in.FieldsPerRecord, in.TrimLeadingSpace = separator(data), -1, true
	head, err := in.Read()
	if err != nil {
		return nil, nil, errors.New("no table: want a first line with the columns " + strings.Join(Columns, ","))
	}
	for i := range head {
		head[i] = strings.ToLower(strings.TrimSpace(head[i]))
		if !slices.Contains(Columns, head[i]) {
			return nil, nil, fmt.Errorf("column %d is called %q; the columns are %s", i+1, head[i], strings.Join(Columns, ","))
		}
	}
	if !slices.Contains(head, "name") {
		return nil, nil, errors.New("there is no column called name")
	}
	var good []Movement
	var bad []BadRow
	for {
		row, err := in.Read()
		if errors.Is(err, io.EOF) {
			return good, bad, nil
		}
		if broken, ok := errors.AsType[*csv.ParseError](err); ok {
			return good, append(bad, BadRow{Line: broken.StartLine, Err: broken.Err}), nil
		}
		if err != nil {
			return good, bad, err
		}
		line, _ := in.FieldPos(0)
		m, err := fromRow(head, row)
		if err != nil {
			bad = append(bad, BadRow{Line: line, Err: err})
			continue
		}
		good = append(good, m)
	}
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

// fromRow makes a movement of a row by way of the movement file, so that both
// are held to the same.
func fromRow(head, row []string) (Movement, error) {
	if len(row) > len(head) {
		return Movement{}, fmt.Errorf("%d cells for %d columns", len(row), len(head))
	}
	fields := map[string]any{}
	for i, cell := range row {
		cell = strings.TrimSpace(cell)
		if cell == "" {
			continue
		}
		v, err := value(head[i], cell)
		if err != nil {
			return Movement{}, fmt.Errorf("%s: %w", head[i], err)
		}
		fields[head[i]] = v
	}
	if fields["name"] == nil {
		return Movement{}, errors.New("name: a movement needs one")
	}
	b, err := json.Marshal(fields)
	if err != nil {
		return Movement{}, err
	}
	m, _, err := Read(bytes.NewReader(b))
	return m, err
}

func value(column, cell string) (any, error) {
	switch {
	case slices.Contains(numeric, column):
		v, err := strconv.ParseFloat(strings.Replace(cell, ",", ".", 1), 64)
		if err != nil || v-v != 0 {
			return nil, fmt.Errorf("%q is no number", cell)
		}
		return v, nil
	case column == "wheels" || column == "pinions":
		out := map[string]int{}
		for part := range strings.FieldsSeq(strings.ReplaceAll(cell, ";", " ")) {
			name, n, ok := strings.Cut(part, "=")
			v, err := strconv.Atoi(n)
			if !ok || err != nil || name == "" {
				return nil, fmt.Errorf("%q is no count; write barrel=78", part)
			}
			out[name] = v
		}
		return out, nil
	case column == "complications":
		var out []string
		for part := range strings.SplitSeq(cell, ";") {
			if part = strings.TrimSpace(part); part != "" {
				out = append(out, part)
			}
		}
		return out, nil
	}
	return cell, nil
}

// ReadList reads movements from JSON: one movement file, or a list of them.
// Entries that cannot be used are told one by one.
func ReadList(r io.Reader) ([]Movement, []BadRow, error) {
	data, err := io.ReadAll(r)
	if err != nil {
		return nil, nil, err
	}
	data = bytes.TrimSpace(bytes.TrimPrefix(data, []byte("\xef\xbb\xbf")))
	entries := []json.RawMessage{data}
	if bytes.HasPrefix(data, []byte("[")) {
		if err := json.Unmarshal(data, &entries); err != nil {
			return nil, nil, fmt.Errorf("no list of movements: %w", err)
		}
	}
	var good []Movement
	var bad []BadRow
	for i, e := range entries {
		m, _, err := Read(bytes.NewReader(e))
		if err == nil && m.Name == "" {
			err = errors.New("name: a movement needs one")
		}
		if err != nil {
			bad = append(bad, BadRow{Entry: i + 1, Err: err})
			continue
		}
		good = append(good, m)
	}
	return good, bad, nil
}
