package web

import (
	"net/http"
	"strings"

	"beatwright"
)

// settingsView is what the workshop says of itself, and where it lies.
type settingsView struct {
	Shop    *beatwright.Workshop `json:"workshop"`
	Folder  string               `json:"folder"`
	Free    string               `json:"free,omitempty"`
	Version string               `json:"version"`
	Hours   []int                `json:"-"`
}

func (s *Server) settings(r *http.Request) (*shown, error) {
	v := settingsView{Shop: s.workshop(r.Context()), Folder: s.bench.Folder.Dir(), Version: s.version}
	if free, err := s.bench.Folder.Free(); err == nil {
		v.Free = bytesInWords(free)
	}
	for h := range 25 {
		v.Hours = append(v.Hours, h)
	}
	return &shown{Title: "Settings", Nav: "Settings", View: v}, nil
}

func (s *Server) changeSettings(r *http.Request) (string, error) {
	w := s.workshop(r.Context())
	w.Name, w.Place, w.Who = strings.TrimSpace(r.PostFormValue("name")), strings.TrimSpace(r.PostFormValue("place")), strings.TrimSpace(r.PostFormValue("who"))
	w.Currency, w.Theme = strings.ToUpper(strings.TrimSpace(r.PostFormValue("currency"))), r.PostFormValue("theme")
	var err error
	if w.DayFrom, err = whole(r, "day_from", w.DayFrom, 24); err != nil {
		return "", err
	}
	if w.DayTo, err = whole(r, "day_to", w.DayTo, 24); err != nil {
		return "", err
	}
	_, err = s.bench.Apply(r.Context(), beatwright.Change{Who: w.Who, What: "settings changed", Put: []beatwright.Thing{w}})
	return "/settings", err
}
