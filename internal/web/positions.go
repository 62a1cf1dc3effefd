package web

import (
	"encoding/csv"
	"html/template"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"beatwright"
	"beatwright/internal/explain"
	"beatwright/internal/live"
	"beatwright/internal/plot"
	"beatwright/internal/say"
	"beatwright/position"
	"beatwright/round"
)

// positionsView is a watch by position: one stage, or two side by side.
type positionsView struct {
	Number string         `json:"number"`
	Title  string         `json:"title"`
	State  []string       `json:"state"`
	Sides  []*side        `json:"sides"`
	Rows   []positionRow  `json:"-"`
	Sums   []sumRow       `json:"-"`
	Axis   template.HTML  `json:"-"`
	Beat   string         `json:"-"` // the unit of the beat error's columns
	Stages []string       `json:"stages"`
	Grades []string       `json:"-"`
	Grade  string         `json:"grade,omitempty"`
	Notes  []string       `json:"notes,omitempty"`
	All    []hearingEntry `json:"hearings"`
}

// side is one stage as it is shown.
type side struct {
	Stage  string           `json:"stage"`
	When   string           `json:"when,omitempty"`
	Report explain.Report   `json:"report"`
	Links  map[string]links `json:"hearings"`

	Curve        template.HTML `json:"-"`
	CurveWords   []plot.Span   `json:"-"`
	Balance      template.HTML `json:"-"`
	BalanceWords string        `json:"-"`
	BalanceWhy   []string      `json:"-"`
	Later        []string      `json:"-"`
	Verdict      []string      `json:"-"`
	left         bool          // filled and solid
	heard        []live.Placed // of the round shown
	papers       *beatwright.Papers
}

// links are the hearings behind one row, newest last.
type links []string

// Newest is the hearing that a row leads to.
func (l links) Newest() string {
	if len(l) == 0 {
		return ""
	}
	return l[len(l)-1]
}

func (s *Server) positionsPage(r *http.Request) (*shown, error) {
	p, err := s.papers(r)
	if err != nil {
		return nil, err
	}
	v := positionsOf(p, r.FormValue("left"), r.FormValue("right"), r.FormValue("grade"))
	return &shown{Title: p.Job.Number + " positions", Nav: "Jobs", Where: p.Job.Number + " " + p.Watch.Name(), Job: p.Job.ID, View: v}, nil
}

func positionsOf(p *beatwright.Papers, left, right, gradeName string) *positionsView {
	v := &positionsView{Number: p.Job.Number, All: hearingEntries(p), Grade: gradeName}
	placed := live.Heard(p)
	v.Stages = round.NewTable(readingsOf(placed, "")).Stages()
	for i, stage := range chosen(v.Stages, left, right) {
		v.Sides = append(v.Sides, sideOf(p, placed, stage, i == 1 || stage != string(beatwright.AsFound)))
	}
	v.Title = positionsTitle(v)
	if len(v.Sides) == 0 {
		return v
	}
	for _, g := range v.Sides[0].Report.Grades {
		v.Grades = append(v.Grades, g.Grade)
	}
	v.rows(p)
	v.sums()
	v.draw()
	v.words(p)
	return v
}

// chosen are the stages that are shown: those asked for, else as found (or the
// first) and the latest other one.
func chosen(stages []string, left, right string) []string {
	if len(stages) == 0 {
		return nil
	}
	if !slices.Contains(stages, left) {
		left = stages[0]
		if slices.Contains(stages, string(beatwright.AsFound)) {
			left = string(beatwright.AsFound)
		}
	}
	if !slices.Contains(stages, right) && right != "none" {
		for _, st := range beatwright.Stages { // in the order of the work
			if string(st) != left && slices.Contains(stages, string(st)) {
				right = string(st)
			}
		}
	}
	if !slices.Contains(stages, right) || right == left {
		return []string{left}
	}
	return []string{left, right}
}

func readingsOf(placed []live.Placed, stage string) []round.Reading {
	var out []round.Reading
	for _, h := range placed {
		if stage == "" || h.Reading.State.Stage == stage {
			out = append(out, h.Reading)
		}
	}
	return out
}

func sideOf(p *beatwright.Papers, placed []live.Placed, stage string, left bool) *side {
	sd := &side{Stage: stage, Links: map[string]links{}, left: left, papers: p, Report: live.ExplainOnly(p, readingsOf(placed, stage))}
	for _, h := range placed {
		if h.Reading.State.Stage != stage || !sameRound(sd.Report.Main.State, h.Reading.State) {
			continue
		}
		sd.heard = append(sd.heard, h)
		symbol := h.Reading.Position.String()
		sd.Links[symbol] = append(sd.Links[symbol], "/jobs/"+p.Job.Number+"/hearings/"+string(h.Hearing.ID))
	}
	if n := len(sd.heard); n > 0 {
		sd.When = sd.heard[0].Hearing.At.Local().Format("2 January, 15:04")
	}
	return sd
}

