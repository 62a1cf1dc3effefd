package web

import (
	"html/template"
	"net/http"
	"slices"
	"strconv"
	"time"

	"beatwright"
	"beatwright/internal/plot"
	"beatwright/internal/say"
)

// dueView is the first page: what wants doing, over all jobs.
type dueView struct {
	Says    []string      `json:"says"`
	Today   []dueRow      `json:"today"`
	Week    []dueRow      `json:"week"`
	Waiting []dueRow      `json:"waiting"`
	Bench   []benchRow    `json:"bench"`
	Jobs    int           `json:"jobs"`
	Head    template.HTML `json:"-"`
	// Empty says that there is no job at all yet.
	Empty bool `json:"empty,omitempty"`
}

type dueRow struct {
	What   string        `json:"what"`
	Why    string        `json:"why,omitempty"`
	Number string        `json:"job"`
	Watch  string        `json:"watch"`
	From   time.Time     `json:"from,omitzero"`
	To     time.Time     `json:"to,omitzero"`
	AllDay bool          `json:"all_day,omitempty"`
	Late   bool          `json:"late,omitempty"`
	Since  string        `json:"since,omitempty"`
	Note   beatwright.ID `json:"note,omitempty"`
	Axis   template.HTML `json:"-"`
	// Words are the axis in words.
	Words string `json:"when,omitempty"`
}

type benchRow struct {
	State beatwright.JobState `json:"state"`
	Count int                 `json:"count"`
	Words string              `json:"words"`
}

func (s *Server) due(r *http.Request) (*shown, error) {
	open, err := s.bench.OpenJobs(r.Context())
	if err != nil {
		return nil, err
	}
	counts, err := s.bench.Counts(r.Context())
	if err != nil {
		return nil, err
	}
	now := s.now().Local()
	shop := s.workshop(r.Context())
	d := beatwright.WhatIsDue(now, open)
	axis := dayAxis(now, shop)
	v := dueView{Says: dueSays(d, now, len(counts)), Jobs: len(open), Empty: len(counts) == 0, Head: axis.Head().Inline("hours")}
	for i, item := range d.Today {
		row := rowOf(item, now)
		due := windowOf(item, now)
		row.Axis, row.Words = axis.Row(due).Inline("due"+strconv.Itoa(i)), axis.Words(due).Sentence
		v.Today = append(v.Today, row)
	}
	for _, item := range d.Week {
		v.Week = append(v.Week, rowOf(item, now))
	}
	for _, item := range d.Waiting {
		v.Waiting = append(v.Waiting, rowOf(item, now))
	}
	v.Bench = benchRows(counts)
	return &shown{Title: "Due", Nav: "Due", Where: now.Format("Monday 2 January 2006"), View: v}, nil
}

func dayAxis(now time.Time, w *beatwright.Workshop) plot.Day {
	at := func(hour int) time.Time {
		return time.Date(now.Year(), now.Month(), now.Day(), hour, 0, 0, 0, now.Location())
	}
	return plot.Day{From: at(w.DayFrom), To: at(w.DayTo), Now: now}
}

func windowOf(item beatwright.DueItem, now time.Time) plot.Due {
	switch {
	case item.AllDay && !item.Late(now):
		return plot.Due{}
	case item.AllDay:
		return plot.Due{To: item.To.AddDate(0, 0, 1)}
	}
	return plot.Due{From: item.From, To: item.To}
}

func rowOf(item beatwright.DueItem, now time.Time) dueRow {
	row := dueRow{
		What: item.What, Why: item.Why, Number: item.Number, Watch: item.Watch.Name(),
		From: item.From, To: item.To, AllDay: item.AllDay, Note: item.Note,
	}
	if !item.Since.IsZero() {
		row.Since = daysSince(item.Since, now)
		return row
	}
	row.Late = item.Late(now)
	return row
}

func daysSince(t, now time.Time) string {
	switch n := beatwright.On(t.In(now.Location())).Days(beatwright.On(now)); n {
	case 0:
		return "today"
	case 1:
		return "1 day"
	default:
		return say.Count(n) + " days"
	}
}

// dueSays is the answer as a sentence, in lines as it should break.
func dueSays(d beatwright.Due, now time.Time, states int) []string {
	if states == 0 {
		return []string{"No job yet."}
	}
	late := 0
	for _, item := range d.Today {
		if item.Late(now) {
			late++
		}
	}
	n := len(d.Today)
	if n == 0 {
		if len(d.Week) > 0 {
			return []string{"Nothing is due.", "The next thing is " + d.Week[0].From.In(now.Location()).Format("Monday") + "."}
		}
		return []string{"Nothing is due."}
	}
	first := say.Sentence(inWords(n) + " " + plural(n, "thing wants", "things want") + " doing today")
	switch {
	case late == 0:
		return []string{first}
	case late == n && n == 1:
		return []string{"One thing wants doing today;", "it is late."}
	case late == n:
		return []string{first[:len(first)-1] + ";", "all are late."}
	}
	return []string{first[:len(first)-1] + ";", inWords(late) + " " + plural(late, "is", "are") + " late."}
}

// benchRows say how many jobs stand where, in the order of the work.
func benchRows(counts map[beatwright.JobState]int) []benchRow {
	words := map[beatwright.JobState]string{
		beatwright.Considered: "only considered", beatwright.Received: "received, to be looked at and heard",
		beatwright.Quoted: "quoted", beatwright.Agreed: "agreed, to be begun", beatwright.InWork: "in work",
		beatwright.OnTrial: "on trial", beatwright.Ready: "ready to be handed back",
	}
	var rows []benchRow
	for _, st := range beatwright.JobStates {
		if w, ok := words[st]; ok && counts[st] > 0 {
			rows = append(rows, benchRow{st, counts[st], w})
		}
	}
	return slices.Clip(rows)
}
