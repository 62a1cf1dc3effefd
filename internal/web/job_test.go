package web_test

import (
	"net/http"
	"strings"
	"testing"
)

func TestFirstPageOfAnEmptyWorkshop(t *testing.T) {
	w := newWorkshop(t)
	st, text := w.get("/")
	if st != http.StatusOK || !strings.Contains(text, "No job yet.") || !strings.Contains(text, "/jobs/new") {
		t.Errorf("%d: an empty workshop says neither that there is no job nor how to open one", st)
	}
}

func TestJobIsOpenedShownAndUndone(t *testing.T) {
	w := newWorkshop(t)
	number := w.aJob()
	st, text := w.get("/jobs/" + number)
	for _, want := range []string{"Quellmar Daycall", "for Ilse Marrow", "It stops in the night.", "alarm", "Undo"} {
		if !strings.Contains(text, want) {
			t.Errorf("%d: the job's page does not say %q", st, want)
		}
	}
	if _, text := w.get("/"); !strings.Contains(text, "Look it over") {
		t.Error("what is due does not ask to look the new watch over")
	}
	w.post("/undo", "change", "1", "back", "/")
	if st, _ := w.get("/jobs/" + number); st != http.StatusNotFound {
		t.Errorf("after undo the job answers %d, want 404", st)
	}
}

func TestOpenPartsBarTheReturn(t *testing.T) {
	w := newWorkshop(t)
	number := w.aJob()
	for _, state := range []string{"in work", "ready"} {
		if st, _ := w.post("/jobs/"+number+"/state", "state", state); st != http.StatusOK {
			t.Fatalf("%s: %d", state, st)
		}
	}
	if st, text := w.post("/jobs/"+number+"/state", "state", "lost at sea"); st != http.StatusUnprocessableEntity || !strings.Contains(text, "none of considered") {
		t.Errorf("a state that is none: %d", st)
	}
}
