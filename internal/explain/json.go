package explain

import (
	"encoding/json"

	"beatwright/estimate"
	"beatwright/grade"
	"beatwright/poise"
	"beatwright/position"
	"beatwright/round"
)

// plain is a value with its whole doubt.
type plain struct {
	Value float64 `json:"value"`
	U95   float64 `json:"u95"`
}

// rate adds what the sound alone allows.
type rateJSON struct {
	plain
	Statistical float64 `json:"u95_statistical"`
}

// swing takes the lift as given, and adds it.
type swingJSON struct {
	Value        *float64 `json:"value"`
	U95          *float64 `json:"u95"`
	WithLift     *float64 `json:"u95_with_lift"`
	Standing     string   `json:"standing,omitempty"`
	Contradicted string   `json:"contradicted,omitempty"`
}

type beatJSON struct {
	plain
	Degrees *plain `json:"degrees"`
}

type rowJSON struct {
	Position    position.Position `json:"position"`
	Hours       *float64          `json:"hours_since_full_wind"`
	Chronograph *string           `json:"chronograph"`
	Stage       *string           `json:"stage"`
	Cased       *bool             `json:"cased,omitempty"`
	Temperature *float64          `json:"temperature_c,omitempty"`
	Rate        *rateJSON         `json:"rate_s_per_day"`
	Amplitude   *swingJSON        `json:"amplitude_deg"`
	BeatError   *beatJSON         `json:"beat_error_ms"`
}

type spreadJSON struct {
	plain
	Fastest position.Position `json:"fastest"`
	Slowest position.Position `json:"slowest"`
	Chance  float64           `json:"by_chance"`
	Clear   bool              `json:"clear"`
}

type changeJSON struct {
	From      string              `json:"from"`
	To        string              `json:"to"`
	Positions []position.Position `json:"positions"`
	Rate      *rateJSON           `json:"rate_s_per_day"`
	Amplitude *swingJSON          `json:"amplitude_deg"`
	Unlike    []string            `json:"unlike"`
}

type summaryJSON struct {
	Of            string       `json:"of"`
	Positions     int          `json:"positions"`
	Mean          *rateJSON    `json:"mean_rate_s_per_day"`
	MeanSwing     *swingJSON   `json:"mean_amplitude_deg"`
	Spread        *spreadJSON  `json:"spread_s_per_day"`
	FlatRate      *rateJSON    `json:"horizontal_minus_vertical_rate_s_per_day"`
	FlatSwing     *swingJSON   `json:"horizontal_minus_vertical_amplitude_deg"`
	UpRate        *rateJSON    `json:"dial_up_minus_dial_down_rate_s_per_day"`
	UpSwing       *swingJSON   `json:"dial_up_minus_dial_down_amplitude_deg"`
	ChronoDrop    *swingJSON   `json:"chronograph_amplitude_drop_deg"`
	ChronoRate    *rateJSON    `json:"chronograph_rate_change_s_per_day"`
	RunDown       *changeJSON  `json:"full_wind_to_run_down"`
	FromOtherwise []changeJSON `json:"stages,omitempty"`
}

type restJSON struct {
	Position position.Position `json:"position"`
	plain
	Clear bool `json:"clear"`
}

type pullJSON struct {
	Standing poise.Standing `json:"standing"`
	Size     plain          `json:"size_s_per_day"`
	FastHour float64        `json:"fastest_hour_up"`
}

type poiseJSON struct {
	Standing    poise.Standing `json:"standing"`
	Heavy       *plain         `json:"heavy_point_deg"`
	CockSide    *plain         `json:"heavy_point_cock_side_deg,omitempty"`
	RollerSide  *plain         `json:"heavy_point_roller_side_deg,omitempty"`
	Ratio       *plain         `json:"moment_ratio"`
	Unbalance   *plain         `json:"unbalance_ug_mm,omitempty"`
	Amplitude   *plain         `json:"amplitude_deg,omitempty"`
	Slope       *plain         `json:"rate_per_degree_of_amplitude,omitempty"`
	Pull        *pullJSON      `json:"hairspring_pull,omitempty"`
	Unexplained []restJSON     `json:"unexplained_s_per_day,omitempty"`
	Why         string         `json:"why,omitempty"`
}

