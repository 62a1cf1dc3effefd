package e2e

import (
	"encoding/json"
	"fmt"
	"os"
	"testing"

	"beatwright/internal/demo"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
)

// pages are all there are, of one job of the invented workshop.
func pages(job string) map[string]string {
	at := "/jobs/" + job
	return map[string]string{
		"due": "/", "jobs": "/jobs", "new": "/jobs/new", "considered": "/jobs/new?considered=1", "job": at, "intake": at + "/intake",
		"wishes": at + "/wishes", "watch": at + "/watch", "positions": at + "/positions", "pictures": at + "/pictures", "picture": at + "/pictures/1",
		"owners": "/owners", "movements": "/movements", "movement": "/movements/new", "settings": "/settings", "questions": "/settings/questions", "missing": "/nowhere",
	}
}

// demoTab is a browser on the invented workshop, with the sounds of its first
// hearings made.
func demoTab(t *testing.T, width, height int64) (*tab, string) {
	t.Helper()
	b := open(t, width, height)
	clock := demo.NewClock(b.bench.Now)
	hearings, err := demo.Fill(t.Context(), b.bench, clock)
	if err != nil {
		t.Fatal(err)
	}
	if err := demo.Sounds(t.Context(), b.bench, hearings[:min(2, len(hearings))]); err != nil {
		t.Fatal(err)
	}
	clock.LetGo()
	p, err := b.bench.Job(t.Context(), string(hearings[0].Job))
	if err != nil {
		t.Fatal(err)
	}
	return b, p.Job.Number
}

type violation struct {
	ID, Impact, Help string
	Nodes            []struct{ HTML string }
}

// TestEveryPageIsAccessible holds every page, light and dark, to axe-core's
// rules for WCAG 2.2 A and AA.
func TestEveryPageIsAccessible(t *testing.T) {
	b, job := demoTab(t, 1280, 800)
	axe, err := os.ReadFile("testdata/axe.min.js")
	if err != nil {
		t.Fatal(err)
	}
	for _, theme := range []string{"light", "dark"} {
		for name, path := range pages(job) {
			b.goTo(path)
			b.do(chromedp.Evaluate[chromedp.Void](`void (document.documentElement.dataset.theme = "` + theme + `")`))
			b.do(chromedp.Evaluate[chromedp.Void](string(axe) + `; void 0`))
			found, err := chromedp.Run(b.ctx, chromedp.Evaluate[string](
				`axe.run({runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]}).then(r => JSON.stringify(r.violations.map(v => ({ID: v.id, Impact: v.impact, Help: v.help, Nodes: v.nodes.map(n => ({HTML: n.html}))}))))`,
				chromedp.EvalAwaitPromise))
			if err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			var vs []violation
			if err := json.Unmarshal([]byte(found), &vs); err != nil {
				t.Fatal(err)
			}
			for _, v := range vs {
				t.Errorf("%s, %s: %s (%s): %s: %.300s", name, theme, v.ID, v.Impact, v.Help, v.Nodes[0].HTML)
			}
			b.shot(name + "-" + theme)
		}
	}
}

// TestPhone: at 390 px no page scrolls sideways, and what is tapped at intake
// is at least 40 px high.
func TestPhone(t *testing.T) {
	b, job := demoTab(t, 390, 844)
	for name, path := range pages(job) {
		b.goTo(path)
		b.shot(name + "-phone")
		if wide := value[int](b, "document.documentElement.scrollWidth"); wide > 390 {
			t.Errorf("%s is %d px wide on a phone of 390", name, wide)
		}
		if name != "intake" {
			continue
		}
		small := value[string](b, `[...document.querySelectorAll(".tap, .word, .four button, .press")].filter(e => e.offsetParent && e.getBoundingClientRect().height < 40).map(e => e.outerHTML.slice(0, 80)).join("\n")`)
		if small != "" {
			t.Errorf("too small to tap:\n%s", small)
		}
	}
}

// TestSearchAsOneTypes finds a watch by the beginning of a word, without
// pressing a button.
func TestSearchAsOneTypes(t *testing.T) {
	b, _ := demoTab(t, 1280, 800)
	b.goTo("/")
	b.press("/")
	b.until(`location.pathname === "/jobs" && document.activeElement.type === "search"`)
	all := value[int](b, `document.querySelectorAll("#found tbody tr").length`)
	b.press("quell")
	b.until(fmt.Sprintf(`document.querySelectorAll("#found tbody tr").length < %d`, all))
	b.until(`[...document.querySelectorAll("#found tbody tr")].every(r => r.innerText.includes("Quellmar"))`)
}

// TestWithoutScripts: a job is opened, tapped at and undone by forms alone.
func TestWithoutScripts(t *testing.T) {
	b := open(t, 1280, 800)
	if _, err := chromedp.Call(b.ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true}); err != nil {
		t.Fatal(err)
	}
	b.do(chromedp.Navigate(b.url+"/jobs/new"), chromedp.SendKeys(`[name=kind]`, "automatic"), chromedp.SendKeys(`[name=marks]`, "Quellmar"), chromedp.Click(`main form .first`), chromedp.WaitVisible(`.spine`))
	number := b.papers().Job.Number
	b.do(chromedp.Navigate(b.url+"/jobs/"+number+"/intake"), chromedp.Click(`button.tap`), chromedp.WaitVisible(`.tap[aria-pressed=true]`))
	if n := len(b.papers().Findings); n != 1 {
		t.Errorf("after one tap %d findings are kept", n)
	}
}
