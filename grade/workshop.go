package grade

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"
)

// Parse reads a grade of the workshop's own from JSON, in the form Grade has:
//
//	{"name":"this workshop","source":"our own, 2026","criteria":[
//	  {"symbol":"mean","name":"mean rate","unit":"s/d","low":-2,"high":8,"of":"mean_rate"}]}
//
// Unknown fields, unknown quantities, places that are none and limits that
// exclude each other are errors that name the criterion.
func Parse(r io.Reader) (Grade, error) {
	var g Grade
	d := json.NewDecoder(r)
	d.DisallowUnknownFields()
	if err := d.Decode(&g); err != nil {
		return Grade{}, fmt.Errorf("read grade: %w", err)
	}
	return g, g.Check()
}

// Check says what is wrong with a grade, nil if nothing is.
func (g Grade) Check() error {
	if strings.TrimSpace(g.Name) == "" || strings.TrimSpace(g.Source) == "" {
		return errors.New("a grade needs a name and the source of its limits")
	}
	if len(g.Criteria) == 0 {
		return fmt.Errorf("grade %q has no criteria", g.Name)
	}
	for _, c := range g.Criteria {
		if err := c.check(); err != nil {
			return fmt.Errorf("grade %q, criterion %q: %w", g.Name, c.Symbol, err)
		}
	}
	for i, s := range g.Programme {
		if s.Day != i+1 || !s.Position.Valid() {
			return fmt.Errorf("grade %q: day %d of the programme must be numbered and have a position", g.Name, i+1)
		}
	}
	return nil
}

func (c Criterion) check() error {
	if _, ok := quantities[c.Of]; !ok {
		return fmt.Errorf("no such quantity %q: use one of %s", c.Of, strings.Join(names(), ", "))
	}
	if c.Low == nil && c.High == nil {
		return errors.New("no limit is set")
	}
	if c.Low != nil && c.High != nil && *c.Low > *c.High {
		return fmt.Errorf("the low limit %g is above the high one %g", *c.Low, *c.High)
	}
	_, err := resolve(c.Places, 12)
	return err
}

func names() []string {
	var out []string
	for _, q := range slices.Sorted(maps.Keys(quantities)) {
		out = append(out, string(q))
	}
	return out
}
