// Package explain reads a table of readings by position and says what they
// mean together: a round's summary, where the balance is heavy, how it stands
// to allowances. It joins packages round, poise and grade; the words for
// causes are not here.
//
// The table is CSV with the columns
//
//	position,hours_since_full_wind,chronograph,rate_s_per_day,beat_error_ms,amplitude_deg
//
// and optionally rate_u95, beat_error_u95, amplitude_u95 (statistical),
// amplitude_standing, stage, cased, temperature_c. Only position must be
// there; cells may be empty. Semicolons or tabs separate as well as commas,
// and then a comma may be the decimal point.
//
// Run is what the command calls:
//
//	err := explain.Run(w, r, explain.Options{Name: "readings.csv", JSON: true})
//	var bad *explain.BadInput // line and column: exit status 4
//	if errors.As(err, &bad) { … }
package explain

import (
	"encoding/json"
	"fmt"
	"io"

	"beatwright/estimate"
	"beatwright/grade"
	"beatwright/movement"
	"beatwright/round"
	"beatwright/unit"
)

// Uncalibrated is the clock of a sound card that was never compared, 95 %.
const Uncalibrated unit.PPM = 47.5

// Options is what is known beside the table.
type Options struct {
	// Name of the input, for errors.
	Name string
	// JSON writes one object on one line instead of words.
	JSON bool
	// Movement gives lift, beat rate, inertia and where the crown is; nil is
	// not known: the lift is then assumed to be 52 ± 4°, the crown at 3.
	Movement *movement.Movement
	// ClockU95 is the doubt that all rates share; nil is Uncalibrated.
	ClockU95 *unit.PPM
	// Grades are judged beside the published allowances.
	Grades []grade.Grade
}

// Causes that readings share, as they are named in estimates.
const (
	clockTerm = "clock"
	liftTerm  = "lift angle"
)

// The lift when nothing is known of it (trade custom).
const (
	assumedLift    unit.Degrees = 52
	assumedLiftU95 unit.Degrees = 4
	assumedCrown                = 3.0
)

// Run reads the table, writes what it says to w, and returns *BadInput for a
// table that cannot be used.
func Run(w io.Writer, r io.Reader, o Options) error {
	rep, err := Read(r, o)
	if err != nil {
		return err
	}
	if !o.JSON {
		return rep.WriteText(w)
	}
	b, err := json.Marshal(rep)
	if err != nil {
		return fmt.Errorf("write what %s says: %w", o.Name, err)
	}
	_, err = w.Write(append(b, '\n'))
	return err
}

// Read parses the table and works it out.
func Read(r io.Reader, o Options) (Report, error) {
	s, err := parse(r, o.Name)
	if err != nil {
		return Report{}, err
	}
	return build(s.readings(o), s.warnings, o), nil
}

// Readings works out readings that come from elsewhere, as a job's record.
// Their estimates must carry what they share already.
func Readings(rs []round.Reading, o Options) Report { return build(rs, nil, o) }

func (o Options) clock() float64 {
	if o.ClockU95 == nil {
		return float64(Uncalibrated.PerDay())
	}
	return float64(o.ClockU95.PerDay())
}

// liftDoubt is the lift's 95 % doubt over its value, by which all amplitudes
// scale, and whether it was assumed.
func (o Options) liftDoubt() (relative float64, assumed bool) {
	if o.Movement == nil || o.Movement.Lift == nil {
		return float64(assumedLiftU95 / assumedLift), true
	}
	if o.Movement.LiftU95 == nil {
		return float64(assumedLiftU95 / *o.Movement.Lift), true
	}
	return float64(*o.Movement.LiftU95 / *o.Movement.Lift), false
}

func (o Options) crown() float64 {
	if o.Movement == nil || o.Movement.CrownHour == nil {
		return assumedCrown
	}
	return *o.Movement.CrownHour
}

func (o Options) period() unit.Seconds {
	if o.Movement == nil || o.Movement.BeatsPerHour == nil {
		return 0
	}
	return o.Movement.BeatsPerHour.Period()
}

// without is the doubt that remains when the named cause is taken as given.
func without(e estimate.Estimate, name string) float64 {
	return e.Sub(estimate.Estimate{Common: map[string]float64{name: e.Common[name]}}).U95()
}
