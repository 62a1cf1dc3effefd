package e2e

import (
	"encoding/json"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// page is one to look at: its name, and where it is.
type page struct{ name, path string }

// pages are all there are, of the invented workshop.
func pages(w *workshop) []page {
	at := "/jobs/" + w.job
	return []page{
		{"due", "/"},
		{"jobs", "/jobs"},
		{"jobs-none", "/jobs?q=zzz"},
		{"new", "/jobs/new"},
		{"considered", "/jobs/new?considered=1"},
		{"comeback", "/jobs/new?after=" + w.job},
		{"job", at},
		{"intake", at + "/intake"},
		{"wishes", at + "/wishes"},
		{"watch", at + "/watch"},
		{"hearing", at + "/hearings/" + w.hearing},
		{"positions", at + "/positions"},
		{"pictures", at + "/pictures"},
		{"picture", at + "/pictures/1"},
		{"owners", "/owners"},
		{"owner", "/owners/" + w.owner},
		{"movements", "/movements"},
		{"movement", "/movements/" + w.movement},
		{"movement-new", "/movements/new"},
		{"settings", "/settings"},
		{"listening", "/listen"},
		{"pickup", "/pickup"},
		{"live", "/live/pickup"},
		{"listen", "/jobs/" + w.job + "/listen"},
		{"questions", "/settings/questions"},
		{"missing", "/nowhere"},
	}
}

// TestNoPageIsForgotten: every page that the source gives an address is in the
// list above.
func TestNoPageIsForgotten(t *testing.T) {
	files, err := filepath.Glob("../*.go")
	if err != nil {
		t.Fatal(err)
	}
	mux, met := http.NewServeMux(), map[string]bool{}
	found := regexp.MustCompile(`s\.page\(mux, "([^"]+)"`)
	for _, f := range files {
		b, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range found.FindAllStringSubmatch(string(b), -1) {
			met[m[1]] = false
			mux.HandleFunc(m[1], func(http.ResponseWriter, *http.Request) {})
		}
	}
	if len(met) < 15 {
		t.Errorf("only %d pages found in the source", len(met))
	}
	for _, p := range pages(&workshop{job: "2026-001", hearing: "h", owner: "o", movement: "m"}) {
		r, err := http.NewRequest("GET", p.path, nil)
		if err != nil {
			t.Fatal(err)
		}
		_, pattern := mux.Handler(r)
		met[pattern] = true
	}
	for pattern, is := range met {
		if !is {
			t.Errorf("the page %s is in no list", pattern)
		}
	}
}

type violation struct {
	ID, Impact, Help string
	Nodes            []struct{ HTML, Why string }
}

// axeRun asks axe-core for what it finds against WCAG 2.2 A and AA, and against
// what it calls best practice.
const axeRun = `axe.run({runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}).then(r => JSON.stringify(r.violations.map(v =>
	({ID: v.id, Impact: v.impact, Help: v.help, Nodes: v.nodes.map(n => ({HTML: n.html, Why: n.failureSummary}))}))))`

// TestEveryPageIsAccessible holds every page, light and dark, with all that
// folds away unfolded, to axe-core's rules.
func TestEveryPageIsAccessible(t *testing.T) {
	w := inventedShop(t)
	b := open(t, w, 1280, 800)
	axe, err := os.ReadFile("testdata/axe.min.js")
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range pages(w) {
		b.goTo(p.path)
		b.until(`!document.querySelector("[data-later]")`)
		b.shot(p.name + "-light")
		b.run(`document.querySelectorAll("details").forEach(d => d.open = true)`)
		b.do(chromedp.Evaluate[chromedp.Void](string(axe) + `; void 0`))
		for _, theme := range []string{"light", "dark"} {
			b.run(`document.documentElement.dataset.theme = "` + theme + `"`)
			for _, v := range b.axe() {
				for _, n := range v.Nodes[:min(3, len(v.Nodes))] {
					t.Errorf("%s, %s: %s (%s): %s: %.300s: %s", p.name, theme, v.ID, v.Impact, v.Help, n.HTML, n.Why)
				}
			}
		}
		b.run(`document.querySelectorAll("details").forEach(d => d.open = false)`)
		b.shot(p.name + "-dark")
	}
}

func (b *tab) axe() []violation {
	b.Helper()
	found, err := chromedp.Run(b.ctx, chromedp.Evaluate[string](axeRun, chromedp.EvalAwaitPromise))
	if err != nil {
		b.Fatal(err)
	}
	var vs []violation
	if err := json.Unmarshal([]byte(found), &vs); err != nil {
		b.Fatal(err)
	}
	return vs
}

// TestPhone: at 390 px no page scrolls sideways. What is pressed is at least 24
// px high (WCAG 2.2, 2.5.8) and what is tapped at intake at least 40.
func TestPhone(t *testing.T) {
	w := inventedShop(t)
	b := open(t, w, 390, 844)
	b.do(chromedp.EmulateViewport(390, 844, chromedp.EmulateMobile, chromedp.EmulateTouch))
	for _, p := range pages(w) {
		b.goTo(p.path)
		b.until(`!document.querySelector("[data-later]")`)
		b.shot(p.name + "-phone")
		b.run(`document.querySelectorAll("details").forEach(d => d.open = true)`)
		if wide := value[int](b, "document.documentElement.scrollWidth"); wide > 390 {
			t.Errorf("%s is %d px wide on a phone of 390; widest: %s", p.name, wide, value[string](b, `(() => {
				const all = [...document.querySelectorAll("main *")].filter(e => e.getBoundingClientRect().right > 391);
				return all.slice(-2).map(e => e.outerHTML.slice(0, 160)).join("\n");
			})()`))
		}
		least, what := 24, "button, .press, .word, select, input:not([type=hidden],[type=checkbox],[type=radio],.hide)"
		if p.name == "intake" {
			least, what = 40, ".tap, .word, .four button, .press, summary"
		}
		small := value[string](b, `[...document.querySelectorAll(`+quoted(what)+`)].filter(e => e.offsetParent && e.getBoundingClientRect().height < `+quoted(least)+`).map(e => Math.round(e.getBoundingClientRect().height) + " px: " + e.outerHTML.slice(0, 120)).join("\n")`)
		if small != "" {
			t.Errorf("%s: under %d px:\n%.900s", p.name, least, small)
		}
	}
}

func quoted(v any) string {
	b, err := json.Marshal(v)
	if err != nil {
		panic(err) // a number or a text always can be
	}
	return string(b)
}

// TestEveryPageReadsWithoutScripts: with scripts switched off every page says
// the same and hides nothing; a job is opened, tapped at, heard and undone by
// forms alone.
func TestEveryPageReadsWithoutScripts(t *testing.T) {
	w := inventedShop(t)
	b := open(t, w, 1280, 800)
	said := map[string]string{}
	// Buttons are left out: some are there only where no script presses them.
	const words = `[...document.querySelectorAll("main :is(h1, h2, h3, p, li, td, dt, dd)")].filter(e => e.offsetParent && !e.querySelector("button, [data-later]") && !e.closest("[data-later]")).map(e => e.innerText.replace(/\s+/g, " ")).join("; ").slice(0, 2000)`
	for _, p := range pages(w) {
		b.goTo(p.path)
		b.until(`!document.querySelector("[data-later]")`)
		said[p.name] = value[string](b, words)
	}
	b.scripts(false)
	for _, p := range pages(w) {
		b.goTo(p.path)
		if js := value[bool](b, `document.documentElement.classList.contains("js")`); js {
			t.Fatal("scripts still run")
		}
		if got := value[string](b, words); len(got) < 20 || got != said[p.name] {
			t.Errorf("%s says %.900q, with scripts %.900q", p.name, got, said[p.name])
		}
	}
}

func (b *tab) scripts(on bool) {
	b.Helper()
	if _, err := chromedp.Call(b.ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: !on}); err != nil {
		b.Fatal(err)
	}
}

