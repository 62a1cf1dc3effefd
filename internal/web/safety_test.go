package web_test

import (
	"bufio"
	"encoding/json"
	"fmt"
	"net"
	"net/http"
	"strings"
	"testing"
	"time"

	"beatwright"
)

// ask sends a request as it stands, byte for byte, and gives the answer.
func (w *workshop) ask(request string) *http.Response {
	w.t.Helper()
	c, err := net.Dial("tcp", w.Listener.Addr().String())
	if err != nil {
		w.t.Fatal(err)
	}
	defer c.Close()
	if err := c.SetDeadline(time.Now().Add(20 * time.Second)); err != nil {
		w.t.Fatal(err)
	}
	if _, err := fmt.Fprint(c, request); err != nil {
		w.t.Fatal(err)
	}
	res, err := http.ReadResponse(bufio.NewReader(c), nil)
	if err != nil {
		w.t.Fatalf("%q: %v", request, err)
	}
	res.Body.Close()
	return res
}

// TestOnlyItsOwnNames: a page elsewhere may point a name of its own at this
// computer, but its requests come under that name. That an absolute target
// stands above the Host line, and that a request of HTTP/1.1 without one is bad,
// is HTTP's rule (from memory).
func TestOnlyItsOwnNames(t *testing.T) {
	w := newWorkshop(t)
	_, port, _ := net.SplitHostPort(w.Listener.Addr().String())
	line := func(host string) string { return "GET / HTTP/1.1\r\nHost: " + host + "\r\n\r\n" }
	for _, tt := range []struct {
		name, request string
		want          int
	}{
		{"number", line("127.0.0.1"), 200},
		{"number and port", line("127.0.0.1:" + port), 200},
		{"another port", line("127.0.0.1:1"), 200},
		{"localhost", line("localhost:" + port), 200},
		{"capitals", line("LocalHost"), 200},
		{"six", line("[::1]"), 200},
		{"six and port", line("[::1]:" + port), 200},
		{"foreign", line("evil.example"), 403},
		{"foreign with our port", line("evil.example:" + port), 403},
		{"ours in front", line("localhost.evil.example"), 403},
		{"number in front", line("127.0.0.1.evil.example"), 403},
		{"ours behind", line("evil.localhost"), 403},
		{"a user before it", line("evil@localhost"), 400},
		{"another number", line("192.0.2.1"), 403},
		{"any number", line("0.0.0.0:" + port), 403},
		{"empty", line(""), 403},
		{"none", "GET / HTTP/1.1\r\n\r\n", 400},
		{"none, older", "GET / HTTP/1.0\r\n\r\n", 403},
		{"two", "GET / HTTP/1.1\r\nHost: localhost\r\nHost: evil.example\r\n\r\n", 400},
		{"foreign target", "GET http://evil.example/ HTTP/1.1\r\nHost: localhost\r\n\r\n", 403},
		{"own target", "GET http://localhost/ HTTP/1.1\r\nHost: localhost\r\n\r\n", 200},
		{"foreign, a file", "GET /static/page.js HTTP/1.1\r\nHost: evil.example\r\n\r\n", 403},
		{"foreign, the API", "GET /api/jobs HTTP/1.1\r\nHost: evil.example\r\n\r\n", 403},
		{"foreign, nowhere", "GET /nowhere HTTP/1.1\r\nHost: evil.example\r\n\r\n", 403},
	} {
		t.Run(tt.name, func(t *testing.T) {
			if got := w.ask(tt.request).StatusCode; got != tt.want {
				t.Errorf("%q is answered %d, want %d", tt.request, got, tt.want)
			}
		})
	}
}

// TestOtherPagesCannotAct: a form on another page may be sent here by the
// browser, which then says where it comes from; a program says nothing.
func TestOtherPagesCannotAct(t *testing.T) {
	w := newWorkshop(t)
	for _, tt := range []struct {
		name, header, value string
		allowed             bool
	}{
		{"a program", "", "", true},
		{"this page", "Sec-Fetch-Site", "same-origin", true},
		{"typed by hand", "Sec-Fetch-Site", "none", true},
		{"another site", "Sec-Fetch-Site", "cross-site", false},
		{"a neighbour", "Sec-Fetch-Site", "same-site", false},
		{"an older browser, this page", "Origin", w.URL, true},
		{"an older browser, another", "Origin", "http://evil.example", false},
		{"no origin to tell", "Origin", "null", false},
		{"another port here", "Origin", "http://127.0.0.1:1", false},
	} {
		for path, body := range map[string]string{"/jobs": "kind=alarm", "/api/jobs": `{"watch":{"kind":"alarm"}}`} {
			t.Run(tt.name+path, func(t *testing.T) {
				before := len(w.jobs())
				req, err := http.NewRequest("POST", w.URL+path, strings.NewReader(body))
				if err != nil {
					t.Fatal(err)
				}
				req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
				if tt.header != "" {
					req.Header.Set(tt.header, tt.value)
				}
				res, err := w.Client().Do(req)
				if err != nil {
					t.Fatal(err)
				}
				st, _ := read(t, res)
				made := len(w.jobs()) - before
				if tt.allowed && (st >= 300 || made != 1) || !tt.allowed && (st != 403 || made != 0) {
					t.Errorf("answered %d and %d jobs opened; allowed: %v", st, made, tt.allowed)
				}
			})
		}
	}
}

