package beatwright

import (
	"fmt"
	"slices"
	"time"
)

// Due is what wants doing, over all jobs.
type Due struct {
	// Today are what wants doing today or is late, in the order of time;
	// Week what comes in the seven days after; Waiting what others must do.
	Today, Week, Waiting []DueItem
}

// DueItem is one thing that wants doing.
type DueItem struct {
	Job    *Job
	Watch  *Watch
	Number string
	// What is said verb first; Why says where it comes from.
	What, Why string
	// From and To are when; AllDay says that the hour does not matter.
	From, To time.Time
	AllDay   bool
	// Since is when the waiting began.
	Since time.Time
	// Note is the note that asks for it, if one does.
	Note ID
	// Hear says that it is done by hearing the watch.
	Hear bool
}

// Late tells whether the time for it has passed.
func (d DueItem) Late(now time.Time) bool {
	if d.AllDay {
		return On(d.To.In(now.Location())).Before(On(now))
	}
	return d.To.Before(now)
}

// roundWithin is how far from 24 hours after full wind a reading still counts
// as one of the run-down (chosen: half an hour, a fiftieth of the day).
const roundWithin = 30 * time.Minute

// roundLapses is when a 24-hour round that was missed is no longer asked for:
// the watch has run down further than the round is about (chosen).
const roundLapses = 12 * time.Hour

// WhatIsDue looks through the open jobs.
func WhatIsDue(now time.Time, open []*Papers) Due {
	var all []DueItem
	var d Due
	for _, p := range open {
		all = append(all, p.dueByNote()...)
		all = append(all, p.dueByDeadline(now)...)
		all = append(all, p.dueByRound(now)...)
		all = append(all, p.dueByState(now)...)
		d.Waiting = append(d.Waiting, p.waiting(now)...)
	}
	tomorrow := On(now).In(now.Location()).AddDate(0, 0, 1)
	week := tomorrow.AddDate(0, 0, 7)
	for _, item := range all {
		switch {
		case item.From.Before(tomorrow):
			d.Today = append(d.Today, item)
		case item.From.Before(week):
			d.Week = append(d.Week, item)
		}
	}
	byTime := func(a, b DueItem) int {
		if late := a.Late(now); late != b.Late(now) {
			if late {
				return -1
			}
			return 1
		}
		if a.AllDay != b.AllDay {
			if a.AllDay {
				return 1
			}
			return -1
		}
		return a.To.Compare(b.To)
	}
	slices.SortStableFunc(d.Today, byTime)
	slices.SortStableFunc(d.Week, func(a, b DueItem) int { return a.From.Compare(b.From) })
	slices.SortStableFunc(d.Waiting, func(a, b DueItem) int { return a.Since.Compare(b.Since) })
	return d
}

func (p *Papers) due(what, why string) DueItem {
	return DueItem{Job: p.Job, Watch: p.Watch, Number: p.Job.Number, What: what, Why: why}
}

func (p *Papers) allDay(day Date, now time.Time, what, why string) DueItem {
	item := p.due(what, why)
	item.From = day.In(now.Location())
	item.To, item.AllDay = item.From, true
	return item
}

func (p *Papers) dueByNote() []DueItem {
	var out []DueItem
	for _, n := range p.Notes {
		if n.Due == nil || n.Done != nil {
			continue
		}
		item := p.due(n.Text, "noted "+n.At.Format("2 January"))
		item.Note, item.From, item.To = n.ID, *n.Due, *n.Due
		if n.Due.Hour() == 0 && n.Due.Minute() == 0 {
			item.AllDay = true
		} else {
			item.From = n.Due.Add(-time.Hour)
		}
		out = append(out, item)
	}
	return out
}

