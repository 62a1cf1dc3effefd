package e2e

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"beatwright/internal/live"

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

// common is what the tests share because it takes long to start: one browser,
// of which each test has a tab, and one invented workshop for tests that only
// look.
type common struct {
	browser, invented sync.Once
	ctx               context.Context
	ends              []func()
	shop              *workshop
	err               error
}

var shared common

func (c *common) close() {
	for i := len(c.ends) - 1; i >= 0; i-- {
		c.ends[i]()
	}
}

// start starts the browser, once.
func (c *common) start(t *testing.T) context.Context {
	t.Helper()
	path := chromium(t)
	c.browser.Do(func() {
		options := append(chromedp.DefaultExecAllocatorOptions[:],
			chromedp.NoSandbox, chromedp.ExecPath(path), chromedp.Flag("disable-gpu", true), chromedp.Flag("disable-quic", true),
			chromedp.Flag("disable-background-networking", true), chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-sync", true),
			chromedp.Flag("lang", "en-GB"))
		ctx, end := chromedp.NewExecAllocator(context.Background(), options...)
		c.ends = append(c.ends, end)
		c.ctx, end = chromedp.NewContext(ctx)
		c.ends = append(c.ends, end)
		c.err = chromedp.Do(c.ctx)
	})
	if c.err != nil {
		t.Fatal(c.err)
	}
	return c.ctx
}

// tab is a workshop and a browser's tab that looks at it.
type tab struct {
	*testing.T
	ctx   context.Context
	bench *live.Bench
	url   string
	// end closes a browser of the tab's own.
	end func()
	// strokes counts keys pressed, moves those that only lead on (Tab, Enter,
	// arrows), for how long the hands took.
	strokes, moves int
}

// open is a new tab on a workshop.
func open(t *testing.T, w *workshop, width, height int64) *tab {
	t.Helper()
	ctx, cancel := chromedp.NewContext(shared.start(t))
	t.Cleanup(cancel)
	ctx, cancel = context.WithTimeout(ctx, 90*time.Second)
	t.Cleanup(cancel)
	b := &tab{T: t, ctx: ctx, bench: w.bench, url: w.url}
	b.do(chromedp.EmulateViewport(width, height))
	b.listen()
	return b
}

// listen fails the test for anything the page complains of: a script's error, a
// style that the policy refuses. That a program which was killed does not answer is
// no fault of the page's; a test that needs an answer waits for it. Answers of 4xx are told there too and are
// looked at by the tests that ask for them.
func (b *tab) listen() {
	messages := chromedp.Console(b.ctx)
	ended := make(chan bool)
	go func() {
		defer close(ended)
		for m, err := range messages {
			if err != nil {
				return
			}
			if (m.Type == chromedp.ConsoleError || m.IsException()) && !strings.Contains(m.Text, "status of 4") && !strings.Contains(m.Text, "net::ERR_") {
				b.Errorf("the page complains: %s", m)
			}
		}
	}()
	ctx, cancel := context.WithCancel(b.ctx)
	b.ctx = ctx
	b.Cleanup(func() { cancel(); _ = chromedp.Cancel(b.ctx); <-ended })
}

func (b *tab) do(steps ...chromedp.Action[chromedp.Void]) {
	b.Helper()
	if err := chromedp.Do(b.ctx, steps...); err != nil {
		b.shot("failed")
		b.Fatal(err)
	}
}

func (b *tab) goTo(path string) { b.Helper(); b.do(chromedp.Navigate(b.url + path)) }

// press presses keys as a hand does, one after another.
func (b *tab) press(keys ...string) {
	b.Helper()
	for _, k := range keys {
		if r := []rune(k); len(r) == 1 && (r[0] < ' ' || r[0] > 0x2ff) {
			b.moves++ // one of package kb's keys that write nothing
		} else {
			b.strokes += len(r)
		}
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

// run does something on the page.
func (b *tab) run(statement string) {
	b.Helper()
	b.do(chromedp.Evaluate[chromedp.Void]("void (() => {" + statement + "})()"))
}

// until waits for an expression to be true on the page.
func (b *tab) until(expression string) {
	b.Helper()
	b.untilIn(expression, 20*time.Second)
}

// untilIn is until with a time of its own, for what takes as long as sound does; a
// machine with other work to do is given three times as long. While one page gives
// way to the next there is none to ask, and an answer may never come; then it is
// asked again.
func (b *tab) untilIn(expression string, within time.Duration) {
	b.Helper()
	safe := "(() => { try { return !!(" + expression + ") } catch { return false } })()"
	var err error
	for deadline := time.Now().Add(3 * within); time.Now().Before(deadline) && b.ctx.Err() == nil; {
		ctx, cancel := context.WithTimeout(b.ctx, 3*time.Second)
		_, err = chromedp.Run(ctx, chromedp.Poll[bool](safe, chromedp.WithPollingInterval(50*time.Millisecond), chromedp.WithPollingTimeout(2*time.Second)))
		cancel()
		if err == nil {
			return
		}
	}
	b.shot("failed")
	text, _ := chromedp.Run(b.ctx, chromedp.Evaluate[string](`location.href + ": " + (document.body ? document.body.innerText : "")`))
	b.Fatalf("never came true within %s: %s: %v; the page says: %.900s", 3*within, expression, err, text)
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
