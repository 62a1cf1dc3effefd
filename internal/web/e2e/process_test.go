package e2e

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"net"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"
)

// program is the program running as a process of its own.
type program struct {
	t    *testing.T
	cmd  *exec.Cmd
	out  *bufio.Scanner
	errs bytes.Buffer
	url  string
}

func command(t *testing.T, args ...string) *program {
	t.Helper()
	p := &program{t: t, cmd: exec.Command(os.Args[0], args...)}
	p.cmd.Env = append(os.Environ(), asProgram+"=1", "GOCOVERDIR="+t.TempDir())
	p.cmd.Stderr = &p.errs
	pipe, err := p.cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	p.out = bufio.NewScanner(pipe)
	if err := p.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(p.kill)
	return p
}

// bench starts the bench on a folder and waits for the address that it says.
func bench(t *testing.T, folder string) *program {
	t.Helper()
	return benchAt(t, folder, "127.0.0.1:0")
}

func benchAt(t *testing.T, folder, addr string) *program {
	t.Helper()
	p := command(t, "bench", "--folder", folder, "--addr", addr, "--no-open")
	at := regexp.MustCompile(`is open at (http://\S+)/$`)
	for p.out.Scan() {
		if m := at.FindStringSubmatch(p.out.Text()); m != nil {
			p.url = m[1]
			return p
		}
	}
	_ = p.cmd.Wait()
	t.Fatalf("the bench did not open: %s", p.errs.String())
	return nil
}

// kill ends the process as a power cut would, and waits for its end.
func (p *program) kill() {
	_ = p.cmd.Process.Kill()
	_ = p.cmd.Wait()
}