// TestWorkWithoutScripts: a job is opened, tapped at, heard and undone by forms
// alone.
func TestWorkWithoutScripts(t *testing.T) {
	b := open(t, emptyShop(t), 1280, 800)
	sound := filepath.Join(t.TempDir(), "dial up.wav")
	record(t, sound)
	b.scripts(false)
	b.do(chromedp.Navigate(b.url+"/jobs/new"), chromedp.SendKeys(`[name=kind]`, "automatic"), chromedp.SendKeys(`[name=marks]`, "Quellmar"), chromedp.WaitVisible(`main form .first`))
	b.enter(`main form .first`)
	b.do(chromedp.WaitVisible(`.spine`))
	number := b.papers().Job.Number
	b.do(chromedp.Navigate(b.url+"/jobs/"+number+"/intake"), chromedp.WaitVisible(`.groups button.tap`))
	b.enter(`.groups button.tap`)
	b.do(chromedp.WaitVisible(`.tap[aria-pressed=true]`))
	if n := len(b.papers().Findings); n != 1 {
		t.Errorf("after one tap %d findings are kept", n)
	}
	b.enter(`.thumb button[name=change]`)
	b.do(chromedp.WaitVisible(`.thumb button[disabled]`))
	if n := len(b.papers().Findings); n != 0 {
		t.Errorf("after undo %d findings are kept", n)
	}
	b.do(chromedp.Navigate(b.url+"/jobs/"+number), chromedp.SetUploadFiles(`[data-upload=sound] input[type=file]`, []string{sound}))
	b.enter(`.more-of summary`)
	b.do(chromedp.WaitVisible(`[data-upload=sound] .nojs`))
	b.enter(`[data-upload=sound] .nojs`)
	b.do(chromedp.WaitVisible(`.heard`))
	b.says("Gaining 20")
	b.shot("hearing-without-scripts")
	b.enter(`form.undo button`)
	b.do(chromedp.WaitVisible(`.spine`))
	if n := len(b.papers().Hearings); n != 0 {
		t.Errorf("after undo %d hearings are kept", n)
	}
}

// enter presses what is focused, as a hand does that has come to it by Tab: a
// page that is still settling cannot move it away.
func (b *tab) enter(on string) {
	b.Helper()
	b.do(chromedp.Focus(on), chromedp.KeyEvent(kb.Enter))
}
