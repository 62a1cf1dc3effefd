package web

import (
	"net/http"
	"strings"

	"beatwright"
)

// ownersView is everyone whose watches are or were here.
type ownersView struct {
	Words  string              `json:"words,omitempty"`
	Says   string              `json:"says"`
	Owners []*beatwright.Owner `json:"owners"`
}

func (s *Server) owners(r *http.Request) (*shown, error) {
	owners, err := all[*beatwright.Owner](r.Context(), s.bench, beatwright.KindOwner)
	if err != nil {
		return nil, err
	}
	v := ownersView{Words: strings.TrimSpace(r.FormValue("q"))}
	for _, o := range owners {
		if matches(v.Words, o.Name, o.Phone, o.Mail, o.Address, o.Note) {
			v.Owners = append(v.Owners, o)
		}
	}
	switch {
	case len(owners) == 0:
		v.Says = "No owner yet."
	case len(v.Owners) == 0:
		v.Says = "No owner fits."
	default:
		v.Says = sentence(inWords(len(v.Owners)) + " " + plural(len(v.Owners), "owner", "owners"))
	}
	return &shown{Title: "Owners", Nav: "Owners", View: v}, nil
}

// matches tells whether each word typed begins a word of the texts.
func matches(typed string, texts ...string) bool {
	words := strings.Fields(strings.ToLower(strings.Join(texts, " ")))
	for want := range strings.FieldsSeq(strings.ToLower(typed)) {
		found := false
		for _, w := range words {
			found = found || strings.HasPrefix(w, want)
		}
		if !found {
			return false
		}
	}
	return true
}

// ownerView is one owner with what is theirs.
type ownerView struct {
	Owner *beatwright.Owner `json:"owner"`
	Jobs  []beatwright.Line `json:"jobs"`
}

func (s *Server) owner(r *http.Request) (*shown, error) {
	o, err := s.ownerOf(r)
	if err != nil {
		return nil, err
	}
	lines, err := s.bench.Find(r.Context(), beatwright.Query{Owner: o.ID, Limit: 500})
	if err != nil {
		return nil, err
	}
	return &shown{Title: o.Name, Nav: "Owners", Where: o.Name, View: ownerView{o, lines}}, nil
}

func (s *Server) ownerOf(r *http.Request) (*beatwright.Owner, error) {
	return beatwright.Load[*beatwright.Owner](r.Context(), s.bench, beatwright.KindOwner, beatwright.ID(r.PathValue("id")))
}

func (s *Server) addOwner(r *http.Request) (string, error) {
	o := &beatwright.Owner{Entry: s.entry()}
	return s.keepOwner(r, o, "owner added: ")
}

func (s *Server) changeOwner(r *http.Request) (string, error) {
	o, err := s.ownerOf(r)
	if err != nil {
		return "", err
	}
	return s.keepOwner(r, o, "owner changed: ")
}

func (s *Server) keepOwner(r *http.Request, o *beatwright.Owner, did string) (string, error) {
	o.Name, o.Phone, o.Mail = strings.TrimSpace(r.PostFormValue("name")), r.PostFormValue("phone"), r.PostFormValue("mail")
	o.Address, o.Note, o.House = r.PostFormValue("address"), r.PostFormValue("note"), r.PostFormValue("house") != ""
	_, err := s.bench.Apply(r.Context(), beatwright.Change{Who: s.who(r), What: did + o.Name, Put: []beatwright.Thing{o}})
	return "/owners/" + string(o.ID), err
}
