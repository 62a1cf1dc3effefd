package explain

import (
	"fmt"
	"math"

	"beatwright/balance"
	"beatwright/estimate"
	"beatwright/grade"
	"beatwright/poise"
	"beatwright/position"
	"beatwright/round"
	"beatwright/unit"
)

// Report is what a table says; MarshalJSON writes the contract's object.
type Report struct {
	Table  round.Table
	Main   *round.Round // the round the summary is of
	Sum    round.Summary
	Down   *round.Change // full wind to run down
	Run    *round.Change // chronograph idle to running
	Stages []round.Change
	// Poise is nil where it cannot be reckoned; WhyNoPoise says why.
	Poise      *poise.Reckoning
	WhyNoPoise string
	Unbalance  *estimate.Estimate // µg·mm, with a known inertia
	Grades     []grade.Verdict
	Warnings   []string
	o          Options
}

func build(rs []round.Reading, warnings []string, o Options) Report {
	r := Report{Table: round.NewTable(rs), Warnings: warnings, o: o}
	r.Warnings = append(r.Warnings, r.Table.Warnings...)
	r.Main = r.Table.Main()
	if r.Main == nil {
		r.WhyNoPoise = "no readings"
		return r
	}
	r.Sum = r.Main.Summary()
	stage := r.Main.State.Stage
	r.Down, r.Run = r.Table.RunDown(stage), r.Table.Running(stage)
	stages := r.Table.Stages()
	for i := range stages[1:] {
		if c := round.Between(*r.Table.MainOf(stages[i]), *r.Table.MainOf(stages[i+1])); c != nil {
			r.Stages = append(r.Stages, *c)
		}
	}
	if len(r.Table.Rounds) > 1 {
		r.Warnings = append(r.Warnings, fmt.Sprintf("summary and grades are of one round: %s", r.Main.State.Words()))
	}
	r.thin()
	r.reckonPoise(stage)
	r.judge()
	return r
}

// thin says what a small table cannot tell.
func (r *Report) thin() {
	if n := r.Sum.Positions; n < 3 {
		r.Warnings = append(r.Warnings, fmt.Sprintf("%s: little is told by them, six make a round", count(n, "position with a rate", "positions with a rate")))
	}
	without := 0
	for _, rd := range r.Main.Readings {
		if rd.Swing() == nil {
			without++
		}
	}
	if without > 0 {
		r.Warnings = append(r.Warnings, fmt.Sprintf("no measured amplitude of %s out of %d: left out of what needs it", count(without, "position", "positions"), len(r.Main.Readings)))
	}
}

func count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// reckonPoise takes all rounds of the stage with the chronograph idle: two
// winds tell want of poise from the hairspring's pull.
func (r *Report) reckonPoise(stage string) {
	var rs []poise.Reading
	for _, rd := range r.Table.Rounds {
		if rd.State.Stage != stage || (rd.State.Chronograph == round.On) != (r.Main.State.Chronograph == round.On) {
			continue
		}
		for _, p := range rd.Readings {
			if swing := p.Swing(); swing != nil && p.Rate != nil {
				rs = append(rs, poise.Reading{Position: p.Position, Rate: *p.Rate, Amplitude: *swing})
			}
		}
	}
	got, err := poise.Reckon(rs)
	if err != nil {
		r.WhyNoPoise = err.Error()
		return
	}
	r.Poise = &got
	r.Warnings = append(r.Warnings, got.Warnings...)
	if m := r.o.Movement; m != nil && m.Inertia != nil && m.BeatsPerHour != nil {
		u := got.Unbalance(balance.MilligramsSquareCentimetre(*m.Inertia), *m.BeatsPerHour)
		r.Unbalance = &u
	}
}

func (r *Report) judge() {
	e := grade.Evidence{
		CrownHour: r.o.crown(),
		Rates:     map[position.Position]estimate.Estimate{}, Amplitudes: map[position.Position]estimate.Estimate{},
		BeatErrors: map[position.Position]estimate.Estimate{},
	}
	for _, rd := range r.Main.Readings {
		if rd.Rate != nil {
			e.Rates[rd.Position] = *rd.Rate
		}
		if s := rd.Swing(); s != nil {
			e.Amplitudes[rd.Position] = *s
		}
		if rd.BeatError != nil {
			e.BeatErrors[rd.Position] = *rd.BeatError
		}
	}
	for _, g := range append(grade.Kleinlein(), r.o.Grades...) {
		r.Grades = append(r.Grades, g.Judge(e))
	}
}

// Degrees is a reading's beat error as an angle; nil unless the swing is
// measured and the beat rate known.
func (r Report) Degrees(rd round.Reading) *estimate.Estimate {
	swing := rd.Swing()
	if rd.BeatError == nil || swing == nil || r.o.period() == 0 {
		return nil
	}
	return beatAngle(*rd.BeatError, *swing, r.o.period())
}

// beatAngle carries both doubts into the angle: A·sin(π·e/T), to first order.
func beatAngle(ms, swing estimate.Estimate, period unit.Seconds) *estimate.Estimate {
	angle := func(ms, a float64) float64 {
		return float64(balance.BeatErrorAngle(unit.Milliseconds(ms).Seconds(), unit.Degrees(a), period))
	}
	v := angle(ms.Value, swing.Value)
	const step = 1e-3
	perMs := (angle(ms.Value+step, swing.Value) - angle(ms.Value-step, swing.Value)) / (2 * step)
	e := ms.Scale(perMs).Add(swing.Scale(v / swing.Value))
	e.Value = v
	if math.IsNaN(v) || math.IsNaN(perMs) {
		return nil
	}
	return &e
}
