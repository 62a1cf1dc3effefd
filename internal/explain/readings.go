package explain

import (
	"fmt"

	"beatwright/estimate"
	"beatwright/round"
)

// What is taken as statistical doubt where the table gives none.
const (
	defaultRateU95  = 1.0 // s/d
	defaultBeatU95  = 0.1 // ms
	defaultSwingU95 = 3.0 // °
)

// readings turns the rows into readings that carry what they share.
func (s *sheet) readings(o Options) []round.Reading {
	lift, assumed := o.liftDoubt()
	var out []round.Reading
	var noRate, noBeat, noSwing int
	swings := false
	for _, r := range s.rows {
		rd := round.Reading{
			Position: r.position,
			State:    round.State{Hours: r.hours, Chronograph: round.Chronograph(r.chronograph), Stage: r.stage, Cased: r.cased, Temperature: r.celsius},
		}
		if e := withDefault(r.rate, r.rateU, defaultRateU95, &noRate); e != nil {
			v := e.With(clockTerm, o.clock())
			rd.Rate = &v
		}
		rd.BeatError = withDefault(r.beat, r.beatU, defaultBeatU95, &noBeat)
		if e := withDefault(r.swing, r.swingU, defaultSwingU95, &noSwing); e != nil {
			v := e.With(liftTerm, e.Value*lift)
			rd.Amplitude, rd.Standing, swings = &v, round.Measured, true
		}
		if r.standing != "" {
			rd.Standing = round.Standing(r.standing)
		}
		if rd.Standing == round.NotResolved || rd.Amplitude == nil {
			rd.Amplitude, rd.Standing = nil, round.NotResolved
		}
		out = append(out, rd)
	}
	s.tellDefault(noRate, "rate_u95", "1 s/d")
	s.tellDefault(noBeat, "beat_error_u95", "0.1 ms")
	s.tellDefault(noSwing, "amplitude_u95", "3°")
	if assumed && swings {
		s.warnings = append(s.warnings, fmt.Sprintf("the lift angle's doubt is assumed, %.1f %% of every amplitude: a movement file with lift_deg and lift_u95_deg narrows it", 100*lift))
	}
	return out
}

func withDefault(v, u *float64, otherwise float64, missing *int) *estimate.Estimate {
	if v == nil {
		return nil
	}
	own := otherwise
	if u != nil {
		own = *u
	} else {
		*missing++
	}
	e := estimate.New(*v, own)
	return &e
}

func (s *sheet) tellDefault(n int, column, taken string) {
	if n > 0 {
		s.warnings = append(s.warnings, fmt.Sprintf("no %s for %d of %d readings: ± %s is taken", column, n, len(s.rows), taken))
	}
}
