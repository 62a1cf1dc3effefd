package e2e

import (
	"fmt"
	"net/url"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"beatwright"

	"github.com/chromedp/chromedp"
)

// TestSearchAsOneTypes finds a watch by the beginning of a word, without
// pressing a button.
func TestSearchAsOneTypes(t *testing.T) {
	b := open(t, inventedShop(t), 1280, 800)
	b.goTo("/")
	b.press("/")
	b.until(`location.pathname === "/jobs" && document.activeElement.type === "search"`)
	all := value[int](b, `document.querySelectorAll("#found tbody tr").length`)
	b.press("quell")
	b.until(fmt.Sprintf(`document.querySelectorAll("#found tbody tr").length < %d`, all))
	b.until(`[...document.querySelectorAll("#found tbody tr")].every(r => r.innerText.includes("Quellmar"))`)
	b.press("zzz")
	b.until(`document.querySelectorAll("#found tbody tr").length === 0`)
	b.until(`location.search.includes("quellzzz")`)
	b.do(chromedp.Reload())
	if q := value[string](b, `document.querySelector("input[type=search]").value`); q != "quellzzz" {
		t.Errorf("after loading again the search holds %q", q)
	}
}

// TestBackForwardAndAgain: the browser's own ways lead where one expects, and
// what was done meanwhile is there.
func TestBackForwardAndAgain(t *testing.T) {
	b := open(t, emptyShop(t), 1280, 800)
	path := filepath.Join(t.TempDir(), "dial up.wav")
	record(t, path)
	b.goTo("/")
	b.aJob()
	job := value[string](b, "location.pathname")
	b.press("i")
	b.until(`location.pathname.endsWith("/intake")`)
	b.do(chromedp.Click(`.groups .tap`))
	b.until(`document.querySelector(".groups .tap[aria-pressed=true]")`)
	b.do(chromedp.Reload())
	b.until(`document.querySelector(".groups .tap[aria-pressed=true]")`)
	b.do(chromedp.NavigateBack())
	b.until(fmt.Sprintf(`location.pathname === %q && document.querySelector(".spine")`, job))
	b.do(chromedp.NavigateBack())
	b.until(`location.pathname === "/jobs/new" && document.querySelector("[name=kind]")`)
	b.do(chromedp.NavigateForward())
	b.until(fmt.Sprintf(`location.pathname === %q && document.querySelector(".spine")`, job))
	b.run(`document.querySelectorAll("details").forEach(d => d.open = true); document.querySelector("[name=position][value=CH]").checked = true`)
	b.do(chromedp.SetUploadFiles(`[data-upload=sound] input[type=file]`, []string{path}))
	b.until(`location.pathname.includes("/hearings/") && document.querySelector(".heard")`)
	b.do(chromedp.NavigateBack())
	b.until(fmt.Sprintf(`location.pathname === %q && document.querySelector(".spine")`, job))
	b.says("+20")
	b.do(chromedp.NavigateForward())
	b.until(`location.pathname.includes("/hearings/") && document.querySelector(".heard")`)
	b.do(chromedp.Reload())
	b.until(`document.querySelector(".heard")`)
	if p := b.papers(); len(p.Hearings) != 1 || len(p.Findings) != 1 {
		t.Errorf("%d hearings and %d findings are kept, want one and one", len(p.Hearings), len(p.Findings))
	}
	lines, err := b.bench.Find(t.Context(), beatwright.Query{})
	if err != nil || len(lines) != 1 {
		t.Errorf("%d jobs, want the one: %v", len(lines), err)
	}
}

// TestPressedTwiceIsDoneOnce: a second press before the answer does not open a
// second job, nor keep a note twice.
func TestPressedTwiceIsDoneOnce(t *testing.T) {
	b := open(t, emptyShop(t), 1280, 800)
	b.goTo("/jobs/new")
	b.do(chromedp.SendKeys(`[name=kind]`, "alarm"))
	b.run(`const press = document.querySelector("main form .first"); press.click(); press.click()`)
	b.says("Look it over")
	b.do(chromedp.SendKeys(`[name=text]`, "ring her"))
	b.run(`const press = document.querySelector("form[action$=notes] button"); press.click(); press.click()`)
	b.until(`[...document.querySelectorAll("li")].some(l => l.innerText.includes("ring her"))`)
	b.goTo("/jobs")
	lines, err := b.bench.Find(t.Context(), beatwright.Query{})
	if err != nil {
		t.Fatal(err)
	}
	if len(lines) != 1 {
		t.Errorf("%d jobs were opened", len(lines))
	}
	if n := len(b.papers().Notes); n != 1 {
		t.Errorf("%d notes were kept", n)
	}
}

// TestFirstPaint: what is seen first is seen within 0.3 s of asking. The quickest
// of at least three loads is held to it, and a few more are tried where none was,
// since other programs run beside a test; the middle one is told.
func TestFirstPaint(t *testing.T) {
	w := inventedShop(t)
	b := open(t, w, 1280, 800)
	const want, loads, most = 300, 3, 12
	for _, p := range pages(w) {
		var ms []float64
		for len(ms) < loads || len(ms) < most && slices.Min(ms) > want {
			b.goTo(p.path)
			b.until(`performance.getEntriesByName("first-contentful-paint").length`)
			ms = append(ms, value[float64](b, `performance.getEntriesByName("first-contentful-paint")[0].startTime`))
		}
		slices.Sort(ms)
		t.Logf("%-12s first paint after %3.0f ms, middle %3.0f ms of %d loads", p.name, ms[0], ms[len(ms)/2], len(ms))
		if ms[0] > want {
			t.Errorf("%s is first seen after %.0f ms, want under %d", p.name, ms[0], want)
		}
	}
}

// TestNothingFromElsewhere: no page asks another computer for anything.
func TestNothingFromElsewhere(t *testing.T) {
	w := inventedShop(t)
	b := open(t, w, 1280, 800)
	own, err := url.Parse(w.url)
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range pages(w) {
		b.goTo(p.path)
		b.until(`!document.querySelector("[data-later]")`)
		for _, asked := range strings.Fields(value[string](b, `performance.getEntriesByType("resource").map(e => e.name).join(" ")`)) {
			if u, err := url.Parse(asked); err != nil || u.Host != own.Host && u.Scheme != "blob" && u.Scheme != "data" {
				t.Errorf("%s asks for %s", p.name, asked)
			}
		}
	}
}
