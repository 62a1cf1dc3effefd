package web_test

import (
	"net/http"
	"strings"
	"testing"

	"beatwright"
)

// Functions are refused out of their order, with the reason.
func TestFunctionsKeepTheirOrder(t *testing.T) {
	cases := []struct {
		name   string
		posts  [][2]string
		refuse [2]string
		why    string
	}{
		{"quick date before the hands stand clear", nil, [2]string{"cell", "f.date works"}, "first: "},
		{"after it resisted", [][2]string{{"said", "f.unscrew stuck"}}, [2]string{"cell", "f.pull works"}, "nothing that resists is forced"},
		{"after water", [][2]string{{"word", "to.water now"}}, [2]string{"cell", "f.wind works"}, "After water nothing is wound"},
		{"after a hard fall, by a word", [][2]string{{"word", "to.knock hard"}}, [2]string{"said", "f.wind rough"}, "After a hard fall nothing is wound"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			w := newWorkshop(t)
			n := w.aJob()
			at := "/jobs/" + n + "/intake"
			for _, p := range c.posts {
				w.ok(at, p[0], p[1])
			}
			st, text := w.post(at, c.refuse[0], c.refuse[1])
			if st != http.StatusUnprocessableEntity || !strings.Contains(text, c.why) {
				t.Errorf("got %d, want 422 with %q", st, c.why)
			}
			id, _, _ := strings.Cut(c.refuse[1], " ")
			if w.stands(n).Function(id) != nil {
				t.Error("it was kept all the same")
			}
		})
	}
}

func TestCellsAndWords(t *testing.T) {
	cases := []struct {
		name    string
		posts   [][2]string
		result  beatwright.Result
		answers string
	}{
		{"a cell", [][2]string{{"cell", "f.look doubtful"}}, beatwright.Doubtful, ""},
		{"the same cell again", [][2]string{{"cell", "f.look works"}, {"cell", "f.look works"}}, "", ""},
		{"a word", [][2]string{{"said", "f.listen stands"}}, beatwright.Fails, "stands"},
		{"the worst of two words", [][2]string{{"said", "f.listen gallops"}, {"said", "f.listen stands"}}, beatwright.Fails, "gallops stands"},
		{"works drops the words", [][2]string{{"said", "f.listen stands"}, {"cell", "f.listen works"}}, beatwright.Works, ""},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			w := newWorkshop(t)
			n := w.aJob()
			for _, p := range c.posts {
				w.ok("/jobs/"+n+"/intake", p[0], p[1])
			}
			id, _, _ := strings.Cut(c.posts[0][1], " ")
			var got beatwright.FunctionCheck
			if f := w.stands(n).Function(id); f != nil {
				got = *f
			}
			if got.Result != c.result || strings.Join(got.Answers, " ") != c.answers {
				t.Errorf("got %q %v, want %q %q", got.Result, got.Answers, c.result, c.answers)
			}
		})
	}
}

func TestQuestionsFitTheWatch(t *testing.T) {
	w := newWorkshop(t)
	n := w.aJob()
	_, text := w.get("/jobs/" + n + "/intake")
	for _, want := range []string{"Asked for an automatic watch with alarm and date.", "Alarm unset", "Rotor rubs", "Not yet asked:", "how worn", "limit and date"} {
		if !strings.Contains(text, want) {
			t.Errorf("the page of an automatic alarm lacks %q", want)
		}
	}
	if strings.Contains(text, "Chronograph starts") {
		t.Error("an alarm watch is asked for its chronograph")
	}
	w.ok("/jobs/"+n+"/watch", "kind", "hand-wound chronograph")
	_, text = w.get("/jobs/" + n + "/intake")
	if !strings.Contains(text, "Chronograph starts") || strings.Contains(text, "Rotor rubs") {
		t.Error("the questions did not follow the kind")
	}
}

func TestOwnQuestionIsAsked(t *testing.T) {
	w := newWorkshop(t)
	n := w.aJob()
	text := w.ok("/settings/questions", "words", "Chain of the clasp torn", "group", "closed", "answers", "torn = damaged\nnot its own = wrong part")
	if !strings.Contains(text, "Chain of the clasp torn") {
		t.Fatal("it is not listed")
	}
	_, text = w.get("/jobs/" + n + "/intake")
	_, after, ok := strings.Cut(text, `<li class="item" id="own.`)
	if !ok {
		t.Fatal("it is not asked")
	}
	id, _, _ := strings.Cut(after, `"`)
	w.ok("/jobs/"+n+"/intake", "word", "own."+id+" a2")
	if f := w.stands(n).Finding("own." + id); f == nil || f.Condition != beatwright.WrongPart || f.What != "Chain of the clasp torn: not its own" {
		t.Errorf("kept %+v", f)
	}
	w.ok("/settings/questions", "words", "Buckle not its own", "group", "closed")
	if _, text = w.get("/jobs/" + n + "/intake"); !strings.Contains(text, "Buckle not its own") || !strings.Contains(text, "Chain of the clasp") {
		t.Error("a second own question is not asked beside the first")
	}
	w.ok("/settings/questions/" + id + "/remove")
	if _, text = w.get("/jobs/" + n + "/intake"); strings.Contains(text, `id="own.`+id) {
		t.Error("it is still asked after it was removed")
	}
	st, text := w.post("/settings/questions", "words", "Clasp", "group", "closed", "answers", "torn = broken")
	if st != http.StatusUnprocessableEntity || !strings.Contains(text, "is no condition") {
		t.Errorf("a wrong condition gave %d", st)
	}
}

func TestWishesInOneChange(t *testing.T) {
	w := newWorkshop(t)
	n := w.aJob()
	at := "/jobs/" + n + "/wishes"
	if _, text := w.get(at); !strings.Contains(text, "Unless said otherwise: nothing is polished.") {
		t.Error("what does least is not shown")
	}
	w.ok(at, "limit", "300")
	if _, text := w.get("/jobs/" + n + "/intake"); strings.Contains(text, "limit and date") {
		t.Error("a limit is said, and still to be asked")
	}
	w.ok(at, "wi.polish", "none", "said-wi.polish", "leave my father’s scratches", "limit", "300", "deadline", "2027-03-01", "why", "a wedding", "custody", "box", "other", "one link, a letter")
	j := w.stands(n).Job
	if j.Wishes.Answers["wi.polish"] != "none" || j.Wishes.Words["wi.polish"] == "" || j.Wishes.Limit.Amount() != "300.00" || j.Wishes.Deadline == nil || strings.Join(j.Custody, "|") != "box|one link|a letter" {
		t.Errorf("kept %+v %v", j.Wishes, j.Custody)
	}
	if st, _ := w.post(at, "wi.polish", "mirror"); st != http.StatusUnprocessableEntity {
		t.Errorf("an answer that is none gave %d", st)
	}
}

// A claim is set against what was found.
func TestClaimAgainstFinding(t *testing.T) {
	w := newWorkshop(t)
	_, text := w.post("/jobs", "kind", "automatic", "marks", "Quellmar", "state", "considered", "says", "Serviced.")
	_, after, _ := strings.Cut(text, `<span class="where">`)
	n, _, _ := strings.Cut(after, "<")
	w.ok("/jobs/"+n+"/wishes", "claim", "cl.serviced")
	w.ok("/jobs/"+n+"/intake", "word", "cb.oil dry")
	_, text = w.get("/jobs/" + n)
	if !strings.Contains(text, "serviced recently</b>: contradicted") || !strings.Contains(text, "oil dry or brown") {
		t.Error("dry oil does not contradict a recent service on the page")
	}
}
