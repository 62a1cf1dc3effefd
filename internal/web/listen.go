package web

import (
	"fmt"
	"net/http"
	"slices"
	"strings"

	"beatwright"
	"beatwright/conduct"
	"beatwright/internal/live"
	"beatwright/internal/say"
	"beatwright/position"
	"beatwright/unit"
)

// listeningView are the rounds that can be gone on with, and the jobs that can be
// heard.
type listeningView struct {
	Rounds []openRound       `json:"rounds"`
	Jobs   []beatwright.Line `json:"jobs"`
}

// openRound is a planned round that is not over.
type openRound struct {
	Number string            `json:"number"`
	Watch  string            `json:"watch"`
	Round  *beatwright.Round `json:"round"`
	Words  string            `json:"words"`
}

func (s *Server) listeningPage(r *http.Request) (*shown, error) {
	open, err := s.bench.OpenJobs(r.Context())
	if err != nil {
		return nil, err
	}
	var v listeningView
	for _, p := range open {
		v.Rounds = append(v.Rounds, openRounds(p)...)
		if p.Job.State.Here() {
			v.Jobs = append(v.Jobs, beatwright.Line{ID: p.Job.ID, Number: p.Job.Number, Watch: p.Watch.Name(), State: p.Job.State})
		}
	}
	return &shown{Title: "Listen", Nav: "Listen", View: v}, nil
}

func openRounds(p *beatwright.Papers) (out []openRound) {
	for _, r := range p.Rounds {
		if r.Ended != nil || len(r.Plan) == 0 && r.Adjust == nil {
			continue
		}
		left := slices.Clone(r.Plan)
		for _, h := range p.Hearings {
			if i := slices.Index(left, h.Position); i >= 0 && h.Round == r.ID && !live.BrokenOff(h) {
				left = slices.Delete(left, i, i+1)
			}
		}
		if r.Adjust == nil && len(left) == 0 {
			continue // all heard; only no one said that it is over
		}
		words := fmt.Sprintf("%s, %d of %d positions heard", r.Stage, len(r.Plan)-len(left), len(r.Plan))
		if r.Adjust != nil {
			words = "adjusting " + r.Adjust.Target
		}
		out = append(out, openRound{p.Job.Number, p.Watch.Name(), r, words})
	}
	return out
}

// listenForm is where a round, or adjusting, is begun.
type listenForm struct {
	Number string      `json:"number"`
	Open   []openRound `json:"open,omitempty"`
	// Quick and Record say how long each kind takes for the positions ticked.
	Picks         []glyph            `json:"positions"`
	Stages        []beatwright.Stage `json:"stages"`
	Stage         beatwright.Stage   `json:"stage"`
	State         beatwright.State   `json:"state"`
	StateWords    string             `json:"state_words,omitempty"`
	Hours         string             `json:"-"`
	Quick, Record string
	Each          [2]float64 `json:"seconds_a_position"` // quick, record
	Chronograph   bool       `json:"chronograph"`
	Calendar      bool       `json:"calendar"`
}

func (s *Server) listenForm(r *http.Request) (*shown, error) {
	p, err := s.papers(r)
	if err != nil {
		return nil, err
	}
	f := features(p)
	v := listenForm{
		Number: p.Job.Number, Open: openRounds(p), Stages: beatwright.Stages, Stage: p.Job.DefaultStage(),
		Chronograph: f.Chronograph != "", Calendar: f.Date || f.Day || f.Month,
	}
	if stage := beatwright.Stage(r.URL.Query().Get("stage")); slices.Contains(beatwright.Stages, stage) {
		v.Stage = stage
	}
	if last := lastOf(p, v.Stage); last != nil {
		v.State, v.StateWords = last.State, stateWords(last.State)
	}
	if v.State.Hours != nil {
		v.Hours = say.Plain(*v.State.Hours)
	}
	v.Picks = glyphs(p)
	quick, record := conduct.Quick().Takes(), conduct.Record(live.FourthTurn(p)).Takes()
	v.Each = [2]float64{float64(quick), float64(record)}
	n := unit.Seconds(len(v.Picks))
	v.Quick, v.Record = "about "+say.Span(n*quick), "about "+say.Span(n*record)
	return &shown{Title: "Hear " + p.Job.Number, Nav: "Listen", Where: p.Job.Number + " " + p.Watch.Name(), Job: p.Job.ID, View: v}, nil
}

