// Package beat turns the sound of a watch into dated beats.
//
// It finds the beat rate, follows the beats, dates each by the averaged sound
// of its own side, and keeps what is needed to look closer: the mean profile
// of either side over segments of about five seconds. It judges no watch and
// gives no rate: package measure does that. What it leaves out it says, with
// the reason.
//
// The same samples give the same beats, bit for bit, however they were cut
// into blocks: every step is taken at a fixed count of samples.
package beat

import "beatwright/unit"

// Reason says why a beat was left out; empty for one that was kept.
type Reason string

// The reasons.
const (
	NotHeard Reason = "not heard"
	Bump     Reason = "covered by another sound"
	OffLine  Reason = "far off the line"
	Cut      Reason = "sound missing"
)

// Beat is one vibration's sound. At is in seconds of the sound from its first
// sample; K counts the vibrations of a run from its first, so that K mod 2 is
// the side.
type Beat struct {
	K     int
	At    unit.Seconds
	Score float64 // loudness and likeness to the mean beat, 1 for the mean
	Miss  float64 // mean square misfit, ln units
	Why   Reason
	// N is how many beats it stands for, in a hearing of hours; itself alone
	// where it is 0.
	N int
}

// Side is 0 for the first, 1 for the second of alternate beats.
func (b Beat) Side() int { return b.K & 1 }