// sameRound asks the table itself whether two states are of one round.
func sameRound(a, b round.State) bool {
	return len(round.NewTable([]round.Reading{{Position: position.CH, State: a}, {Position: position.CH, State: b}}).Rounds) == 1
}

func positionsTitle(v *positionsView) string {
	if len(v.Sides) == 0 {
		return "No position has been heard yet."
	}
	n, names := 0, []string{}
	for _, sd := range v.Sides {
		n = max(n, len(sd.Report.Main.Readings))
		names = append(names, sd.Stage)
	}
	return strings.TrimSuffix(say.Sentence(inWords(n)+" "+plural(n, "position", "positions")+", "+strings.Join(names, " beside ")), ".")
}

// hearingEntry is a line in the list of all that was heard.
type hearingEntry struct {
	Path     string           `json:"path"`
	When     string           `json:"when"`
	Position string           `json:"position,omitempty"`
	Stage    beatwright.Stage `json:"stage"`
	State    string           `json:"state,omitempty"`
	Says     string           `json:"says"`
	Placed   bool             `json:"in_table"`
}

// hearingEntries are all hearings of a job, newest first: also those that no
// table can hold.
func hearingEntries(p *beatwright.Papers) []hearingEntry {
	var out []hearingEntry
	for _, h := range slices.Backward(p.Hearings) {
		e := hearingEntry{Path: hearingPath(p, h), When: h.At.Local().Format("2 Jan, 15:04"), Position: h.Position, Stage: p.Stage(h), State: stateWords(h.State)}
		switch r := p.Latest(h.ID); {
		case r == nil:
			e.Says = "not measured"
		case r.Says.Watch != nil:
			e.Says, e.Placed = upperFirst(say.Together(r.Says.Watch)), h.Position != ""
		case r.Says.Refusal != nil:
			e.Says = "No watch: " + r.Says.Refusal.Why
		case r.Says.Fault != nil:
			e.Says = r.Says.Fault.Error
		}
		out = append(out, e)
	}
	return out
}

// positionsTable gives the readings as the table that beatwright explain reads.
func (s *Server) positionsTable(w http.ResponseWriter, r *http.Request) {
	p, err := s.papers(r)
	if err != nil {
		s.trouble(w, r, err)
		return
	}
	w.Header().Set("Content-Type", "text/csv; charset=utf-8")
	w.Header().Set("Content-Disposition", `attachment; filename="`+p.Job.Number+`-positions.csv"`)
	w.Header().Set("Cache-Control", "no-store")
	c := csv.NewWriter(w)
	c.Write(tableHead)
	for _, h := range live.Heard(p) {
		c.Write(tableRow(h.Reading))
	}
	c.Flush()
}

var tableHead = []string{
	"position", "hours_since_full_wind", "chronograph", "rate_s_per_day", "beat_error_ms", "amplitude_deg",
	"rate_u95", "beat_error_u95", "amplitude_u95", "amplitude_standing", "stage", "cased", "temperature_c",
}

// leastDoubt is the least that the table's doubts can say.
const leastDoubt = 1e-6

func tableRow(r round.Reading) []string {
	row := make([]string, len(tableHead))
	set := func(i int, v float64) { row[i] = strconv.FormatFloat(v, 'f', -1, 64) }
	row[0], row[2], row[9], row[10] = r.Position.String(), string(r.State.Chronograph), string(r.Standing), r.State.Stage
	if r.State.Hours != nil {
		set(1, *r.State.Hours)
	}
	if r.Rate != nil {
		set(3, r.Rate.Value)
		set(6, max(r.Rate.Own, leastDoubt))
	}
	if r.BeatError != nil {
		set(4, r.BeatError.Value)
		set(7, max(r.BeatError.Own, leastDoubt))
	}
	if r.Amplitude != nil {
		set(5, r.Amplitude.Value)
		if r.Standing == round.Measured {
			set(8, max(r.Amplitude.Own, leastDoubt))
		}
	}
	if r.State.Cased != nil {
		row[11] = map[bool]string{true: "yes", false: "no"}[*r.State.Cased]
	}
	if r.State.Temperature != nil {
		set(12, *r.State.Temperature)
	}
	return row
}
