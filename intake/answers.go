package intake

import (
	"maps"
	"slices"
)

// Answers is what was answered so far, by id of question or function. What is
// not in it was not looked at.
type Answers map[string]Given

// Given is one answered question or function check.
type Given struct {
	// None means looked at, nothing to note.
	None bool `json:"none,omitempty"`
	// Outcome is for function checks only.
	Outcome Outcome `json:"outcome,omitempty"`
	// Taps are the words tapped; empty with None false means that it is
	// there, without saying how.
	Taps []Tap `json:"taps,omitempty"`
	// Note and Pictures belong to the answer as a whole.
	Note     string `json:"note,omitempty"`
	Pictures []int  `json:"pictures,omitempty"`
}

// Tap is one word tapped.
type Tap struct {
	Answer string `json:"answer"` // id within the question
	// Condition, if set, is the watchmaker's instead of the answer's own.
	Condition Condition `json:"condition,omitempty"`
	Where     []string  `json:"where,omitempty"`
	Note      string    `json:"note,omitempty"`
	Pictures  []int     `json:"pictures,omitempty"`
}

// rank orders outcomes by how much they forbid.
var rank = map[Outcome]int{Works: 1, Doubtful: 2, NotTried: 3, Fails: 4}

// outcome is the worst of the cell tapped and of the words tapped; empty when
// nothing was answered.
func (g Given) outcome(fn Function) Outcome {
	worst := g.Outcome
	if worst == "" && g.None {
		worst = Works
	}
	for _, t := range g.Taps {
		if a, ok := answerByID(fn.Answers, t.Answer); ok && rank[a.Outcome] > rank[worst] {
			worst = a.Outcome
		}
	}
	return worst
}

// resists tells whether the trying ends here. Something that failed under the
// hand without a word how is taken to have resisted.
func (g Given) resists(fn Function) bool {
	for _, t := range g.Taps {
		if a, ok := answerByID(fn.Answers, t.Answer); ok && a.Resists {
			return true
		}
	}
	return g.Outcome == Fails && len(g.Taps) == 0 && !fn.Gentle
}

// noted tells whether something was found.
func (g Given) noted() bool { return !g.None }

// Questions gives the questions of a group that fit the watch, the deciding
// ones first, each with the answers that can be met on it.
func (c *Catalogue) Questions(f Features, g Group) []Question {
	var first, rest []Question
	for _, q := range c.questions {
		k := q.Fits.Match(f)
		if q.Group != g || k == No {
			continue
		}
		q.Unsure = k == Unknown
		q.Answers = fitted(q.Answers, f)
		if q.Decides {
			first = append(first, q)
		} else {
			rest = append(rest, q)
		}
	}
	return append(first, rest...)
}

// Open gives those of a group's questions that are shown now: the deciding
// ones and those that one of the ten first questions leads to, and all of
// them once anything in the group was answered or where nothing decides.
func (c *Catalogue) Open(f Features, g Group, a Answers) []Question {
	all := c.Questions(f, g)
	var shown []Question
	for _, q := range all {
		given, answered := a[q.ID]
		if answered && given.noted() {
			return all
		}
		if q.Decides || answered || c.leads[q.ID] {
			shown = append(shown, q)
		}
	}
	if len(shown) == 0 {
		return all
	}
	return shown
}

// Clear answers what is open in a group with "nothing to note", but for what
// wants a trial of its own, and leaves what was answered as it is. The answers given are not changed; the ids of
// those cleared are returned so that it can be undone.
func (c *Catalogue) Clear(f Features, g Group, a Answers) (Answers, []string) {
	out := maps.Clone(a)
	if out == nil {
		out = Answers{}
	}
	var cleared []string
	for _, q := range c.Questions(f, g) {
		if _, ok := a[q.ID]; !ok && !q.Trial {
			out[q.ID] = Given{None: true}
			cleared = append(cleared, q.ID)
		}
	}
	return out, cleared
}

// Tally counts a group's questions.
type Tally struct{ Noted, None, Open int }

// Tally counts what was noted in a group, what was looked at with nothing to
// note, and what is open.
func (c *Catalogue) Tally(f Features, g Group, a Answers) Tally {
	var t Tally
	for _, q := range c.Questions(f, g) {
		given, ok := a[q.ID]
		switch {
		case !ok:
			t.Open++
		case given.noted():
			t.Noted++
		default:
			t.None++
		}
	}
	return t
}

// Reported gathers what the answers tell that forbids winding and setting.
func (c *Catalogue) Reported(a Answers) Reported {
	var r Reported
	for id, given := range a {
		answers, _ := c.answersOf(id)
		for _, t := range given.Taps {
			found, _ := answerByID(answers, t.Answer)
			r.add(found.Reports)
		}
		if q, ok := c.Question(id); ok && given.noted() && len(given.Taps) == 0 {
			r = r.worst(q)
		}
	}
	return r
}

// worst takes a question tapped without saying how for the worst it can mean.
func (r Reported) worst(q Question) Reported {
	for _, a := range q.Answers {
		r.add(a.Reports)
	}
	return r
}

// Evidence gives the signs that the answers show, and those that were looked
// for and not seen, each sorted. A sign not looked for is in neither. What was
// tapped without saying how shows a sign only where all its answers agree.
func (c *Catalogue) Evidence(f Features, a Answers) (seen, absent []string) {
	is, isNot := map[string]bool{}, map[string]bool{}
	for id, given := range a {
		answers, function := c.answersOf(id)
		clear := given.None && !function || function && given.Outcome == Works && len(given.Taps) == 0
		for _, s := range shown(fitted(answers, f), given, clear, function) {
			if clear {
				isNot[s] = true
			} else {
				is[s] = true
			}
		}
	}
	maps.DeleteFunc(isNot, func(s string, _ bool) bool { return is[s] })
	return slices.Sorted(maps.Keys(is)), slices.Sorted(maps.Keys(isNot))
}

// shown lists the signs that an answered item speaks of.
func shown(answers []Answer, given Given, clear, function bool) []string {
	var out []string
	for _, a := range answers {
		tapped := slices.ContainsFunc(given.Taps, func(t Tap) bool { return t.Answer == a.ID })
		if a.Sign != "" && (tapped || clear && !a.OnlySeen) {
			out = append(out, a.Sign)
		}
	}
	if len(given.Taps) == 0 && !clear && !function {
		return common(answers)
	}
	return out
}

// common is the one sign that all answers share, if they do.
func common(answers []Answer) []string {
	for _, a := range answers {
		if a.Sign == "" || a.Sign != answers[0].Sign {
			return nil
		}
	}
	if len(answers) == 0 {
		return nil
	}
	return []string{answers[0].Sign}
}
