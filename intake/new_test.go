package intake_test

import (
	"strings"
	"testing"

	"beatwright/intake"
)

func own(change func(*intake.Question)) intake.Question {
	q := intake.Question{
		ID: "own.case_screws", Group: intake.BackOff, Words: "Case screws of two lengths", Fits: "wrist",
		Answers: []intake.Answer{{ID: "swapped", Words: "swapped", Condition: intake.WrongPart, Sign: "odd_screw"}},
	}
	change(&q)
	return q
}

func TestOwnQuestionIsAskedLast(t *testing.T) {
	c, err := intake.New(own(func(*intake.Question) {}))
	if err != nil {
		t.Fatal(err)
	}
	qs := c.Questions(intake.Features{}, intake.BackOff)
	if last := qs[len(qs)-1]; last.ID != "own.case_screws" || !last.Own {
		t.Errorf("last is %q, own %v; want the workshop's own", last.ID, last.Own)
	}
	if n := len(c.Own()); n != 1 {
		t.Errorf("%d own questions, want 1", n)
	}
	if _, ok := intake.Default().Question("own.case_screws"); ok {
		t.Error("the catalogue without additions has it too")
	}
	seen, _ := c.Evidence(intake.Features{}, intake.Answers{"own.case_screws": {Taps: []intake.Tap{{Answer: "swapped"}}}})
	if len(seen) != 1 || seen[0] != "odd_screw" {
		t.Errorf("it shows %v, want odd_screw", seen)
	}
}

// TestNewRefuses: an error names the item and what is wrong with it.
func TestNewRefuses(t *testing.T) {
	for name, tc := range map[string]struct {
		change func(*intake.Question)
		want   string
	}{
		"id taken":     {func(q *intake.Question) { q.ID = "cb.rust" }, `item "cb.rust": the id is there twice`},
		"wish's id":    {func(q *intake.Question) { q.ID = "wi.polish" }, `item "wi.polish": the id is there twice`},
		"no id":        {func(q *intake.Question) { q.ID = "" }, `item "": the id is not`},
		"group":        {func(q *intake.Question) { q.Group = "open" }, `group "open" is none of`},
		"sign":         {func(q *intake.Question) { q.Answers[0].Sign = "odd_screws" }, `item "own.case_screws/swapped": sign "odd_screws" is not known`},
		"fits":         {func(q *intake.Question) { q.Fits = "alarm or" }, `item "own.case_screws": fits: "" is no feature`},
		"answer fits":  {func(q *intake.Question) { q.Answers[0].Fits = "quartz" }, `"quartz" is no feature`},
		"condition":    {func(q *intake.Question) { q.Answers[0].Condition = "bad" }, `condition "bad" is none of`},
		"outcome":      {func(q *intake.Question) { q.Answers[0].Outcome = intake.Fails }, `none for a question`},
		"answer twice": {func(q *intake.Question) { q.Answers = append(q.Answers, q.Answers[0]) }, `is there twice`},
		"no words":     {func(q *intake.Question) { q.Words = "" }, `item "own.case_screws"`},
		"long words":   {func(q *intake.Question) { q.Words = strings.Repeat("w", 61) }, `61 letters`},
		"caution":      {func(q *intake.Question) { q.Cautions = []string{"p.none"} }, `caution "p.none" is not known`},
		"source":       {func(q *intake.Question) { q.Source = "Nobody1900" }, `source "Nobody1900" is not known`},
		"reports":      {func(q *intake.Question) { q.Answers[0].Reports = "fire" }, `reports "fire"`},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := intake.New(own(tc.change))
			if err == nil || !strings.Contains(err.Error(), tc.want) {
				t.Errorf("error %v, want one that says %s", err, tc.want)
			}
		})
	}
}

func TestNewTellsAllFaults(t *testing.T) {
	_, err := intake.New(
		own(func(q *intake.Question) { q.Group = "open" }),
		own(func(q *intake.Question) { q.ID = "own.two"; q.Answers[0].Sign = "none" }),
	)
	if err == nil || strings.Count(err.Error(), "item ") != 2 {
		t.Errorf("error %v, want both items", err)
	}
}

func FuzzReadQuestions(f *testing.F) {
	f.Add(`[{"id":"own.a","group":"closed","words":"A","answers":[{"id":"x","words":"x"}],"source":"J"}]`)
	f.Add(`[{"id":"own.a","group":"closed","words":"A","fits":"not (alarm","answers":null,"source":""}]`)
	f.Add(`{}`)
	f.Add(`[] []`)
	f.Fuzz(func(t *testing.T, text string) {
		qs, err := intake.ReadQuestions(strings.NewReader(text))
		if err != nil {
			return
		}
		if c, err := intake.New(qs...); err == nil {
			for _, g := range intake.Groups() {
				c.Questions(everything, g)
			}
		}
	})
}
