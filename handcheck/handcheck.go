// Package handcheck makes a rate of what the hands did against a clock:
// "gained 40 s in nine hours, read to 1 s", and says whether the sound of the
// watch tells the same.
//
// The span is true time, by the clock. "Read to 1 s" is taken as: each of the
// two readings, at the start and at the end, is good to ± 1 s at 95 % (the
// eye, the hand and the reaction together; common practice, chosen on the
// safe side of mere rounding). The clock itself is taken as right.
package handcheck

import (
	"errors"
	"fmt"
	"math"

	"beatwright/estimate"
	"beatwright/unit"
)

// Check is one hand check.
type Check struct {
	Change unit.Seconds // what the hands gained; lost is negative
	Over   unit.Seconds // by the clock
	ReadTo unit.Seconds // how finely each of the two readings was taken
}

// Rate is what the hands gain in a day, s/d:
//
//	86400·change/over, ± 86400·√2·readTo/over
//
// An error says which input is nonsense.
func (c Check) Rate() (estimate.Estimate, error) {
	switch {
	case !finite(c.Change) || !finite(c.Over) || !finite(c.ReadTo):
		return estimate.Estimate{}, errors.New("a hand check needs numbers")
	case c.Over <= 0:
		return estimate.Estimate{}, fmt.Errorf("a hand check over %g s: the span must be above zero", float64(c.Over))
	case c.ReadTo <= 0:
		return estimate.Estimate{}, fmt.Errorf("read to %g s: no reading is exact, give how finely the hands were read", float64(c.ReadTo))
	case c.Change <= -c.Over:
		return estimate.Estimate{}, errors.New("hands that lose the whole span have stopped: no rate")
	}
	perDay := float64(unit.Day / c.Over)
	return estimate.New(float64(c.Change)*perDay, math.Sqrt2*float64(c.ReadTo)*perDay), nil
}

func finite(s unit.Seconds) bool {
	return !math.IsNaN(float64(s)) && !math.IsInf(float64(s), 0)
}

// Verdict says how the hands and the sound agree.
type Verdict string

// The verdicts. Same means: no difference beyond the doubt of both.
const (
	Same      Verdict = "same rate"
	HandsLose Verdict = "the hands lose while the sound is good"
	HandsLag  Verdict = "the hands lag behind the sound"
	HandsGain Verdict = "the hands gain on the sound"
)

// goodSound is the rate, s/d, within which the sound is called good here
// (judgement: what a regulator can still put right).
const goodSound = 60.0

// Agreement is the comparison of a hand check with the sound.
type Agreement struct {
	Verdict Verdict
	// Difference is the hands' rate less the sound's, s/d.
	Difference estimate.Estimate
	// Sure is how likely it is that the hands truly lag (or lead): one-sided,
	// normal. For Same it is how likely they differ in the direction seen.
	Sure float64
}

// Compare sets the hands' rate beside what was heard. Hands slower than the
// sound by more than the doubt of both mean that the balance keeps time and
// what drives the hands does not follow it; that they are faster is rare, and
// means that another time or another state was heard.
func Compare(hands, sound estimate.Estimate) Agreement {
	d := hands.Sub(sound)
	a := Agreement{Verdict: Same, Difference: d, Sure: sure(d)}
	switch {
	case !d.Clear():
	case d.Value < 0 && math.Abs(sound.Value) <= goodSound:
		a.Verdict = HandsLose
	case d.Value < 0:
		a.Verdict = HandsLag
	default:
		a.Verdict = HandsGain
	}
	return a
}

// sure is the probability that the difference has the sign it shows.
func sure(d estimate.Estimate) float64 {
	const coverage = 1.959963985 // scipy.stats.norm.ppf(0.975)
	u := d.U95()
	if u == 0 {
		if d.Value == 0 {
			return 0.5
		}
		return 1
	}
	return 0.5 * math.Erfc(-math.Abs(d.Value)/u*coverage/math.Sqrt2)
}