func (w *workshop) jobs() []beatwright.Line {
	w.t.Helper()
	lines, err := w.bench.Find(w.t.Context(), beatwright.Query{})
	if err != nil {
		w.t.Fatal(err)
	}
	return lines
}

// TestWhatIsNotThere: unknown addresses, things and methods are refused in
// words or, where JSON was asked for, in JSON; nothing is done.
func TestWhatIsNotThere(t *testing.T) {
	w := newWorkshop(t)
	number := w.aJob()
	for _, tt := range []struct {
		method, path string
		want         int
		json         bool
	}{
		{"GET", "/nowhere", 404, false},
		{"GET", "/nowhere.json", 404, true},
		{"GET", "/jobs/2026-999", 404, false},
		{"GET", "/jobs/2026-999.json", 404, true},
		{"GET", "/jobs/x%00y", 404, false},
		{"GET", "/jobs/" + strings.Repeat("9", 9000), 404, false},
		{"GET", "/jobs/" + number + "/nowhere", 404, false},
		{"GET", "/jobs/" + number + "/pictures/1", 404, false},
		{"GET", "/jobs/" + number + "/pictures/-1.json", 404, true},
		{"GET", "/jobs/" + number + "/hearings/zz", 404, false},
		{"GET", "/sounds/zz", 404, false},
		{"GET", "/pictures/zz/view", 404, false},
		{"GET", "/owners/zz", 404, false},
		{"GET", "/movements/zz", 404, false},
		{"GET", "/api/nowhere", 404, true},
		{"GET", "/api/jobs/2026-999", 404, true},
		{"GET", "/api/things/nonsense", 404, true},
		{"GET", "/progress/zz", 404, true},
		{"GET", "/static/nothing.js", 404, false},
		{"POST", "/jobs/2026-999/notes", 404, false},
		{"POST", "/jobs/2026-999/intake", 404, false},
		{"DELETE", "/jobs/" + number, 405, false},
		{"PUT", "/jobs/" + number, 405, false},
		{"POST", "/sounds/zz", 405, false},
		{"POST", "/static/page.js", 405, false},
		{"DELETE", "/api/jobs/" + number, 405, false},
	} {
		t.Run(tt.method+fmt.Sprintf("%.40s", tt.path), func(t *testing.T) {
			req, err := http.NewRequest(tt.method, w.URL+tt.path, nil)
			if err != nil {
				t.Fatal(err)
			}
			res, err := w.Client().Do(req)
			if err != nil {
				t.Fatal(err)
			}
			st, text := read(t, res)
			if st != tt.want {
				t.Errorf("answered %d, want %d: %.200s", st, tt.want, text)
			}
			if policy := res.Header.Get("Content-Security-Policy"); !strings.Contains(policy, "default-src 'none'") {
				t.Errorf("its policy is %q", policy)
			}
			var told struct{ Error, Code string }
			if err := json.Unmarshal([]byte(text), &told); tt.json && (err != nil || told.Error == "" || told.Code == "") {
				t.Errorf("no JSON that tells what is amiss: %v: %.200s", err, text)
			}
		})
	}
	if n := len(w.jobs()); n != 1 {
		t.Errorf("there are %d jobs, want the one", n)
	}
}

// TestFilesAreGivenByIDAlone: no spelling of a path leads to a file of the
// folder or of the program.
func TestFilesAreGivenByIDAlone(t *testing.T) {
	w := newWorkshop(t)
	for _, path := range []string{
		"/sounds/../record.db", "/sounds/..%2frecord.db", "/sounds/%2e%2e%2frecord.db", "/sounds/..%5crecord.db", "/sounds/%2fetc%2fpasswd",
		"/pictures/..%2f..%2frecord.db/view", "/pictures/x/..%2f..%2frecord.db", "/static/../record.db", "/static/..%2ftemplates%2fframe.html",
		"/static/%2e%2e/templates/frame.html", "/bench.json", "/static//etc/passwd", "/jobs/..%2f..%2fetc",
	} {
		res := w.ask("GET " + path + " HTTP/1.1\r\nHost: localhost\r\n\r\n")
		if res.StatusCode == 200 {
			t.Errorf("%s is answered", path)
		}
	}
}
