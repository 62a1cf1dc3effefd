package web

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"path"
	"slices"
	"strings"

	"beatwright"
	"beatwright/internal/say"
	"beatwright/movement"
)

// ownColumns are what the library keeps beside the movement file's fields.
var ownColumns = []string{"source", "standing", "note"}

// importedView says what became of a file: what was taken, and of each row
// that was not, where and why.
type importedView struct {
	File    string            `json:"file"`
	Says    string            `json:"says"`
	Added   []string          `json:"added,omitempty"`
	Updated []string          `json:"updated,omitempty"`
	Same    int               `json:"unchanged,omitempty"`
	Bad     []movement.BadRow `json:"bad,omitempty"`
	// Passed are columns that were not known.
	Passed []string `json:"columns_passed_over,omitempty"`
}

// importMovements takes a table or a list: every good row in one change that
// can be undone, bad rows named. A row whose name is there updates that entry.
func (s *Server) importMovements(w http.ResponseWriter, r *http.Request) {
	v, err := s.importFile(r)
	if err != nil {
		s.trouble(w, r, err)
		return
	}
	status := http.StatusOK
	if len(v.Bad) > 0 {
		status = http.StatusUnprocessableEntity
	}
	if wantsJSON(r) {
		writeJSON(w, status, v)
		return
	}
	// The page is shown whole either way: what was taken is kept.
	s.render(w, r, http.StatusOK, "imported.html", &shown{Title: "Imported", Nav: "Movements", Where: v.File, View: v})
}

