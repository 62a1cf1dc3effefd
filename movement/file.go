package movement

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"

	"beatwright/unit"
)

// maxFile is the most a movement file may hold, in bytes: a thousand times
// what one needs (chosen).
const maxFile = 1 << 20

// file is the movement file's own shape; field names are a contract.
type file struct {
	Name          string             `json:"name,omitempty"`
	BeatsPerHour  *unit.BeatsPerHour `json:"beats_per_hour,omitempty"`
	Lift          *unit.Degrees      `json:"lift_deg,omitempty"`
	LiftU95       *unit.Degrees      `json:"lift_u95_deg,omitempty"`
	LiftStanding  Standing           `json:"lift_standing,omitempty"`
	LiftSource    string             `json:"lift_source,omitempty"`
	Escapement    Escapement         `json:"escapement,omitempty"`
	EscapeTeeth   *int               `json:"escape_teeth,omitempty"`
	Wheels        map[string]int     `json:"wheels,omitempty"`
	Pinions       map[string]int     `json:"pinions,omitempty"`
	Inertia       *float64           `json:"inertia_mg_cm2,omitempty"`
	CrownHour     *float64           `json:"crown_hour,omitempty"`
	Winding       Winding            `json:"winding,omitempty"`
	Complications []string           `json:"complications,omitempty"`
}

// knownWheels are the names other parts of the program know how to use.
var knownWheels = []string{"barrel", "centre", "third", "fourth", "fifth", "escape"}

// Read reads a movement file. Fields it does not know are no error, since a
// later version may have written them: each gives a warning. What cannot be
// (a lift of 400°, half a tooth, a word that is no escapement) is an error
// that names the field and what is wanted.
func Read(r io.Reader) (Movement, []string, error) {
	data, err := io.ReadAll(io.LimitReader(r, maxFile+1))
	switch {
	case err != nil:
		return Movement{}, nil, err
	case len(data) > maxFile:
		return Movement{}, nil, fmt.Errorf("larger than %d bytes: this is no movement file", maxFile)
	}
	fields, err := split(data)
	if err != nil {
		return Movement{}, nil, err
	}
	var f file
	warnings, err := f.fill(fields)
	if err != nil {
		return Movement{}, nil, err
	}
	m := Movement(f)
	if err := m.Check(); err != nil {
		return Movement{}, nil, err
	}
	return m, append(warnings, m.doubts()...), nil
}

// split takes one JSON object apart. The byte order mark that some editors
// put in front is skipped.
func split(data []byte) (map[string]json.RawMessage, error) {
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	if len(bytes.TrimSpace(data)) == 0 {
		return nil, errors.New("empty; want a JSON object such as {\"lift_deg\": 48}")
	}
	var fields map[string]json.RawMessage
	if err := json.Unmarshal(data, &fields); err != nil {
		return nil, describe(data, err)
	}
	if fields == nil {
		return nil, errors.New("holds null; want a JSON object such as {\"lift_deg\": 48}")
	}
	return fields, nil
}

// describe says where in the file the JSON breaks.
func describe(data []byte, err error) error {
	var syntax *json.SyntaxError
	if errors.As(err, &syntax) {
		before := data[:min(int(syntax.Offset), len(data))]
		return fmt.Errorf("not JSON at line %d: %w", 1+bytes.Count(before, []byte("\n")), err)
	}
	return errors.New("want one JSON object such as {\"lift_deg\": 48}")
}

// fill sets the known fields and warns of the others.
func (f *file) fill(fields map[string]json.RawMessage) ([]string, error) {
	into := f.targets()
	var warnings []string
	var errs []error
	for _, name := range sortedKeys(fields) {
		t, ok := into[name]
		if !ok {
			warnings = append(warnings, fmt.Sprintf("field %q is not known and was passed over", clip(name)))
			continue
		}
		if err := json.Unmarshal(fields[name], t.into); err != nil {
			errs = append(errs, fmt.Errorf("%s is %s; want %s", name, onOneLine(fields[name]), t.want))
		}
	}
	return warnings, errors.Join(errs...)
}

type target struct {
	into any
	want string
}

func (f *file) targets() map[string]target {
	const number, whole, text = "a number", "a whole number", "a text in quotes"
	return map[string]target{
		"name":           {&f.Name, text},
		"beats_per_hour": {&f.BeatsPerHour, number},
		"lift_deg":       {&f.Lift, number},
		"lift_u95_deg":   {&f.LiftU95, number},
		"lift_standing":  {&f.LiftStanding, text},
		"lift_source":    {&f.LiftSource, text},
		"escapement":     {&f.Escapement, text},
		"escape_teeth":   {&f.EscapeTeeth, whole},
		"wheels":         {&f.Wheels, "whole numbers by wheel, such as {\"fourth\": 70}"},
		"pinions":        {&f.Pinions, "whole numbers by wheel, such as {\"escape\": 7}"},
		"inertia_mg_cm2": {&f.Inertia, number},
		"crown_hour":     {&f.CrownHour, number},
		"winding":        {&f.Winding, text},
		"complications":  {&f.Complications, "a list of texts"},
	}
}

// doubts are the warnings about what is possible but odd.
func (m Movement) doubts() []string {
	var out []string
	for _, counts := range []map[string]int{m.Wheels, m.Pinions} {
		for _, name := range sortedKeys(counts) {
			if !slices.Contains(knownWheels, name) {
				out = append(out, fmt.Sprintf("wheel %q is not known by that name", clip(name)))
			}
		}
	}
	if m.Lift == nil && (m.LiftU95 != nil || m.LiftStanding != "" || m.LiftSource != "") {
		out = append(out, "the lift's standing is given but not lift_deg itself")
	}
	if n, ok := m.Wheels["escape"]; ok && m.EscapeTeeth != nil && n != *m.EscapeTeeth {
		out = append(out, fmt.Sprintf("escape_teeth says %d and wheels.escape %d; %d is used", *m.EscapeTeeth, n, *m.EscapeTeeth))
	}
	return out
}

// MarshalJSON writes the movement file, leaving out what is not known.
func (m Movement) MarshalJSON() ([]byte, error) { return json.Marshal(file(m)) }

// UnmarshalJSON reads a movement file as Read does, passing over fields that
// it does not know.
func (m *Movement) UnmarshalJSON(b []byte) error {
	read, _, err := Read(bytes.NewReader(b))
	if err == nil {
		*m = read
	}
	return err
}

// onOneLine prints a piece of the file for an error.
func onOneLine(raw json.RawMessage) string {
	var b bytes.Buffer
	if err := json.Compact(&b, raw); err != nil {
		return "not JSON"
	}
	return clip(b.String())
}
