package intake

import (
	"errors"
	"fmt"
	"regexp"
	"slices"
)

// maxWords is the most letters in what is tapped, so that it fits a phone
// (chosen); maxSentence the most in a sentence.
const maxWords, maxSentence = 60, 400

// maxItems bounds a catalogue (chosen).
const maxItems = 5000

var idShape = regexp.MustCompile(`^[a-z][a-z0-9_]*(\.[a-z0-9_]+)*$`)

// check tells everything that cannot be, naming each item.
func (c *Catalogue) check() error {
	if len(c.questions) > maxItems {
		return fmt.Errorf("%d questions; want at most %d", len(c.questions), maxItems)
	}
	k := checker{c: c, seen: map[string]bool{}, signs: map[string]bool{}, cautions: map[string]bool{}}
	for _, s := range c.signs {
		k.signs[s.ID] = true
	}
	for _, w := range c.cautions {
		k.cautions[w.ID] = true
	}
	k.questions()
	k.functions()
	k.rest()
	k.claims()
	return errors.Join(k.errs...)
}

// checker gathers errors, each with the item's name.
type checker struct {
	c                     *Catalogue
	seen, signs, cautions map[string]bool
	errs                  []error
}

func (k *checker) fault(id, format string, args ...any) {
	k.errs = append(k.errs, fmt.Errorf("item %q: "+format, append([]any{clip(id)}, args...)...))
}

// item checks what every item has.
func (k *checker) item(id, words string, fits Fits, source Source) {
	switch {
	case !idShape.MatchString(id) || len(id) > maxWords:
		k.fault(id, "the id is not of lower-case letters, figures, _ and dots")
	case k.seen[id]:
		k.fault(id, "the id is there twice")
	}
	k.seen[id] = true
	if words == "" || len(words) > maxSentence {
		k.fault(id, "words are %d bytes long; want 1 to %d", len(words), maxSentence)
	}
	if err := fits.Check(); err != nil {
		k.fault(id, "%w", err)
	}
	if err := source.check(); err != nil {
		k.fault(id, "%w", err)
	}
}

func (k *checker) tapped(id, words string) {
	if n := len([]rune(words)); n == 0 || n > maxWords {
		k.fault(id, "what is tapped is %d letters long; want 1 to %d", n, maxWords)
	}
}

func (k *checker) questions() {
	for _, q := range k.c.questions {
		k.item(q.ID, q.Words, q.Fits, q.Source)
		k.tapped(q.ID, q.Words)
		if !slices.Contains(Groups(), q.Group) {
			k.fault(q.ID, "group %q is none of %v", clip(string(q.Group)), Groups())
		}
		k.answers(q.ID, q.Answers, false)
		k.named(q.ID, q.Cautions)
		if q.Source == "" && !q.Own {
			k.fault(q.ID, "names no source")
		}
	}
}

func (k *checker) functions() {
	before := map[string]bool{}
	for _, f := range k.c.functions {
		k.item(f.ID, f.Words, f.Fits, f.Source)
		k.tapped(f.ID, f.Words)
		k.answers(f.ID, f.Answers, true)
		k.named(f.ID, f.Cautions)
		for _, id := range f.After {
			if !before[id] {
				k.fault(f.ID, "comes after %q, which does not stand before it", clip(id))
			}
		}
		for _, id := range f.Undoes {
			if !before[id] {
				k.fault(f.ID, "undoes %q, which does not stand before it", clip(id))
			}
		}
		before[f.ID] = true
	}
	k.bars(before)
}

// bars checks that what an answer forbids is there.
func (k *checker) bars(known map[string]bool) {
	for _, f := range k.c.functions {
		for _, a := range f.Answers {
			for _, id := range a.Bars {
				if !known[id] {
					k.fault(f.ID, "bars %q, which is no function check", clip(id))
				}
			}
		}
	}
}

func (k *checker) answers(id string, answers []Answer, function bool) {
	seen := map[string]bool{}
	for _, a := range answers {
		name := id + "/" + a.ID
		if !idShape.MatchString(a.ID) || seen[a.ID] {
			k.fault(name, "the answer's id is not one, or is there twice")
		}
		seen[a.ID] = true
		k.tapped(name, a.Words)
		k.answer(name, a, function)
	}
}

func (k *checker) answer(name string, a Answer, function bool) {
	if a.Condition != "" && !slices.Contains(Conditions(), a.Condition) {
		k.fault(name, "condition %q is none of %v", clip(string(a.Condition)), Conditions())
	}
	if function != slices.Contains(Outcomes(), a.Outcome) || !function && a.Outcome != "" {
		k.fault(name, "outcome %q; want one of %v for a function and none for a question", clip(string(a.Outcome)), Outcomes())
	}
	if !slices.Contains([]Report{"", ReportWater, ReportFall, ReportLoose}, a.Reports) {
		k.fault(name, "reports %q; want water, fall or loose", clip(string(a.Reports)))
	}
	if a.Sign != "" && !k.signs[a.Sign] {
		k.fault(name, "sign %q is not known", clip(a.Sign))
	}
	if len(a.Suggests) > maxSentence {
		k.fault(name, "what it suggests is longer than %d bytes", maxSentence)
	}
	if err := a.Fits.Check(); err != nil {
		k.fault(name, "%w", err)
	}
}

func (k *checker) named(id string, cautions []string) {
	for _, w := range cautions {
		if !k.cautions[w] {
			k.fault(id, "caution %q is not known", clip(w))
		}
	}
}

func (k *checker) rest() {
	for _, w := range k.c.wishes {
		k.item(w.ID, w.Words, w.Fits, w.Source)
		is := func(a Choice) bool { return a.ID == w.Default }
		if w.Default != "" && !slices.ContainsFunc(w.Answers, is) {
			k.fault(w.ID, "default %q is none of its answers", w.Default)
		}
	}
	for _, i := range k.c.custody {
		k.item(i.ID, i.Words, i.Fits, i.Source)
	}
	for _, w := range k.c.cautions {
		k.item(w.ID, w.Words, "", w.Source)
		if w.Kind != ForPerson && w.Kind != ForWatch {
			k.fault(w.ID, "kind %q; want person or watch", w.Kind)
		}
	}
	for _, f := range k.c.first {
		for _, id := range f.Opens {
			if !k.seen[id] {
				k.fault(f.ID, "opens %q, which is no question and no wish", id)
			}
		}
		k.item(f.ID, f.Words, "", f.Source)
	}
}

func (k *checker) claims() {
	for _, cl := range k.c.claims {
		k.item(cl.ID, cl.Words, cl.Fits, cl.Source)
		for _, b := range slices.Concat(cl.For, cl.Against) {
			k.bearing(cl.ID, b)
		}
	}
}

func (k *checker) bearing(id string, b Bearing) {
	if b.Says == "" {
		k.fault(id, "a bearing says nothing")
	}
	if (b.Sign == "") == (b.Item == "") {
		k.fault(id, "a bearing wants either a sign or an item")
	}
	if b.Sign != "" && !k.signs[b.Sign] {
		k.fault(id, "sign %q is not known", b.Sign)
	}
	if b.Item == "" {
		return
	}
	answers, function := k.c.answersOf(b.Item)
	if answers == nil && !function {
		k.fault(id, "item %q is not known", b.Item)
	}
	for _, a := range b.Answers {
		if _, ok := answerByID(answers, a); !ok {
			k.fault(id, "item %q has no answer %q", b.Item, a)
		}
	}
}
