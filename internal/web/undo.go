package web

import (
	"context"
	"net/http"
	"strconv"
	"strings"

	"beatwright"
)

func notHere(r *http.Request) error { return beatwright.NotFound("page", r.URL.Path) }

// undo takes back the change that the form names.
func (s *Server) undo(r *http.Request) (string, error) {
	n, err := strconv.ParseInt(r.PostFormValue("change"), 10, 64)
	if err != nil {
		return "", beatwright.ErrNothing
	}
	if _, err = s.bench.Undo(r.Context(), n, s.who(r)); err != nil {
		return "", err
	}
	return s.stillThere(r.Context(), pathOf(r.PostFormValue("back"))), nil
}

// stillThere is the page to go back to: the one asked for, or, where it was of
// what has just been undone, the page of its job, or the first.
func (s *Server) stillThere(ctx context.Context, path string) string {
	plain, _, _ := strings.Cut(path, "?")
	parts := strings.Split(strings.Trim(plain, "/"), "/")
	if len(parts) < 2 || parts[0] != "jobs" || !beatwright.IsJobNumber(parts[1]) {
		return path
	}
	p, err := s.bench.Job(ctx, parts[1])
	if err != nil {
		return "/"
	}
	if len(parts) < 4 {
		return path
	}
	for _, h := range p.Hearings {
		if string(h.ID) == parts[3] {
			return path
		}
	}
	for _, pic := range p.Pictures {
		if strconv.Itoa(pic.Number) == parts[3] {
			return path
		}
	}
	return "/jobs/" + parts[1]
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
