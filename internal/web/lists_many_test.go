package web_test

import (
	"context"
	"fmt"
	"net/http"
	"net/http/httptest"
	"slices"
	"testing"
	"time"

	"beatwright"
)

// filled puts n invented jobs into the record, each of an owner of its own.
func (w *workshop) filled(n int) {
	w.t.Helper()
	makers := []string{"Quellmar", "Norrim", "Tessagne", "Arvendal", "Kestrin", "Pellworth"}
	kinds := []string{"automatic alarm with date", "hand-wound", "hand-wound chronograph", "pocket watch, hunter"}
	opened := time.Date(2026, 11, 17, 9, 0, 0, 0, time.UTC)
	var put []beatwright.Thing
	for i := range n {
		id := func(kind string) beatwright.Entry {
			return beatwright.Entry{ID: beatwright.ID(fmt.Sprintf("%s-%05d", kind, i))}
		}
		o := &beatwright.Owner{Entry: id("owner"), Name: fmt.Sprintf("Ilse Marrow %d", i)}
		wa := &beatwright.Watch{Entry: id("watch"), Owner: o.ID, Says: fmt.Sprintf("%s %06d", makers[i%len(makers)], i), What: kinds[i%len(kinds)]}
		j := &beatwright.Job{Entry: id("job"), Watch: wa.ID, Owner: o.ID, State: beatwright.JobStates[i%len(beatwright.JobStates)], Opened: opened, Complaint: "It stops in the night."}
		put = append(put, o, wa, j)
		if len(put) >= 600 || i == n-1 {
			if _, err := w.bench.Apply(context.Background(), beatwright.Change{What: "filled", Put: put}); err != nil {
				w.t.Fatal(err)
			}
			put = nil
		}
	}
}

// TestTenThousandJobs: whatever is asked of 10 000 jobs, the page is there in
// under 50 ms (our own target). The bound is held at the quickest of several
// tries, more of them on a busy machine: what else it does is not the page's.
func TestTenThousandJobs(t *testing.T) {
	if testing.Short() {
		t.Skip("fills a record with 10 000 jobs")
	}
	w := newWorkshop(t)
	w.filled(10_000)
	for _, path := range []string{
		"/jobs", "/jobs?q=q", "/jobs?q=marrow+77", "/jobs?q=kestrin&state=open", "/jobs?state=open", "/jobs?state=returned&from=1000",
		"/jobs?kind=chronograph", "/jobs?kind=nothing+such", "/jobs?owner=owner-00077", "/jobs?from=9950", "/jobs?q=nothing+at+all", "/jobs.json?q=quellmar",
	} {
		var took []time.Duration
		for n := 0; n < 7 || slices.Min(took) > 50*time.Millisecond && n < 40; n++ {
			rec, req := httptest.NewRecorder(), httptest.NewRequest("GET", "http://localhost"+path, nil)
			from := time.Now()
			w.Config.Handler.ServeHTTP(rec, req)
			took = append(took, time.Since(from))
			if rec.Code != http.StatusOK {
				t.Fatalf("%s: %d", path, rec.Code)
			}
		}
		slices.Sort(took)
		t.Logf("%-36s quickest %v, middle %v", path, took[0], took[len(took)/2])
		if took[0] > 50*time.Millisecond {
			t.Errorf("%s took %v, want under 50 ms", path, took[0])
		}
	}
}
