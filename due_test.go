package beatwright

import (
	"testing"
	"time"
)

var now = time.Date(2026, 11, 17, 14, 52, 0, 0, time.UTC)

func papers(state JobState) *Papers {
	received := now.Add(-72 * time.Hour)
	return &Papers{
		Job:   &Job{Entry: Entry{ID: "j"}, Number: "2026-041", State: state, Opened: received, Received: &received},
		Watch: &Watch{Says: "Quellmar Daycall"},
	}
}

func hours(h float64) *float64 { return &h }

// heard gives the papers a round of n hearings at a time, hours after full wind.
func (p *Papers) heard(n int, at time.Time, wound float64) *Papers {
	r := &Round{Entry: Entry{ID: ID(at.String())}, Stage: AsFound, State: State{Hours: hours(wound)}, At: at}
	p.Rounds = append(p.Rounds, r)
	for range n {
		p.Hearings = append(p.Hearings, &Hearing{Round: r.ID, At: at})
	}
	return p
}

func only(t *testing.T, items []DueItem, what string) DueItem {
	t.Helper()
	if len(items) != 1 || items[0].What != what {
		var got []string
		for _, i := range items {
			got = append(got, i.What)
		}
		t.Fatalf("due is %q, want only %q", got, what)
	}
	return items[0]
}

// A round at full wind asks for another one a day later, within half an hour
// of it, and no longer once that is kept or long past.
func TestRoundAfterADay(t *testing.T) {
	wound := now.Add(-23*time.Hour - 12*time.Minute)
	p := papers(OnTrial).heard(6, wound.Add(30*time.Minute), 0.5)
	item := only(t, WhatIsDue(now, []*Papers{p}).Today, "Hear the 24 h round")
	if want := wound.Add(24 * time.Hour); !item.From.Equal(want.Add(-30*time.Minute)) || !item.To.Equal(want.Add(30*time.Minute)) {
		t.Errorf("between %v and %v, want half an hour about %v", item.From, item.To, want)
	}
	if item.Late(now) || !item.Late(now.Add(2*time.Hour)) {
		t.Error("late before its time, or not after it")
	}
	if d := WhatIsDue(now.Add(14*time.Hour), []*Papers{p}); len(d.Today) != 0 {
		t.Errorf("13 hours after the window it is still asked for: %+v", d.Today)
	}
	p.heard(6, now, 24)
	if d := WhatIsDue(now, []*Papers{p}); len(d.Today) != 0 {
		t.Errorf("a kept round is asked for again: %+v", d.Today)
	}
}

func TestWhatIsDueByState(t *testing.T) {
	p := papers(Received)
	if item := only(t, WhatIsDue(now, []*Papers{p}).Today, "Look it over"); !item.AllDay {
		t.Error("looking it over has no hour")
	}
	p.Findings = []*Finding{{What: "Crown worn"}}
	only(t, WhatIsDue(now, []*Papers{p}).Today, "Hear it as found")

	p = papers(Ready)
	only(t, WhatIsDue(now, []*Papers{p}).Today, "Hand back the watch")
	d := On(now.AddDate(0, 0, 3))
	p.Job.Wishes.Deadline = &d
	only(t, WhatIsDue(now, []*Papers{p}).Week, "Hand back the watch")
	late := On(now.AddDate(0, 0, -1))
	p.Job.Wishes.Deadline = &late
	if item := only(t, WhatIsDue(now, []*Papers{p}).Today, "Hand back the watch"); !item.Late(now) {
		t.Error("a deadline of yesterday is not late")
	}
}

func TestWaitingOnOthers(t *testing.T) {
	p := papers(Quoted)
	back := On(now.AddDate(0, 0, 4))
	p.Moves = []*Move{
		{What: "watch", To: "safe", At: now.Add(-time.Hour)},
		{What: "dial", To: "the dial maker", Out: true, DueBack: &back, At: now.Add(-48 * time.Hour)},
		{What: "case", To: "the plater", Out: true, At: now.Add(-48 * time.Hour)},
		{What: "case", To: "tray 3", At: now.Add(-time.Hour)}, // it came back
	}
	d := WhatIsDue(now, []*Papers{p})
	if len(d.Waiting) != 2 || d.Waiting[0].What != "Owner’s yes to the quote" || d.Waiting[1].What != "The dial, with the dial maker" {
		t.Errorf("waiting on %+v", d.Waiting)
	}
	only(t, d.Week, "Ask after the dial")
}

// What is waited for began when the job was quoted, not when it was opened.
func TestWaitingSinceTheQuote(t *testing.T) {
	p := papers(Quoted)
	quoted := now.Add(-5 * time.Hour)
	p.Job.Since = &quoted
	if d := WhatIsDue(now, []*Papers{p}); len(d.Waiting) != 1 || !d.Waiting[0].Since.Equal(quoted) {
		t.Errorf("waiting %+v, want since %v", d.Waiting, quoted)
	}
}

// A foreign part of a watch that is only considered is a finding, and nothing
// that must be settled.
func TestPartsStandOpenWhileTheWatchIsHere(t *testing.T) {
	for state, want := range map[JobState]int{Considered: 0, Received: 1, Ready: 1, Declined: 0} {
		p := papers(state)
		p.Findings = []*Finding{{What: "screw not its own", Condition: WrongPart}, {What: "crown worn", Condition: Worn}}
		if got := len(p.OpenParts()); got != want {
			t.Errorf("%s: %d parts stand open, want %d", state, got, want)
		}
	}
}

func TestChecksNameTheField(t *testing.T) {
	for name, tc := range map[string]struct {
		thing Thing
		field string
	}{
		"owner without a name":     {&Owner{}, "owner.name"},
		"watch of nothing":         {&Watch{}, "watch"},
		"crown at a quarter":       {&Watch{What: "automatic", Crown: hours(3.25)}, "watch.crown_hour"},
		"job without a watch":      {&Job{State: Received, Opened: now}, "job.watch"},
		"job in no state":          {&Job{Watch: "w", Opened: now, State: "lost"}, "job.state"},
		"part kept without reason": {&Finding{Job: "j", What: "screw", Settled: &Settled{How: "accepted"}}, "finding.settled"},
		"hands half a day out":     {&HandCheck{Job: "j", ChangeS: 43201, OverS: 1, ReadToS: 1}, "hand_check.change_s"},
		"no time at all":           {&HandCheck{Job: "j", ReadToS: 1}, "hand_check.over_s"},
		"chronograph half on":      {&Hearing{Job: "j", State: State{Chronograph: "half"}}, "chronograph"},
		"position of no watch":     {&Hearing{Job: "j", Position: "13H"}, "position"},
		"a working day of none":    {&Workshop{Entry: Entry{ID: WorkshopID}, Currency: "EUR", DayFrom: 18, DayTo: 8}, "day_from"},
	} {
		err := tc.thing.Check()
		e, ok := err.(*Error)
		if !ok || e.Field != tc.field || e.Code != Wrong {
			t.Errorf("%s: %v, want field %s to blame", name, err, tc.field)
		}
	}
}

func TestIDs(t *testing.T) {
	seen := map[ID]bool{}
	last := ID("")
	for i := range 1000 {
		id := NewID(now.Add(time.Duration(i) * time.Millisecond))
		if !id.Valid() || seen[id] || id <= last {
			t.Fatalf("%q after %q: not valid, not new or not in order", id, last)
		}
		seen[id], last = true, id
	}
	for _, bad := range []ID{"", "../x", "A", "a b", "ü"} {
		if bad.Valid() {
			t.Errorf("%q is taken for an ID", bad)
		}
	}
}