// lastOf is the newest round of a stage.
func lastOf(p *beatwright.Papers, stage beatwright.Stage) *beatwright.Round {
	for _, r := range slices.Backward(p.Rounds) {
		if r.Stage == stage {
			return r
		}
	}
	return nil
}

// newRound is a round of the job that an address names, in the state that the form
// gives.
func (s *Server) newRound(r *http.Request) (*beatwright.Round, error) {
	p, err := s.papers(r)
	if err != nil {
		return nil, err
	}
	st, err := stateFrom(r)
	return &beatwright.Round{Entry: s.entry(), Job: p.Job.ID, State: st, At: s.now()}, err
}

// listenBegin begins a round and leads to it.
func (s *Server) listenBegin(r *http.Request) (string, error) {
	n, err := s.newRound(r)
	if err != nil {
		return "", err
	}
	n.Stage, n.Quick = beatwright.Stage(r.FormValue("stage")), r.FormValue("how") != "record"
	for _, symbol := range r.Form["position"] {
		if symbol = strings.TrimSpace(symbol); symbol != "" {
			n.Plan = append(n.Plan, symbol)
		}
	}
	if more := strings.TrimSpace(r.FormValue("more")); more != "" {
		n.Plan = append(n.Plan, strings.FieldsFunc(strings.ToUpper(more), func(c rune) bool { return c == ' ' || c == ',' || c == ';' })...)
	}
	return "/live/" + string(n.ID), s.begin(r, n, s.who(r))
}

// adjustBegin begins a session of adjusting.
func (s *Server) adjustBegin(r *http.Request) (string, error) {
	n, err := s.newRound(r)
	if err != nil {
		return "", err
	}
	a := &beatwright.Adjusting{Target: r.FormValue("target")}
	wanted, err := number(r, "wanted")
	if err != nil {
		return "", err
	}
	if wanted != nil && a.Target == string(conduct.Rate) {
		a.Wanted = *wanted
	}
	n.Stage, n.Quick, n.Adjust = beatwright.WhileAdjusting, true, a
	if a.Target == string(conduct.Poise) {
		n.Plan = symbols([]position.Position{position.H12, position.H3, position.H6, position.H9})
		if r.FormValue("verticals") == "8" {
			n.Plan = symbols(position.EightVertical)
		}
	}
	return "/live/" + string(n.ID), s.begin(r, n, s.who(r))
}

func symbols(ps []position.Position) (out []string) {
	for _, p := range ps {
		out = append(out, p.String())
	}
	return out
}

// begin writes a round that is to be heard.
func (s *Server) begin(r *http.Request, n *beatwright.Round, who string) error {
	for i, symbol := range n.Plan {
		if p, err := position.Parse(symbol); err == nil {
			n.Plan[i] = p.String() // as hearings name it
		}
	}
	what := "round begun: " + string(n.Stage) + ", " + strings.Join(n.Plan, " ")
	poise := n.Adjust != nil && n.Adjust.Target == string(conduct.Poise)
	switch {
	case len(n.Plan) == 0 && (n.Adjust == nil || poise):
		return &beatwright.Error{Code: beatwright.Wrong, Field: "position", Text: "no position is ticked", Do: "tick at least one"}
	case n.Adjust != nil:
		what = "adjusting begun: " + n.Adjust.Target
	}
	if err := n.Check(); err != nil {
		return err
	}
	_, err := s.bench.Apply(r.Context(), beatwright.Change{Who: who, What: what, Job: n.Job, Put: []beatwright.Thing{n}})
	return err
}
