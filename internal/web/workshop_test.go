package web_test

import (
	"context"
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"beatwright/internal/files"
	"beatwright/internal/live"
	"beatwright/internal/sqlite"
	"beatwright/internal/web"
)

// workshop is a page over an empty folder, as a browser sees it.
type workshop struct {
	t     *testing.T
	bench *live.Bench
	page  *web.Server
	*httptest.Server
}

func newWorkshop(t *testing.T) *workshop {
	t.Helper()
	dir := t.TempDir()
	folder, err := files.Open(dir, files.Options{})
	if err != nil {
		t.Fatal(err)
	}
	record, err := sqlite.Open(context.Background(), dir, sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	bench := live.NewBench(record, folder, "beatwright test")
	page, err := web.New(bench, web.Options{Version: "test"})
	if err != nil {
		t.Fatal(err)
	}
	srv := httptest.NewServer(page)
	t.Cleanup(func() {
		page.Close()
		srv.Close()
		bench.Close()
		record.Close()
		folder.Close()
	})
	return &workshop{t, bench, page, srv}
}

// get gives a page's status and text.
func (w *workshop) get(path string) (int, string) {
	w.t.Helper()
	res, err := w.Client().Get(w.URL + path)
	if err != nil {
		w.t.Fatal(err)
	}
	return read(w.t, res)
}

// post sends a form and follows where it leads; pairs are names and values.
func (w *workshop) post(path string, pairs ...string) (int, string) {
	w.t.Helper()
	form := url.Values{}
	for i := 0; i+1 < len(pairs); i += 2 {
		form.Add(pairs[i], pairs[i+1])
	}
	res, err := w.Client().PostForm(w.URL+path, form)
	if err != nil {
		w.t.Fatal(err)
	}
	return read(w.t, res)
}

func read(t *testing.T, res *http.Response) (int, string) {
	t.Helper()
	defer res.Body.Close()
	b, err := io.ReadAll(res.Body)
	if err != nil {
		t.Fatal(err)
	}
	return res.StatusCode, string(b)
}

// aJob opens a job for an invented watch and gives its number.
func (w *workshop) aJob() string {
	w.t.Helper()
	st, text := w.post("/jobs", "kind", "automatic alarm with date", "marks", "Quellmar Daycall", "owner", "Ilse Marrow", "complaint", "It stops in the night.")
	if st != http.StatusOK || !strings.Contains(text, "Quellmar Daycall") {
		w.t.Fatalf("open a job: %d\n%s", st, text)
	}
	_, after, _ := strings.Cut(text, `<span class="where">`)
	number, _, _ := strings.Cut(after, "<")
	return number
}
