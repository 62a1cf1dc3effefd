package web

import (
	"net/http"

	"beatwright"
	"beatwright/conduct"
	"beatwright/internal/live"
	"beatwright/position"
)

// sittingEndpoints are the API's lines for what is heard now.
func (s *Server) sittingEndpoints() []endpoint {
	return []endpoint{
		{method: "GET", path: "/api/sittings", name: "listSittings", says: "Rounds and sessions of adjusting that are begun and not over.", out: sittingList{}, do: s.apiSittings},
		{method: "POST", path: "/api/jobs/{number}/sittings", name: "beginSitting", says: "Begin a round, or with adjust a session of adjusting; its ID names the sitting.", in: beginJSON{}, out: beatwright.Round{}, status: http.StatusCreated, do: s.apiBegin},
		{method: "GET", path: "/api/sittings/{id}", name: "getSitting", says: "What a sitting hears and wants now; the ID pickup is a trial that keeps nothing. Sound comes over the WebSocket at /live/{id}/sound.", out: live.View{}, do: s.apiSitting},
		{method: "POST", path: "/api/sittings/{id}/acts", name: "act", says: "Do what a person may do now: accept, repeat, skip, wait, longer or stop; or say how the watch lies.", in: actJSON{}, out: live.View{}, status: http.StatusCreated, do: s.apiAct},
	}
}

type sittingList struct {
	Sittings []openRound `json:"sittings"`
}

// beginJSON is what is said of a round before it begins.
type beginJSON struct {
	// Stage is as the job's state says when it is not given.
	Stage beatwright.Stage `json:"stage,omitempty"`
	// Plan are the positions, in order: CH, FH, 12H, 1H30 …
	Plan   []string              `json:"plan,omitempty"`
	Quick  bool                  `json:"quick,omitempty"`
	State  beatwright.State      `json:"state,omitzero"`
	Adjust *beatwright.Adjusting `json:"adjust,omitempty"`
	Who    string                `json:"who,omitempty"`
}

// actJSON is one act; Lies names the position in which the watch lies instead.
type actJSON struct {
	Act  conduct.Act `json:"act,omitempty"`
	Lies string      `json:"lies,omitempty"`
	Who  string      `json:"who,omitempty"`
}

func (s *Server) apiSittings(r *http.Request) (any, error) {
	open, err := s.bench.OpenJobs(r.Context())
	if err != nil {
		return nil, err
	}
	out := sittingList{Sittings: []openRound{}}
	for _, p := range open {
		out.Sittings = append(out.Sittings, openRounds(p)...)
	}
	return out, nil
}

func (s *Server) apiBegin(r *http.Request) (any, error) {
	p, err := s.papers(r)
	if err != nil {
		return nil, err
	}
	var in beginJSON
	if err := body(r, &in); err != nil {
		return nil, err
	}
	n := &beatwright.Round{
		Entry: s.entry(), Job: p.Job.ID, Stage: in.Stage, Plan: in.Plan, Quick: in.Quick, State: in.State, Adjust: in.Adjust, At: s.now(),
	}
	if n.Stage == "" {
		n.Stage = p.Job.DefaultStage()
	}
	if in.Who == "" {
		in.Who = s.who(r)
	}
	return n, s.begin(r, n, in.Who)
}

func (s *Server) apiSitting(r *http.Request) (any, error) {
	st, err := s.sittingOf(r)
	if err != nil {
		return nil, err
	}
	return st.View(), nil
}

func (s *Server) apiAct(r *http.Request) (any, error) {
	st, err := s.sittingOf(r)
	if err != nil {
		return nil, err
	}
	var in actJSON
	if err := body(r, &in); err != nil {
		return nil, err
	}
	if in.Who == "" {
		in.Who = s.who(r)
	}
	if err := act(r, st, in); err != nil {
		return nil, err
	}
	return st.View(), nil
}

// act does an act, of the page or the API.
func act(r *http.Request, st *live.Sitting, in actJSON) error {
	p := position.None
	if in.Lies != "" {
		var err error
		if p, err = position.Parse(in.Lies); err != nil {
			return &beatwright.Error{Code: beatwright.Wrong, Field: "lies", Text: "position", Err: err}
		}
		in.Act = conduct.Lies
	}
	return st.Act(r.Context(), in.Act, p, in.Who)
}
