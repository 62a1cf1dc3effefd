package round

import (
	"fmt"
	"math"
	"slices"

	"beatwright/estimate"
	"beatwright/position"
)

// Table is all readings, and the rounds they fall into.
type Table struct {
	Readings []Reading // as given, contradicted amplitudes marked
	Rounds   []Round   // in the order in which they were begun
	Warnings []string
}

// Round is the readings of one stage, wind and state of the chronograph, one a
// position: readings repeated in a position are joined.
type Round struct {
	State    State
	Readings []Reading
}

// NewTable marks contradicted amplitudes, sorts the readings into rounds and
// joins what was heard twice.
func NewTable(readings []Reading) Table {
	t := Table{Readings: slices.Clone(readings)}
	t.contradict()
	for _, group := range t.groups() {
		t.Rounds = append(t.Rounds, t.join(group))
	}
	return t
}

// Main is the round that a single summary is of: the last stage, chronograph
// idle, soonest after full wind. Nil when there is none.
func (t Table) Main() *Round {
	stages := t.Stages()
	if len(stages) == 0 {
		return nil
	}
	return t.MainOf(stages[len(stages)-1])
}

// MainOf is Main of one stage; nil when there is no such stage.
func (t Table) MainOf(stage string) *Round {
	var best *Round
	for i := range t.Rounds {
		r := &t.Rounds[i]
		if r.State.Stage == stage && (best == nil || before(r.State, best.State)) {
			best = r
		}
	}
	return best
}

// Stages are the stages in the order in which they were begun.
func (t Table) Stages() []string {
	var out []string
	for _, r := range t.Rounds {
		if !slices.Contains(out, r.State.Stage) {
			out = append(out, r.State.Stage)
		}
	}
	return out
}

// before tells whether a is the better state for a summary: idle before
// running, then early before late.
func before(a, b State) bool {
	if (a.Chronograph == On) != (b.Chronograph == On) {
		return b.Chronograph == On
	}
	return hours(a) < hours(b)
}

func hours(s State) float64 {
	if s.Hours == nil {
		return 0
	}
	return *s.Hours
}

// groups sorts the readings' indices into rounds.
func (t Table) groups() [][]int {
	var groups [][]int
	for i, r := range t.Readings {
		n := slices.IndexFunc(groups, func(g []int) bool { return sameRound(t.Readings[g[0]].State, r.State) })
		if n < 0 {
			groups = append(groups, []int{i})
			continue
		}
		groups[n] = append(groups[n], i)
	}
	return groups
}

func sameRound(a, b State) bool {
	return a.Stage == b.Stage && (a.Chronograph == On) == (b.Chronograph == On) &&
		(a.Hours == nil) == (b.Hours == nil) && !differ(a.Hours, b.Hours, sameWind)
}

// join makes one reading a position, in the order of the round: dial up, dial
// down, then the hours. What does not repeat, and states that differ within
// the round, become warnings.
func (t *Table) join(group []int) Round {
	byPosition := map[position.Position][]Reading{}
	r := Round{State: t.Readings[group[0]].State}
	mixed := map[string]bool{}
	for _, i := range group {
		rd := t.Readings[i]
		byPosition[rd.Position] = append(byPosition[rd.Position], rd)
		for _, d := range Unlike(r.State, rd.State) {
			if !mixed[d] {
				mixed[d] = true
				t.Warnings = append(t.Warnings, fmt.Sprintf("%s: readings of one round differ, %s", r.State.Words(), d))
			}
		}
	}
	for p := position.CH; p.Valid(); p++ {
		if same := byPosition[p]; len(same) > 0 {
			r.Readings = append(r.Readings, t.merge(same))
		}
	}
	return r
}

// merge joins readings of one position and state, weighted by their doubt.
func (t *Table) merge(same []Reading) Reading {
	out := same[0]
	if len(same) == 1 {
		return out
	}
	var rates, beats, swings []estimate.Estimate
	for _, r := range same {
		rates, beats, swings = add(rates, r.Rate), add(beats, r.BeatError), add(swings, r.Swing())
	}
	t.Warnings = append(t.Warnings, fmt.Sprintf("%s was heard %d times (%s): taken together%s",
		out.Position, len(same), out.State.Words(), repeats(rates)))
	out.Rate, out.BeatError = joined(rates), joined(beats)
	if a := joined(swings); a != nil {
		out.Amplitude, out.Standing, out.Contradicted = a, Measured, ""
	}
	return out
}

func add(es []estimate.Estimate, e *estimate.Estimate) []estimate.Estimate {
	if e == nil {
		return es
	}
	return append(es, *e)
}

// repeats says by how much repeated rates differ, if beyond their doubt.
func repeats(rates []estimate.Estimate) string {
	for i, a := range rates {
		for _, b := range rates[:i] {
			if d := a.Sub(b); d.Clear() {
				return fmt.Sprintf(", though the rate did not repeat: %.1f s/d apart, doubt %.1f", math.Abs(d.Value), d.U95())
			}
		}
	}
	return ""
}

// joined is the weighted mean, its own doubt widened where the readings differ
// by more than theirs allow (the larger of both, common practice).
func joined(es []estimate.Estimate) *estimate.Estimate {
	if len(es) == 0 {
		return nil
	}
	m := estimate.Weighted(es...)
	for _, e := range es {
		d := e.Sub(m)
		if half := math.Abs(d.Value); half > e.Own {
			m.Own = math.Max(m.Own, half)
		}
	}
	return &m
}
