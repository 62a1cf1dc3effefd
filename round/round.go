// Package round turns readings of one watch in several positions and states
// into a table, and says what they say together: mean and spread, level
// against upright, dial up against dial down, full wind against run down,
// chronograph running against idle.
//
// Every figure is an estimate: what the readings share, the clock of one
// device and the lift angle of one movement, enters a mean once and a
// difference not at all. A difference within its doubt is called none. Only
// like is set beside like, and where states differ the difference says so. An
// amplitude that another reading contradicts is marked and enters no mean.
//
// The package hears nothing and names no causes.
package round

import (
	"fmt"
	"slices"
	"strings"

	"beatwright/estimate"
	"beatwright/position"
)

// Chronograph says whether a chronograph was running.
type Chronograph string

// The states of a chronograph; the empty one is not stated.
const (
	On   Chronograph = "on"
	Off  Chronograph = "off"
	Bare Chronograph = "none" // the watch has none
)

// State is how the watch was when it was heard. What is nil or empty was not
// stated, and is not held to differ.
type State struct {
	Hours       *float64 // since full wind
	Chronograph Chronograph
	Stage       string // as found, after cleaning, as left …
	Cased       *bool
	Temperature *float64 // °C
}

// Standing says how well founded an amplitude is.
type Standing string

// The standings of an amplitude. A bound and one that is not resolved enter no
// mean.
const (
	Measured    Standing = "measured"
	AtMost      Standing = "at_most"
	NotResolved Standing = "not_resolved"
)

// Reading is what was heard in one position and state. What could not be told
// is nil.
type Reading struct {
	Position  position.Position
	State     State
	Rate      *estimate.Estimate // s/d
	BeatError *estimate.Estimate // ms, half the difference of alternate beats
	Amplitude *estimate.Estimate // °; with AtMost the bound
	Standing  Standing           // of the amplitude
	// Contradicted says why the amplitude is not believed; empty when it is.
	Contradicted string
}

// Swing is the amplitude if it may enter a mean, else nil.
func (r Reading) Swing() *estimate.Estimate {
	if r.Amplitude == nil || r.Contradicted != "" || r.Standing == AtMost || r.Standing == NotResolved {
		return nil
	}
	return r.Amplitude
}

// sameWind is how many hours apart two readings may lie and still be of one
// wind (chosen: a full round takes less, a power reserve is ten times more).
const sameWind = 3.0

// sameTemperature is how many °C apart count as alike (chosen: the tolerance
// of ISO 3159 on either side).
const sameTemperature = 2.0

// Unlike names the states in which a and b differ, in words: "chronograph on
// against off".
func Unlike(a, b State) []string {
	var d []string
	if a.Stage != b.Stage && a.Stage != "" && b.Stage != "" {
		d = append(d, fmt.Sprintf("%s against %s", a.Stage, b.Stage))
	}
	if differ(a.Hours, b.Hours, sameWind) {
		d = append(d, fmt.Sprintf("%g h after full wind against %g h", *a.Hours, *b.Hours))
	}
	if a.Chronograph != "" && b.Chronograph != "" && (a.Chronograph == On) != (b.Chronograph == On) {
		d = append(d, fmt.Sprintf("chronograph %s against %s", a.Chronograph, b.Chronograph))
	}
	if a.Cased != nil && b.Cased != nil && *a.Cased != *b.Cased {
		d = append(d, fmt.Sprintf("%s against %s", casedWord(*a.Cased), casedWord(*b.Cased)))
	}
	if differ(a.Temperature, b.Temperature, sameTemperature) {
		d = append(d, fmt.Sprintf("%g °C against %g °C", *a.Temperature, *b.Temperature))
	}
	return d
}

func differ(a, b *float64, allowed float64) bool {
	return a != nil && b != nil && (*a-*b > allowed || *b-*a > allowed)
}

func casedWord(cased bool) string {
	if cased {
		return "cased"
	}
	return "out of its case"
}

// Words describes the state on one line: "as found, 24 h after full wind,
// chronograph on". A state of which nothing is stated is "state not stated".
func (s State) Words() string {
	var w []string
	if s.Stage != "" {
		w = append(w, s.Stage)
	}
	switch {
	case s.Hours == nil:
	case *s.Hours <= sameWind:
		w = append(w, "full wind")
	default:
		w = append(w, fmt.Sprintf("%g h after full wind", *s.Hours))
	}
	switch s.Chronograph {
	case On:
		w = append(w, "chronograph running")
	case Off:
		w = append(w, "chronograph idle")
	}
	if len(w) == 0 {
		return "state not stated"
	}
	return strings.Join(w, ", ")
}

// Difference is one reading less another.
type Difference struct {
	Rate      *estimate.Estimate // s/d
	Amplitude *estimate.Estimate // °
	BeatError *estimate.Estimate // ms
	// Unlike names the states that differ beside the position.
	Unlike []string
}

// Compare gives a less b. What either does not tell is nil; what both share
// leaves no doubt.
func Compare(a, b Reading) Difference {
	return Difference{
		Rate:      sub(a.Rate, b.Rate),
		Amplitude: sub(a.Swing(), b.Swing()),
		BeatError: sub(a.BeatError, b.BeatError),
		Unlike:    Unlike(a.State, b.State),
	}
}

func sub(a, b *estimate.Estimate) *estimate.Estimate {
	if a == nil || b == nil {
		return nil
	}
	d := a.Sub(*b)
	return &d
}

// mean is that of what is told, nil of nothing.
func mean(es []*estimate.Estimate) *estimate.Estimate {
	es = slices.DeleteFunc(slices.Clone(es), func(e *estimate.Estimate) bool { return e == nil })
	if len(es) == 0 {
		return nil
	}
	var vs []estimate.Estimate
	for _, e := range es {
		vs = append(vs, *e)
	}
	m := estimate.Mean(vs...)
	return &m
}
