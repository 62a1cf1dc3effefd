// Package nudge learns from a touch: given the reading before and after
// something was moved, what one unit of it is worth and how much is left.
//
// It knows nothing of what was moved, a regulator, a pair of screws, a stud:
// the first move is a measurement, and no formula is trusted before it. What
// two readings share, as the clock of one device, does not touch the effect;
// it does touch how far the watch is from the wanted rate.
package nudge

import (
	"errors"
	"math"

	"beatwright/estimate"
)

// Touch is one move: the reading before and after, and by how many units
// (divisions of an index, turns of a pair of screws) it was moved; sign is the
// mover's own.
type Touch struct {
	Before, After estimate.Estimate
	Moved         float64
}

// Lesson is what a touch taught.
type Lesson struct {
	// Effect is the change of the reading per unit moved.
	Effect estimate.Estimate
	// Off is how far the reading after it lies above the wanted one.
	Off estimate.Estimate
	// Left is how many units more, with the sign of Moved, bring it there. Its
	// own part holds all its doubt. It has no value when the effect is not
	// told from none.
	Left *estimate.Estimate
	// Done says that what is left is within the doubt.
	Done bool
}

// ErrNotMoved is the error of a touch that moved nothing.
var ErrNotMoved = errors.New("nothing was moved, so nothing is learnt: give by how much")

// Learn works out the effect per unit and what is left to the wanted reading.
//
//	effect = (after − before)/moved, left = (wanted − after)/effect
//
// The doubts of both go to first order into that of Left; the after-reading is
// in both, and counted so.
func Learn(t Touch, wanted float64) (Lesson, error) {
	if t.Moved == 0 || math.IsNaN(t.Moved) || math.IsInf(t.Moved, 0) {
		return Lesson{}, ErrNotMoved
	}
	l := Lesson{
		Effect: t.After.Sub(t.Before).Scale(1 / t.Moved),
		Off:    t.After.Sub(estimate.New(wanted, 0)),
	}
	l.Done = !l.Off.Clear()
	if l.Effect.Clear() {
		left := left(t, l, wanted)
		l.Left = &left
	}
	return l, nil
}

// left is (wanted − after)·moved/(after − before), with
//
//	∂/∂before = left/(after − before)
//	∂/∂after  = −(moved + left)/(after − before)
func left(t Touch, l Lesson, wanted float64) estimate.Estimate {
	change := l.Effect.Value * t.Moved
	v := (wanted - t.After.Value) / l.Effect.Value
	doubt := t.Before.Scale(v / change).Add(t.After.Scale(-(t.Moved + v) / change))
	return estimate.New(v, doubt.U95())
}
