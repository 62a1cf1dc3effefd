// Package reckoning is the calculators of the command "reckon": each has a
// name, typed inputs and an answer, as JSON or words. It holds no physics;
// that is in the packages it calls.
//
// Run is what the command calls:
//
//	err := reckoning.Run(w, "beat", []string{"--beat-error-ms", "1", "--amplitude", "270", "--beats-per-hour", "28800"}, true)
//	errors.Is(err, reckoning.ErrUsage) // wrong name or inputs: exit status 2
//
// Exact arithmetic gives bare numbers. Where an input may carry a doubt (its
// name with -u95) and does, the answer is {"value","u95"}.
package reckoning

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"beatwright/estimate"
	"beatwright/handcheck"
	"beatwright/internal/say"
)

// ErrUsage marks a wrong name or input.
var ErrUsage = errors.New("wrong use")

// usage keeps the message free of the mark.
type usage struct{ error }

func (usage) Is(target error) bool { return target == ErrUsage }
func (u usage) Unwrap() error      { return u.error }

func wrong(format string, args ...any) error { return usage{fmt.Errorf(format, args...)} }

// Kind is how an input is read.
type Kind int

// Kinds of input: a number, or a span of time as "40s" or "9h".
const (
	Number Kind = iota
	Span
)

// Input is one named input.
type Input struct {
	Name string // as after --
	Help string // with the unit
	Kind Kind
	// Optional ones may be left out.
	Optional bool
	// Above, when set, is the bound that the value must exceed.
	Above *float64
}

// Field is one part of an answer.
type Field struct {
	Name string
	// Value is a float64, an estimate.Estimate, a string or a bool.
	Value any
	// Label and Unit are for words; a field without label is in JSON only.
	Label, Unit string
}

// Calculator is one entry of the table.
type Calculator struct {
	Name, Summary string
	Inputs        []Input
	Reckon        func(Inputs) ([]Field, error)
}

// Inputs are the values given, spans in s.
type Inputs map[string]float64

// Has tells whether an input was given.
func (in Inputs) Has(name string) bool { _, ok := in[name]; return ok }

// Table lists the calculators in the order of the help.
func Table() []Calculator {
	return []Calculator{beat, amplitude, handCheck, poiseCalc, hairspringCalc, screws, washers, touch}
}

// Find gives the calculator of a name.
func Find(name string) (Calculator, bool) {
	t := Table()
	i := slices.IndexFunc(t, func(c Calculator) bool { return c.Name == name })
	if i < 0 {
		return Calculator{}, false
	}
	return t[i], true
}

// Run reckons and writes the answer. Nothing is written when there is an
// error.
func Run(w io.Writer, name string, args []string, asJSON bool) error {
	c, ok := Find(name)
	if !ok {
		return wrong("no calculator %q: there are %s", name, strings.Join(Names(), ", "))
	}
	in, err := c.Parse(args)
	if err != nil {
		return err
	}
	fields, err := c.Reckon(in)
	if err != nil {
		return usage{fmt.Errorf("reckon %s: %w", name, err)}
	}
	if err := finite(name, fields); err != nil {
		return err
	}
	if asJSON {
		return writeJSON(w, fields)
	}
	return writeText(w, fields)
}

// Names are the calculators' names.
func Names() []string {
	var out []string
	for _, c := range Table() {
		out = append(out, c.Name)
	}
	return out
}

// Parse reads --name value or --name=value; a value may begin with a dash.
func (c Calculator) Parse(args []string) (Inputs, error) {
	in := Inputs{}
	for i := 0; i < len(args); i++ {
		flag, ok := strings.CutPrefix(args[i], "--")
		if !ok {
			return nil, wrong("reckon %s: %q is not an input: %s", c.Name, args[i], c.usage())
		}
		name, text, joined := strings.Cut(flag, "=")
		if !joined {
			if i++; i >= len(args) {
				return nil, wrong("reckon %s: --%s needs a value", c.Name, name)
			}
			text = args[i]
		}
		v, err := c.value(name, text)
		if err != nil {
			return nil, err
		}
		if in.Has(name) {
			return nil, wrong("reckon %s: --%s is given twice", c.Name, name)
		}
		in[name] = v
	}
	for _, want := range c.Inputs {
		if !want.Optional && !in.Has(want.Name) {
			return nil, wrong("reckon %s: --%s is missing, %s", c.Name, want.Name, want.Help)
		}
	}
	return in, nil
}

func (c Calculator) value(name, text string) (float64, error) {
	i := slices.IndexFunc(c.Inputs, func(in Input) bool { return in.Name == name })
	if i < 0 {
		return 0, wrong("reckon %s: no input --%s: %s", c.Name, name, c.usage())
	}
	want := c.Inputs[i]
	if want.Kind == Span {
		s, err := handcheck.ParseSpan(text)
		if err != nil {
			return 0, wrong("reckon %s: --%s: %w", c.Name, name, err)
		}
		return float64(s), nil
	}
	v, err := strconv.ParseFloat(strings.ReplaceAll(text, "−", "-"), 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
		return 0, wrong("reckon %s: --%s %q is not a number, %s", c.Name, name, text, want.Help)
	}
	if want.Above != nil && !(v > *want.Above) {
		return 0, wrong("reckon %s: --%s must be above %g, %s", c.Name, name, *want.Above, want.Help)
	}
	return v, nil
}

func (c Calculator) usage() string {
	var w []string
	for _, in := range c.Inputs {
		s := "--" + in.Name
		if in.Optional {
			s = "[" + s + "]"
		}
		w = append(w, s)
	}
	return "it takes " + strings.Join(w, " ")
}

// finite refuses an answer that is none: the inputs cannot be of a watch.
func finite(name string, fields []Field) error {
	for _, f := range fields {
		v := 0.0
		switch x := f.Value.(type) {
		case float64:
			v = x
		case estimate.Estimate:
			v = x.Value + x.U95()
		}
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return wrong("reckon %s: these inputs give no %s: no watch has them together", name, strings.ReplaceAll(f.Name, "_", " "))
		}
	}
	return nil
}

// writeJSON keeps the order of the fields.
func writeJSON(w io.Writer, fields []Field) error {
	var b strings.Builder
	for i, f := range fields {
		v := f.Value
		if e, ok := v.(estimate.Estimate); ok {
			v = struct {
				Value float64 `json:"value"`
				U95   float64 `json:"u95"`
			}{e.Value, e.U95()}
		}
		j, err := json.Marshal(v)
		if err != nil {
			return fmt.Errorf("write %s: %w", f.Name, err)
		}
		b.WriteString(map[bool]string{true: "{", false: ","}[i == 0])
		fmt.Fprintf(&b, "%q:%s", f.Name, j)
	}
	b.WriteString("}\n")
	_, err := io.WriteString(w, b.String())
	return err
}

func writeText(w io.Writer, fields []Field) error {
	var b strings.Builder
	for _, f := range fields {
		if f.Label != "" {
			fmt.Fprintf(&b, "%s: %s\n", f.Label, f.text())
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// figures is how many figures a bare number is printed to (chosen: more than
// any bench can set).
const figures = 5

func (f Field) text() string {
	switch v := f.Value.(type) {
	case estimate.Estimate:
		return say.With(v.Value, v.U95(), f.Unit)
	case float64:
		places := figures - 1
		if v != 0 {
			places -= int(math.Floor(math.Log10(math.Abs(v))))
		}
		return say.Unit(say.Fixed(v, max(0, places)), f.Unit)
	}
	return fmt.Sprint(f.Value)
}
