package web

import (
	"net/http"
	"strings"

	"beatwright"
	"beatwright/internal/say"
	"beatwright/movement"
)

func (s *Server) routesMovements(mux *http.ServeMux) {
	s.page(mux, "/movements", "movements.html", s.movements)
	s.page(mux, "/movements/new", "movement.html", s.newMovement)
	s.page(mux, "/movements/{id}", "movement.html", s.movement)
	s.form(mux, "/movements", "movement.html", s.keepMovement)
	s.form(mux, "/movements/{id}", "movement.html", s.keepMovement)
	s.act(mux, "/movements/{id}/remove", s.removeMovement)
	s.act(mux, "/movements/kinds", s.addKinds)
	mux.HandleFunc("POST /movements/import", s.importMovements)
	mux.HandleFunc("GET /movements/export.csv", s.exportMovements)
	mux.HandleFunc("GET /movements/export", func(w http.ResponseWriter, r *http.Request) { s.exportMovements(w, asJSON(r)) }) // export.json
	mux.HandleFunc("GET /movements/{id}/file", s.movementFile)
}

// movementsView is the workshop's library.
type movementsView struct {
	Words     string                 `json:"words,omitempty"`
	Says      string                 `json:"says"`
	Movements []*beatwright.Movement `json:"movements"`
	Lines     []movementLine         `json:"-"`
	Generic   []kindOfMovement       `json:"-"`
	// Empty says that the library holds nothing at all.
	Empty bool `json:"-"`
}

type movementLine struct {
	*beatwright.Movement
	Beats, Lift, Has string
}

func (s *Server) movements(r *http.Request) (*shown, error) {
	ms, err := all[*beatwright.Movement](r.Context(), s.bench, beatwright.KindMovement)
	if err != nil {
		return nil, err
	}
	v := movementsView{Words: strings.TrimSpace(r.FormValue("q")), Movements: []*beatwright.Movement{}, Generic: generic, Empty: len(ms) == 0}
	for _, m := range ms {
		has := movementWords(m.Facts)
		if !matches(v.Words, m.Facts.Name, has, m.Source, m.Note, m.Facts.LiftSource) {
			continue
		}
		v.Movements = append(v.Movements, m)
		v.Lines = append(v.Lines, movementLine{m, beatsWords(m.Facts), liftWords(m.Facts), has})
	}
	switch n := len(v.Movements); {
	case v.Empty:
		v.Says = "No movement yet."
	case n == 0:
		v.Says = "No movement fits."
	case n < len(ms):
		v.Says = say.Sentence(inWords(n) + " of " + moved(len(ms)))
	default:
		v.Says = say.Sentence(moved(n))
	}
	return &shown{Title: "Movements", Nav: "Movements", View: v}, nil
}

// movementWords say how a movement is wound and what it holds.
func movementWords(m movement.Movement) string {
	words := m.Complications
	if w, ok := map[movement.Winding]string{movement.Hand: "hand-wound", movement.Automatic: "automatic", movement.Key: "key-wound"}[m.Winding]; ok {
		words = append([]string{w}, words...)
	}
	return strings.Join(words, ", ")
}
