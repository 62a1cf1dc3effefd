package web

import (
	"bytes"
	"encoding/json"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"beatwright"
	"beatwright/movement"
	"beatwright/unit"
)

// generic are the kinds to begin an entry from: no maker's data comes with the
// program, and their lift angles are assumed.
var generic = []movement.Movement{
	kindOf("hand-wound, 18 000", 18000, movement.Hand),
	kindOf("hand-wound, 21 600", 21600, movement.Hand),
	kindOf("automatic, 18 000", 18000, movement.Automatic, "date"),
	kindOf("automatic, 21 600", 21600, movement.Automatic, "date"),
	kindOf("automatic, 28 800", 28800, movement.Automatic, "date"),
	kindOf("alarm, two barrels, 18 000", 18000, movement.Hand, "alarm"),
	kindOf("chronograph, hand-wound, 18 000", 18000, movement.Hand, "chronograph"),
	kindOf("pocket watch, 18 000", 18000, movement.Hand),
}

func kindOf(name string, beats unit.BeatsPerHour, winding movement.Winding, has ...string) movement.Movement {
	lift, u95, teeth := unit.Degrees(52), movement.AssumedLiftU95, 15
	return movement.Movement{
		Name: name, BeatsPerHour: &beats, Lift: &lift, LiftU95: &u95, LiftStanding: movement.Assumed,
		Escapement: movement.Lever, EscapeTeeth: &teeth, Winding: winding, Complications: has,
	}
}

// movementsView is the workshop's library.
type movementsView struct {
	Says      string                 `json:"says"`
	Movements []*beatwright.Movement `json:"movements"`
	Lines     []movementLine         `json:"-"`
	Generic   []movement.Movement    `json:"-"`
}

type movementLine struct {
	*beatwright.Movement
	Beats, Lift string
}

func (s *Server) movements(r *http.Request) (*shown, error) {
	ms, err := all[*beatwright.Movement](r.Context(), s.bench, beatwright.KindMovement)
	if err != nil {
		return nil, err
	}
	v := movementsView{Movements: ms, Generic: generic, Says: "No movement yet."}
	if len(ms) > 0 {
		v.Says = sentence(inWords(len(ms)) + " " + plural(len(ms), "movement", "movements"))
	}
	for _, m := range ms {
		v.Lines = append(v.Lines, movementLine{m, beatsWords(m.Facts), liftWords(m.Facts)})
	}
	return &shown{Title: "Movements", Nav: "Movements", View: v}, nil
}

// movementView is one entry, or a new one.
type movementView struct {
	Movement *beatwright.Movement `json:"movement"`
	New      bool                 `json:"-"`
	Wheels   []arbor              `json:"-"`
	Fields   map[string]string    `json:"-"`
}

// arbor is one arbor of the going train with the teeth of its wheel and the
// leaves of its pinion.
type arbor struct{ Name, Teeth, Leaves string }

func (s *Server) newMovement(r *http.Request) (*shown, error) {
	m := &beatwright.Movement{Facts: movement.Movement{Escapement: movement.Lever}}
	if i, err := strconv.Atoi(r.FormValue("from")); err == nil && i >= 0 && i < len(generic) {
		m.Facts, m.Standing = generic[i], beatwright.Assumed
	}
	return &shown{Title: "New movement", Nav: "Movements", Where: "new", View: viewOf(m, true)}, nil
}

func (s *Server) movement(r *http.Request) (*shown, error) {
	m, err := s.movementOf(r)
	if err != nil {
		return nil, err
	}
	return &shown{Title: m.Facts.Name, Nav: "Movements", Where: m.Facts.Name, View: viewOf(m, false)}, nil
}

func (s *Server) movementOf(r *http.Request) (*beatwright.Movement, error) {
	return beatwright.Load[*beatwright.Movement](r.Context(), s.bench, beatwright.KindMovement, beatwright.ID(r.PathValue("id")))
}

