package web_test

import (
	"net/http"
	"testing"
	"time"

	"beatwright"
)

// manyHearings fills a job with n hearings of one sound.
func (w *workshop) manyHearings(number string, n int) (path string) {
	w.t.Helper()
	path = w.hear(number, sound12, "CH", "as found", "0")
	p, err := w.bench.Job(w.t.Context(), number)
	if err != nil {
		w.t.Fatal(err)
	}
	positions := []string{"CH", "FH", "12H", "3H", "6H", "9H"}
	var put []beatwright.Thing
	for i := range n - 1 {
		h, r := *p.Hearings[0], *p.Readings[0]
		h.At = h.At.Add(time.Duration(i+1) * time.Second)
		h.Entry = beatwright.Entry{ID: beatwright.NewID(h.At)}
		h.Position = positions[i%len(positions)]
		r.Entry, r.Hearing = beatwright.Entry{ID: beatwright.NewID(h.At)}, h.ID
		put = append(put, &h, &r)
	}
	if _, err := w.bench.Apply(w.t.Context(), beatwright.Change{What: "heard often", Job: p.Job.ID, Put: put}); err != nil {
		w.t.Fatal(err)
	}
	return path
}

// TestManyHearings: a job in which much was heard still answers while one
// looks. The bound is wide, for a busy
// machine: it is to hold what grows with the square.
func TestManyHearings(t *testing.T) {
	t.Parallel()
	w := newWorkshop(t)
	number := w.aJob()
	path := w.manyHearings(number, 200)
	for _, page := range []string{"/jobs/" + number, "/jobs/" + number + "/positions", path} {
		start := time.Now()
		st, _ := w.get(page)
		t.Logf("%s: %v", page, time.Since(start))
		if took := time.Since(start); st != http.StatusOK || took > 2*time.Second {
			t.Errorf("%s: %d in %v", page, st, took)
		}
	}
}
