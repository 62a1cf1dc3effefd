package web_test

import (
	"bytes"
	"mime/multipart"
	"net/http"
	"strings"
	"testing"
)

func TestJobsAreFoundAndNarrowed(t *testing.T) {
	w := newWorkshop(t)
	if _, text := w.get("/jobs"); !strings.Contains(text, "No job yet.") {
		t.Error("an empty list does not say so")
	}
	number := w.aJob()
	w.post("/jobs", "kind", "hand-wound chronograph", "marks", "Norrim", "state", "considered", "says", "runs well")
	for path, want := range map[string][]string{
		"/jobs":                                 {"Two jobs.", "Quellmar", "Norrim"},
		"/jobs?q=quell":                         {"One of two jobs.", "Quellmar"},
		"/jobs?q=zzz":                           {"No job fits.", "Show all jobs"},
		"/jobs?state=considered":                {"One of two jobs.", "Norrim"},
		"/jobs?kind=chrono":                     {"Norrim"},
		"/jobs?state=open&q=" + number + "&x=1": {"Quellmar"},
	} {
		st, text := w.get(path)
		for _, s := range want {
			if !strings.Contains(text, s) {
				t.Errorf("%s: %d, does not say %q", path, st, s)
			}
		}
	}
	if _, text := w.get("/jobs?q=quell"); strings.Contains(text, `">Norrim`) {
		t.Error("what was not asked for is listed")
	}
	if st, text := w.get("/jobs.json?q=quell"); st != http.StatusOK || !strings.Contains(text, `"number":"`+number+`"`) {
		t.Errorf("as JSON: %d %.100s", st, text)
	}
}

func TestOwnerIsChangedAndFound(t *testing.T) {
	w := newWorkshop(t)
	w.aJob()
	_, text := w.get("/owners?q=mar")
	_, after, _ := strings.Cut(text, `href="/owners/`)
	id, _, _ := strings.Cut(after, `"`)
	st, text := w.post("/owners/"+id, "name", "Ilse Marrow-Tey", "phone", "12 34")
	if st != http.StatusOK || !strings.Contains(text, "Ilse Marrow-Tey") || !strings.Contains(text, "Quellmar") {
		t.Errorf("%d: the owner's page shows neither new name nor job", st)
	}
	if _, text := w.get("/jobs?q=tey"); !strings.Contains(text, "Quellmar") {
		t.Error("the job is not found by its owner's new name")
	}
	if st, _ := w.post("/owners/"+id, "name", " "); st != http.StatusUnprocessableEntity {
		t.Errorf("an owner without a name: %d", st)
	}
}

func (w *workshop) importTable(name, table string) (int, string) {
	w.t.Helper()
	var b bytes.Buffer
	m := multipart.NewWriter(&b)
	part, err := m.CreateFormFile("file", name)
	if err != nil {
		w.t.Fatal(err)
	}
	part.Write([]byte(table))
	m.Close()
	res, err := w.Client().Post(w.URL+"/movements/import", m.FormDataContentType(), &b)
	if err != nil {
		w.t.Fatal(err)
	}
	return read(w.t, res)
}

func TestMovementsInAndOut(t *testing.T) {
	w := newWorkshop(t)
	st, text := w.importTable("mine.csv", "name,beats_per_hour,lift_deg,wheels\nNorrim hand,18000,48,fourth=70\nPellworth,fast,,\n")
	for _, want := range []string{"One movement taken, one left out.", `<td class="n">3</td><td class="n">beats_per_hour</td>`, "want a number"} {
		if st != http.StatusOK || !strings.Contains(text, want) {
			t.Errorf("a table with a bad row: %d, does not say %q", st, want)
		}
	}
	if _, text := w.get("/movements"); !strings.Contains(text, "Norrim hand") {
		t.Error("the good row is not in the library")
	}
	if st, _ := w.importTable("mine.csv", "name,lift_deg\nnorrim HAND,50\n"); st != http.StatusOK {
		t.Errorf("the same name again: %d", st)
	}
	_, csv := w.get("/movements/export.csv")
	if strings.Count(csv, "\n") != 2 || !strings.Contains(csv, "norrim HAND,18000,50,") {
		t.Errorf("exported:\n%s", csv)
	}
	st, list := w.get("/movements/export.json")
	if st != http.StatusOK || !strings.HasPrefix(list, "[\n  {") {
		t.Errorf("as JSON: %d %.100s", st, list)
	}
	if st, _ := w.importTable("mine.json", list); st != http.StatusOK {
		t.Errorf("what was exported is not taken back: %d", st)
	}
	st, text = w.post("/movements", "name", "Tessagne", "beats_per_hour", "21600", "lift_deg", "51", "lift_standing", "measured",
		"escape_teeth", "15", "wheels.fourth", "70", "pinions.escape", "7", "complications", "date; alarm")
	if st != http.StatusOK || !strings.Contains(text, "Tessagne") {
		t.Fatalf("by hand: %d", st)
	}
	if st, text := w.post("/movements", "name", "Kestrin", "lift_deg", "400"); st != http.StatusUnprocessableEntity || !strings.Contains(text, "lift_deg") {
		t.Errorf("a lift of 400°: %d", st)
	}
}

func TestSettingsAreKeptAndUndone(t *testing.T) {
	w := newWorkshop(t)
	st, text := w.post("/settings", "name", "Bench at the Mill", "currency", "chf", "theme", "dark", "day_from", "7", "day_to", "17", "who", "R. Ansel")
	if st != http.StatusOK || !strings.Contains(text, "Bench at the Mill") || !strings.Contains(text, `data-theme="dark"`) {
		t.Errorf("%d: settings are not kept", st)
	}
	if st, _ := w.post("/settings", "currency", "francs"); st != http.StatusUnprocessableEntity {
		t.Errorf("francs for a currency: %d", st)
	}
}