// MarshalJSON writes the one object of the command line.
func (r Report) MarshalJSON() ([]byte, error) {
	out := struct {
		Table    []rowJSON       `json:"table"`
		Summary  summaryJSON     `json:"summary"`
		Poise    poiseJSON       `json:"poise"`
		Grades   []grade.Verdict `json:"grades"`
		Warnings []string        `json:"warnings"`
	}{Table: []rowJSON{}, Summary: r.summaryJSON(), Poise: r.poiseJSON(), Grades: r.Grades, Warnings: r.Warnings}
	for _, rd := range r.Table.Readings {
		out.Table = append(out.Table, r.rowJSON(rd))
	}
	if out.Grades == nil {
		out.Grades = []grade.Verdict{}
	}
	if out.Warnings == nil {
		out.Warnings = []string{}
	}
	return json.Marshal(out)
}

func (r Report) rowJSON(rd round.Reading) rowJSON {
	row := rowJSON{
		Position: rd.Position, Hours: rd.State.Hours, Cased: rd.State.Cased, Temperature: rd.State.Temperature,
		Chronograph: stated(string(rd.State.Chronograph)), Stage: stated(rd.State.Stage),
		Rate: toRate(rd.Rate), Amplitude: toSwing(rd.Amplitude),
	}
	if row.Amplitude != nil {
		row.Amplitude.Standing, row.Amplitude.Contradicted = string(rd.Standing), rd.Contradicted
		if rd.Standing == round.AtMost { // a bound has its doubt in it already
			row.Amplitude.U95, row.Amplitude.WithLift = nil, nil
		}
	}
	if rd.BeatError != nil {
		row.BeatError = &beatJSON{*toPlain(rd.BeatError), toPlain(r.Degrees(rd))}
	}
	return row
}

func (r Report) summaryJSON() summaryJSON {
	if r.Main == nil {
		return summaryJSON{}
	}
	s := summaryJSON{
		Of: r.Main.State.Words(), Positions: r.Sum.Positions,
		Mean: toRate(r.Sum.MeanRate), MeanSwing: toSwing(r.Sum.MeanAmplitude),
		FlatRate: toRate(r.Sum.FlatLessUprightRate), FlatSwing: toSwing(r.Sum.FlatLessUprightAmplitude),
		UpRate: toRate(r.Sum.UpLessDownRate), UpSwing: toSwing(r.Sum.UpLessDownAmplitude),
		RunDown: toChange(r.Down),
	}
	if sp := r.Sum.Spread; sp != nil {
		s.Spread = &spreadJSON{*toPlain(&sp.Estimate), sp.Fastest, sp.Slowest, sp.Chance, sp.Clear()}
	}
	if r.Run != nil {
		s.ChronoRate = toRate(r.Run.Rate)
		if r.Run.Amplitude != nil {
			drop := r.Run.Amplitude.Scale(-1)
			s.ChronoDrop = toSwing(&drop)
		}
	}
	for _, c := range r.Stages {
		s.FromOtherwise = append(s.FromOtherwise, *toChange(&c))
	}
	return s
}

func (r Report) poiseJSON() poiseJSON {
	p := r.Poise
	if p == nil {
		return poiseJSON{Standing: poise.NotResolved, Why: r.WhyNoPoise}
	}
	cock := p.FromCockSide()
	out := poiseJSON{
		Standing: p.Standing, Heavy: toPlain(&p.HeavyPoint), RollerSide: toPlain(&p.HeavyPoint), CockSide: toPlain(&cock),
		Ratio: toPlain(&p.MomentRatio), Unbalance: toPlain(r.Unbalance), Amplitude: toPlain(&p.Amplitude), Slope: toPlain(&p.Slope),
	}
	if p.Pull != nil {
		out.Pull = &pullJSON{p.Pull.Standing, *toPlain(&p.Pull.Size), p.Pull.FastHour}
	}
	for _, u := range p.Unexplained {
		out.Unexplained = append(out.Unexplained, restJSON{u.Position, *toPlain(&u.Rate), u.Rate.Clear()})
	}
	return out
}

func stated(s string) *string {
	if s == "" {
		return nil
	}
	return &s
}

func toPlain(e *estimate.Estimate) *plain {
	if e == nil {
		return nil
	}
	return &plain{e.Value, e.U95()}
}

func toRate(e *estimate.Estimate) *rateJSON {
	if e == nil {
		return nil
	}
	return &rateJSON{*toPlain(e), e.Own}
}

func toSwing(e *estimate.Estimate) *swingJSON {
	if e == nil {
		return nil
	}
	v, u, all := e.Value, without(*e, liftTerm), e.U95()
	return &swingJSON{Value: &v, U95: &u, WithLift: &all}
}

func toChange(c *round.Change) *changeJSON {
	if c == nil {
		return nil
	}
	return &changeJSON{c.From.Words(), c.To.Words(), c.Positions, toRate(c.Rate), toSwing(c.Amplitude), c.Unlike}
}
