package web

import (
	"net/http"
	"slices"
	"strings"
	"time"

	"beatwright"
	"beatwright/intake"
)

// tapping is one act on the page of taps: what stands, what is asked of this
// watch, and the change that the act makes.
type tapping struct {
	p      *beatwright.Papers
	c      *intake.Catalogue
	f      intake.Features
	now    time.Time
	change beatwright.Change
}

// lumeID is the question of luminous paint, whose answer the watch keeps too.
const lumeID = "ca.lume"

// tapped does what the pressed button says: its name is the act, its value
// what it is done to.
func (s *Server) tapped(r *http.Request) (string, error) {
	s.taps.Lock()
	defer s.taps.Unlock()
	p, err := s.papers(r)
	if err != nil {
		return "", err
	}
	t := &tapping{p: p, c: s.catalogue(r.Context()), f: features(p), now: s.now(), change: beatwright.Change{Who: s.who(r), Job: p.Job.ID}}
	id, err := t.act(r)
	if err != nil {
		return "", err
	}
	if len(t.change.Put)+len(t.change.Remove) > 0 {
		if _, err := s.bench.Apply(r.Context(), t.change); err != nil {
			return "", err
		}
	}
	return "/jobs/" + p.Job.Number + "/intake#" + id, nil
}

func (t *tapping) act(r *http.Request) (string, error) {
	for _, a := range []struct {
		name string
		do   func(id, rest string) error
	}{
		{"tap", t.tap},
		{"word", t.word},
		{"where", t.where},
		{"cell", t.cell},
		{"said", t.said},
		{"clear", t.clear},
		{"keep", func(id, _ string) error { return t.keep(id, r) }},
	} {
		if v := r.PostFormValue(a.name); v != "" {
			id, rest, _ := strings.Cut(v, " ")
			return id, a.do(id, rest)
		}
	}
	return "", &beatwright.Error{Code: beatwright.Wrong, Field: "tap", Text: "nothing was tapped"}
}

// question finds a question that is asked of this watch.
func (t *tapping) question(id string) (intake.Question, error) {
	for _, g := range intake.Groups() {
		for _, q := range t.c.Questions(t.f, g) {
			if q.ID == id {
				return q, nil
			}
		}
	}
	return intake.Question{}, beatwright.NotFound("question", id)
}

// tap turns the box: empty, there, looked at with nothing to note, empty.
func (t *tapping) tap(id, _ string) error {
	q, err := t.question(id)
	if err != nil {
		return err
	}
	f := t.p.Finding(id)
	switch {
	case f == nil:
		t.note(q, t.finding(q), func(*beatwright.Finding) {})
	case !f.None:
		t.none(q, f)
		t.change.What = "nothing to note: " + q.Words
	default:
		t.change.Remove = append(t.change.Remove, beatwright.KeyOf(f))
		t.change.What = "not looked at after all: " + q.Words
		t.paint(id, "")
	}
	return nil
}

func (t *tapping) finding(q intake.Question) *beatwright.Finding {
	return &beatwright.Finding{Entry: beatwright.Entry{ID: beatwright.NewID(t.now)}, Job: t.p.Job.ID, Group: string(q.Group), Item: q.ID, What: q.Words, At: t.now}
}

// none says that it was looked at and there was nothing to note.
func (t *tapping) none(q intake.Question, f *beatwright.Finding) {
	*f = beatwright.Finding{Entry: f.Entry, Job: f.Job, Group: f.Group, Item: f.Item, What: q.Words, None: true, Note: f.Note, Pictures: f.Pictures, At: f.At}
	t.change.Put = append(t.change.Put, f)
	t.paint(q.ID, "none")
}

// note changes what is noted and draws from it all that follows from words.
func (t *tapping) note(q intake.Question, f *beatwright.Finding, how func(*beatwright.Finding)) {
	set := f.Condition != "" && f.Condition != conditionOf(q, f.Answers)
	f.None = false
	how(f)
	if !set {
		f.Condition = conditionOf(q, f.Answers)
	}
	words := wordsOf(q.Answers, f.Answers)
	f.What = q.Words
	if len(words) > 0 {
		f.What = spokenOf(q) + ": " + strings.Join(words, ", ")
	}
	f.Suggests = suggests(q.Answers, f.Answers)
	f.Signs, _ = t.c.Evidence(t.f, intake.Answers{q.ID: givenFinding(f)})
	t.change.Put = append(t.change.Put, f)
	t.change.What = "noted: " + lowerFirst(f.What)
	t.paint(q.ID, paintOf(f.Answers))
}

