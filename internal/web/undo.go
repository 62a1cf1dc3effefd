package web

import (
	"net/http"
	"strconv"

	"beatwright"
)

func notHere(r *http.Request) error { return beatwright.NotFound("page", r.URL.Path) }

// undo takes back the change that the form names.
func (s *Server) undo(r *http.Request) (string, error) {
	n, err := strconv.ParseInt(r.PostFormValue("change"), 10, 64)
	if err != nil {
		return "", beatwright.ErrNothing
	}
	_, err = s.bench.Undo(r.Context(), n, s.who(r))
	return pathOf(r.PostFormValue("back")), err
}

// who is whose hand a change is signed with.
func (s *Server) who(r *http.Request) string { return s.workshop(r.Context()).Who }

func (s *Server) noteDone(r *http.Request) (string, error) {
	n, err := beatwright.Load[*beatwright.Note](r.Context(), s.bench, beatwright.KindNote, beatwright.ID(r.PathValue("id")))
	if err != nil {
		return "", err
	}
	now := s.now()
	n.Done = &now
	_, err = s.bench.Apply(r.Context(), beatwright.Change{Who: s.who(r), What: "done: " + n.Text, Job: n.Job, Put: []beatwright.Thing{n}})
	return pathOf(r.PostFormValue("back")), err
}
