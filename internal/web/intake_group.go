package web

import (
	"slices"
	"strconv"
	"strings"

	"beatwright"
	"beatwright/intake"
	"beatwright/internal/say"
)

// groupOf is one group as it stands; Mark is done, begun or empty until the
// groups are set beside each other.
func groupOf(c *intake.Catalogue, f intake.Features, g intake.Group, p *beatwright.Papers) intakeGroup {
	out := intakeGroup{ID: g, Name: g.Words()}
	leads := map[string]bool{}
	for _, first := range c.First() {
		for _, id := range first.Opens {
			leads[id] = true
		}
	}
	var said []string
	answered := 0
	for _, q := range c.Questions(f, g) {
		it := itemOf(c, q, p)
		switch {
		case it.State == "yes":
			out.Noted++
			said = append(said, lowerFirst(p.Finding(q.ID).What))
		case it.State == "" && !q.Trial:
			out.Open++
		}
		if it.State != "" {
			answered++
		}
		if q.Decides || leads[q.ID] {
			out.Decide = append(out.Decide, it)
		} else {
			out.Also = append(out.Also, it)
		}
	}
	out.Said = say.Sentence(strings.Join(said, "; "))
	toTry := 0
	if g == intake.Closed {
		toTry = out.tries(c, f, p)
		answered += len(p.Functions)
	}
	out.count(answered, toTry)
	return out
}

// count says in words how far a group is.
func (g *intakeGroup) count(answered, toTry int) {
	try := say.Count(toTry) + " to try"
	switch {
	case answered == 0:
		g.Count = "not yet asked"
	case g.Open > 0:
		g.Mark, g.Count = "begun", say.Count(g.Noted)+" noted, "+say.Count(g.Open)+" open"
	case toTry > 0:
		g.Mark, g.Count = "begun", "all seen, "+try
	default:
		g.Mark, g.Count = "done", "all answered"
	}
}

// tries fills in what is tried by hand: what was tried and what may be now, in
// the order that does no harm, and what is barred. It gives how many are left.
func (g *intakeGroup) tries(c *intake.Catalogue, f intake.Features, p *beatwright.Papers) int {
	answers := answersOf(p)
	told := c.Reported(answers)
	next := intake.Next(c.Functions(f, told), answers)
	g.Why = told.Why()
	may := map[string]bool{}
	for _, fn := range next.May {
		may[fn.ID] = true
	}
	warned := map[string]bool{}
	for _, fn := range c.Functions(f, intake.Reported{}) {
		fc := p.Function(fn.ID)
		if fc == nil && !may[fn.ID] {
			continue
		}
		t := trialOf(fn, fc, p)
		t.Next = len(next.May) > 0 && next.May[0].ID == fn.ID
		if fc == nil {
			t.Cautions = c.Cautions(newOf(fn.Cautions, warned)...)
		}
		g.Tries = append(g.Tries, t)
	}
	for _, b := range next.Barred {
		g.Barred = append(g.Barred, barred{b.Function.Words, b.Why, b.Final})
	}
	return len(next.May)
}

// newOf gives those ids that were not given before: a caution stands once, at
// the first step it guards.
func newOf(ids []string, before map[string]bool) []string {
	var out []string
	for _, id := range ids {
		if !before[id] {
			out = append(out, id)
		}
		before[id] = true
	}
	return out
}

func itemOf(c *intake.Catalogue, q intake.Question, p *beatwright.Papers) item {
	it := item{ID: q.ID, Words: q.Words, Look: q.Look, Unsure: q.Unsure}
	f := p.Finding(q.ID)
	switch {
	case f == nil:
		return it
	case f.None:
		it.State = "none"
		return it
	}
	it.State, it.Suggests = "yes", f.Suggests
	for _, a := range q.Answers {
		it.Answers = append(it.Answers, tapWord{a.ID, a.Words, slices.Contains(f.Answers, a.ID)})
	}
	for _, place := range shownPlaces(q, f) {
		it.Where = append(it.Where, tapWord{place, place, slices.Contains(f.Where, place)})
	}
	it.Cautions = c.Cautions(q.Cautions...)
	it.more = more{Entry: f.ID, Note: f.Note, Condition: f.Condition, Pictures: picksOf(p, f.Pictures)}
	if f.Condition != conditionOf(q, f.Answers) {
		it.Set = f.Condition
	}
	return it
}

