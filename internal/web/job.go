package web

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"

	"beatwright"
	"beatwright/intake"
	"beatwright/internal/say"
	"beatwright/movement"
)

func (s *Server) routesJob(mux *http.ServeMux) {
	s.page(mux, "/jobs/{number}", "job.html", s.job)
	s.act(mux, "/jobs/{number}/state", s.setState)
	s.act(mux, "/jobs/{number}/notes", s.addNote)
	s.act(mux, "/jobs/{number}/moves", s.addMove)
	s.act(mux, "/jobs/{number}/parts/{finding}", s.settlePart)
	s.act(mux, "/jobs/{number}/handchecks", s.addHandCheck)
}

// papers gives all there is of the job an address names.
func (s *Server) papers(r *http.Request) (*beatwright.Papers, error) {
	return s.bench.Job(r.Context(), r.PathValue("number"))
}

// jobView is one job in the order of the work.
type jobView struct {
	*beatwright.Papers
	Number string `json:"number"`
	Lead   string `json:"lead"`
	// Steps are the spine: what is done takes a line, the present is open.
	Steps    []step                `json:"steps"`
	Facts    []fact                `json:"facts"`
	Cautions []intake.Caution      `json:"cautions,omitempty"`
	History  []beatwright.Done     `json:"history"`
	Open     []*beatwright.Finding `json:"open,omitempty"`
	// Next are the states that the job can go to by one press.
	Next     []nextState           `json:"-"`
	Place    *beatwright.Move      `json:"place,omitempty"`
	States   []beatwright.JobState `json:"-"`
	Stages   []beatwright.Stage    `json:"-"`
	Stage    beatwright.Stage      `json:"stage"`
	Wishes   []wishLine            `json:"wishes,omitempty"`
	Verdicts []intake.Verdict      `json:"claims,omitempty"`
	Checks   []handLine            `json:"hand_checks,omitempty"`
	Glyphs   []glyph               `json:"-"`
	Earlier  []beatwright.Line     `json:"earlier,omitempty"`
	Pics     []*beatwright.Picture `json:"-"`
	PicCount int                   `json:"pictures_in_all"`
	ToNote   []*beatwright.Note    `json:"-"`
}

// nextState is where a job goes next, as what one presses.
type nextState struct {
	State beatwright.JobState
	Words string
}

// nextStates are the usual next steps from each state; the list of states at
// the end of the page has the others.
var nextStates = map[beatwright.JobState][]nextState{
	beatwright.Received: {{beatwright.Quoted, "Quoted"}, {beatwright.Agreed, "Agreed"}},
	beatwright.Quoted:   {{beatwright.Agreed, "Agreed"}, {beatwright.Declined, "Not wanted"}},
	beatwright.Agreed:   {{beatwright.InWork, "Begin the work"}},
	beatwright.InWork:   {{beatwright.OnTrial, "On trial"}, {beatwright.Ready, "Ready"}},
	beatwright.OnTrial:  {{beatwright.Ready, "Ready"}, {beatwright.InWork, "Back to work"}},
}

type fact struct{ Name, Words string }

type handLine struct{ Words, Rate, Note string }

func (s *Server) job(r *http.Request) (*shown, error) {
	p, err := s.papers(r)
	if err != nil {
		return nil, err
	}
	v := jobView{Papers: p, Number: p.Job.Number, Lead: lead(p), Open: p.OpenParts(), Place: p.Place("watch"), States: beatwright.JobStates, Stages: beatwright.Stages, Stage: p.Job.DefaultStage()}
	v.Steps = steps(p)
	v.Next = nextStates[p.Job.State]
	v.Facts = facts(p)
	v.Cautions = jobCautions(p)
	v.Glyphs = glyphs(p)
	v.Earlier = p.Others
	v.Wishes = wishLines(p)
	v.Verdicts = s.verdicts(r.Context(), p)
	v.Checks = handLines(p)
	v.PicCount = len(p.Pictures)
	v.Pics = p.Pictures[max(0, len(p.Pictures)-6):]
	if v.History, err = s.bench.History(r.Context(), p.Job.ID, 0, 12); err != nil {
		return nil, err
	}
	return &shown{Title: p.Job.Number + " " + p.Watch.Name(), Nav: "Jobs", Where: p.Job.Number, Job: p.Job.ID, View: v}, nil
}

// lead says what the watch is and whose.
func lead(p *beatwright.Papers) string {
	var parts []string
	if p.Watch.What != "" && p.Watch.What != p.Watch.Name() {
		parts = append(parts, p.Watch.What)
	}
	if p.Watch.About != "" {
		parts = append(parts, "about "+p.Watch.About)
	}
	out := strings.Join(parts, ", ")
	if p.Owner != nil {
		if p.Owner.House {
			return join(out, "the workshop’s own")
		}
		return join(out, "for "+p.Owner.Name)
	}
	return out
}

func join(a, b string) string {
	if a == "" {
		return b
	}
	return a + "; " + b
}

// facts are what is known of the movement and the watch, in lines.
func facts(p *beatwright.Papers) []fact {
	var out []fact
	add := func(name, words string) {
		if words != "" {
			out = append(out, fact{name, words})
		}
	}
	if p.Movement != nil {
		m := p.Movement.Facts
		add("Movement", m.Name)
		add("Beats", beatsWords(m))
		add("Lift angle", liftWords(m))
		add("Holds", strings.Join(m.Complications, ", "))
		add("Source", p.Movement.Source)
	}
	add("Marks", strings.ReplaceAll(p.Watch.Says, "\n", "; "))
	add("Case", p.Watch.Case)
	add("Movement no.", p.Watch.Works)
	add("Paint", map[string]string{"none": "none", "unknown": "old, not measured", "radium": "radium", "tritium": "tritium", "later": "later kind"}[p.Watch.Lume])
	return out
}