// post sends a form and gives where it leads.
func (p *program) post(path string, form url.Values) string {
	p.t.Helper()
	c := &http.Client{Transport: &http.Transport{DisableKeepAlives: true}, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	res, err := c.PostForm(p.url+path, form)
	if err != nil {
		p.t.Fatal(err)
	}
	body, err := io.ReadAll(res.Body)
	res.Body.Close()
	if err != nil || res.StatusCode != http.StatusSeeOther {
		p.t.Fatalf("%s: %d, %v: %.300s", path, res.StatusCode, err, body)
	}
	return res.Header.Get("Location")
}

// get gives what an address answers.
func (p *program) get(path string) string {
	p.t.Helper()
	res, err := (&http.Client{Transport: &http.Transport{DisableKeepAlives: true}}).Get(p.url + path)
	if err != nil {
		p.t.Fatal(err)
	}
	defer res.Body.Close()
	body, err := io.ReadAll(res.Body)
	if err != nil || res.StatusCode != http.StatusOK {
		p.t.Fatalf("%s: %d, %v: %.300s", path, res.StatusCode, err, body)
	}
	return string(body)
}

// TestWhatWasAcknowledgedSurvivesKilling kills a real bench right after one of
// its answers, again and again on the same folder: what it said it had kept is
// there, and it opens without being asked to mend anything.
func TestWhatWasAcknowledgedSurvivesKilling(t *testing.T) {
	t.Parallel()
	rounds := 20
	if testing.Short() {
		rounds = 4
	}
	folder := t.TempDir()
	dice := rand.New(rand.NewPCG(20, 26))
	p := bench(t, folder)
	job := p.post("/jobs", url.Values{"kind": {"alarm"}, "marks": {"Quellmar"}})
	var notes []string
	for round := range rounds {
		for range 1 + dice.IntN(6) {
			note := fmt.Sprintf("note %d of round %d", len(notes), round)
			p.post(job+"/notes", url.Values{"text": {note}})
			notes = append(notes, note)
		}
		p.kill()
		p = bench(t, folder)
		var papers struct {
			Notes []struct{ Text string }
		}
		if err := json.Unmarshal([]byte(p.get("/api"+job)), &papers); err != nil {
			t.Fatal(err)
		}
		if len(papers.Notes) != len(notes) {
			t.Fatalf("round %d: %d notes were acknowledged, %d are kept", round, len(notes), len(papers.Notes))
		}
		for i, n := range papers.Notes {
			if n.Text != notes[i] {
				t.Errorf("note %d is %q, want %q", i, n.Text, notes[i])
			}
		}
	}
	t.Logf("killed %d times, %d notes kept", rounds, len(notes))
}

// TestKilledWhileWriting kills it while forms are under way: each is there whole
// if it was acknowledged, and whole or not at all if it was not.
func TestKilledWhileWriting(t *testing.T) {
	t.Parallel()
	folder := t.TempDir()
	p := bench(t, folder)
	job := p.post("/jobs", url.Values{"kind": {"alarm"}})
	acknowledged := make(chan string, 1000)
	stopped := make(chan bool)
	at := p.url
	go func() {
		defer close(stopped)
		c := &http.Client{Transport: &http.Transport{DisableKeepAlives: true}, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
		for i := range 1000 {
			note := fmt.Sprintf("note %d", i)
			res, err := c.PostForm(at+job+"/notes", url.Values{"text": {note}})
			if err != nil {
				return
			}
			res.Body.Close()
			if res.StatusCode != http.StatusSeeOther {
				return
			}
			acknowledged <- note
		}
	}()
	var want []string
	for range 25 {
		want = append(want, <-acknowledged)
	}
	p.kill()
	<-stopped
	close(acknowledged)
	for note := range acknowledged {
		want = append(want, note)
	}
	p = bench(t, folder)
	text := p.get("/api" + job)
	for _, note := range want {
		if !strings.Contains(text, `"`+note+`"`) {
			t.Errorf("%q was acknowledged and is lost", note)
		}
	}
	if n := strings.Count(text, `"text":"note `); n > len(want)+1 {
		t.Errorf("%d notes are kept of %d and the one under way", n, len(want))
	}
}

// TestOneBenchAFolder: a second one on the same folder says where the first is,
// in one line, and leaves it alone.
func TestOneBenchAFolder(t *testing.T) {
	t.Parallel()
	folder := t.TempDir()
	first := bench(t, folder)
	second := command(t, "bench", "--folder", folder, "--addr", "127.0.0.1:0", "--no-open")
	for second.out.Scan() {
		t.Errorf("the second says %q", second.out.Text())
	}
	err := second.cmd.Wait()
	said := strings.TrimSpace(second.errs.String())
	if err == nil || second.cmd.ProcessState.ExitCode() != 1 || !strings.Contains(said, first.url) || strings.Contains(said, "\n") {
		t.Errorf("the second ends with %v and says %q, want the first's address %s in one line", err, said, first.url)
	}
	if !strings.Contains(first.get("/"), "No job yet.") {
		t.Error("the first no longer answers")
	}
}

// TestFolderThatCannotBeWritten is refused in words that name it.
func TestFolderThatCannotBeWritten(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	file := filepath.Join(dir, "a file")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	locked := filepath.Join(dir, "locked")
	if err := os.Mkdir(locked, 0o500); err != nil {
		t.Fatal(err)
	}
	folders := map[string]string{"a file": file, "below a file": filepath.Join(file, "shop")}
	if probe := os.WriteFile(filepath.Join(locked, "probe"), nil, 0o600); probe != nil { // root may write everywhere
		folders["locked"] = locked
	} else if _, err := os.Stat("/proc/self"); err == nil {
		folders["a system's own"] = "/proc/self/shop" // where not even root may make a folder
	}
	for name, folder := range folders {
		p := command(t, "bench", "--folder", folder, "--addr", "127.0.0.1:0", "--no-open")
		for p.out.Scan() {
		}
		err := p.cmd.Wait()
		said := strings.TrimSpace(p.errs.String())
		if err == nil || p.cmd.ProcessState.ExitCode() > 2 || !strings.Contains(said, filepath.Dir(folder)) || strings.Contains(said, "\n") || strings.Contains(said, "goroutine") {
			t.Errorf("%s: ends with %v and says %q", name, err, said)
		}
		t.Log(said)
	}
}

// TestSlowRequestsAreCutOff: who opens a connection and never finishes asking
// does not hold it for ever.
func TestSlowRequestsAreCutOff(t *testing.T) {
	if testing.Short() {
		t.Skip("waits ten seconds")
	}
	t.Parallel()
	p := bench(t, t.TempDir())
	c, err := net.Dial("tcp", strings.TrimPrefix(p.url, "http://"))
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	if err := c.SetDeadline(time.Now().Add(40 * time.Second)); err != nil {
		t.Fatal(err)
	}
	if _, err := io.WriteString(c, "GET / HTTP/1.1\r\nHost: localhost\r\nX-Slow: "); err != nil {
		t.Fatal(err)
	}
	if _, err := io.Copy(io.Discard, c); err != nil {
		t.Errorf("half a request is still waited for after 40 s: %v", err)
	}
}
