// Package grade holds named sets of limits, each with its source, and judges
// rates by them: a trial of days by ISO 3159:2009, the positions of one round
// by an adjuster's allowances, or either by limits of the workshop's own.
//
// A verdict says which criterion is kept or broken and by how much. It also
// says what cannot be said: that it is too early, that a limit lies within
// the value's own uncertainty, that the readings needed are missing. Limits
// are inclusive. What a set of limits means for a watch is its user's affair.
//
// Sources: ISO 3159:2009 as reported by several independent secondary
// documents (the category 2 limits by one, and memory); W. J. Kleinlein, Rules
// and Practice for Adjusting Watches (1920) §66.
package grade

import (
	"fmt"
	"math"

	"beatwright/estimate"
	"beatwright/position"
	"beatwright/unit"
)

// slack keeps a value that is exactly on a limit within it in spite of
// rounding of binary fractions.
const slack = 1e-9

// Grade is a named set of limits.
type Grade struct {
	Name   string `json:"name"`
	Source string `json:"source"`
	// Programme is what the days of a trial must be; empty where positions of
	// a round are judged.
	Programme []Step      `json:"programme,omitempty"`
	Criteria  []Criterion `json:"criteria"`
}

// Step is one day of a programme.
type Step struct {
	Day         int               `json:"day"`
	Position    position.Position `json:"position"`
	Temperature float64           `json:"temperature_c"`
	Remark      string            `json:"remark,omitempty"`
}

// Criterion is one quantity with its limits; nil is no limit on that side.
type Criterion struct {
	Symbol string   `json:"symbol"`
	Name   string   `json:"name"`
	Unit   string   `json:"unit"`
	Low    *float64 `json:"low"`
	High   *float64 `json:"high"`
	// Of says what is judged; Places where, for quantities of positions: a
	// symbol of ISO 3158, or PU, PR, PL, PD by the pendant or crown.
	Of     Quantity `json:"of"`
	Places []string `json:"places,omitempty"`
}

// Day is one day of a trial. A position that is not stated is taken to be the
// programme's; so is a temperature.
type Day struct {
	Position    position.Position
	Temperature *float64 // °C
	Rate        estimate.Estimate
}

// Evidence is what there is to judge by.
type Evidence struct {
	Days []Day
	// Rates s/d, Amplitudes ° and BeatErrors ms by position, of one state.
	Rates, Amplitudes, BeatErrors map[position.Position]estimate.Estimate
	// CrownHour is where crown or pendant sits: 12 on a pocket watch, mostly
	// 3 on a wristwatch.
	CrownHour float64
}

// Standing is the outcome for one criterion or for all.
type Standing string

// The outcomes.
const (
	Within    Standing = "within"
	Outside   Standing = "outside"
	NearLimit Standing = "within its uncertainty of the limit"
	TooEarly  Standing = "too early to say"
)

// Finding is what one criterion says.
type Finding struct {
	Criterion
	Standing Standing           `json:"standing"`
	Value    *estimate.Estimate `json:"-"` // nil when it cannot be formed yet
	// Over is by how much the value is beyond its nearest limit; below zero
	// by how much it is inside it.
	Over *float64 `json:"over,omitempty"`
	// Note says where or when the value arose, or what is missing.
	Note string `json:"note,omitempty"`
}

// Verdict is what a grade says of the evidence.
type Verdict struct {
	Grade    string    `json:"name"`
	Source   string    `json:"source"`
	Standing Standing  `json:"standing"`
	Findings []Finding `json:"criteria"`
	// Next is the day the programme asks for now; nil when it is complete or
	// there is none.
	Next     *Step    `json:"next,omitempty"`
	Warnings []string `json:"warnings,omitempty"`
}

// Judge judges the evidence as far as it goes.
func (g Grade) Judge(e Evidence) Verdict {
	v := Verdict{Grade: g.Name, Source: g.Source}
	days, warnings := g.follow(e.Days)
	v.Warnings = warnings
	if len(days) < len(g.Programme) {
		next := g.Programme[len(days)]
		v.Next = &next
	}
	e.Days = days
	for _, c := range g.Criteria {
		v.Findings = append(v.Findings, c.judge(e))
	}
	v.Standing = overall(v.Findings)
	return v
}

// follow gives the days that kept to the programme; from the first that did
// not, nothing can be judged.
func (g Grade) follow(days []Day) ([]Day, []string) {
	if len(g.Programme) == 0 {
		return days, nil
	}
	var w []string
	if len(days) > len(g.Programme) {
		w = append(w, fmt.Sprintf("the programme has %d days: what comes after is not judged", len(g.Programme)))
		days = days[:len(g.Programme)]
	}
	for i, d := range days {
		want := g.Programme[i]
		if d.Position.Valid() && d.Position != want.Position {
			return days[:i], append(w, fmt.Sprintf("day %d lay %s, the programme wants %s: judged up to the day before", want.Day, d.Position, want.Position))
		}
		if d.Temperature != nil && math.Abs(*d.Temperature-want.Temperature) > temperatureTolerance+slack {
			return days[:i], append(w, fmt.Sprintf("day %d was at %g °C, the programme wants %g ± %g °C: judged up to the day before", want.Day, *d.Temperature, want.Temperature, temperatureTolerance))
		}
	}
	return days, w
}

// judge forms the value and sets it beside the limits.
func (c Criterion) judge(e Evidence) Finding {
	f := Finding{Criterion: c, Standing: TooEarly}
	of, ok := quantities[c.Of]
	if !ok {
		f.Note = fmt.Sprintf("no such quantity: %q", c.Of)
		return f
	}
	got := of(e, c.Places)
	f.Note = got.note
	if got.value == nil {
		return f
	}
	f.Value = got.value
	over := c.over(got.value.Value)
	f.Over = &over
	f.Standing = standing(over, got.value.U95())
	if got.partial && f.Standing != Outside {
		f.Standing = TooEarly
	}
	return f
}

// over is how far v lies beyond its nearest limit, negative inside.
func (c Criterion) over(v float64) float64 {
	over := math.Inf(-1)
	if c.High != nil {
		over = v - *c.High
	}
	if c.Low != nil {
		over = math.Max(over, *c.Low-v)
	}
	return over
}

func standing(over, u95 float64) Standing {
	switch {
	case math.Abs(over) < u95 && u95 > slack:
		return NearLimit
	case over > slack:
		return Outside
	}
	return Within
}

// overall: one broken limit breaks the grade; then what is open, then what is
// near, keeps it from being "within".
func overall(fs []Finding) Standing {
	for _, s := range []Standing{Outside, TooEarly, NearLimit} {
		for _, f := range fs {
			if f.Standing == s {
				return s
			}
		}
	}
	if len(fs) == 0 {
		return TooEarly
	}
	return Within
}

// Rates gives plain daily rates as days of a programme, without doubt.
func Rates(perDay ...unit.SecondsPerDay) []Day {
	var days []Day
	for _, r := range perDay {
		days = append(days, Day{Rate: estimate.New(float64(r), 0)})
	}
	return days
}