// viewOf fills the form: its fields are the columns of the table.
func viewOf(m *beatwright.Movement, isNew bool) movementView {
	v := movementView{Movement: m, New: isNew, Fields: map[string]string{}}
	var raw map[string]any
	if b, err := json.Marshal(m.Facts); err == nil && json.Unmarshal(b, &raw) == nil {
		for k, x := range raw {
			switch x := x.(type) {
			case string:
				v.Fields[k] = x
			case float64:
				v.Fields[k] = strconv.FormatFloat(x, 'f', -1, 64)
			}
		}
	}
	v.Fields["complications"] = strings.Join(m.Facts.Complications, "; ")
	teeth := func(of map[string]int, name string) string {
		if n := of[name]; n > 0 {
			return strconv.Itoa(n)
		}
		return ""
	}
	for _, name := range []string{"barrel", "centre", "third", "fourth"} {
		v.Wheels = append(v.Wheels, arbor{name, teeth(m.Facts.Wheels, name), teeth(m.Facts.Pinions, name)})
	}
	v.Wheels = append(v.Wheels, arbor{"escape", "", teeth(m.Facts.Pinions, "escape")})
	return v
}

// keepMovement keeps what the form says, held to the same as a table's row.
func (s *Server) keepMovement(r *http.Request) (string, error) {
	m := &beatwright.Movement{Entry: s.entry()}
	if id := r.PostFormValue("id"); id != "" {
		r.SetPathValue("id", id)
		var err error
		if m, err = s.movementOf(r); err != nil {
			return "", err
		}
	}
	facts, err := factsOf(r)
	if err != nil {
		return "", err
	}
	m.Facts, m.Source, m.Note = facts, r.PostFormValue("source"), r.PostFormValue("note")
	m.Standing = beatwright.Standing(r.PostFormValue("standing"))
	_, err = s.bench.Apply(r.Context(), beatwright.Change{Who: s.who(r), What: "movement kept: " + m.Facts.Name, Put: []beatwright.Thing{m}})
	return "/movements/" + string(m.ID), err
}

func factsOf(r *http.Request) (movement.Movement, error) {
	var table bytes.Buffer
	row := make([]string, len(movement.Columns))
	for i, c := range movement.Columns {
		row[i] = strings.ReplaceAll(r.PostFormValue(c), "\n", " ")
		if c == "wheels" || c == "pinions" {
			row[i] = countsOf(r, c)
		}
	}
	if err := movement.WriteRow(&table, row); err != nil {
		return movement.Movement{}, err
	}
	good, bad, err := movement.ReadTable(&table)
	if err == nil && len(bad) > 0 {
		err = bad[0].Err
	}
	if err != nil || len(good) != 1 {
		return movement.Movement{}, &beatwright.Error{Code: beatwright.Wrong, Field: "movement", Text: "this cannot be a movement", Err: err}
	}
	return good[0], nil
}

func countsOf(r *http.Request, column string) string {
	var parts []string
	for _, name := range []string{"barrel", "centre", "third", "fourth", "escape"} {
		if n := strings.TrimSpace(r.PostFormValue(column + "." + name)); n != "" {
			parts = append(parts, name+"="+n)
		}
	}
	return strings.Join(parts, " ")
}

func (s *Server) dropMovement(r *http.Request) (string, error) {
	m, err := s.movementOf(r)
	if err != nil {
		return "", err
	}
	_, err = s.bench.Apply(r.Context(), beatwright.Change{Who: s.who(r), What: "movement taken out: " + m.Facts.Name, Remove: []beatwright.Key{beatwright.KeyOf(m)}})
	return "/movements", err
}

