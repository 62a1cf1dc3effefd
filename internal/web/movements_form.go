package web

import (
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"beatwright"
	"beatwright/movement"
)

// movementView is one entry, or a new one, as the form shows it.
type movementView struct {
	Movement *beatwright.Movement `json:"movement"`
	New      bool                 `json:"-"`
	// From names the kind that a new entry begins from.
	From string `json:"-"`
	filled
	Arbors  []arbor          `json:"-"`
	Choices map[string][]tap `json:"-"`
	Generic []kindOfMovement `json:"-"`
	// Watches are those that hold it.
	Watches []*beatwright.Watch `json:"watches,omitempty"`
}

// tap is one choice of a field.
type tap struct{ Value, Words string }

// arbor is one arbor of the going train with the teeth of its wheel and the
// leaves of its pinion.
type arbor struct{ Name, Teeth, Leaves string }

// arborNames are those of the form; counts of others stand in a field of their
// own, so that none is lost.
var arborNames = []string{"barrel", "centre", "third", "fourth", "fifth", "escape"}

// standings are what a fact's standing is called on a form.
var standings = []tap{
	{"", "not said"}, {"given", "given, by whoever asked"}, {"published", "published"}, {"measured", "measured here"}, {"assumed", "assumed"},
}

// choices of the fields that are chosen.
var choices = map[string][]tap{
	"winding":       {{"", "not known"}, {"hand", "by hand"}, {"automatic", "automatic"}, {"key", "by key"}},
	"lift_standing": standings,
	"standing":      standings,
	"escapement": {
		{"", "not known"},
		{"lever", "lever"},
		{"cylinder", "cylinder"},
		{"verge", "verge"},
		{"duplex", "duplex"},
		{"detent", "detent"},
		{"driven", "driven balance, electric"},
	},
}

func (s *Server) newMovement(r *http.Request) (*shown, error) {
	m, from := &beatwright.Movement{}, ""
	for _, k := range generic {
		if k.ID == r.FormValue("from") {
			m, from = s.entryOf(k), k.Facts.Name
			m.Facts.Name = ""
		}
	}
	v := viewOf(m)
	v.New, v.From, v.Generic = true, from, generic
	return &shown{Title: "New movement", Nav: "Movements", Where: "new", View: v}, nil
}

func (s *Server) movement(r *http.Request) (*shown, error) {
	m, err := s.movementOf(r)
	if err != nil {
		return nil, err
	}
	v := viewOf(m)
	if v.Watches, err = s.watchesWith(r, m.ID); err != nil {
		return nil, err
	}
	return &shown{Title: m.Facts.Name, Nav: "Movements", Where: m.Facts.Name, View: v}, nil
}

func (s *Server) movementOf(r *http.Request) (*beatwright.Movement, error) {
	return beatwright.Load[*beatwright.Movement](r.Context(), s.bench, beatwright.KindMovement, beatwright.ID(r.PathValue("id")))
}

// watchesWith are the watches that hold a movement.
func (s *Server) watchesWith(r *http.Request, id beatwright.ID) ([]*beatwright.Watch, error) {
	ws, err := all[*beatwright.Watch](r.Context(), s.bench, beatwright.KindWatch)
	return slices.DeleteFunc(ws, func(w *beatwright.Watch) bool { return w.Movement != id }), err
}

// viewOf fills the form: its fields are the columns of the table.
func viewOf(m *beatwright.Movement) movementView {
	f := filled{Text: m.Facts.Cells(), Wrong: map[string]string{}}
	f.Text["source"], f.Text["standing"], f.Text["note"] = m.Source, string(m.Standing), m.Note
	count := func(column string, of map[string]int) {
		rest := movement.Movement{Wheels: map[string]int{}}
		for name, n := range of {
			if slices.Contains(arborNames, name) {
				f.Text[column+"."+name] = strconv.Itoa(n)
			} else {
				rest.Wheels[name] = n
			}
		}
		f.Text[column] = rest.Cells()["wheels"]
	}
	count("wheels", m.Facts.Wheels)
	count("pinions", m.Facts.Pinions)
	return shownForm(m, f)
}

