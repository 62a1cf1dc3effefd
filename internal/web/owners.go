package web

import (
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"beatwright/internal/say"

	"beatwright"
)

func (s *Server) routesOwners(mux *http.ServeMux) {
	s.page(mux, "/owners", "owners.html", s.owners)
	s.page(mux, "/owners/{id}", "owner.html", s.owner)
	s.form(mux, "/owners", "owner.html", s.keepOwner)
	s.form(mux, "/owners/{id}", "owner.html", s.keepOwner)
}

// ownersView is everyone whose watches are or were here.
type ownersView struct {
	Words  string              `json:"words,omitempty"`
	Says   string              `json:"says"`
	Owners []*beatwright.Owner `json:"owners"`
	Newer  string              `json:"newer,omitempty"`
	Older  string              `json:"older,omitempty"`
}

// owners lists them by name.
func (s *Server) owners(r *http.Request) (*shown, error) {
	owners, err := all[*beatwright.Owner](r.Context(), s.bench, beatwright.KindOwner)
	if err != nil {
		return nil, err
	}
	from, err := whole(r, "from", 0, 1<<30)
	if err != nil {
		return nil, err
	}
	v := ownersView{Words: strings.TrimSpace(r.FormValue("q")), Owners: []*beatwright.Owner{}}
	for _, o := range owners {
		if matches(v.Words, o.Name, o.Phone, o.Mail, o.Address, o.Note) {
			v.Owners = append(v.Owners, o)
		}
	}
	n := len(v.Owners)
	switch {
	case len(owners) == 0:
		v.Says = "No owner yet."
	case n == 0:
		v.Says = "No owner fits."
	case n < len(owners):
		v.Says = say.Sentence(inWords(n) + " of " + inWords(len(owners)) + " " + plural(len(owners), "owner", "owners"))
	default:
		v.Says = say.Sentence(inWords(n) + " " + plural(n, "owner", "owners"))
	}
	slices.SortStableFunc(v.Owners, func(a, b *beatwright.Owner) int {
		return strings.Compare(strings.ToLower(a.Name), strings.ToLower(b.Name))
	})
	from = min(from, n)
	to := min(from+perPage, n)
	at := func(from int) string {
		return "/owners?" + url.Values{"q": {v.Words}, "from": {strconv.Itoa(from)}}.Encode()
	}
	if from > 0 {
		v.Newer = at(max(0, from-perPage))
	}
	if to < n {
		v.Older = at(to)
	}
	v.Owners = v.Owners[from:to]
	return &shown{Title: "Owners", Nav: "Owners", View: v}, nil
}

// matches tells whether each word typed begins a word of the texts.
func matches(typed string, texts ...string) bool {
	words := strings.FieldsFunc(strings.ToLower(strings.Join(texts, " ")), parts)
	for _, want := range strings.FieldsFunc(strings.ToLower(typed), parts) {
		if !slices.ContainsFunc(words, func(w string) bool { return strings.HasPrefix(w, want) }) {
			return false
		}
	}
	return true
}

// parts tells whether a sign parts words.
func parts(r rune) bool { return strings.ContainsRune(" \t\r\n.,;:-/()@", r) }

// ownerView is one owner with what is theirs, as the form shows them.
type ownerView struct {
	Owner *beatwright.Owner `json:"owner"`
	New   bool              `json:"-"`
	filled
	Watches []watchLine       `json:"watches"`
	Jobs    []beatwright.Line `json:"jobs"`
	// More says that there are more jobs than are shown.
	More bool `json:"more,omitempty"`
}

// watchLine is one watch of an owner, and its newest job.
type watchLine struct {
	Watch *beatwright.Watch `json:"watch"`
	Last  string            `json:"last_job,omitempty"`
}

// ownersJobs is how many of the newest jobs an owner's page shows (chosen).
const ownersJobs = 100

func (s *Server) owner(r *http.Request) (*shown, error) {
	o, err := s.ownerOf(r)
	if err != nil {
		return nil, err
	}
	f := filled{Text: map[string]string{"name": o.Name, "phone": o.Phone, "mail": o.Mail, "address": o.Address, "note": o.Note}}
	v := ownerView{Owner: o, filled: f}
	if err := s.theirs(r, &v); err != nil {
		return nil, err
	}
	return &shown{Title: o.Name, Nav: "Owners", Where: o.Name, View: v}, nil
}

// theirs fills in jobs and watches.
func (s *Server) theirs(r *http.Request, v *ownerView) error {
	lines, err := s.bench.Find(r.Context(), beatwright.Query{Owner: v.Owner.ID, Limit: ownersJobs + 1})
	if err != nil {
		return err
	}
	if len(lines) > ownersJobs {
		lines, v.More = lines[:ownersJobs], true
	}
	v.Jobs = lines
	ws, err := all[*beatwright.Watch](r.Context(), s.bench, beatwright.KindWatch)
	if err != nil {
		return err
	}
	for _, w := range ws {
		if w.Owner != v.Owner.ID {
			continue
		}
		line := watchLine{Watch: w}
		last, err := s.bench.Find(r.Context(), beatwright.Query{Watch: w.ID, Limit: 1})
		if err != nil {
			return err
		}
		if len(last) > 0 {
			line.Last = last[0].Number
		}
		v.Watches = append(v.Watches, line)
	}
	return nil
}

func (s *Server) ownerOf(r *http.Request) (*beatwright.Owner, error) {
	return beatwright.Load[*beatwright.Owner](r.Context(), s.bench, beatwright.KindOwner, beatwright.ID(r.PathValue("id")))
}

// keepOwner keeps what the form says of an owner, old or new.
func (s *Server) keepOwner(r *http.Request) (string, *shown, error) {
	o, did := &beatwright.Owner{Entry: s.entry()}, "owner added: "
	isNew := r.PathValue("id") == ""
	if !isNew {
		var err error
		if o, err = s.ownerOf(r); err != nil {
			return "", nil, err
		}
		did = "owner changed: "
		if staleRev(r, o.Header()) {
			return "", nil, beatwright.ErrStale
		}
	}
	f := fill(r, "name", "phone", "mail", "address", "note")
	if f.Text["name"] == "" {
		f.say("name", "is empty; an owner needs a name")
	}
	if m := f.Text["mail"]; m != "" && (!strings.Contains(m, "@") || strings.ContainsAny(m, " \n")) {
		f.say("mail", "is no mail address; want one such as name@place.example, or nothing")
	}
	o.Name, o.Phone, o.Mail, o.Address, o.Note = f.Text["name"], f.Text["phone"], f.Text["mail"], f.Text["address"], f.Text["note"]
	o.House = r.PostFormValue("house") != ""
	if len(f.Wrong) > 0 {
		v := ownerView{Owner: o, New: isNew, filled: f}
		if !isNew {
			if err := s.theirs(r, &v); err != nil {
				return "", nil, err
			}
		}
		return "", &shown{Title: "Not kept yet", Nav: "Owners", Where: o.Name, View: v}, nil
	}
	_, err := s.bench.Apply(r.Context(), beatwright.Change{Who: s.who(r), What: did + o.Name, Put: []beatwright.Thing{o}})
	return "/owners/" + string(o.ID), nil, err
}
