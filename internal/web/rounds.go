package web

import (
	"html/template"
	"slices"
	"strconv"
	"strings"

	"beatwright"
	"beatwright/estimate"
	"beatwright/internal/live"
	"beatwright/internal/plot"
	"beatwright/internal/say"
	"beatwright/position"
	"beatwright/round"
)

// roundStep is the place of a stage on the spine: what its rounds say in one
// line.
func roundStep(p *beatwright.Papers, name string, stages ...beatwright.Stage) step {
	st := step{Name: name, Open: "hear"}
	for _, h := range p.Hearings {
		if slices.Contains(stages, p.Stage(h)) {
			st.When = &h.At
		}
	}
	if st.When == nil {
		st.Words = notYet[name]
		return st
	}
	st.Link, st.LinkName = "/jobs/"+p.Job.Number+"/positions", "Positions"
	table := round.NewTable(live.Readings(p))
	for _, stage := range stages {
		if main := table.MainOf(string(stage)); main != nil {
			st.Words = roundWords(*main)
			return st
		}
	}
	st.Words = "Heard, but nothing to set in a table yet: no watch, or no position said."
	return st
}

// notYet says what a step is about before anything of it is kept.
var notYet = map[string]string{
	"Heard as found": "Six positions at full wind, before anything is touched; again after 24 hours.",
	"As left":        "The same positions again, cased, beside the first; again after 24 hours.",
}

// roundWords say a round in one line.
func roundWords(r round.Round) string {
	sum := r.Summary()
	var parts []string
	if m := sum.MeanRate; m != nil {
		words := say.SignedWith(m.Value, m.U95(), "s/d")
		if sum.Positions > 1 {
			words += " in the mean of " + inWords(sum.Positions)
		}
		parts = append(parts, words)
	}
	if sp := sum.Spread; sp != nil {
		parts = append(parts, spreadWords(sp))
	}
	parts = append(parts, swingWords(r))
	return say.Sentence(strings.Join(parts, ", "))
}

func spreadWords(sp *round.Spread) string {
	return say.With(sp.Value, sp.U95(), "s/d") + " apart"
}

// swingWords say the range of swings in a round, lowest first, and the bounds
// apart from what was measured.
func swingWords(r round.Round) string {
	var low, high, most float64
	bounds := 0
	for _, rd := range r.Readings {
		switch {
		case rd.Amplitude == nil:
		case rd.Standing == round.AtMost:
			bounds, most = bounds+1, max(most, rd.Amplitude.Value)
		default:
			if high == 0 || rd.Amplitude.Value < low {
				low = rd.Amplitude.Value
			}
			high = max(high, rd.Amplitude.Value)
		}
	}
	degrees := func(v float64) string { return say.Unit(say.Fixed(v, 0), "°") }
	words := "swing " + say.Fixed(low, 0) + " to " + degrees(high)
	switch {
	case high == 0 && bounds == 0:
		return "swing cannot be told"
	case high == 0:
		return "swing at most " + degrees(most)
	case high-low < 1:
		words = "swing " + degrees(high)
	}
	if bounds > 0 {
		words += ", in " + inWords(bounds) + " at most " + degrees(most)
	}
	return words
}

// glyph is one position to choose, drawn for this watch.
type glyph struct {
	Symbol  string
	Words   string
	Picture template.HTML
}

// crown is the hour at which a watch's crown sits.
func crown(p *beatwright.Papers) float64 {
	if p.Watch.Crown != nil {
		return *p.Watch.Crown
	}
	if p.Movement != nil && p.Movement.Facts.CrownHour != nil {
		return *p.Movement.Facts.CrownHour
	}
	if features(p).Pocket {
		return 12
	}
	return 3
}

func glyphs(p *beatwright.Papers) []glyph {
	var out []glyph
	for i, pos := range position.Six {
		out = append(out, glyph{pos.String(), pos.Words(crown(p)), plot.Glyph(pos, 42, crown(p)).Inline("pick" + strconv.Itoa(i))})
	}
	return out
}

// figure is an estimate as a table shows it.
type figure struct {
	Value  string `json:"value"`
	U      string `json:"u95,omitempty"`
	Unit   string `json:"unit,omitempty"`
	AtMost bool   `json:"at_most,omitempty"`
}

func rateFigure(e *estimate.Estimate) figure {
	if e == nil {
		return figure{Value: "–"}
	}
	return figure{Value: say.Signed(e.Value, e.U95()), U: say.Uncertainty(e.U95())}
}
