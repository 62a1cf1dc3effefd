package web_test

import (
	"context"
	"encoding/json"
	"net/http"
	"strings"
	"testing"

	"beatwright"
)

// stands gives a job as the record has it.
func (w *workshop) stands(number string) *beatwright.Papers {
	w.t.Helper()
	p, err := w.bench.Job(context.Background(), number)
	if err != nil {
		w.t.Fatal(err)
	}
	return p
}

func (w *workshop) ok(path string, pairs ...string) string {
	w.t.Helper()
	st, text := w.post(path, pairs...)
	if st != http.StatusOK {
		w.t.Fatalf("post %s %v: %d\n%s", path, pairs, st, text)
	}
	return text
}

// The box goes empty, there, looked at and none, empty.
func TestTapGoesRound(t *testing.T) {
	w := newWorkshop(t)
	n := w.aJob()
	at := "/jobs/" + n + "/intake"
	for i, want := range []string{"there", "none", "empty", "there"} {
		w.ok(at, "tap", "cb.rust")
		got := "empty"
		if f := w.stands(n).Finding("cb.rust"); f != nil {
			got = map[bool]string{false: "there", true: "none"}[f.None]
		}
		if got != want {
			t.Errorf("after %d taps %s, want %s", i+1, got, want)
		}
	}
}

func TestWordsDrawWhatFollows(t *testing.T) {
	cases := []struct {
		name      string
		posts     [][2]string
		item      string
		what      string
		condition beatwright.Condition
		signs     string
		where     string
		suggests  string
	}{
		{"a word", [][2]string{{"tap", "cb.gasket"}, {"word", "cb.gasket hard"}}, "cb.gasket", "Back seal: hard, flat", beatwright.Worn, "seal_gone", "", "A nail leaves no dent"},
		{"a word before its box", [][2]string{{"word", "cb.gasket hard"}}, "cb.gasket", "Back seal: hard, flat", beatwright.Worn, "seal_gone", "", ""},
		{"the worst of two words", [][2]string{{"word", "cb.screws bright_slot"}, {"word", "cb.screws foreign"}}, "cb.screws", "Screws: slot torn bright, not its own", beatwright.WrongPart, "odd_screw", "", "too narrow a blade"},
		{"the worst first", [][2]string{{"word", "cb.screws foreign"}, {"word", "cb.screws broken"}}, "cb.screws", "Screws: not its own, broken off in its hole", beatwright.WrongPart, "odd_screw", "", ""},
		{"a word and back", [][2]string{{"word", "cb.gasket hard"}, {"word", "cb.gasket hard"}}, "cb.gasket", "Seal missing or hard", "", "", "", ""},
		{"a place", [][2]string{{"word", "cb.screws foreign"}, {"where", "cb.screws rotor"}}, "cb.screws", "Screws: not its own", beatwright.WrongPart, "odd_screw", "rotor", ""},
		{"no word, one sign in all", [][2]string{{"tap", "cb.rust"}}, "cb.rust", "Rust, or its stain", "", "rust", "", ""},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			w := newWorkshop(t)
			n := w.aJob()
			var text string
			for _, p := range c.posts {
				text = w.ok("/jobs/"+n+"/intake", p[0], p[1])
			}
			f := w.stands(n).Finding(c.item)
			if f == nil {
				t.Fatal("nothing is kept")
			}
			if f.What != c.what || f.Condition != c.condition || strings.Join(f.Signs, " ") != c.signs || strings.Join(f.Where, " ") != c.where {
				t.Errorf("got %q %q %v %v, want %q %q %q %q", f.What, f.Condition, f.Signs, f.Where, c.what, c.condition, c.signs, c.where)
			}
			if !strings.Contains(f.Suggests, c.suggests) || !strings.Contains(text, c.suggests) {
				t.Errorf("suggests %q, want %q there and on the page", f.Suggests, c.suggests)
			}
		})
	}
}

// A condition set by eye stands when words are tapped after it.
func TestConditionByEyeStands(t *testing.T) {
	w := newWorkshop(t)
	n := w.aJob()
	at := "/jobs/" + n + "/intake"
	w.ok(at, "word", "cb.gasket hard")
	w.ok(at, "keep", "cb.gasket", "note", "brittle at the notch", "condition", "makeshift")
	w.ok(at, "word", "cb.gasket cut")
	f := w.stands(n).Finding("cb.gasket")
	if f.Condition != beatwright.Makeshift || f.Note != "brittle at the notch" || !f.StandsOpen() {
		t.Errorf("got %q, note %q; want makeshift, standing open, and the note", f.Condition, f.Note)
	}
	w.ok(at, "keep", "cb.gasket", "note", "", "condition", "")
	if f = w.stands(n).Finding("cb.gasket"); f.Condition != beatwright.Damaged {
		t.Errorf("without a condition by eye got %q, want damaged, the worse of the two words", f.Condition)
	}
}

