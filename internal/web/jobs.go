package web

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"beatwright/internal/say"

	"beatwright"
)

// routesLists are the pages over all jobs, owners and movements, and the
// settings.
func (s *Server) routesLists(mux *http.ServeMux) {
	s.page(mux, "/jobs", "jobs.html", s.jobs)
	s.routesOwners(mux)
	s.routesMovements(mux)
	s.routesSettings(mux)
}

// perPage is how many jobs a page of the list shows.
const perPage = 50

// jobsView is the list of jobs, found by words and narrowed by choices.
type jobsView struct {
	Words  string            `json:"words,omitempty"`
	State  string            `json:"state,omitempty"`
	Kind   string            `json:"kind,omitempty"`
	Owner  *beatwright.Owner `json:"owner,omitempty"`
	Says   string            `json:"says"`
	Lines  []beatwright.Line `json:"jobs"`
	States []stateChoice     `json:"-"`
	Kinds  []string          `json:"-"`
	// Asked says that the list is narrowed, Anyone is where it is not to one
	// owner.
	Asked  bool   `json:"-"`
	Anyone string `json:"-"`
	// Newer and Older are the pages before and after this one.
	Newer string `json:"newer,omitempty"`
	Older string `json:"older,omitempty"`
}

// stateChoice is one state to narrow the list to, with how many jobs it holds.
type stateChoice struct {
	Value, Words string
	Count        int
}

func (s *Server) jobs(r *http.Request) (*shown, error) {
	v := jobsView{Words: strings.TrimSpace(r.FormValue("q")), State: r.FormValue("state"), Kind: strings.TrimSpace(r.FormValue("kind")), Kinds: kinds}
	from, err := whole(r, "from", 0, 1<<30)
	if err != nil {
		return nil, err
	}
	q := beatwright.Query{Words: v.Words, Kind: v.Kind, States: statesCalled(v.State), Limit: perPage + 1, Offset: from}
	if id := beatwright.ID(r.FormValue("owner")); id != "" {
		if v.Owner, err = beatwright.Load[*beatwright.Owner](r.Context(), s.bench, beatwright.KindOwner, id); err != nil {
			return nil, err
		}
		q.Owner = id
	}
	if v.Lines, err = s.bench.Find(r.Context(), q); err != nil {
		return nil, err
	}
	counts, err := s.bench.Counts(r.Context())
	if err != nil {
		return nil, err
	}
	v.States = stateChoices(counts)
	if len(v.Lines) > perPage {
		v.Lines = v.Lines[:perPage]
		v.Older = v.address(from + perPage)
	}
	if from > 0 {
		v.Newer = v.address(max(0, from-perPage))
	}
	v.Asked = v.Words != "" || v.State != "" || v.Kind != "" || v.Owner != nil
	anyone := v
	anyone.Owner = nil
	v.Anyone = anyone.address(0)
	v.Says = v.says(from, counts)
	return &shown{Title: "Jobs", Nav: "Jobs", View: v}, nil
}

func (v jobsView) address(from int) string {
	q := url.Values{}
	for name, value := range map[string]string{"q": v.Words, "state": v.State, "kind": v.Kind} {
		if value != "" {
			q.Set(name, value)
		}
	}
	if v.Owner != nil {
		q.Set("owner", string(v.Owner.ID))
	}
	if from > 0 {
		q.Set("from", fmt.Sprint(from))
	}
	return "/jobs?" + q.Encode()
}

// says is the answer to the question asked.
func (v jobsView) says(from int, counts map[beatwright.JobState]int) string {
	all := 0
	for _, n := range counts {
		all += n
	}
	switch {
	case all == 0:
		return "No job yet."
	case len(v.Lines) == 0 && from > 0:
		return "No more jobs."
	case len(v.Lines) == 0:
		return "No job fits."
	case !v.Asked:
		return say.Sentence(inWords(all) + " " + plural(all, "job", "jobs"))
	case v.Older != "" || from > 0:
		return "Jobs that fit, newest first."
	}
	return say.Sentence(inWords(len(v.Lines)) + " of " + inWords(all) + " " + plural(all, "job", "jobs"))
}

// statesCalled are the states that a choice means; none means all.
func statesCalled(choice string) []beatwright.JobState {
	switch choice {
	case "":
		return nil
	case "open":
		return slices.DeleteFunc(slices.Clone(beatwright.JobStates), func(st beatwright.JobState) bool { return !st.Open() })
	}
	return []beatwright.JobState{beatwright.JobState(choice)}
}

func stateChoices(counts map[beatwright.JobState]int) []stateChoice {
	open, all := 0, 0
	for st, n := range counts {
		all += n
		if st.Open() {
			open += n
		}
	}
	out := []stateChoice{{"", "all", all}, {"open", "open", open}}
	for _, st := range beatwright.JobStates {
		if counts[st] > 0 {
			out = append(out, stateChoice{string(st), string(st), counts[st]})
		}
	}
	return out
}
