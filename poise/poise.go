// Package poise finds from rates in upright positions where a balance is
// heavy, how much, and how far the readings can tell.
//
// An upright balance with too much weight at one place gains or loses with
// the position, and the sense turns over at an amplitude of 219.5° (package
// balance). To the readings is fitted
//
//	rate = c(A) + 86400·(M/k)·cos φ·J1(A)/A
//
// with φ the heavy point's angle from straight down, M/k the weight moment
// over the stiffness of the hairspring, and c(A) a level with a slope: the
// rate changes with the swing for reasons that are not poise, and level
// positions help to say how much. With upright readings at amplitudes that
// differ enough, a wave that does not turn over is fitted beside it: the pull
// of the hairspring's own weight and pinning, constant with the amplitude to
// first order (derived: a torque in proportion to the angle).
//
// What the package does not do: it names no cause, and it knows no watch but
// by its numbers. Sources: derived, in package balance; Kleinlein, Rules and
// Practice for Adjusting Watches (1920), at the line.
package poise

import (
	"errors"
	"fmt"
	"math"

	"beatwright/balance"
	"beatwright/estimate"
	"beatwright/position"
	"beatwright/unit"
)

// Reading is the rate (s/d) and amplitude (°) of one position. Both carry
// their own doubt and what they share with the others: the clock, the lift.
type Reading struct {
	Position  position.Position
	Rate      estimate.Estimate
	Amplitude estimate.Estimate
}

// Standing says whether the readings can tell a heavy point from none.
type Standing string

// A heavy point is measured when the 95 % patch of its place clears the staff.
const (
	Measured    Standing = "measured"
	NotResolved Standing = "not_resolved"
)

// Reckoning is what the readings say of the balance's poise.
type Reckoning struct {
	Standing Standing
	// MomentRatio is the weight moment over the hairspring's stiffness, rad.
	MomentRatio estimate.Estimate
	// HeavyPoint is where the balance is heavy at rest with the movement in
	// its case: degrees clockwise from the 12, seen from the dial side; all
	// its doubt is in its own part.
	HeavyPoint estimate.Estimate
	// Slope is how the rate changes with the swing apart from poise, s/d for
	// each degree.
	Slope estimate.Estimate
	// Pull is the wave that does not turn over with the amplitude, nil unless
	// the readings can tell it from poise.
	Pull *Pull
	// Amplitude is the mean swing of the upright readings, °.
	Amplitude estimate.Estimate
	// Unexplained holds, for each upright reading, the part of its rate that
	// the fit leaves over.
	Unexplained []Rest
	// Scatter is how much more the readings scatter than their own doubt
	// allows: 1 or less is as expected. Own doubts are widened by it above 1.
	// Zero when nothing is left over to judge by.
	Scatter  float64
	Warnings []string
}

// Pull is a wave of the upright rates that keeps its sense at any amplitude,
// as the hairspring's own weight and its pinning give.
type Pull struct {
	Standing Standing
	Size     estimate.Estimate // half the height of the wave, s/d
	FastHour float64           // hour that is up where it gains most, 0 to 12
}

// Rest is what the fit leaves over of one reading, s/d; Own is the reading's
// own doubt. What all share is in the level, not here.
type Rest struct {
	Position position.Position
	Rate     estimate.Estimate
}

// ErrTooFew is why nothing can be said.
var ErrTooFew = errors.New("poise needs the rate and the amplitude of three upright positions, four or eight for certainty")

// patch is the 95 % limit, in squares of 95 % half-widths, of a point in two
// dimensions: scipy.stats.chi2.ppf(0.95, 2)/scipy.stats.norm.ppf(0.975)².
const patch = 5.991464547 / 3.841458821

// The swings between which poise hardly touches the rate, under a quarter of
// what it does at 150° (derived from J1; chosen limits).
const (
	blindFrom, blindTo = 200.0, 240.0
)

// Reckon fits the readings, level and upright together; those without a
// finite rate and amplitude are passed over. Three different upright
// positions are the least, else the error is ErrTooFew.
func Reckon(readings []Reading) (Reckoning, error) {
	rs := usable(readings)
	if n := distinctUpright(rs); n < 3 {
		return Reckoning{}, fmt.Errorf("%w; there are %d", ErrTooFew, n)
	}
	f, err := best(rs)
	if err != nil {
		return Reckoning{}, fmt.Errorf("reckon poise: %w", err)
	}
	out := f.reckoning()
	out.Unexplained = f.rests()
	out.Amplitude = meanSwing(rs)
	out.Warnings = append(warnings(rs, f), out.Warnings...)
	return out, nil
}

// reckoning turns the fitted components into size and direction.
func (f fitted) reckoning() Reckoning {
	arrow := f.poise()
	out := Reckoning{
		Standing:    arrow.standing(),
		MomentRatio: arrow.length(),
		HeavyPoint:  arrow.angle(),
		Slope:       f.slope(),
		Scatter:     f.scatter,
	}
	// Straight down with hour h up is at 30·h + 180, so that cos φ is
	// −cos(θ − 30·h): the fitted arrow points away from the heavy point.
	out.HeavyPoint.Value = turn(out.HeavyPoint.Value + 180)
	if f.pull {
		s := f.spring()
		out.Pull = &Pull{Standing: s.standing(), Size: s.length(), FastHour: s.angle().Value / 30}
		if f.simple.poise().standing() == Measured && out.Standing == NotResolved && out.Pull.Standing == NotResolved {
			out.Warnings = append(out.Warnings, "a wave is there, but these amplitudes cannot tell want of poise from the hairspring's own pull")
		}
	}
	return out
}

// Unbalance is mass times radius, µg·mm, on a balance of the given inertia
// (taken as exact) and beat rate.
func (r Reckoning) Unbalance(i balance.Inertia, b unit.BeatsPerHour) estimate.Estimate {
	return r.MomentRatio.Scale(float64(balance.MomentRatio(1).Unbalance(i, b)))
}

// FromCockSide is the heavy point clockwise from the 12 as the movement lies
// with the balance cock towards you and the 12 on top: clock angles swap. From
// the roller side it is HeavyPoint itself, as from the dial.
func (r Reckoning) FromCockSide() estimate.Estimate {
	e := r.HeavyPoint
	e.Value = turn(360 - e.Value)
	return e
}

// FastHour is the hour that is up where want of poise makes the watch gain
// most at the amplitude a: the heavy point hangs below the reversal and stands
// on top above it.
func (r Reckoning) FastHour(a unit.Degrees) float64 {
	θ := r.HeavyPoint.Value
	if balance.PoiseEffect(a) > 0 {
		θ += 180
	}
	return turn(θ) / 30
}

// turn brings an angle into 0 ≤ d < 360.
func turn(d float64) float64 {
	d = math.Mod(d, 360)
	if d < 0 {
		d += 360
	}
	if d >= 360 || d == 0 { // no −0, and no 360 from rounding
		return 0
	}
	return d
}