// shownPlaces are the places that the words tapped leave open, and those that
// are tapped already.
func shownPlaces(q intake.Question, f *beatwright.Finding) []string {
	var out []string
	add := func(places []string) {
		for _, place := range places {
			if !slices.Contains(out, place) {
				out = append(out, place)
			}
		}
	}
	for _, a := range q.Answers {
		if slices.Contains(f.Answers, a.ID) {
			if len(a.Where) > 0 {
				add(a.Where)
			} else {
				add(q.Where)
			}
		}
	}
	if len(f.Answers) == 0 {
		add(q.Where)
	}
	add(f.Where)
	return out
}

// offered is how many of the job's newest pictures a finding offers (chosen:
// two rows of figures).
const offered = 14

func picksOf(p *beatwright.Papers, chosen []beatwright.ID) []picked {
	var out []picked
	for i, pic := range p.Pictures {
		on := slices.Contains(chosen, pic.ID)
		if on || i >= len(p.Pictures)-offered {
			out = append(out, picked{pic.ID, pic.Number, on})
		}
	}
	return out
}

// Named names the pictures chosen: "picture 4", "pictures 4, 5".
func (m more) Named() string {
	var on []string
	for _, pic := range m.Pictures {
		if pic.On {
			on = append(on, say.Count(pic.Number))
		}
	}
	if len(on) == 0 {
		return ""
	}
	return plural(len(on), "picture ", "pictures ") + strings.Join(on, ", ")
}

func trialOf(fn intake.Function, fc *beatwright.FunctionCheck, p *beatwright.Papers) trial {
	t := trial{ID: fn.ID, Words: fn.Words, Try: fn.Try, Guard: fn.Guard, Unsure: fn.Unsure}
	if fc != nil {
		t.Result, t.Suggests = string(fc.Result), suggests(fn.Answers, fc.Answers)
		t.more = more{Entry: fc.ID, Note: fc.Note, Pictures: picksOf(p, fc.Pictures)}
	}
	for _, o := range intake.Outcomes() {
		t.Cells = append(t.Cells, tapWord{string(o), o.Words(), t.Result == string(o)})
	}
	for _, a := range fn.Answers {
		on := fc != nil && slices.Contains(fc.Answers, a.ID)
		t.Answers = append(t.Answers, tapWord{a.ID, a.Words, on})
	}
	return t
}

// Unfolded tells whether the words below a function are shown: when it is the
// next, and when it did not simply work.
func (t trial) Unfolded() bool {
	if t.Result == "" {
		return t.Next
	}
	on := slices.ContainsFunc(t.Answers, func(w tapWord) bool { return w.On })
	return on || t.Result != string(intake.Works)
}

func givenFinding(f *beatwright.Finding) intake.Given {
	g := intake.Given{None: f.None, Note: f.Note}
	for _, id := range f.Answers {
		g.Taps = append(g.Taps, intake.Tap{Answer: id, Where: f.Where})
	}
	return g
}

func givenFunction(f *beatwright.FunctionCheck) intake.Given {
	g := intake.Given{Outcome: intake.Outcome(f.Result), Note: f.Note}
	for _, id := range f.Answers {
		g.Taps = append(g.Taps, intake.Tap{Answer: id})
	}
	return g
}

func upperFirst(s string) string {
	if s == "" {
		return ""
	}
	r := []rune(s)
	return strings.ToUpper(string(r[0])) + string(r[1:])
}

// hourWords is an hour of the dial, halves with a point.
func hourWords(h float64) string { return strconv.FormatFloat(h, 'f', -1, 64) }
