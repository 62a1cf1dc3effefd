package movement

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// numeric are the columns that hold numbers.
var numeric = []string{"beats_per_hour", "lift_deg", "lift_u95_deg", "escape_teeth", "inertia_mg_cm2", "crown_hour"}

// FromCells makes a movement of texts by column, as of a table's row or a form,
// by way of the movement file, so that all are held to the same. All that is
// wrong is told, each with its column.
func FromCells(texts map[string]string) (Movement, []BadRow) {
	fields := map[string]any{}
	var bad []BadRow
	for _, c := range Columns {
		cell := texts[c]
		if strings.TrimSpace(cell) == "" {
			continue
		}
		v, want := value(c, cell)
		if want != "" {
			bad = append(bad, BadRow{Column: c, Want: want})
			continue
		}
		fields[c] = v
	}
	if fields["name"] == nil {
		bad = append(bad, noName)
	}
	b, err := json.Marshal(fields)
	if err != nil {
		return Movement{}, append(bad, BadRow{Want: err.Error()})
	}
	m, _, err := Read(bytes.NewReader(b))
	return m, append(bad, blame(err)...)
}

var noName = BadRow{Column: "name", Want: "is empty; a movement needs a name"}

// blame takes an error of Check or Read apart, by the field each part begins
// with.
func blame(err error) []BadRow {
	if err == nil {
		return nil
	}
	if all, ok := err.(interface{ Unwrap() []error }); ok {
		var out []BadRow
		for _, e := range all.Unwrap() {
			out = append(out, blame(e)...)
		}
		return out
	}
	text := err.Error()
	i := strings.IndexAny(text, " :")
	if i < 0 || !slices.Contains(Columns, text[:i]) {
		return []BadRow{{Want: text}}
	}
	return []BadRow{{Column: text[:i], Want: strings.TrimSpace(strings.TrimPrefix(text[i:], ":"))}}
}

// value reads one cell, or says what is wanted.
func value(column, cell string) (v any, want string) {
	switch {
	case slices.Contains(numeric, column):
		n, err := number(cell)
		if err != nil {
			return nil, fmt.Sprintf("is %q; want a number", clip(cell))
		}
		return n, ""
	case column == "wheels" || column == "pinions":
		out, err := readCounts(cell)
		if err != nil {
			return nil, err.Error()
		}
		return out, ""
	case column == "complications":
		out, err := readWords(cell)
		if err != nil {
			return nil, err.Error()
		}
		return out, ""
	case column == "lift_source":
		return cell, ""
	case column == "name":
		return strings.TrimSpace(cell), ""
	}
	return strings.ToLower(strings.TrimSpace(cell)), ""
}

// number reads "18 000", "51,5" and "51.5".
func number(cell string) (float64, error) {
	s := strings.NewReplacer(" ", "", "\u00a0", "", "\u2009", "", "\u202f", "", "'", "").Replace(cell)
	if !strings.Contains(s, ".") {
		s = strings.Replace(s, ",", ".", 1)
	}
	v, err := strconv.ParseFloat(s, 64)
	if err == nil && v-v != 0 { // NaN and the infinities are no numbers here
		err = errors.New("not finite")
	}
	return v, err
}

// writeCounts writes "barrel=78 centre=80".
func writeCounts(of map[string]int) string {
	var parts []string
	for _, name := range sortedKeys(of) {
		parts = append(parts, quoted(name, " =;,\t\r\n")+"="+strconv.Itoa(of[name]))
	}
	return strings.Join(parts, " ")
}

const wantCount = "want whole numbers by wheel, such as barrel=78 centre=80"

func readCounts(cell string) (map[string]int, error) {
	out := map[string]int{}
	for rest := trimSigns(cell); rest != ""; rest = trimSigns(rest) {
		name, after, err := word(rest, "= ;,\t\r\n")
		if err != nil || name == "" && !strings.HasPrefix(rest, `"`) || !strings.HasPrefix(after, "=") {
			return nil, fmt.Errorf("reads %q; "+wantCount, clip(rest))
		}
		digits := after[1:]
		if i := strings.IndexAny(digits, " ;,\t\r\n"); i >= 0 {
			digits = digits[:i]
		}
		n, err := strconv.Atoi(digits)
		if err != nil {
			return nil, fmt.Errorf("has %q for %s; "+wantCount, clip(digits), clip(name))
		}
		if _, twice := out[name]; twice {
			return nil, fmt.Errorf("names %s twice; "+wantCount, clip(name))
		}
		out[name], rest = n, after[1+len(digits):]
	}
	return out, nil
}

func trimSigns(s string) string { return strings.TrimLeft(s, " ;,\t\r\n") }

// writeWords writes words parted by semicolons.
func writeWords(words []string) string {
	var parts []string
	for _, w := range words {
		parts = append(parts, quoted(w, ";"))
	}
	return strings.Join(parts, "; ")
}

func readWords(cell string) ([]string, error) {
	var out []string
	for rest := cell; ; {
		rest = strings.TrimLeft(rest, " \t\r\n")
		isQuoted := strings.HasPrefix(rest, `"`)
		w, after, err := word(rest, ";")
		if err != nil {
			return nil, fmt.Errorf("reads %q; want words parted by semicolons", clip(rest))
		}
		if !isQuoted {
			w = strings.TrimSpace(w)
		}
		if isQuoted || w != "" {
			out = append(out, w)
		}
		after = strings.TrimLeft(after, " \t\r\n")
		if after == "" {
			return out, nil
		}
		if !strings.HasPrefix(after, ";") {
			return nil, fmt.Errorf("has %q after a word in quotes; want a semicolon", clip(after))
		}
		rest = after[1:]
	}
}

// quoted puts a word into quotes as JSON does where it could be misread.
func quoted(w, signs string) string {
	if w != "" && w == strings.TrimSpace(w) && !strings.ContainsAny(w, signs) && !strings.HasPrefix(w, `"`) {
		return w
	}
	b, err := json.Marshal(w)
	if err != nil {
		return w
	}
	return string(b)
}

// word reads one word, quoted or up to one of the signs.
func word(s, signs string) (w, rest string, err error) {
	if strings.HasPrefix(s, `"`) {
		d := json.NewDecoder(strings.NewReader(s))
		if err := d.Decode(&w); err != nil {
			return "", s, err
		}
		return w, s[d.InputOffset():], nil
	}
	if i := strings.IndexAny(s, signs); i >= 0 {
		return s[:i], s[i:], nil
	}
	return s, "", nil
}