func (s *Server) importFile(r *http.Request) (*importedView, error) {
	if err := r.ParseMultipartForm(memoryForm); err != nil {
		return nil, formError(err)
	}
	defer r.MultipartForm.RemoveAll()
	f, head, err := r.FormFile("file")
	if err != nil {
		return nil, &beatwright.Error{Code: beatwright.Wrong, Field: "file", Text: "no file came with it", Do: "choose a CSV or JSON file"}
	}
	defer f.Close()
	data, err := io.ReadAll(f)
	if err != nil {
		return nil, formError(err)
	}
	v := &importedView{File: path.Base(strings.ReplaceAll(head.Filename, `\`, "/"))}
	var rows []movement.Row
	if isJSON(v.File, data) {
		rows, v.Bad, err = movement.ReadList(bytes.NewReader(data), ownColumns...)
	} else {
		rows, v.Bad, v.Passed, err = movement.ReadTable(bytes.NewReader(data), ownColumns...)
	}
	if err != nil {
		return nil, &beatwright.Error{Code: beatwright.Wrong, Field: "file", Text: v.File + " cannot be used", Err: err, Do: "nothing was taken from it"}
	}
	return v, s.take(r, rows, v)
}

// isJSON goes by the name, or where that says nothing by the first sign.
func isJSON(name string, data []byte) bool {
	switch strings.ToLower(path.Ext(name)) {
	case ".json":
		return true
	case ".csv", ".tsv":
		return false
	}
	first := bytes.TrimLeft(bytes.TrimPrefix(data, []byte("\xef\xbb\xbf")), " \t\r\n")
	return bytes.HasPrefix(first, []byte("[")) || bytes.HasPrefix(first, []byte("{"))
}

// take makes entries of rows and keeps them in one change.
func (s *Server) take(r *http.Request, rows []movement.Row, v *importedView) error {
	have, err := all[*beatwright.Movement](r.Context(), s.bench, beatwright.KindMovement)
	if err != nil {
		return err
	}
	var put []beatwright.Thing
	for i, row := range rows {
		name := row.Movement.Name
		if j := slices.IndexFunc(rows[:i], func(o movement.Row) bool { return sameName(o.Movement.Name, name) }); j >= 0 {
			v.Bad = append(v.Bad, movement.BadRow{Line: row.Line, Column: "name", Want: fmt.Sprintf("%q stands in line %d already; want each once", name, rows[j].Line)})
			continue
		}
		e, was := s.entryFor(have, row)
		if err := e.Check(); err != nil {
			v.Bad = append(v.Bad, movement.BadRow{Line: row.Line, Want: err.Error()})
			continue
		}
		switch {
		case was == nil:
			v.Added = append(v.Added, name)
		case sameEntry(was, e):
			v.Same++
			continue
		default:
			v.Updated = append(v.Updated, name)
		}
		put = append(put, e)
	}
	v.Says = importSays(v)
	if len(put) == 0 {
		return nil
	}
	what := fmt.Sprintf("imported from %s: %s", v.File, moved(len(put)))
	_, err = s.bench.Apply(r.Context(), beatwright.Change{Who: s.who(r), What: what, Put: put})
	return err
}

func moved(n int) string { return inWords(n) + " " + plural(n, "movement", "movements") }

// importSays is the answer, as a sentence.
func importSays(v *importedView) string {
	n, bad := len(v.Added)+len(v.Updated), lines(v.Bad)
	out := moved(n) + " taken"
	if n == 0 {
		out = "nothing taken"
		if bad == 0 {
			out = "nothing new in it"
		}
	}
	if bad > 0 {
		out += ", " + inWords(bad) + " left out"
	}
	return say.Sentence(out)
}

// lines counts the rows that were left out; one can be wrong in many places.
func lines(bad []movement.BadRow) int {
	seen := map[int]bool{}
	for _, b := range bad {
		seen[b.Line] = true
	}
	return len(seen)
}

// entryFor is the entry that a row makes or, by its name, updates; was is the
// entry as it is now, nil for none. What a row does not have stays.
func (s *Server) entryFor(have []*beatwright.Movement, row movement.Row) (e, was *beatwright.Movement) {
	e = &beatwright.Movement{Entry: s.entry()}
	if i := slices.IndexFunc(have, func(m *beatwright.Movement) bool { return sameName(m.Facts.Name, row.Movement.Name) }); i >= 0 {
		was = have[i]
		copied := *was
		e = &copied
	}
	e.Facts = e.Facts.With(row.Movement)
	for name, into := range map[string]*string{"source": &e.Source, "standing": (*string)(&e.Standing), "note": &e.Note} {
		if text, ok := row.Extra[name]; ok {
			*into = text
		}
	}
	return e, was
}

func sameEntry(a, b *beatwright.Movement) bool {
	x, errX := json.Marshal(a)
	y, errY := json.Marshal(b)
	return errX == nil && errY == nil && bytes.Equal(x, y)
}

// rowsOf are the library as rows of a table.
func rowsOf(ms []*beatwright.Movement) []movement.Row {
	var rows []movement.Row
	for _, m := range ms {
		row := movement.Row{Movement: m.Facts, Extra: map[string]string{}}
		for name, text := range map[string]string{"source": m.Source, "standing": string(m.Standing), "note": m.Note} {
			if text != "" {
				row.Extra[name] = text
			}
		}
		rows = append(rows, row)
	}
	return rows
}

// exportMovements gives the whole library, to be looked at elsewhere or
// brought back.
func (s *Server) exportMovements(w http.ResponseWriter, r *http.Request) {
	ms, err := all[*beatwright.Movement](r.Context(), s.bench, beatwright.KindMovement)
	if err != nil {
		s.trouble(w, r, err)
		return
	}
	var b bytes.Buffer
	kind, name := "text/csv; charset=utf-8", "movements.csv"
	if wantsJSON(r) {
		kind, name = "application/json", "movements.json"
		err = movement.WriteList(&b, rowsOf(ms))
	} else {
		err = movement.WriteTable(&b, rowsOf(ms), ownColumns...)
	}
	if err != nil {
		s.trouble(w, r, err)
		return
	}
	give(w, kind, name, b.Bytes())
}

func give(w http.ResponseWriter, kind, name string, b []byte) {
	w.Header().Set("Content-Type", kind)
	w.Header().Set("Content-Disposition", `attachment; filename="`+name+`"`)
	w.Header().Set("Cache-Control", "no-store")
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