func beatsWords(m movement.Movement) string {
	if m.BeatsPerHour == nil {
		return ""
	}
	s := say.Count(int(*m.BeatsPerHour)) + " an hour"
	if m.Escapement != "" {
		s += ", " + string(m.Escapement)
	}
	return s
}

func liftWords(m movement.Movement) string {
	l, u, standing, ok := m.KnownLift()
	if !ok {
		return "not known; 52 ± 4° is assumed"
	}
	return say.With(float64(l), float64(u), "°") + ", " + string(standing)
}

// jobCautions are those that hold for the watch as long as it is here.
func jobCautions(p *beatwright.Papers) []intake.Caution {
	var ids []string
	if p.Watch.Lume == "unknown" || p.Watch.Lume == "radium" {
		ids = append(ids, "p.radium")
	}
	if p.Watch.Lume == "tritium" {
		ids = append(ids, "p.tritium")
	}
	f := features(p)
	if f.Alarm {
		ids = append(ids, "w.alarm_order")
	}
	if f.Calendar() {
		ids = append(ids, "w.calendar_hours")
	}
	if f.Chronograph != intake.NoChronograph {
		ids = append(ids, "w.chrono_reset")
	}
	return intake.Default().Cautions(ids...)
}

// setState moves the job on, or back.
func (s *Server) setState(r *http.Request) (string, error) {
	p, err := s.papers(r)
	if err != nil {
		return "", err
	}
	to := beatwright.JobState(r.PostFormValue("state"))
	if err := s.moveOn(r.Context(), p, to, s.who(r)); err != nil {
		return "", err
	}
	return "/jobs/" + p.Job.Number, nil
}

func (s *Server) moveOn(ctx context.Context, p *beatwright.Papers, to beatwright.JobState, who string) error {
	if to == beatwright.Returned {
		if open := p.OpenParts(); len(open) > 0 {
			return &beatwright.Error{
				Code: beatwright.Wrong, Field: "state",
				Text: fmt.Sprintf("%d makeshift or foreign %s open: %s", len(open), plural(len(open), "part still stands", "parts still stand"), open[0].What),
				Do:   "replace it, or accept it with a reason, then hand back",
			}
		}
	}
	now := s.now()
	j := p.Job
	j.State, j.Since = to, &now
	if to.Here() && j.Received == nil {
		j.Received = &now
	}
	j.Ended = nil
	if !to.Open() {
		j.Ended = &now
	}
	_, err := s.bench.Apply(ctx, beatwright.Change{Who: who, What: "now " + string(to), Job: j.ID, Put: []beatwright.Thing{j}})
	return err
}

func (s *Server) entry() beatwright.Entry { return beatwright.Entry{ID: beatwright.NewID(s.now())} }

func (s *Server) addNote(r *http.Request) (string, error) {
	p, err := s.papers(r)
	if err != nil {
		return "", err
	}
	n := &beatwright.Note{Entry: s.entry(), Job: p.Job.ID, Text: strings.TrimSpace(r.PostFormValue("text")), At: s.now()}
	what := "noted: " + n.Text
	if d := r.PostFormValue("due"); d != "" {
		at, err := time.ParseInLocation("2006-01-02T15:04", d, time.Local)
		if err != nil {
			at, err = time.ParseInLocation(time.DateOnly, d, time.Local)
		}
		if err != nil {
			return "", &beatwright.Error{Code: beatwright.Wrong, Field: "due", Text: fmt.Sprintf("due: %q is no day", d)}
		}
		n.Due, what = &at, "to do: "+n.Text
	}
	_, err = s.bench.Apply(r.Context(), beatwright.Change{Who: s.who(r), What: what, Job: p.Job.ID, Put: []beatwright.Thing{n}})
	return "/jobs/" + p.Job.Number, err
}

func (s *Server) addMove(r *http.Request) (string, error) {
	p, err := s.papers(r)
	if err != nil {
		return "", err
	}
	m := &beatwright.Move{
		Entry: s.entry(), Job: p.Job.ID, What: orElse(strings.TrimSpace(r.PostFormValue("what")), "watch"),
		To: strings.TrimSpace(r.PostFormValue("to")), Out: r.PostFormValue("out") != "", At: s.now(), Who: s.who(r), Note: r.PostFormValue("note"),
	}
	if last := p.Place(m.What); last != nil {
		m.From = last.To
	}
	if m.DueBack, err = dateOf(r, "due_back"); err != nil {
		return "", err
	}
	_, err = s.bench.Apply(r.Context(), beatwright.Change{Who: m.Who, What: m.What + " moved to " + m.To, Job: p.Job.ID, Put: []beatwright.Thing{m}})
	return "/jobs/" + p.Job.Number, err
}

func orElse(s, other string) string {
	if s == "" {
		return other
	}
	return s
}

// settlePart takes a makeshift or foreign part off the open list.
func (s *Server) settlePart(r *http.Request) (string, error) {
	p, err := s.papers(r)
	if err != nil {
		return "", err
	}
	i := slices.IndexFunc(p.Findings, func(f *beatwright.Finding) bool { return string(f.ID) == r.PathValue("finding") })
	if i < 0 {
		return "", beatwright.NotFound("finding", r.PathValue("finding"))
	}
	f := p.Findings[i]
	f.Settled = &beatwright.Settled{How: r.PostFormValue("how"), Why: strings.TrimSpace(r.PostFormValue("why")), At: s.now()}
	what := f.Settled.How + ": " + f.What
	_, err = s.bench.Apply(r.Context(), beatwright.Change{Who: s.who(r), What: what, Job: p.Job.ID, Put: []beatwright.Thing{f}})
	return "/jobs/" + p.Job.Number + "#open", err
}
