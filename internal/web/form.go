package web

import (
	"net/http"
	"strconv"
	"strings"

	"beatwright"
)

// form takes a form; one that cannot be taken is shown again as it was filled
// in, with what is wrong at each field.
func (s *Server) form(mux *http.ServeMux, pattern, name string, do func(*http.Request) (to string, again *shown, err error)) {
	mux.HandleFunc("POST "+pattern, func(w http.ResponseWriter, r *http.Request) {
		if err := readForm(r); err != nil {
			s.trouble(w, r, err)
			return
		}
		to, again, err := do(r)
		switch {
		case err != nil:
			s.trouble(w, r, err)
		case again != nil && wantsJSON(r):
			writeJSON(w, http.StatusUnprocessableEntity, again.View)
		case again != nil:
			s.render(w, r, http.StatusUnprocessableEntity, name, again)
		default:
			http.Redirect(w, r, to, http.StatusSeeOther)
		}
	})
}

// readForm reads a form's fields before anything is done with them: half a form
// must not be taken for a whole one with empty fields, and nothing is held up
// while it comes in. Files are read by those who want them.
func readForm(r *http.Request) error {
	if kind := r.Header.Get("Content-Type"); strings.HasPrefix(kind, "multipart/") {
		if bringsFiles(r.URL.Path) {
			return nil
		}
		if err := r.ParseMultipartForm(maxForm); err != nil {
			return formError(err)
		}
		return nil
	}
	if err := r.ParseForm(); err != nil {
		return formError(err)
	}
	return nil
}

// filled is a form as it is filled in: texts by field, and what is wrong with
// them.
type filled struct {
	Text  map[string]string `json:"fields,omitempty"`
	Wrong map[string]string `json:"wrong,omitempty"`
}

// fill reads the fields of a form, without spaces around them.
func fill(r *http.Request, fields ...string) filled {
	f := filled{Text: map[string]string{}, Wrong: map[string]string{}}
	for _, name := range fields {
		f.Text[name] = strings.TrimSpace(strings.ReplaceAll(r.PostFormValue(name), "\r\n", "\n"))
	}
	return f
}

// say notes what is wrong with a field.
func (f filled) say(field, words string) {
	if have := f.Wrong[field]; have != "" {
		words = have + "; " + words
	}
	f.Wrong[field] = words
}

// staleRev tells whether a thing was changed since the form that the request
// brings was made; a form without a rev is taken as it is.
func staleRev(r *http.Request, e *beatwright.Entry) bool {
	rev, err := strconv.Atoi(r.PostFormValue("rev"))
	return err == nil && rev != e.Rev
}
