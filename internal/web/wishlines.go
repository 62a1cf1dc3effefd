package web

import (
	"beatwright"
	"beatwright/intake"
)

// wishLine is one wish as the job's page shows it.
type wishLine struct{ Words, Answer string }

// guarding are the wishes that bind the work, as a line has room for them; the
// others stand on their own page.
var guarding = map[string]string{
	"wi.polish": "Polish", "wi.dial": "Dial", "wi.hands": "Hands", "wi.lume": "Paint", "wi.generic": "Other parts",
	"wi.oldparts": "Old parts", "wi.water": "Water", "wi.radium": "If radium",
}

func wishLines(p *beatwright.Papers) []wishLine {
	var out []wishLine
	w := p.Job.Wishes
	for _, wish := range intake.Default().Wishes(features(p)) {
		id := w.Answers[wish.ID]
		short, shown := guarding[wish.ID]
		if id == "" || !shown {
			continue
		}
		answer := id
		for _, c := range wish.Answers {
			if c.ID == id {
				answer = c.Words
			}
		}
		if words := w.Words[wish.ID]; words != "" {
			answer += ": " + words
		}
		out = append(out, wishLine{short, answer})
	}
	for _, m := range []struct {
		words string
		money *beatwright.Money
	}{{"Spend up to", w.Limit}, {"Value here", w.Value}} {
		if m.money != nil {
			out = append(out, wishLine{m.words, m.money.String()})
		}
	}
	if w.Deadline != nil {
		out = append(out, wishLine{"Wanted by", sayDate(w.Deadline)})
	}
	return out
}
