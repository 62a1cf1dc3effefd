// Package demo fills an empty workshop folder with an invented workshop: a
// dozen watches of different kinds in all states, with findings, pictures,
// notes, moves, and hearings whose sound package synth makes.
//
// All of it is invented, names, town, people and watches; none is meant to be
// like any real one, and the workshop says so on every page. Everything is
// written through the record's own door, with the clock set into the past
// weeks, so that it has a history and can be undone. The sounds take longer
// than the rest, and are made afterwards, the most telling first.
//
// The package measures nothing itself and knows no page. Complaints, findings
// and figures are plausible by common practice and prove nothing.
package demo

import (
	"context"
	"fmt"
	"time"

	"beatwright"
	"beatwright/internal/live"
)

// who signs what is written: the invented watchmaker.
const who = "Ansa Thole"

// shop is the workshop while it is filled. The first error stops all that
// follows.
type shop struct {
	ctx    context.Context
	bench  *live.Bench
	clock  *Clock
	now    time.Time
	owners map[string]beatwright.ID
	// movements are the library's, by the names they are given here.
	movements map[string]beatwright.ID
	// hunter is the job of the watch that comes back later.
	hunter   beatwright.ID
	hearings []Hearing
	err      error
}

// Fill writes the invented workshop into an empty one, whose record and bench
// go by clock, and gives the hearings whose sound is still to be made, in order
// of importance.
func Fill(ctx context.Context, bench *live.Bench, clock *Clock) ([]Hearing, error) {
	s := &shop{ctx: ctx, bench: bench, clock: clock, now: clock.Now().Local(), owners: map[string]beatwright.ID{}, movements: map[string]beatwright.ID{}}
	defer clock.LetGo()
	was := bench.Now
	bench.Now = clock.Now
	defer func() { bench.Now = was }()
	s.at(60, 9, 0)
	s.house()
	for _, job := range []func(*shop){
		hunter, moonWatch, chronograph, diver, alarmWatch, dayDate, smallSeconds,
		comeBack, yesterday, worldTime, justCame, prospect,
	} {
		job(s)
	}
	if s.err != nil {
		return nil, fmt.Errorf("fill the invented workshop: %w", s.err)
	}
	return inOrder(s.hearings), nil
}

// at sets the clock to a time of a day in the past, on this computer's calendar.
// A time that is still to come is taken back to just now.
func (s *shop) at(daysAgo, hour, minute int) time.Time {
	t := s.day(-daysAgo, hour, minute)
	if latest := s.now.Add(-2 * time.Minute); t.After(latest) {
		t = latest
	}
	s.clock.Set(t)
	return t
}

// day is a time of a day, days from today.
func (s *shop) day(days, hour, minute int) time.Time {
	return time.Date(s.now.Year(), s.now.Month(), s.now.Day()+days, hour, minute, 0, 0, s.now.Location())
}

// date is the day that lies days from today.
func (s *shop) date(days int) *beatwright.Date {
	d := beatwright.On(s.day(days, 12, 0))
	return &d
}

func (s *shop) entry() beatwright.Entry {
	return beatwright.Entry{ID: beatwright.NewID(s.clock.Now())}
}

// put keeps things, in one line of the history.
func (s *shop) put(job beatwright.ID, what string, things ...beatwright.Thing) {
	if s.err != nil {
		return
	}
	_, err := s.bench.Apply(s.ctx, beatwright.Change{Who: who, What: what, Job: job, Put: things})
	if err != nil {
		s.err = fmt.Errorf("%s: %w", what, err)
	}
}

// money is an amount in the workshop's currency.
func (s *shop) money(amount string) *beatwright.Money {
	m, err := beatwright.ParseMoney(amount, "EUR")
	if err != nil && s.err == nil {
		s.err = err
	}
	return &m
}
