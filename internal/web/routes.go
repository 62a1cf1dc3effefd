package web

import (
	"net/http"

	"beatwright/internal/plot"
)

// place is one of the places in the running head.
type place struct{ Name, Path string }

// places are where one can go from anywhere.
var places = []place{
	{"Due", "/"}, {"Jobs", "/jobs"}, {"Listen", "/listen"}, {"Movements", "/movements"}, {"Owners", "/owners"}, {"Settings", "/settings"},
}

// routes gives every address its page or act. The API's are in its own table.
func (s *Server) routes(mux *http.ServeMux) {
	s.page(mux, "/{$}", "due.html", s.due)
	mux.HandleFunc("GET /plot.css", func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", "text/css; charset=utf-8")
		w.Header().Set("Cache-Control", "max-age=300")
		w.Write([]byte(plot.PageStyle))
	})
	s.act(mux, "/undo", s.undo)
	s.act(mux, "/notes/{id}/done", s.noteDone)
	s.routesNew(mux)
	s.routesLists(mux)
	s.routesJob(mux)
	s.routesHearings(mux)
	s.routesIntake(mux)
	s.routesSound(mux)
	s.routesLive(mux)
	mux.HandleFunc("GET /", func(w http.ResponseWriter, r *http.Request) { s.trouble(w, r, notHere(r)) })
}
