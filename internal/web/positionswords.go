package web

import (
	"math"
	"slices"
	"strings"

	"beatwright"
	"beatwright/grade"
	"beatwright/internal/plot"
	"beatwright/internal/say"
	"beatwright/round"
	"beatwright/unit"
)

// draw makes curves and balances, each kind on one scale.
func (v *positionsView) draw() {
	curve := plot.Curve{Limits: v.limits()}
	var balances []plot.Balance
	for _, sd := range v.Sides {
		r := sd.Report
		curve.States = append(curve.States, plot.StateOf(sd.Stage, sd.left, *r.Main))
		balances = append(balances, plot.BalanceOf(sd.Stage, sd.left, r.Poise, r.Unbalance, r.WhyNoPoise))
	}
	ids := []string{"left", "right"}
	for i, pic := range curve.Panels() {
		v.Sides[i].Curve, v.Sides[i].CurveWords = pic.Inline("curve"+ids[i]), pic.Caption
	}
	for i, pic := range plot.Balances(balances...) {
		v.Sides[i].Balance, v.Sides[i].BalanceWords = pic.Inline("balance"+ids[i]), balances[i].Words().Sentence
		v.Sides[i].BalanceWhy = balanceWhy(v.Sides[i])
	}
}

// balanceWhy says beside the drawing what it stands on.
func balanceWhy(sd *side) []string {
	r := sd.Report
	if r.Poise == nil {
		return nil
	}
	var out []string
	if r.Poise.Standing != "measured" {
		out = append(out, "The hatched patch is where the centre of weight may lie, 95 %. It covers the staff.")
	}
	if m := sd.papers.Movement; m != nil && m.Facts.Inertia != nil {
		out = append(out, "Inertia "+say.Unit(say.Plain(float64(*m.Facts.Inertia)), "mg·cm²")+": the direction does not depend on it.")
	} else {
		out = append(out, "The balance’s inertia is not known, so the size is that of the moment over the hairspring’s stiffness; the direction does not depend on it.")
	}
	if pull := r.Poise.Pull; pull != nil && pull.Standing == "measured" {
		out = append(out, "Beside it the hairspring’s own pull: "+say.Doubt(pull.Size.Value, "s/d")+" round the dial, whatever the swing.")
	}
	return out
}

// limits are those of the chosen grade on the rate of single positions.
func (v *positionsView) limits() []plot.Limit {
	var out []plot.Limit
	for _, g := range v.Sides[0].Report.Grades {
		if g.Grade != v.Grade {
			continue
		}
		for _, f := range g.Findings {
			none := unit.SecondsPerDay(math.NaN())
			l := plot.Limit{Low: none, High: none, Whose: g.Grade}
			switch {
			case f.Of == grade.FastestRate && f.High != nil:
				l.High = unit.SecondsPerDay(*f.High)
			case f.Of == grade.SlowestRate && f.Low != nil:
				l.Low = unit.SecondsPerDay(*f.Low)
			default:
				continue
			}
			out = append(out, l)
		}
	}
	return out
}

// words say the state, what changes as it runs down, how it stands to the
// chosen grade, and what to be wary of.
func (v *positionsView) words(p *beatwright.Papers) {
	for _, sd := range v.Sides {
		r := sd.Report
		sd.Later = append(changeLines(r.Down), changeLines(r.Run)...)
		for _, g := range r.Grades {
			if g.Grade == v.Grade {
				sd.Verdict = verdictLines(g)
			}
		}
		for _, w := range r.Warnings {
			if strings.HasPrefix(w, "summary and grades are of one round") {
				continue // the page says of which
			}
			if len(v.Sides) > 1 {
				w = sd.Stage + ": " + strings.TrimPrefix(w, sd.Stage+": ")
			}
			v.Notes = append(v.Notes, say.Sentence(w))
		}
		for _, rd := range r.Main.Readings {
			if rd.Contradicted != "" {
				v.Notes = append(v.Notes, say.Sentence(rd.Position.String()+", "+sd.Stage+": the swing is not believed, "+rd.Contradicted))
			}
		}
	}
	v.State = stateLines(v.Sides, p)
}

// changeLines say what one thing that changed did; nothing of nil.
func changeLines(c *round.Change) []string {
	if c == nil {
		return nil
	}
	out := "From " + c.From.Words() + " to " + c.To.Words() + ", " + inWords(len(c.Positions)) + " " + plural(len(c.Positions), "position", "positions") + ": "
	var parts []string
	if e := c.Rate; e != nil {
		words := say.SignedWith(e.Value, e.U95(), "s/d")
		if !e.Clear() {
			words = "rate unchanged within its doubt, " + words
		} else {
			words = "rate " + words
		}
		parts = append(parts, words)
	}
	if e := c.Amplitude; e != nil {
		words := say.SignedWith(e.Value, e.U95(), "°")
		if !e.Clear() {
			words = "swing unchanged within its doubt, " + words
		} else {
			words = "swing " + words
		}
		parts = append(parts, words)
	}
	if len(parts) == 0 {
		parts = []string{"nothing that both rounds tell"}
	}
	lines := []string{out + strings.Join(parts, "; ") + "."}
	if len(c.Unlike) > 1 {
		lines = append(lines, "More than one thing differs: "+strings.Join(c.Unlike, "; ")+".")
	}
	return lines
}

func verdictLines(v grade.Verdict) []string {
	out := []string{say.Sentence(string(v.Standing))}
	for _, f := range v.Findings {
		if f.Standing != grade.Within {
			out = append(out, say.Sentence(f.Words()))
		}
	}
	return append(out, "Source: "+v.Source+".")
}

// stateLines say how the watch was, and what ± means here.
func stateLines(sides []*side, p *beatwright.Papers) []string {
	var states []string
	for _, sd := range sides {
		st := sd.Report.Main.State
		words := stateWords(beatwright.State{Hours: st.Hours, Chronograph: string(st.Chronograph), Cased: st.Cased, Temperature: st.Temperature})
		if words == "" {
			words = "state not stated"
		}
		states = append(states, words)
	}
	out := []string{say.Sentence(states[0])}
	if len(states) > 1 && states[1] != states[0] {
		out[0] = say.Sentence(sides[0].Stage + ": " + states[0] + "; " + sides[1].Stage + ": " + states[1])
	}
	return append(out, doubtLine(sides, p))
}

// doubtLine says which doubts stand beside the figures, as the readings that
// are shown have them.
func doubtLine(sides []*side, p *beatwright.Papers) string {
	var clocks, lifts []string
	note := func(all []string, s string) []string {
		if slices.Contains(all, s) {
			return all
		}
		return append(all, s)
	}
	for _, sd := range sides {
		for _, h := range sd.heard {
			w := p.Latest(h.Hearing.ID).Says.Watch
			clocks = note(clocks, say.Doubt(float64(unit.PPM(w.Clock.U95PPM).PerDay()), "s/d"))
			lifts = note(lifts, say.With(w.Lift.Value, w.Lift.U95, "°")+", "+string(w.Lift.Standing))
		}
	}
	return "± is 95 %. Beside a rate it is the sound’s alone; the clock’s, " + strings.Join(clocks, " or ") +
		", is the same in all rates and is in the mean. Beside an amplitude the lift angle’s (" + strings.Join(lifts, "; ") + ") is in it."
}