func (p *Papers) dueByDeadline(now time.Time) []DueItem {
	var out []DueItem
	if d := p.Job.Wishes.Deadline; d != nil && p.Job.State != Considered {
		why := "promised for " + d.In(time.UTC).Format("2 January")
		if p.Job.Wishes.Why != "" {
			why += ": " + p.Job.Wishes.Why
		}
		what := "Hand back the watch"
		if p.Job.State != Ready {
			what = "Finish and hand back"
		}
		out = append(out, p.allDay(*d, now, what, why))
	}
	if pr := p.Job.Prospect; pr != nil && pr.Ends != nil && p.Job.State == Considered {
		out = append(out, p.allDay(*pr.Ends, now, "Decide whether to buy", "the offer ends then"))
	}
	for _, m := range p.Away() {
		if m.DueBack != nil {
			out = append(out, p.allDay(*m.DueBack, now, "Ask after the "+m.What, "with "+m.To+", expected back then"))
		}
	}
	return out
}

// dueByRound asks for the round 24 hours after full wind.
func (p *Papers) dueByRound(now time.Time) []DueItem {
	var out []DueItem
	for _, r := range p.Rounds {
		wound, known := r.FullWind()
		if !known || r.Quick || *r.State.Hours > 6 || p.HeardIn(r.ID) < 2 || p.hasRunDown(r.Stage, wound) {
			continue
		}
		day := wound.Add(24 * time.Hour)
		if now.After(day.Add(roundLapses)) {
			continue
		}
		item := p.due("Hear the 24 h round", fmt.Sprintf("full wind was %s; a reading counts within half an hour of it", clockTime(wound, now)))
		item.From, item.To, item.Hear = day.Add(-roundWithin), day.Add(roundWithin), true
		out = append(out, item)
	}
	return out
}

func clockTime(t, now time.Time) string {
	t = t.In(now.Location())
	switch On(t).Days(On(now)) {
	case 0:
		return "today " + t.Format("15:04")
	case 1:
		return "yesterday " + t.Format("15:04")
	}
	return t.Format("2 January 15:04")
}

// HeardIn is how many hearings a round holds.
func (p *Papers) HeardIn(round ID) int {
	n := 0
	for _, h := range p.Hearings {
		if h.Round == round {
			n++
		}
	}
	return n
}

// hasRunDown tells whether a round about 24 hours after that full wind is kept.
func (p *Papers) hasRunDown(stage Stage, wound time.Time) bool {
	for _, r := range p.Rounds {
		w, known := r.FullWind()
		if known && r.Stage == stage && *r.State.Hours >= 18 && w.Sub(wound).Abs() < 6*time.Hour && p.HeardIn(r.ID) > 0 {
			return true
		}
	}
	return false
}

func (p *Papers) dueByState(now time.Time) []DueItem {
	since := p.Job.Opened
	if p.Job.Received != nil {
		since = *p.Job.Received
	}
	today := On(now)
	if day := On(since.In(now.Location())); today.Before(day) {
		today = day
	}
	var out []DueItem
	switch p.Job.State {
	case Received:
		if len(p.Findings)+len(p.Functions) == 0 {
			out = append(out, p.allDay(today, now, "Look it over", "received "+clockTime(since, now)+", nothing noted yet"))
		} else if len(p.Hearings) == 0 {
			item := p.allDay(today, now, "Hear it as found", "looked over; no hearing yet")
			item.Hear = true
			out = append(out, item)
		}
	case Ready:
		if open := p.OpenParts(); len(open) > 0 {
			out = append(out, p.allDay(today, now, "Settle what stands open", fmt.Sprintf("%s: replace it, or accept it with a reason", open[0].What)))
		}
		if p.Job.Wishes.Deadline == nil {
			out = append(out, p.allDay(today, now, "Hand back the watch", "it is ready"))
		}
	}
	return out
}

func (p *Papers) waiting(now time.Time) []DueItem {
	var out []DueItem
	if p.Job.State == Quoted {
		item := p.due("Owner’s yes to the quote", "")
		item.Since = p.Job.Opened
		if p.Job.Since != nil {
			item.Since = *p.Job.Since
		}
		out = append(out, item)
	}
	for _, m := range p.Away() {
		if m.DueBack == nil || On(now).Before(*m.DueBack) {
			item := p.due("The "+m.What+", with "+m.To, "")
			item.Since = m.At
			out = append(out, item)
		}
	}
	return out
}