// Nothing to note clears what is open, leaves what was noted, and is one act
// to undo.
func TestNothingElseToNote(t *testing.T) {
	w := newWorkshop(t)
	n := w.aJob()
	at := "/jobs/" + n + "/intake"
	w.ok(at, "tap", "cb.rust")
	w.ok(at, "clear", "back_off")
	p := w.stands(n)
	if f := p.Finding("cb.rust"); f == nil || f.None {
		t.Error("what was noted is gone")
	}
	if f := p.Finding("cb.oil"); f == nil || !f.None {
		t.Error("what was open is not none")
	}
	h, err := w.bench.History(context.Background(), p.Job.ID, 0, 1)
	if err != nil {
		t.Fatal(err)
	}
	w.undoNewest(p.Job.ID)
	p = w.stands(n)
	if len(p.Findings) != 1 || p.Finding("cb.rust") == nil {
		t.Errorf("after undoing %q %d findings stand, want the one tapped before", h[0].What, len(p.Findings))
	}
}

func (w *workshop) undoNewest(job beatwright.ID) {
	w.t.Helper()
	h, err := w.bench.History(context.Background(), job, 0, 1)
	if err != nil {
		w.t.Fatal(err)
	}
	if _, err := w.bench.Undo(context.Background(), h[0].Number, ""); err != nil {
		w.t.Fatal(err)
	}
}

// Undo on the page walks back tap by tap and stops before what was not tapped.
func TestUndoWalksBack(t *testing.T) {
	w := newWorkshop(t)
	n := w.aJob()
	at := "/jobs/" + n + "/intake"
	w.ok(at, "tap", "cb.rust")
	w.ok(at, "tap", "cb.oil")
	var v struct {
		Last *beatwright.Done `json:"last"`
	}
	for i, want := range []int{1, 0} {
		_, text := w.get(at + ".json")
		if err := json.Unmarshal([]byte(text), &v); err != nil || v.Last == nil {
			t.Fatalf("undo %d is not offered: %v", i+1, err)
		}
		if _, err := w.bench.Undo(context.Background(), v.Last.Number, ""); err != nil {
			t.Fatal(err)
		}
		if got := len(w.stands(n).Findings); got != want {
			t.Errorf("after undo %d, %d findings, want %d", i+1, got, want)
		}
	}
	v.Last = nil
	_, text := w.get(at + ".json")
	if json.Unmarshal([]byte(text), &v); v.Last != nil {
		t.Errorf("undo offers %q, which was not tapped", v.Last.What)
	}
}

// Old paint is treated as radium until it is measured (common practice), so
// the watch keeps it and its job shows the caution; what was measured stands.
func TestPaintIsKeptWithTheWatch(t *testing.T) {
	cases := []struct {
		name, was string
		posts     [][2]string
		want      string
	}{
		{"old", "", [][2]string{{"word", "ca.lume old"}}, "unknown"},
		{"there, no word", "", [][2]string{{"tap", "ca.lume"}}, "unknown"},
		{"marked later", "", [][2]string{{"word", "ca.lume marked"}}, "later"},
		{"put on later", "", [][2]string{{"word", "ca.lume new"}}, "later"},
		{"marked later, but flaking", "", [][2]string{{"word", "ca.lume marked"}, {"word", "ca.lume flaking"}}, "unknown"},
		{"none", "", [][2]string{{"tap", "ca.lume"}, {"tap", "ca.lume"}}, "none"},
		{"group cleared", "", [][2]string{{"clear", "closed"}}, "none"},
		{"measured", "radium", [][2]string{{"word", "ca.lume new"}}, "radium"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			w := newWorkshop(t)
			n := w.aJob()
			if c.was != "" {
				w.ok("/jobs/"+n+"/watch", "kind", "automatic", "lume", c.was)
			}
			for _, p := range c.posts {
				w.ok("/jobs/"+n+"/intake", p[0], p[1])
			}
			if got := w.stands(n).Watch.Lume; got != c.want {
				t.Errorf("paint %q, want %q", got, c.want)
			}
			_, text := w.get("/jobs/" + n)
			if danger := c.want == "unknown" || c.want == "radium"; strings.Contains(text, "Can hurt you") != danger {
				t.Errorf("the job's page warns: %v, want %v", !danger, danger)
			}
		})
	}
}

// The deciding ten with nothing amiss take six acts: a group is one, a function
// one, and the screw-down crown stands before the winding.
func TestDecidingTenTakeFewSteps(t *testing.T) {
	w := newWorkshop(t)
	n := w.aJob()
	at := "/jobs/" + n + "/intake"
	steps := [][2]string{{"clear", "told"}, {"clear", "closed"}, {"cell", "f.unscrew works"}, {"cell", "f.wind works"}, {"cell", "f.run works"}, {"clear", "back_off"}}
	for _, p := range steps {
		w.ok(at, p[0], p[1])
	}
	p := w.stands(n)
	for _, id := range []string{"to.knock", "to.unserviced", "to.recent", "ca.hands", "ca.damp", "cb.rust", "cb.oil", "cb.balance"} {
		if p.Finding(id) == nil {
			t.Errorf("%s is not answered", id)
		}
	}
	for _, id := range []string{"f.wind", "f.run"} {
		if p.Function(id) == nil {
			t.Errorf("%s is not tried", id)
		}
	}
}
