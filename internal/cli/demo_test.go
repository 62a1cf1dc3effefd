package cli_test

import (
	"bufio"
	"bytes"
	"context"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"beatwright/internal/cli"
	"beatwright/internal/files"

	"go.uber.org/goleak"
)

// running is a program that answers, with what it says line by line.
type running struct {
	lines  *bufio.Scanner
	end    context.CancelFunc
	status chan int
	errs   bytes.Buffer
}

// start runs the program with args; nothing is waited for but its own words.
func start(t *testing.T, p *cli.Program, args ...string) *running {
	t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	out, say := io.Pipe()
	r := &running{lines: bufio.NewScanner(out), end: cancel, status: make(chan int, 1)}
	go func() {
		r.status <- p.Run(ctx, args, strings.NewReader(""), say, &r.errs)
		say.Close()
	}()
	t.Cleanup(cancel)
	return r
}

// until reads to the line that re fits and gives its first group.
func (r *running) until(t *testing.T, re string) string {
	t.Helper()
	want := regexp.MustCompile(re)
	for r.lines.Scan() {
		if m := want.FindStringSubmatch(r.lines.Text()); m != nil {
			return m[1]
		}
	}
	t.Fatalf("the program never said %s; it complained %q", re, r.errs.String())
	return ""
}

// finish reads the rest and gives the exit status.
func (r *running) finish() int {
	for r.lines.Scan() {
	}
	return <-r.status
}

// TestDemo: it says that all is invented and where it is, answers, and leaves
// neither its folder nor a goroutine behind.
func TestDemo(t *testing.T) {
	before := goleak.IgnoreCurrent()
	t.Setenv("TMPDIR", t.TempDir())
	t.Setenv("TMP", os.Getenv("TMPDIR"))
	r := start(t, cli.New(), "demo", "--no-open")
	r.until(t, `(made up)`)
	r.until(t, `(removed at the end)`)
	r.until(t, `sound of (\d+) hearings`)
	at := r.until(t, ` is open at (http://127\.0\.0\.1:\d+/)$`)
	if folders, _ := filepath.Glob(filepath.Join(os.TempDir(), "beatwright-demo-*")); len(folders) != 1 {
		t.Errorf("folders while it is open: %v, want one", folders)
	}
	client := &http.Client{Transport: &http.Transport{}}
	res, err := client.Get(at)
	if err != nil {
		t.Fatal(err)
	}
	body, err := io.ReadAll(res.Body)
	res.Body.Close()
	if err != nil || res.StatusCode != http.StatusOK || !strings.Contains(string(body), "All invented") {
		t.Errorf("the first page: %d, %v\n%s", res.StatusCode, err, body)
	}
	client.CloseIdleConnections()
	r.end()
	if status := r.finish(); status != 0 || r.errs.Len() > 0 {
		t.Errorf("status %d, complained %q", status, r.errs.String())
	}
	if left, _ := filepath.Glob(filepath.Join(os.TempDir(), "*")); len(left) != 0 {
		t.Errorf("left behind: %v", left)
	}
	goleak.VerifyNone(t, before)
}

// TestDemoEndsEarly: ended before it answers, it leaves nothing either.
func TestDemoEndsEarly(t *testing.T) {
	before := goleak.IgnoreCurrent()
	t.Setenv("TMPDIR", t.TempDir())
	t.Setenv("TMP", os.Getenv("TMPDIR"))
	r := start(t, cli.New(), "demo", "--no-open", "--addr", "203.0.113.7:80")
	if status := r.finish(); status != 2 || !strings.Contains(r.errs.String(), "this computer only") {
		t.Errorf("status %d, complained %q", status, r.errs.String())
	}
	if left, _ := filepath.Glob(filepath.Join(os.TempDir(), "*")); len(left) != 0 {
		t.Errorf("left behind: %v", left)
	}
	goleak.VerifyNone(t, before)
}

// TestDoubleClickOpensTheBench: without arguments it is the bench after a double
// click, help at a command line. A workshop that is open already is shown where
// it is.
func TestDoubleClickOpensTheBench(t *testing.T) {
	dir := t.TempDir()
	folder, err := files.Open(dir, files.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer folder.Close()
	const at = "http://127.0.0.1:1/"
	if err := folder.SetAddress(at); err != nil {
		t.Fatal(err)
	}
	t.Setenv("BEATWRIGHT_FOLDER", dir)
	t.Setenv("PATH", "") // no browser
	for double, want := range map[bool]string{true: "open already, at " + at, false: "Usage: beatwright"} {
		p := cli.New()
		p.Clicked = func(io.Reader, io.Writer) bool { return double }
		var out, errs bytes.Buffer
		status := p.Run(t.Context(), nil, strings.NewReader(""), &out, &errs)
		if status != 0 || !strings.Contains(out.String(), want) {
			t.Errorf("double click %v: status %d, said %q, complained %q; want %q", double, status, out.String(), errs.String(), want)
		}
	}
}
