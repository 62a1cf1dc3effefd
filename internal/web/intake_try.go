package web

import (
	"net/http"
	"slices"
	"strings"

	"beatwright"
	"beatwright/intake"
)

// function finds a function that may be tried now, or was; one that is barred
// is refused with the reason.
func (t *tapping) function(id string) (intake.Function, *beatwright.FunctionCheck, error) {
	fc := t.p.Function(id)
	for _, fn := range t.c.Functions(t.f, intake.Reported{}) {
		if fn.ID == id && fc != nil {
			return fn, fc, nil
		}
	}
	answers := answersOf(t.p)
	told := t.c.Reported(answers)
	next := intake.Next(t.c.Functions(t.f, told), answers)
	for _, fn := range next.May {
		if fn.ID == id {
			return fn, &beatwright.FunctionCheck{Entry: beatwright.Entry{ID: beatwright.NewID(t.now)}, Job: t.p.Job.ID, Item: id, What: fn.Words, At: t.now}, nil
		}
	}
	for _, b := range next.Barred {
		if b.Function.ID == id {
			return b.Function, nil, &beatwright.Error{Code: beatwright.Wrong, Field: "cell", Text: lowerFirst(b.Function.Words) + " is not tried now; " + b.Why}
		}
	}
	if fn, ok := t.c.Function(id); ok && told.Harmed() {
		return fn, nil, &beatwright.Error{Code: beatwright.Wrong, Field: "cell", Text: lowerFirst(fn.Words) + " is not tried now. " + told.Why()}
	}
	return intake.Function{}, nil, beatwright.NotFound("function to try", id)
}

// cell taps how a function went; the same cell again takes it back.
func (t *tapping) cell(id, outcome string) error {
	fn, fc, err := t.function(id)
	if err != nil {
		return err
	}
	to := beatwright.Result(outcome)
	if fc.Rev > 0 && fc.Result == to {
		t.change.Remove = append(t.change.Remove, beatwright.KeyOf(fc))
		t.change.What = "not tried after all: " + fn.Words
		return nil
	}
	fc.Result = to
	fc.Answers = slices.DeleteFunc(fc.Answers, func(id string) bool { return worstResult(fn, []string{id}) != to })
	t.tried(fn, fc)
	return nil
}

// said taps one of the words below a function.
func (t *tapping) said(id, answer string) error {
	fn, fc, err := t.function(id)
	if err != nil {
		return err
	}
	if worstResult(fn, []string{answer}) == "" {
		return beatwright.NotFound("answer", answer)
	}
	fc.Answers = turned(fc.Answers, answer)
	if r := worstResult(fn, fc.Answers); r != "" {
		fc.Result = r
	}
	t.tried(fn, fc)
	return nil
}

func (t *tapping) tried(fn intake.Function, fc *beatwright.FunctionCheck) {
	fc.Signs, _ = t.c.Evidence(t.f, intake.Answers{fn.ID: givenFunction(fc)})
	t.change.Put = append(t.change.Put, fc)
	t.change.What = lowerFirst(fn.Words) + ": " + intake.Outcome(fc.Result).Words()
	if words := wordsOf(fn.Answers, fc.Answers); len(words) > 0 {
		t.change.What += ", " + strings.Join(words, ", ")
	}
}

// worstResult is the worst that the words amount to, empty for none.
func worstResult(fn intake.Function, ids []string) beatwright.Result {
	for _, o := range []intake.Outcome{intake.Fails, intake.NotTried, intake.Doubtful, intake.Works} {
		for _, a := range fn.Answers {
			if a.Outcome == o && slices.Contains(ids, a.ID) {
				return beatwright.Result(o)
			}
		}
	}
	return ""
}

// keep keeps note, condition and pictures of a finding or function check.
func (t *tapping) keep(id string, r *http.Request) error {
	var pics []beatwright.ID
	for _, pic := range t.p.Pictures {
		if slices.Contains(r.PostForm["picture"], string(pic.ID)) {
			pics = append(pics, pic.ID)
		}
	}
	note := strings.TrimSpace(r.PostFormValue("note"))
	if fc := t.p.Function(id); fc != nil {
		fc.Note, fc.Pictures = note, pics
		t.change.Put = append(t.change.Put, fc)
		t.change.What = "said more: " + lowerFirst(fc.What)
		return nil
	}
	f := t.p.Finding(id)
	if f == nil {
		return beatwright.NotFound("finding", id)
	}
	q, err := t.question(id)
	if err != nil {
		return err
	}
	f.Note, f.Pictures = note, pics
	if f.Condition = beatwright.Condition(r.PostFormValue("condition")); f.Condition == "" {
		f.Condition = conditionOf(q, f.Answers)
	}
	t.change.Put = append(t.change.Put, f)
	t.change.What = "said more: " + lowerFirst(f.What)
	if note != "" {
		t.change.What += " (" + note + ")"
	}
	return nil
}
