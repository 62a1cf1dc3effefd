package web

import (
	"net/http"
	"strings"

	"beatwright"
	"beatwright/internal/live"
)

// routesSound are the pages of what was heard and seen: hearings, positions
// and pictures.
func (s *Server) routesSound(mux *http.ServeMux) {
	s.page(mux, "/jobs/{number}/hearings/{id}", "hearing.html", s.hearingPage)
	mux.HandleFunc("GET /jobs/{number}/hearings/{id}/drawings", s.drawings)
	mux.HandleFunc("GET /jobs/{number}/hearings/{id}/drawing.svg", s.drawingFile)
	s.act(mux, "/jobs/{number}/hearings/{id}/again", s.hearAgain)
	s.act(mux, "/jobs/{number}/hearings/{id}/move", s.moveHearing)
	s.act(mux, "/jobs/{number}/hearings/{id}/delete", s.dropHearing)
	mux.HandleFunc("GET /sounds/{hearing}", s.sound)

	s.page(mux, "/jobs/{number}/positions", "positions.html", s.positionsPage)
	mux.HandleFunc("GET /jobs/{number}/positions.csv", s.positionsTable)

	s.page(mux, "/jobs/{number}/pictures", "pictures.html", s.picturesPage)
	s.page(mux, "/jobs/{number}/pictures/{n}", "picture.html", s.picturePage)
	s.act(mux, "/jobs/{number}/pictures", s.addPictures)
	s.act(mux, "/jobs/{number}/pictures/{n}", s.sayPicture)
	s.act(mux, "/jobs/{number}/pictures/{n}/delete", s.dropPicture)
	mux.HandleFunc("GET /pictures/{id}/{size}", s.pictureFile)
}

// sound gives the kept sound of a hearing, whole or in parts, to play or, with
// ?keep, to take away.
func (s *Server) sound(w http.ResponseWriter, r *http.Request) {
	h, k, err := s.bench.Sound(r.Context(), beatwright.ID(r.PathValue("hearing")))
	if err != nil {
		s.trouble(w, r, err)
		return
	}
	defer k.Close()
	if r.URL.Query().Has("keep") {
		name := "hearing"
		if h.Position != "" {
			name += "-" + h.Position
		}
		w.Header().Set("Content-Disposition", `attachment; filename="`+name+"-"+h.At.Format("20060102-1504")+`.flac"`)
	}
	serveKept(w, r, k)
}

// serveKept sends a file that never changes under its name.
func serveKept(w http.ResponseWriter, r *http.Request, k *live.Kept) {
	w.Header().Set("Content-Type", k.Kind)
	w.Header().Set("Cache-Control", "private, max-age=31536000, immutable")
	w.Header().Set("ETag", `"`+k.Name+`"`)
	http.ServeContent(w, r, "", k.At, k)
}

// pictureFile gives a picture: thumb, view, or the original as it came.
func (s *Server) pictureFile(w http.ResponseWriter, r *http.Request) {
	k, err := s.bench.Picture(r.Context(), beatwright.ID(r.PathValue("id")), r.PathValue("size"))
	if err != nil {
		s.trouble(w, r, err)
		return
	}
	defer k.Close()
	serveKept(w, r, k)
}

// hearingOf is the hearing that an address names, in its job.
func (s *Server) hearingOf(r *http.Request) (*beatwright.Papers, *beatwright.Hearing, error) {
	return s.bench.HearingOf(r.Context(), r.PathValue("number"), beatwright.ID(r.PathValue("id")))
}

// hearAgain measures the kept sound with another lift angle, or with what is
// known of the movement by now.
func (s *Server) hearAgain(r *http.Request) (string, error) {
	p, h, err := s.hearingOf(r)
	if err != nil {
		return "", err
	}
	lift, err := number(r, "lift_deg")
	if err != nil {
		return "", err
	}
	_, err = s.bench.Again(r.Context(), h.ID, degreesOf(lift), s.who(r))
	return hearingPath(p, h), err
}

func (s *Server) moveHearing(r *http.Request) (string, error) {
	p, h, err := s.hearingOf(r)
	if err != nil {
		return "", err
	}
	lies := strings.TrimSpace(r.FormValue("position"))
	if !r.Form.Has("position") {
		lies = h.Position
	}
	stage := beatwright.Stage(r.FormValue("stage"))
	return hearingPath(p, h), s.bench.Move(r.Context(), p.Job.Number, h.ID, lies, stage, s.who(r))
}

func (s *Server) dropHearing(r *http.Request) (string, error) {
	p, h, err := s.hearingOf(r)
	if err != nil {
		return "", err
	}
	return "/jobs/" + p.Job.Number + "/positions", s.bench.Drop(r.Context(), p.Job.Number, h.ID, s.who(r))
}

func hearingPath(p *beatwright.Papers, h *beatwright.Hearing) string {
	return "/jobs/" + p.Job.Number + "/hearings/" + string(h.ID)
}
