package web

import (
	"net/http"

	"beatwright"
	"beatwright/conduct"
	"beatwright/internal/live"
)

// routesLive are the addresses of sittings: what is heard now.
func (s *Server) routesLive(mux *http.ServeMux) {
	s.page(mux, "/live/{id}", "live.html", s.livePage)
	s.act(mux, "/live/{id}/act", s.liveAct)
	mux.HandleFunc("GET /live/{id}/sound", s.liveSound)
	mux.HandleFunc("GET /live/{id}/events", s.liveEvents)
	s.page(mux, "/pickup", "live.html", func(r *http.Request) (*shown, error) {
		r.SetPathValue("id", string(live.Pickup))
		return s.livePage(r)
	})
	s.page(mux, "/listen", "listening.html", s.listeningPage)
	s.page(mux, "/jobs/{number}/listen", "listen.html", s.listenForm)
	s.act(mux, "/jobs/{number}/listen", s.listenBegin)
	s.act(mux, "/jobs/{number}/adjust", s.adjustBegin)
}

func (s *Server) sittingOf(r *http.Request) (*live.Sitting, error) {
	return s.bench.Sitting(r.Context(), beatwright.ID(r.PathValue("id")))
}

func (s *Server) livePage(r *http.Request) (*shown, error) {
	st, err := s.sittingOf(r)
	if err != nil {
		return nil, err
	}
	v := st.View()
	sh := &shown{Title: "Listening", Nav: "Listen", Where: v.Number + " " + v.About, Job: v.Job, View: v}
	if v.Number == "" {
		sh.Where = v.About
	}
	if !wantsJSON(r) {
		sh.View = s.fragments(v)
	}
	return sh, nil
}

// liveAct does what was pressed on the live page, or by its pedal.
func (s *Server) liveAct(r *http.Request) (string, error) {
	st, err := s.sittingOf(r)
	if err != nil {
		return "", err
	}
	in := actJSON{Act: conduct.Act(r.FormValue("act")), Lies: r.FormValue("lies"), Who: s.who(r)}
	if err := act(r, st, in); err != nil {
		return "", err
	}
	return "/live/" + r.PathValue("id"), nil
}

// Close ends the streams that pages have open.
func (s *Server) Close() { s.closeOnce.Do(func() { close(s.closing) }) }