// importMovements takes a table or a list: every good row in one change that
// can be undone, bad rows named. A row of a name that is there replaces it.
func (s *Server) importMovements(r *http.Request) (string, error) {
	if err := r.ParseMultipartForm(memoryForm); err != nil {
		return "", formError(err)
	}
	defer r.MultipartForm.RemoveAll()
	f, head, err := r.FormFile("file")
	if err != nil {
		return "", &beatwright.Error{Code: beatwright.Wrong, Field: "file", Text: "file: none came with it", Do: "choose a CSV or JSON file"}
	}
	defer f.Close()
	read := movement.ReadTable
	if strings.HasSuffix(strings.ToLower(head.Filename), ".json") {
		read = movement.ReadList
	}
	good, bad, err := read(f)
	if err != nil {
		return "", &beatwright.Error{Code: beatwright.Wrong, Field: "file", Text: "the file cannot be used", Err: err, Do: "nothing was taken from it"}
	}
	put, err := s.merged(r, good, "imported from "+head.Filename)
	if err != nil {
		return "", err
	}
	if len(put) > 0 {
		what := fmt.Sprintf("%d %s imported", len(put), plural(len(put), "movement", "movements"))
		if _, err := s.bench.Apply(r.Context(), beatwright.Change{Who: s.who(r), What: what, Put: put}); err != nil {
			return "", err
		}
	}
	if len(bad) > 0 {
		var words []string
		for _, b := range bad {
			words = append(words, b.Error())
		}
		return "", &beatwright.Error{
			Code: beatwright.Wrong, Field: "file", Text: fmt.Sprintf("%d taken, %d not: %s", len(put), len(bad), strings.Join(words, "; ")),
			Do: "mend these and import the file again; what is there is replaced by name",
		}
	}
	return "/movements", nil
}

// merged makes entries of movements: new ones, and those of the same name
// replaced. Of rows of one name the last counts.
func (s *Server) merged(r *http.Request, facts []movement.Movement, source string) ([]beatwright.Thing, error) {
	have, err := all[*beatwright.Movement](r.Context(), s.bench, beatwright.KindMovement)
	if err != nil {
		return nil, err
	}
	var put []beatwright.Thing
	for i, m := range facts {
		later := slices.ContainsFunc(facts[i+1:], func(o movement.Movement) bool { return strings.EqualFold(o.Name, m.Name) })
		if later {
			continue
		}
		e := &beatwright.Movement{Entry: s.entry(), Source: source}
		if j := slices.IndexFunc(have, func(o *beatwright.Movement) bool { return strings.EqualFold(o.Facts.Name, m.Name) }); j >= 0 {
			e = have[j]
		}
		e.Facts = m
		put = append(put, e)
	}
	return put, nil
}

func (s *Server) exportMovements(w http.ResponseWriter, r *http.Request) {
	ms, err := all[*beatwright.Movement](r.Context(), s.bench, beatwright.KindMovement)
	if err != nil {
		s.trouble(w, r, err)
		return
	}
	facts := []movement.Movement{}
	for _, m := range ms {
		facts = append(facts, m.Facts)
	}
	name := r.URL.Path[strings.LastIndexByte(r.URL.Path, '/')+1:]
	var b bytes.Buffer
	kind := "text/csv; charset=utf-8"
	if strings.HasSuffix(name, "json") || wantsJSON(r) {
		kind, name = "application/json", "export.json"
		err = json.NewEncoder(&b).Encode(facts)
	} else {
		err = movement.WriteTable(&b, facts)
	}
	if err != nil {
		s.trouble(w, r, err)
		return
	}
	give(w, kind, "movements"+name[len("export"):], b.Bytes())
}

func give(w http.ResponseWriter, kind, name string, b []byte) {
	w.Header().Set("Content-Type", kind)
	w.Header().Set("Content-Disposition", `attachment; filename="`+name+`"`)
	w.Write(b)
}

// movementFile gives one entry as the movement file that the command line
// takes.
func (s *Server) movementFile(w http.ResponseWriter, r *http.Request) {
	m, err := s.movementOf(r)
	if err != nil {
		s.trouble(w, r, err)
		return
	}
	b, err := json.MarshalIndent(m.Facts, "", "  ")
	if err != nil {
		s.trouble(w, r, err)
		return
	}
	give(w, "application/json", "movement.json", append(b, '\n'))
}
