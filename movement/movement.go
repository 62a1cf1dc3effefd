// Package movement is what is known of a watch's movement: beat rate, lift
// angle and how well it is known, escapement, train counts, winding,
// complications. It is pure data with a reader and a writer for the movement
// file (JSON); every field may be absent.
//
// Nothing is reckoned here: what follows from the counts is in package train,
// and what a lift angle means for a sound is in package balance. The lift's
// standing is one of the four standings a fact can have.
//
// The bounds in check.go only keep nonsense out (a lift of 400°, half a
// tooth); they are chosen wide and do not judge a movement.
package movement

import (
	"cmp"

	"beatwright/unit"
)

// Escapement is the kind of escapement, by its generic name.
type Escapement string

// The kinds of escapement. For all but the lever, rate and beat error stand
// but amplitude is not defined from the sound.
const (
	Lever    Escapement = "lever"
	Cylinder Escapement = "cylinder"
	Verge    Escapement = "verge"
	Duplex   Escapement = "duplex"
	Detent   Escapement = "detent"
	// Driven is a balance that something else keeps going, as an electric
	// watch's, with no escapement that gives three sounds.
	Driven Escapement = "driven"
)

// Winding is how the mainspring is wound.
type Winding string

// The kinds of winding.
const (
	Hand      Winding = "hand"
	Automatic Winding = "automatic"
	Key       Winding = "key"
)

// Standing says where a fact comes from.
type Standing string

// The standings of a fact.
const (
	Given     Standing = "given"
	Published Standing = "published"
	Measured  Standing = "measured"
	Assumed   Standing = "assumed"
)

// Movement is what is known of a movement. A nil pointer, an empty string and
// an empty map all mean "not known".
type Movement struct {
	Name         string
	BeatsPerHour *unit.BeatsPerHour
	// Lift is the lift angle of the balance, LiftU95 its 95 % half-width.
	Lift         *unit.Degrees
	LiftU95      *unit.Degrees
	LiftStanding Standing
	LiftSource   string
	Escapement   Escapement
	EscapeTeeth  *int
	// Wheels and Pinions are numbers of teeth and leaves by wheel name:
	// barrel, centre, third, fourth, escape and what else the train has.
	Wheels  map[string]int
	Pinions map[string]int
	// Inertia of the balance, mg·cm².
	Inertia *float64
	// CrownHour is the hour on the dial at which the crown sits; halves are
	// allowed.
	CrownHour     *float64
	Winding       Winding
	Complications []string
}

// With gives m with what is known in o put over it: an entry that a table's row
// brings up to date. Lift angle, doubt, standing and source go together, and so
// do the counts of the train.
func (m Movement) With(o Movement) Movement {
	if o.Lift != nil {
		m.Lift, m.LiftU95, m.LiftStanding, m.LiftSource = o.Lift, o.LiftU95, o.LiftStanding, o.LiftSource
	}
	if len(o.Wheels)+len(o.Pinions) > 0 {
		m.Wheels, m.Pinions = o.Wheels, o.Pinions
	}
	if len(o.Complications) > 0 {
		m.Complications = o.Complications
	}
	m.Name = cmp.Or(o.Name, m.Name)
	m.BeatsPerHour = cmp.Or(o.BeatsPerHour, m.BeatsPerHour)
	m.Escapement = cmp.Or(o.Escapement, m.Escapement)
	m.EscapeTeeth = cmp.Or(o.EscapeTeeth, m.EscapeTeeth)
	m.Inertia = cmp.Or(o.Inertia, m.Inertia)
	m.CrownHour = cmp.Or(o.CrownHour, m.CrownHour)
	m.Winding = cmp.Or(o.Winding, m.Winding)
	return m
}