// shownForm is a form with its table of arbors.
func shownForm(m *beatwright.Movement, f filled) movementView {
	v := movementView{Movement: m, filled: f, Choices: choices}
	for _, name := range arborNames {
		v.Arbors = append(v.Arbors, arbor{name, f.Text["wheels."+name], f.Text["pinions."+name]})
	}
	return v
}

// keepMovement keeps what the form says, held to the same as a table's row.
func (s *Server) keepMovement(r *http.Request) (string, *shown, error) {
	m := &beatwright.Movement{Entry: s.entry()}
	isNew := r.PathValue("id") == ""
	if !isNew {
		var err error
		if m, err = s.movementOf(r); err != nil {
			return "", nil, err
		}
		if staleRev(r, m.Header()) {
			return "", nil, beatwright.ErrStale
		}
	}
	f := fillMovement(r)
	cells := map[string]string{}
	for _, c := range movement.Columns {
		cells[c] = f.Text[c]
		if c == "wheels" || c == "pinions" {
			cells[c] = countsOf(f, c)
		}
	}
	facts, bad := movement.FromCells(cells)
	for _, b := range bad {
		f.say(b.Column, b.Want)
	}
	m.Facts, m.Source, m.Note, m.Standing = facts, f.Text["source"], f.Text["note"], beatwright.Standing(f.Text["standing"])
	if len(bad) == 0 {
		s.doubleName(r, m, f)
	}
	if len(f.Wrong) > 0 {
		v := shownForm(m, f)
		v.New = isNew
		return "", &shown{Title: "Not kept yet", Nav: "Movements", Where: f.Text["name"], View: v}, nil
	}
	what := "movement changed: "
	if isNew {
		what = "movement added: "
		m.Generic = false
	}
	_, err := s.bench.Apply(r.Context(), beatwright.Change{Who: s.who(r), What: what + m.Facts.Name, Put: []beatwright.Thing{m}})
	return "/movements/" + string(m.ID), nil, err
}

// doubleName says where another entry has the name already.
func (s *Server) doubleName(r *http.Request, m *beatwright.Movement, f filled) {
	have, err := all[*beatwright.Movement](r.Context(), s.bench, beatwright.KindMovement)
	if err != nil {
		return // Apply will tell
	}
	for _, o := range have {
		if o.ID != m.ID && sameName(o.Facts.Name, m.Facts.Name) {
			f.say("name", "another movement is called that; want a name of its own, since tables go by the name")
		}
	}
}

func fillMovement(r *http.Request) filled {
	fields := slices.Concat(movement.Columns, ownColumns)
	for _, name := range arborNames {
		fields = append(fields, "wheels."+name, "pinions."+name)
	}
	return fill(r, fields...)
}

// countsOf puts the counts of the form into one cell; what is no number is
// said at its own field.
func countsOf(f filled, column string) string {
	var parts []string
	for _, name := range arborNames {
		field := column + "." + name
		switch n := f.Text[field]; {
		case n == "":
		case strings.Trim(n, "0123456789") != "":
			f.say(field, fmt.Sprintf("%s is %q; want a whole number", name, n))
		default:
			parts = append(parts, name+"="+n)
		}
	}
	return strings.TrimSpace(strings.Join(parts, " ") + " " + f.Text[column])
}

// removeMovement takes an entry out of the library, where no watch has it.
func (s *Server) removeMovement(r *http.Request) (string, error) {
	m, err := s.movementOf(r)
	if err != nil {
		return "", err
	}
	if ws, err := s.watchesWith(r, m.ID); err != nil || len(ws) > 0 {
		return "", orError(err, &beatwright.Error{
			Code: beatwright.Conflict, Text: m.Facts.Name + " stays: " + inWords(len(ws)) + " " + plural(len(ws), "watch has", "watches have") + " it", Do: "give them another movement first",
		})
	}
	_, err = s.bench.Apply(r.Context(), beatwright.Change{Who: s.who(r), What: "movement removed: " + m.Facts.Name, Remove: []beatwright.Key{beatwright.KeyOf(m)}})
	return "/movements", err
}

func orError(err, otherwise error) error {
	if err != nil {
		return err
	}
	return otherwise
}
