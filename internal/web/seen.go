package web

import (
	"slices"
	"strings"

	"beatwright"
	"beatwright/intake"
	"beatwright/internal/say"
)

// most is how much of each kind the line of a job names (chosen: it is read at
// a glance; the page of taps has all).
const most = 4

// seenWords sum up the intake: what is amiss, the worst first, how the
// functions went, what was told.
func seenWords(p *beatwright.Papers) string {
	if len(p.Findings)+len(p.Functions) == 0 {
		return ""
	}
	var told, tried []string
	var amiss []*beatwright.Finding
	seen := len(p.Functions)
	for _, f := range p.Findings {
		switch {
		case f.Group != string(intake.Told):
			seen++
			if !f.None && f.Condition != beatwright.Sound && f.Condition != beatwright.NotSeen {
				amiss = append(amiss, f)
			}
		case !f.None:
			told = append(told, lowerFirst(f.What))
		}
	}
	for _, f := range p.Functions {
		if f.Result == beatwright.Doubtful || f.Result == beatwright.Fails {
			tried = append(tried, "“"+lowerFirst(f.What)+"” "+string(f.Result))
		}
	}
	out := []string{few(amissWords(amiss)), say.Sentence(few(tried))}
	switch {
	case seen == 0:
		out = []string{"Not looked at yet."}
	case len(amiss)+len(tried) == 0:
		out = []string{"Nothing amiss noted."}
	}
	out[0] = say.Sentence(out[0])
	if len(told) > 0 {
		out = append(out, say.Sentence("told: "+few(told)))
	}
	return strings.Join(slices.DeleteFunc(out, func(s string) bool { return s == "" }), " ")
}

// amissWords name what is amiss with where it is, the worst first.
func amissWords(found []*beatwright.Finding) []string {
	place := func(f *beatwright.Finding) int {
		if i := slices.Index(worst, intake.Condition(f.Condition)); i >= 0 {
			return i
		}
		return len(worst)
	}
	slices.SortStableFunc(found, func(a, b *beatwright.Finding) int { return place(a) - place(b) })
	var out []string
	for _, f := range found {
		words := lowerFirst(f.What)
		if len(f.Where) > 0 {
			words += " (" + strings.Join(f.Where, ", ") + ")"
		}
		out = append(out, words)
	}
	return out
}

func few(words []string) string {
	if len(words) > most {
		words = append(words[:most:most], say.Count(len(words)-most)+" more")
	}
	return strings.Join(words, "; ")
}
