package web_test

import (
	"context"
	"net/http"
	"strings"
	"testing"

	"beatwright"
)

// here is the address after a mark in a page's text.
func here(text, mark string) string {
	_, after, _ := strings.Cut(text, mark)
	id, _, _ := strings.Cut(after, `"`)
	return id
}

// TestMovementFormSaysWhatIsWrong: at each field, all at once, and nothing that
// was written is lost.
func TestMovementFormSaysWhatIsWrong(t *testing.T) {
	w := newWorkshop(t)
	st, text := w.post("/movements", "name", "", "lift_deg", "400", "crown_hour", "3,25", "wheels.third", "x", "note", "kept words")
	if st != http.StatusUnprocessableEntity {
		t.Errorf("%d, want 422", st)
	}
	for _, want := range []string{
		`id="wrong-name"`, `id="wrong-lift_deg">is 400; want 10 to 90`, `id="wrong-crown_hour"`, `id="wrong-wheels.third"`,
		`aria-describedby="wrong-lift_deg why-lift_deg"`, "kept words", `value="400"`, `value="3,25"`,
	} {
		if !strings.Contains(text, want) {
			t.Errorf("the form does not hold %s", want)
		}
	}
	if _, text := w.get("/movements"); !strings.Contains(text, "No movement yet.") {
		t.Error("something was kept")
	}
}

// TestMovementFormLosesNothing: what the form does not show, or shows in a
// field of its own, is there after it is kept again as it was.
func TestMovementFormLosesNothing(t *testing.T) {
	w := newWorkshop(t)
	const table = "name,beats_per_hour,lift_deg,lift_standing,wheels,pinions,winding,complications,source,standing,note\n" +
		"Arvendal,19800,49.5,measured,barrel=72 fifth=60 motion=36,escape=8 motion=12,key,\"alarm; \"\"a;b\"\"\",own bench,measured,first line\n"
	w.importTable("a.csv", table)
	_, before := w.get("/movements/export.json")
	_, list := w.get("/movements")
	at := "/movements/" + here(list, `<td class="what"><a href="/movements/`)
	_, form := w.get(at)
	var pairs []string
	for field := range strings.FieldsSeq("rev name beats_per_hour lift_deg lift_u95_deg lift_source escape_teeth wheels.barrel wheels.fifth wheels pinions.escape pinions complications source") {
		value := here(form, `name="`+field+`" value="`)
		pairs = append(pairs, field, strings.NewReplacer("&#34;", `"`, "&quot;", `"`).Replace(value))
	}
	pairs = append(pairs, "lift_standing", "measured", "winding", "key", "standing", "measured", "note", "first line")
	if st, text := w.post(at, pairs...); st != http.StatusOK {
		t.Fatalf("%d %.600s", st, text)
	}
	if _, after := w.get("/movements/export.json"); after != before {
		t.Errorf("kept again it is\n%s\nit was\n%s", after, before)
	}
	if st, _ := w.post(at, pairs...); st != http.StatusConflict {
		t.Errorf("an old form is taken: %d", st)
	}
	st, file := w.get(at + "/file.json")
	if st != http.StatusOK || !strings.Contains(file, `"beats_per_hour": 19800`) || strings.Contains(file, "own bench") {
		t.Errorf("the movement file: %d %s", st, file)
	}
}

// TestKindsAndUndo: the kinds come and go in one act, and so does a table.
func TestKindsAndUndo(t *testing.T) {
	w := newWorkshop(t)
	names := func() int { _, csv := w.get("/movements/export.csv"); return strings.Count(csv, "\n") - 1 }
	w.post("/movements/kinds")
	n := names()
	if n < 8 {
		t.Errorf("%d kinds in the library", n)
	}
	if w.post("/movements/kinds"); names() != n {
		t.Error("kinds come twice")
	}
	_, csv := w.get("/movements/export.csv")
	if _, text := w.importTable("same.csv", csv); !strings.Contains(text, "Nothing new in it.") {
		t.Errorf("what was exported says something new: %.800s", text)
	}
	w.importTable("two.csv", "name\nNorrim\nKestrin\n")
	if names() != n+2 {
		t.Errorf("%d in the library, want %d", names(), n+2)
	}
	done, err := w.bench.History(context.Background(), "", 0, 1)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := w.bench.Undo(context.Background(), done[0].Number, ""); err != nil || names() != n {
		t.Errorf("undone, %d are left, want %d: %v", names(), n, err)
	}
}

// TestMovementInUseStays: one that a watch has is not removed.
func TestMovementInUseStays(t *testing.T) {
	w := newWorkshop(t)
	w.importTable("one.csv", "name\nNorrim\n")
	_, list := w.get("/movements")
	id := here(list, `<td class="what"><a href="/movements/`)
	number := w.aJob()
	p, err := w.bench.Job(context.Background(), number)
	if err != nil {
		t.Fatal(err)
	}
	p.Watch.Movement = beatwright.ID(id)
	if _, err := w.bench.Apply(context.Background(), beatwright.Change{What: "movement", Put: []beatwright.Thing{p.Watch}}); err != nil {
		t.Fatal(err)
	}
	if _, text := w.get("/movements/" + id); !strings.Contains(text, "Quellmar Daycall") || strings.Contains(text, "Remove it") {
		t.Error("the page does not name the watch, or offers to remove what it has")
	}
	if st, _ := w.post("/movements/" + id + "/remove"); st != http.StatusConflict {
		t.Errorf("removed: %d", st)
	}
}

func TestOwnersWatchesAndJobs(t *testing.T) {
	w := newWorkshop(t)
	number := w.aJob()
	w.post("/jobs", "kind", "hand-wound", "marks", "Norrim", "owner", "Anselm Tey")
	_, list := w.get("/owners?q=marrow")
	id := here(list, `<td class="what"><a href="/owners/`)
	_, text := w.get("/owners/" + id)
	for _, want := range []string{"/jobs/" + number + "/watch", "/jobs?owner=" + id} {
		if !strings.Contains(text, want) {
			t.Errorf("the owner's page does not lead to %s", want)
		}
	}
	_, text = w.get("/jobs?owner=" + id)
	if !strings.Contains(text, "One of two jobs.") || !strings.Contains(text, "Only those of") || strings.Contains(text, `tabindex="-1">Norrim`) {
		t.Error("the list is not narrowed to one owner")
	}
	st, text := w.post("/owners/"+id, "name", "Ilse Marrow", "mail", "nowhere")
	if st != http.StatusUnprocessableEntity || !strings.Contains(text, `id="wrong-mail"`) || !strings.Contains(text, `value="nowhere"`) {
		t.Errorf("a mail address that is none: %d", st)
	}
}

func TestSettingsSayWhatIsWrong(t *testing.T) {
	w := newWorkshop(t)
	_, text := w.get("/settings")
	for _, want := range []string{"Uncalibrated.", "4.1", "are free there", "/settings/questions"} {
		if !strings.Contains(text, want) {
			t.Errorf("settings do not say %q", want)
		}
	}
	st, text := w.post("/settings", "name", "Bench at the Mill", "currency", "francs", "day_from", "18", "day_to", "8")
	if st != http.StatusUnprocessableEntity || !strings.Contains(text, `id="wrong-currency"`) || !strings.Contains(text, "Bench at the Mill") {
		t.Errorf("%d: not said at the field, or what was written is lost", st)
	}
	if st, text = w.post("/settings", "currency", "CHF", "day_from", "18", "day_to", "8"); st != http.StatusUnprocessableEntity || !strings.Contains(text, `id="wrong-day_to"`) {
		t.Errorf("a day that ends before it begins: %d", st)
	}
}
