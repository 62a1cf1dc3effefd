package e2e

import (
	"context"
	"fmt"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"beatwright/internal/files"
	"beatwright/internal/live"
	"beatwright/internal/sqlite"
	"beatwright/internal/web"

	"github.com/chromedp/chromedp"
)

// chromium finds the browser; its absence skips the test, but not in CI.
func chromium(t *testing.T) string {
	t.Helper()
	if testing.Short() {
		t.Skip("drives a browser")
	}
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome"} {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	if os.Getenv("CI") != "" || os.Getenv("BEATWRIGHT_CI") != "" {
		t.Fatal("no Chromium is installed")
	}
	t.Skip("no Chromium is installed")
	return ""
}

// tab is a workshop and a browser's tab that looks at it.
type tab struct {
	*testing.T
	ctx   context.Context
	bench *live.Bench
	url   string
	// strokes counts keys pressed, for how long the hands took.
	strokes int
}

func open(t *testing.T, width, height int64) *tab {
	t.Helper()
	path := chromium(t)
	bench, url := workshop(t)
	options := append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.NoSandbox, chromedp.ExecPath(path), chromedp.Flag("disable-gpu", true), chromedp.Flag("disable-quic", true),
		chromedp.Flag("disable-background-networking", true), chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-sync", true))
	ctx, cancel := context.WithTimeout(t.Context(), 4*time.Minute)
	t.Cleanup(cancel)
	ctx, cancel = chromedp.NewExecAllocator(ctx, options...)
	t.Cleanup(cancel)
	ctx, cancel = chromedp.NewContext(ctx)
	t.Cleanup(cancel)
	b := &tab{T: t, ctx: ctx, bench: bench, url: url}
	b.do(chromedp.EmulateViewport(width, height))
	b.listen()
	return b
}

func workshop(t *testing.T) (*live.Bench, string) {
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
		srv.Close()
		record.Close()
		folder.Close()
	})
	return bench, srv.URL
}

// listen fails the test for anything the page complains of: a script's error, a
// style that the policy refuses. Answers of 4xx are told there too and are
// looked at by the tests that ask for them.
func (b *tab) listen() {
	messages := chromedp.Console(b.ctx)
	go func() {
		for m, err := range messages {
			if err != nil {
				return
			}
			if (m.Type == chromedp.ConsoleError || m.IsException()) && !strings.Contains(m.Text, "status of 4") {
				b.Errorf("the page complains: %s", m)
			}
		}
	}()
}

func (b *tab) do(steps ...chromedp.Action[chromedp.Void]) {
	b.Helper()
	if err := chromedp.Do(b.ctx, steps...); err != nil {
		b.Fatal(err)
	}
}

func (b *tab) goTo(path string) { b.Helper(); b.do(chromedp.Navigate(b.url + path)) }

// press presses keys as a hand does, one after another.
func (b *tab) press(keys ...string) {
	b.Helper()
	for _, k := range keys {
		b.strokes += max(1, len([]rune(k)))
		b.do(chromedp.KeyEvent(k))
	}
}

// value gives what an expression is on the page.
func value[T any](b *tab, expression string) T {
	b.Helper()
	v, err := chromedp.Run(b.ctx, chromedp.Evaluate[T](expression))
	if err != nil {
		b.Fatalf("%s: %v", expression, err)
	}
	return v
}

// until waits for an expression to be true on the page. While one page gives
// way to the next there is none to ask; then it is asked again.
func (b *tab) until(expression string) {
	b.Helper()
	safe := "(() => { try { return !!(" + expression + ") } catch { return false } })()"
	deadline := time.Now().Add(30 * time.Second)
	for {
		_, err := chromedp.Run(b.ctx, chromedp.Poll[bool](safe, chromedp.WithPollingTimeout(time.Until(deadline))))
		if err == nil {
			return
		}
		if b.ctx.Err() != nil || time.Now().After(deadline) {
			b.shot("failed")
			text, _ := chromedp.Run(b.ctx, chromedp.Evaluate[string](`document.body ? document.body.innerText : ""`))
			b.Fatalf("never came true: %s: %v; the page says: %.600s", expression, err, text)
		}
	}
}

// says waits until the page's text holds words.
func (b *tab) says(words string) {
	b.Helper()
	b.until(fmt.Sprintf("document.body.innerText.includes(%q)", words))
}

// shot keeps a picture where BEATWRIGHT_SHOTS names a folder for them.
func (b *tab) shot(name string) {
	dir := os.Getenv("BEATWRIGHT_SHOTS")
	if dir == "" {
		return
	}
	png, err := chromedp.Run(b.ctx, chromedp.FullScreenshot(100))
	if err != nil {
		b.Logf("no picture of %s: %v", name, err)
		return
	}
	if err := os.WriteFile(filepath.Join(dir, name+".png"), png, 0o644); err != nil {
		b.Log(err)
	}
}