// spokenOf is what the answers of a question are about.
func spokenOf(q intake.Question) string {
	if q.Part == "" || q.Group == intake.Told {
		return q.Words
	}
	return upperFirst(q.Part)
}

func wordsOf(answers []intake.Answer, ids []string) []string {
	var out []string
	for _, a := range answers {
		if slices.Contains(ids, a.ID) {
			out = append(out, a.Words)
		}
	}
	return out
}

func suggests(answers []intake.Answer, ids []string) string {
	var out []string
	for _, a := range answers {
		if slices.Contains(ids, a.ID) && a.Suggests != "" && !slices.Contains(out, a.Suggests) {
			out = append(out, a.Suggests)
		}
	}
	return strings.Join(out, " ")
}

// worst orders conditions by what they ask for: what must be settled before
// the watch goes back comes first.
var worst = []intake.Condition{
	intake.WrongPart, intake.Makeshift, intake.Missing, intake.Damaged, intake.Altered, intake.Worn, intake.NotSeen, intake.Sound,
}

// conditionOf is the condition that the words tapped stand for; without a word,
// the one that all words share.
func conditionOf(q intake.Question, ids []string) beatwright.Condition {
	var met []intake.Condition
	for _, a := range q.Answers {
		if len(ids) == 0 || slices.Contains(ids, a.ID) {
			met = append(met, a.Condition)
		}
	}
	if len(ids) == 0 {
		if met = slices.Compact(met); len(met) != 1 {
			return ""
		}
	}
	for _, c := range worst {
		if slices.Contains(met, c) {
			return beatwright.Condition(c)
		}
	}
	return ""
}

// word taps one of the words below a question.
func (t *tapping) word(id, answer string) error {
	q, f, err := t.noted(id)
	if err != nil {
		return err
	}
	if len(wordsOf(q.Answers, []string{answer})) == 0 {
		return beatwright.NotFound("answer", answer)
	}
	t.note(q, f, func(f *beatwright.Finding) { f.Answers = turned(f.Answers, answer) })
	return nil
}

// where taps one of the places below a question.
func (t *tapping) where(id, place string) error {
	q, f, err := t.noted(id)
	if err != nil {
		return err
	}
	if !slices.Contains(placesOf(q), place) {
		return beatwright.NotFound("place", place)
	}
	t.note(q, f, func(f *beatwright.Finding) { f.Where = turned(f.Where, place) })
	t.change.What += " (" + orElse(strings.Join(f.Where, ", "), "no place") + ")"
	return nil
}

// noted gives a question with its finding, a new one where none is kept: a
// word may be tapped before the box.
func (t *tapping) noted(id string) (intake.Question, *beatwright.Finding, error) {
	q, err := t.question(id)
	if err != nil {
		return q, nil, err
	}
	f := t.p.Finding(id)
	if f == nil {
		f = t.finding(q)
	}
	return q, f, nil
}

// placesOf are all places that can be tapped below a question.
func placesOf(q intake.Question) []string {
	out := slices.Clone(q.Where)
	for _, a := range q.Answers {
		for _, place := range a.Where {
			if !slices.Contains(out, place) {
				out = append(out, place)
			}
		}
	}
	return out
}

// turned puts one in the list, or takes it out.
func turned(list []string, one string) []string {
	if i := slices.Index(list, one); i >= 0 {
		return slices.Delete(slices.Clone(list), i, i+1)
	}
	return append(slices.Clone(list), one)
}

// clear answers all that is open in a group with nothing to note, in one
// change.
func (t *tapping) clear(group, _ string) error {
	g := intake.Group(group)
	if !slices.Contains(intake.Groups(), g) {
		return beatwright.NotFound("group", group)
	}
	_, ids := t.c.Clear(t.f, g, answersOf(t.p))
	for _, q := range t.c.Questions(t.f, g) {
		if slices.Contains(ids, q.ID) {
			t.none(q, t.finding(q))
		}
	}
	t.change.What = "nothing else to note: " + lowerFirst(g.Words())
	return nil
}

// paintOf is what the watch says of its paint once the words were tapped. What
// is not known to be of a later kind is not known, and treated as radium.
func paintOf(answers []string) string {
	for _, a := range answers {
		if a != "marked" && a != "new" {
			return "unknown"
		}
	}
	if len(answers) == 0 {
		return "unknown"
	}
	return "later"
}

// paint keeps what was seen of luminous paint with the watch, so that its
// caution stands wherever the watch is shown. What was measured stands.
func (t *tapping) paint(id, to string) {
	w := t.p.Watch
	if id != lumeID || w.Lume == to || w.Lume == "radium" || w.Lume == "tritium" {
		return
	}
	w.Lume = to
	t.change.Put = append(t.change.Put, w)
}
