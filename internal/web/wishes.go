package web

import (
	"net/http"
	"slices"
	"strings"

	"beatwright"
	"beatwright/intake"
)

// wishesView is what may and may not be done, what came with the watch, and,
// for a prospect, what its seller claims.
type wishesView struct {
	Number string `json:"job"`
	// Owner is whose words they are.
	Owner    string         `json:"owner,omitempty"`
	Wishes   []wishAsked    `json:"wishes"`
	Custody  []custodyAsked `json:"custody"`
	Other    string         `json:"custody_other,omitempty"`
	Limit    string         `json:"limit,omitempty"`
	Value    string         `json:"value,omitempty"`
	Insured  string         `json:"insured,omitempty"`
	Deadline string         `json:"deadline,omitempty"`
	Why      string         `json:"deadline_why,omitempty"`
	Currency string         `json:"currency"`
	Prospect bool           `json:"prospect,omitempty"`
	Claims   []tapWord      `json:"claims,omitempty"`
	Open     int            `json:"not_asked"`
}

// wishAsked is one wish with its choices. What does least harm holds until the
// owner has said otherwise.
type wishAsked struct {
	ID      string    `json:"id"`
	Words   string    `json:"words"`
	Kind    string    `json:"kind"`
	Choices []tapWord `json:"choices,omitempty"`
	Unasked string    `json:"unasked"`
	Tell    string    `json:"tell,omitempty"`
	Said    string    `json:"said,omitempty"`
	// Answered is set where the owner said something.
	Answered bool `json:"answered,omitempty"`
}

type custodyAsked struct {
	ID    string `json:"id"`
	Words string `json:"words"`
	On    bool   `json:"on,omitempty"`
}

// came are what mostly comes with a watch; anything else is written down.
var came = []string{"box", "papers", "strap or bracelet", "spare links", "buckle", "key", "tools", "earlier bill"}

func (s *Server) wishes(r *http.Request) (*shown, error) {
	p, err := s.papers(r)
	if err != nil {
		return nil, err
	}
	c, w := s.catalogue(r.Context()), p.Job.Wishes
	v := wishesView{
		Number: p.Job.Number, Insured: w.Insured, Why: w.Why, Deadline: isoDate(w.Deadline),
		Currency: s.workshop(r.Context()).Currency, Prospect: p.Job.Prospect != nil,
	}
	if p.Owner != nil {
		v.Owner = p.Owner.Name
	}
	if w.Limit != nil {
		v.Limit, v.Currency = w.Limit.Amount(), w.Limit.Currency
	}
	if w.Value != nil {
		v.Value = w.Value.Amount()
	}
	for _, wish := range c.Wishes(features(p)) {
		asked := wishOf(wish, w)
		if !asked.Answered {
			v.Open++
		}
		v.Wishes = append(v.Wishes, asked)
	}
	v.Custody, v.Other = custodyOf(p.Job.Custody)
	if p.Job.Prospect != nil {
		for _, cl := range c.Claims(features(p)) {
			v.Claims = append(v.Claims, tapWord{cl.ID, cl.Words, slices.Contains(p.Job.Prospect.Claims, cl.ID)})
		}
	}
	return &shown{Title: "Wishes and custody, " + p.Job.Number, Nav: "Jobs", Where: p.Job.Number + " " + p.Watch.Name(), Job: p.Job.ID, View: v}, nil
}

func wishOf(wish intake.Wish, w beatwright.Wishes) wishAsked {
	out := wishAsked{ID: wish.ID, Words: wish.Words, Kind: wish.Kind, Unasked: wish.Unasked, Tell: wish.Tell, Said: w.Words[wish.ID]}
	for _, a := range wish.Answers {
		out.Choices = append(out.Choices, tapWord{a.ID, a.Words, w.Answers[wish.ID] == a.ID})
	}
	if wish.Kind == "sign" {
		out.Choices = []tapWord{{"signed", "signed", w.Answers[wish.ID] == "signed"}}
	}
	out.Answered = wished(w, wish.ID) || wish.ID == "wi.value" && w.Value != nil
	return out
}

// custodyOf parts what came into what can be ticked and the rest.
func custodyOf(kept []string) (ticks []custodyAsked, other string) {
	var rest []string
	for _, words := range came {
		ticks = append(ticks, custodyAsked{strings.ReplaceAll(words, " ", "-"), words, slices.Contains(kept, words)})
	}
	for _, words := range kept {
		if !slices.Contains(came, words) {
			rest = append(rest, words)
		}
	}
	return ticks, strings.Join(rest, ", ")
}

// keepWishes keeps the whole page in one change.
func (s *Server) keepWishes(r *http.Request) (string, error) {
	p, err := s.papers(r)
	if err != nil {
		return "", err
	}
	before := wishCount(p.Job.Wishes)
	if err := s.readWishes(r, p); err != nil {
		return "", err
	}
	what := "wishes and custody"
	if n := wishCount(p.Job.Wishes); n != before {
		what += ": " + inWords(n) + " " + plural(n, "wish", "wishes") + " said"
	}
	_, err = s.bench.Apply(r.Context(), beatwright.Change{Who: s.who(r), What: what, Job: p.Job.ID, Put: []beatwright.Thing{p.Job}})
	return "/jobs/" + p.Job.Number + "/wishes", err
}

func wishCount(w beatwright.Wishes) int {
	n := len(w.Answers)
	if w.Limit != nil {
		n++
	}
	if w.Deadline != nil {
		n++
	}
	return n
}

// readWishes reads the form into the job.
func (s *Server) readWishes(r *http.Request, p *beatwright.Papers) error {
	j, c := p.Job, s.catalogue(r.Context())
	w := beatwright.Wishes{Answers: map[string]string{}, Words: map[string]string{}, Insured: strings.TrimSpace(r.PostFormValue("insured")), Why: strings.TrimSpace(r.PostFormValue("why"))}
	for _, wish := range c.Wishes(features(p)) {
		if a := r.PostFormValue(wish.ID); a != "" {
			if !slices.ContainsFunc(wishOf(wish, w).Choices, func(ch tapWord) bool { return ch.ID == a }) {
				return &beatwright.Error{Code: beatwright.Wrong, Field: wish.ID, Text: wish.Words + " “" + a + "” is no answer to it", Do: "nothing was kept; choose one of those shown"}
			}
			w.Answers[wish.ID] = a
		}
		if said := strings.TrimSpace(r.PostFormValue("said-" + wish.ID)); said != "" {
			w.Words[wish.ID] = said
		}
	}
	var err error
	if w.Limit, err = s.money(r, "limit"); err != nil {
		return err
	}
	if w.Value, err = s.money(r, "value"); err != nil {
		return err
	}
	if w.Deadline, err = dateOf(r, "deadline"); err != nil {
		return err
	}
	j.Wishes, j.Custody = w, custodyFrom(r)
	if j.Prospect != nil {
		j.Prospect.Claims = r.PostForm["claim"]
	}
	return nil
}

func custodyFrom(r *http.Request) []string {
	out := slices.DeleteFunc(slices.Clone(r.PostForm["custody"]), func(s string) bool { return !slices.Contains(came, s) })
	for other := range strings.SplitSeq(r.PostFormValue("other"), ",") {
		if other = strings.TrimSpace(other); other != "" && !slices.Contains(out, other) {
			out = append(out, other)
		}
	}
	return out
}
