package web

import (
	"net/http"
	"slices"
	"strings"

	"beatwright"
	"beatwright/intake"
)

// watchView is the watch itself: its kind, its marks, its movement.
type watchView struct {
	Number    string                 `json:"job"`
	Watch     *beatwright.Watch      `json:"watch"`
	Movements []*beatwright.Movement `json:"movements"`
	Kinds     []string               `json:"-"`
	Crowns    []tapWord              `json:"-"`
	Paints    []tapWord              `json:"-"`
	// Asked says how the kind was understood, NotRead what was not.
	Asked   string   `json:"understood"`
	NotRead []string `json:"not_understood,omitempty"`
}

// paints are the words for luminous paint.
var paints = map[string]string{"none": "none", "unknown": "old, not known: treated as radium", "radium": "radium", "tritium": "tritium", "later": "later kinds"}

// crowns are where a crown can sit; the empty one is the movement's own.
var crowns = []string{"", "3", "12", "2", "4", "9", "1.5", "2.5", "3.5", "4.5", "6"}

func (s *Server) watch(r *http.Request) (*shown, error) {
	p, err := s.papers(r)
	if err != nil {
		return nil, err
	}
	v := watchView{Number: p.Job.Number, Watch: p.Watch, Kinds: kinds, Asked: askedFor(features(p))}
	_, v.NotRead = intake.ParseKind(p.Watch.What)
	if v.Movements, err = all[*beatwright.Movement](r.Context(), s.bench, beatwright.KindMovement); err != nil {
		return nil, err
	}
	at := ""
	if p.Watch.Crown != nil {
		at = hourWords(*p.Watch.Crown)
	}
	offered := crowns
	if !slices.Contains(offered, at) {
		offered = append(slices.Clone(offered), at)
	}
	for _, hour := range offered {
		words := "at " + hour
		if hour == "" {
			words = "as the movement has it"
		}
		v.Crowns = append(v.Crowns, tapWord{hour, words, hour == at})
	}
	for _, l := range append([]string{""}, beatwright.Lumes...) {
		v.Paints = append(v.Paints, tapWord{l, orElse(paints[l], "not looked at"), l == p.Watch.Lume})
	}
	return &shown{Title: "The watch, " + p.Job.Number, Nav: "Jobs", Where: p.Job.Number + " " + p.Watch.Name(), Job: p.Job.ID, View: v}, nil
}

// keepWatch keeps what the form says of the watch.
func (s *Server) keepWatch(r *http.Request) (string, error) {
	p, err := s.papers(r)
	if err != nil {
		return "", err
	}
	w := *p.Watch
	for field, into := range map[string]*string{
		"kind": &w.What, "marks": &w.Says, "called": &w.Called, "case": &w.Case, "works": &w.Works, "about": &w.About, "lume": &w.Lume, "note": &w.Note,
	} {
		*into = strings.TrimSpace(strings.ReplaceAll(r.PostFormValue(field), "\r\n", "\n"))
	}
	w.Movement = beatwright.ID(r.PostFormValue("movement"))
	if w.Crown, err = number(r, "crown"); err != nil {
		return "", err
	}
	what := watchChanged(*p.Watch, w)
	if what == "" {
		return "/jobs/" + p.Job.Number, nil
	}
	_, err = s.bench.Apply(r.Context(), beatwright.Change{Who: s.who(r), What: what, Job: p.Job.ID, Put: []beatwright.Thing{&w}})
	return "/jobs/" + p.Job.Number, err
}

// watchChanged says for the history what of the watch is now otherwise, empty
// if nothing is.
func watchChanged(a, b beatwright.Watch) string {
	var out []string
	add := func(was, is, words string) {
		switch {
		case was == is:
		case is == "":
			out = append(out, "no "+words)
		default:
			out = append(out, words+" "+oneLine(is))
		}
	}
	add(a.What, b.What, "kind")
	add(a.Called, b.Called, "name")
	add(a.Says, b.Says, "marks")
	add(a.Case, b.Case, "case number")
	add(a.Works, b.Works, "movement number")
	add(a.About, b.About, "made about")
	add(a.Lume, b.Lume, "paint")
	add(a.Note, b.Note, "note")
	if a.Movement != b.Movement {
		out = append(out, "another movement")
	}
	if hourOf(a.Crown) != hourOf(b.Crown) {
		out = append(out, "crown "+orElse(hourOf(b.Crown), "as the movement’s"))
	}
	if len(out) == 0 {
		return ""
	}
	return "the watch: " + strings.Join(out, ", ")
}

func hourOf(h *float64) string {
	if h == nil {
		return ""
	}
	return "at " + hourWords(*h)
}
