package demo_test

import (
	"context"
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"beatwright"
	"beatwright/internal/demo"
	"beatwright/internal/files"
	"beatwright/internal/live"
	"beatwright/internal/sqlite"
	"beatwright/internal/web"
)

// shop is the invented workshop, as a browser sees it.
type shop struct {
	t        *testing.T
	record   *sqlite.Store
	bench    *live.Bench
	hearings []demo.Hearing
	*httptest.Server
}

func newShop(t *testing.T, now func() time.Time) *shop {
	t.Helper()
	dir := t.TempDir()
	clock := demo.NewClock(now)
	folder, err := files.Open(dir, files.Options{})
	if err != nil {
		t.Fatal(err)
	}
	record, err := sqlite.Open(t.Context(), dir, sqlite.Options{Now: clock.Now})
	if err != nil {
		t.Fatal(err)
	}
	bench := live.NewBench(record, folder, "beatwright test")
	hearings, err := demo.Fill(t.Context(), bench, clock)
	if err != nil {
		t.Fatal(err)
	}
	page, err := web.New(bench, web.Options{Version: "test"})
	if err != nil {
		t.Fatal(err)
	}
	srv := httptest.NewServer(page)
	t.Cleanup(func() {
		srv.Close()
		record.Close()
		folder.Close()
	})
	return &shop{t, record, bench, hearings, srv}
}

func (s *shop) get(path string) (int, string) {
	s.t.Helper()
	res, err := s.Client().Get(s.URL + path)
	if err != nil {
		s.t.Fatal(err)
	}
	defer res.Body.Close()
	b, err := io.ReadAll(res.Body)
	if err != nil {
		s.t.Fatal(err)
	}
	return res.StatusCode, string(b)
}

func (s *shop) jobs() []beatwright.Line {
	s.t.Helper()
	lines, err := s.bench.Find(context.Background(), beatwright.Query{})
	if err != nil {
		s.t.Fatal(err)
	}
	return lines
}

// pagesOf are the addresses of a job.
func pagesOf(number string) []string {
	base := "/jobs/" + number
	return []string{base, base + "/intake", base + "/wishes", base + "/positions", base + "/pictures"}
}

// TestEveryPageAnswers: before a sound is there, and with the first of them.
func TestEveryPageAnswers(t *testing.T) {
	s := newShop(t, time.Now)
	check := func() {
		paths := []string{"/", "/jobs"}
		for _, l := range s.jobs() {
			paths = append(paths, pagesOf(l.Number)...)
		}
		for _, path := range paths {
			status, text := s.get(path)
			if status != http.StatusOK {
				t.Errorf("%s answers %d\n%s", path, status, text)
			}
			if !strings.Contains(text, "All invented") {
				t.Errorf("%s does not say that all is invented", path)
			}
			for _, bad := range []string{"NaN", "Inf ", "%!", "<nil>"} {
				if strings.Contains(text, bad) {
					t.Errorf("%s says %q", path, bad)
				}
			}
		}
	}
	check()
	if testing.Short() {
		return
	}
	if err := demo.Sounds(t.Context(), s.bench, s.hearings[:8]); err != nil {
		t.Fatal(err)
	}
	check()
}

// TestAllStates: every state of a job and twelve jobs, each with a watch of its
// own or come back.
func TestAllStates(t *testing.T) {
	s := newShop(t, time.Now)
	got := map[beatwright.JobState]int{}
	kinds := map[string]bool{}
	for _, l := range s.jobs() {
		got[l.State]++
		kinds[l.Kind] = true
	}
	for _, state := range beatwright.JobStates {
		if got[state] == 0 {
			t.Errorf("no job is %s", state)
		}
	}
	if n := len(s.jobs()); n != 12 {
		t.Errorf("%d jobs, want 12", n)
	}
	if len(kinds) < 10 {
		t.Errorf("kinds of watch: %v, want ten and more", kinds)
	}
	if err := s.record.Verify(t.Context()); err != nil {
		t.Error(err)
	}
}

// TestDueAtAnyHour: whatever the hour, something is late, a window is open, and
// something can be done at any time of the day.
func TestDueAtAnyHour(t *testing.T) {
	for _, hour := range []int{0, 7, 14, 23} {
		now := time.Date(2031, 3, 5, hour, 25, 0, 0, time.Local)
		s := newShop(t, func() time.Time { return now })
		// The round of 24 hours is asked for once it was heard.
		var round []demo.Hearing
		for _, h := range s.hearings {
			if now.Sub(h.At) < 24*time.Hour && now.Sub(h.At) > 23*time.Hour {
				round = append(round, h)
			}
		}
		if err := demo.Sounds(t.Context(), s.bench, round[:2]); err != nil {
			t.Fatal(err)
		}
		open, err := s.bench.OpenJobs(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		d := beatwright.WhatIsDue(now, open)
		var late, inWindow, anyTime int
		for _, item := range d.Today {
			switch {
			case item.Late(now):
				late++
			case item.AllDay:
				anyTime++
			case item.Hear && !now.Before(item.From):
				inWindow++
			}
		}
		if late == 0 || inWindow == 0 || anyTime == 0 || len(d.Week) < 3 || len(d.Waiting) < 2 {
			t.Errorf("at %d h: %d late, %d to hear now, %d at any time, %d in the week, %d waiting", hour, late, inWindow, anyTime, len(d.Week), len(d.Waiting))
		}
	}
}

// TestHistoryIsPast: nothing in the record is dated after the present, and it
// goes back weeks.
func TestHistoryIsPast(t *testing.T) {
	now := time.Date(2031, 3, 5, 8, 0, 0, 0, time.Local)
	s := newShop(t, func() time.Time { return now })
	done, err := s.bench.History(t.Context(), "", 0, 1000)
	if err != nil {
		t.Fatal(err)
	}
	if len(done) < 100 {
		t.Fatalf("%d lines of history", len(done))
	}
	oldest := now
	for _, d := range done {
		if d.At.After(now) {
			t.Errorf("%q is dated %s", d.What, d.At)
		}
		if d.At.Before(oldest) {
			oldest = d.At
		}
	}
	if now.Sub(oldest) < 30*24*time.Hour {
		t.Errorf("the oldest is of %s, want weeks ago", oldest)
	}
}
