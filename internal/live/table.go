package live

import (
	"beatwright"
	"beatwright/estimate"
	"beatwright/internal/explain"
	"beatwright/movement"
	"beatwright/position"
	"beatwright/reading"
	"beatwright/round"
	"beatwright/unit"
)

// What readings of one device and of one movement share, by name.
const (
	clockTerm = "clock"
	liftTerm  = "lift angle"
)

// Readings gives what the newest readings of a job say, as a table takes them.
// A hearing whose position is not known, or in which no watch was heard, has no
// place in it.
func Readings(p *beatwright.Papers) []round.Reading {
	var out []round.Reading
	for _, h := range Heard(p) {
		out = append(out, h.Reading)
	}
	return out
}

// Placed is a hearing that has its place in the table.
type Placed struct {
	Hearing *beatwright.Hearing
	Reading round.Reading
}

// Heard gives the hearings of a job that have a place in the table, in order.
func Heard(p *beatwright.Papers) []Placed {
	var out []Placed
	for _, h := range p.Hearings {
		if r, ok := ReadingOf(p, h); ok {
			out = append(out, Placed{h, r})
		}
	}
	return out
}

// ReadingOf gives what one hearing says, with what it shares with others named.
func ReadingOf(p *beatwright.Papers, h *beatwright.Hearing) (round.Reading, bool) {
	r := p.Latest(h.ID)
	pos, err := position.Parse(h.Position)
	if r == nil || r.Says.Watch == nil || err != nil {
		return round.Reading{}, false
	}
	w := r.Says.Watch
	out := round.Reading{
		Position: pos, Standing: round.Standing(w.Amplitude.Standing),
		State: round.State{
			Hours: h.State.Hours, Chronograph: round.Chronograph(h.State.Chronograph), Stage: string(p.Stage(h)),
			Cased: h.State.Cased, Temperature: h.State.Temperature,
		},
	}
	out.Rate = rateOf(w)
	if b := w.BeatError; b != nil {
		e := estimate.New(b.Value, b.U95)
		out.BeatError = &e
	}
	out.Amplitude = swing(w)
	return out, true
}

// rateOf is the rate with the clock's doubt as a shared part; nil if it is not
// known.
func rateOf(w *reading.Watch) *estimate.Estimate {
	if w.Rate == nil {
		return nil
	}
	e := estimate.New(w.Rate.Value, w.Rate.U95Statistical).With(clockTerm, w.Clock.U95PPM*float64(unit.Day)/1e6)
	return &e
}

// swing is the amplitude with the lift's doubt as a shared part; a bound stands
// as it is.
func swing(w *reading.Watch) *estimate.Estimate {
	a := w.Amplitude
	if a.Value == nil {
		return nil
	}
	if a.U95 == nil {
		e := estimate.New(*a.Value, 0)
		return &e
	}
	e := estimate.New(*a.Value, *a.U95)
	if w.Lift.Value > 0 {
		e = e.With(liftTerm, *a.Value*w.Lift.U95/w.Lift.Value)
	}
	return &e
}

// Explain works out what all readings of a job mean together.
func Explain(p *beatwright.Papers) explain.Report { return ExplainOnly(p, Readings(p)) }

// ExplainOnly works out some of a job's readings, as those of one stage, with
// what is known of its watch.
func ExplainOnly(p *beatwright.Papers, rs []round.Reading) explain.Report {
	o := explain.Options{Name: p.Job.Number, Movement: Facts(p)}
	return explain.Readings(rs, o)
}

// Facts are what is known of the movement; where its beats an hour are not,
// they are those that every hearing was found to be nearest to.
func Facts(p *beatwright.Papers) *movement.Movement {
	var m movement.Movement
	if p.Movement != nil {
		m = p.Movement.Facts
	}
	if p.Watch.Crown != nil {
		m.CrownHour = p.Watch.Crown
	}
	if m.BeatsPerHour == nil {
		m.BeatsPerHour = heardBeats(p)
	}
	if m.Lift == nil && p.Movement == nil && m.BeatsPerHour == nil && m.CrownHour == nil {
		return nil
	}
	return &m
}

// heardBeats are the beats an hour in which all hearings agree, nil if not.
func heardBeats(p *beatwright.Papers) *unit.BeatsPerHour {
	var out *unit.BeatsPerHour
	for _, h := range p.Hearings {
		r := p.Latest(h.ID)
		if r == nil || r.Says.Watch == nil || r.Says.Watch.BeatsPerHour == nil {
			continue
		}
		if out != nil && *out != *r.Says.Watch.BeatsPerHour {
			return nil
		}
		out = r.Says.Watch.BeatsPerHour
	}
	return out
}
