package web

import (
	"bytes"
	"encoding/json"
	"errors"
	"html/template"
	"io/fs"
	"log/slog"
	"net/http"
	"path"
	"strings"
	"time"

	"beatwright"
)

// shown is what a page shows: View is its own data, the rest is the frame.
type shown struct {
	Title string
	// Nav is the place in the running head that is underlined, Where what
	// stands behind the places.
	Nav, Where string
	// Job is whose last act can be undone from here.
	Job  beatwright.ID
	View any

	// The frame's own, filled in by render.
	Workshop *beatwright.Workshop
	Last     *beatwright.Done
	Here     string
	Version  string
	Now      time.Time
}

// parsePages reads every page together with the frame and the shared pieces.
func parsePages() (map[string]*template.Template, error) {
	frame, err := template.New("frame").Funcs(functions).ParseFS(embedded, "templates/frame.html", "templates/pieces.html")
	if err != nil {
		return nil, err
	}
	names, err := fs.Glob(embedded, "templates/*.html")
	if err != nil {
		return nil, err
	}
	pages := map[string]*template.Template{}
	for _, n := range names {
		base := path.Base(n)
		if base == "frame.html" || base == "pieces.html" {
			continue
		}
		t, err := frame.Clone()
		if err != nil {
			return nil, err
		}
		if pages[base], err = t.ParseFS(embedded, n); err != nil {
			return nil, err
		}
	}
	return pages, nil
}

// undoable is how long the line that offers undo stays (chosen: a look away
// from the bench and back); the history keeps it for ever.
const undoable = 15 * time.Minute

func (s *Server) render(w http.ResponseWriter, r *http.Request, status int, name string, sh *shown) {
	sh.Workshop, sh.Version, sh.Here = s.workshop(r.Context()), s.version, r.URL.RequestURI()
	sh.Now = s.now()
	if h, err := s.bench.History(r.Context(), sh.Job, 0, 1); err == nil && len(h) == 1 && s.now().Sub(h[0].At) < undoable {
		sh.Last = &h[0]
	}
	var b bytes.Buffer
	if err := s.pages[name].ExecuteTemplate(&b, "frame.html", sh); err != nil {
		slog.Error("show a page", "page", name, "error", err)
		http.Error(w, "this page could not be made; nothing was lost. Go back to the first page.", http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(status)
	w.Write(b.Bytes())
}

func writeJSON(w http.ResponseWriter, status int, v any) {
	b, err := json.Marshal(v)
	if err != nil {
		slog.Error("write JSON", "error", err)
		http.Error(w, `{"error":"the answer could not be written down","code":"failed"}`, http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "application/json")
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(status)
	w.Write(append(b, '\n'))
}

// status of each code; all else is a failure of the program.
var status = map[beatwright.Code]int{
	beatwright.Wrong:    http.StatusUnprocessableEntity,
	beatwright.Missing:  http.StatusNotFound,
	beatwright.Conflict: http.StatusConflict,
	beatwright.Newer:    http.StatusConflict,
	beatwright.Busy:     http.StatusConflict,
	beatwright.Storage:  http.StatusInsufficientStorage,
}

// problem is an error as the API and .json pages tell it.
type problem struct {
	Error string          `json:"error"`
	Code  beatwright.Code `json:"code"`
	Field string          `json:"field,omitempty"`
}

// told puts an error into what may be told of it, and its status.
func told(err error) (problem, int) {
	if tooBig, ok := errors.AsType[*http.MaxBytesError](err); ok {
		return problem{Error: "this is too large; at most " + bytesInWords(tooBig.Limit) + " are taken, nothing was kept", Code: beatwright.Wrong}, http.StatusRequestEntityTooLarge
	}
	p := problem{Error: oneLine(err.Error()), Code: beatwright.CodeOf(err)}
	if e, ok := errors.AsType[*beatwright.Error](err); ok {
		p.Field = e.Field
	}
	st, ok := status[p.Code]
	if !ok {
		p.Code, st = "failed", http.StatusInternalServerError
		slog.Error("a request failed", "error", err)
	}
	return p, st
}

// oneLine joins the lines of an error that holds several.
func oneLine(s string) string {
	return strings.Join(strings.Split(strings.TrimSpace(s), "\n"), "; ")
}

// trouble tells an error on a page, or as JSON where JSON was asked for.
func (s *Server) trouble(w http.ResponseWriter, r *http.Request, err error) {
	p, st := told(err)
	if wantsJSON(r) || strings.HasPrefix(r.URL.Path, "/api/") {
		writeJSON(w, st, p)
		return
	}
	back := "/"
	if ref := r.Header.Get("Referer"); ref != "" && r.Method == http.MethodPost {
		back = pathOf(ref)
	}
	s.render(w, r, st, "trouble.html", &shown{Title: "Not done", View: troubleView{problem: p, Back: back, Missing: st == http.StatusNotFound}})
}

type troubleView struct {
	problem
	Back    string
	Missing bool
}
