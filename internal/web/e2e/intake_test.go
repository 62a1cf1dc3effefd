package e2e

import (
	"fmt"
	"testing"

	"beatwright"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// TestTakeInByKeyboard takes a watch in without touching the mouse: job, owner,
// complaint, what the eye sees in all groups, what is tried by hand. The hands'
// time is reckoned by the keystroke-level model (Card, Moran and Newell 1980,
// values from memory): 0.28 s a key of a text, 0.5 s one that leads on, and 1.35
// s of thought before each thing that is decided.
func TestTakeInByKeyboard(t *testing.T) {
	b := open(t, emptyShop(t), 1280, 800)
	b.goTo("/")
	b.says("No job yet.")
	b.press("n")
	b.says("A watch comes in")
	b.press("automatic alarm with date", kb.Tab, "Quellmar Daycall", kb.Tab, kb.Tab, kb.Tab, kb.Tab, kb.Tab, "Ilse Marrow", kb.Tab, kb.Tab, "Stops at night.", kb.Tab, kb.Enter)
	b.says("Look it over")
	b.press("i")
	b.says("What the eye sees")
	decided := 6      // the fields, one of them passed over, and what to do next
	b.clear(&decided) // what was told
	noted := b.look(&decided)
	b.clear(&decided) // closed
	for range 30 {    // what is tried by hand, as far as it may be
		if !b.tryNext() {
			break
		}
		decided++
	}
	noted += b.look(&decided)
	b.clear(&decided) // back off
	noted += b.look(&decided)
	b.clear(&decided) // movement out
	b.shot("intake-by-keyboard")
	seconds := 0.28*float64(b.strokes) + 0.5*float64(b.moves) + 1.35*float64(decided)
	t.Logf("%d keys of text, %d that lead on, %d things decided: %.0f s", b.strokes, b.moves, decided, seconds)
	if seconds > 240 {
		t.Errorf("taking in by keyboard needs %.0f s, want under 240", seconds)
	}
	p := b.papers()
	if p.Owner == nil || p.Owner.Name != "Ilse Marrow" || p.Watch.Says != "Quellmar Daycall" || p.Job.Complaint != "Stops at night." {
		t.Errorf("kept is owner %+v, watch %+v, complaint %q", p.Owner, p.Watch, p.Job.Complaint)
	}
	seen, none := 0, 0
	for _, f := range p.Findings {
		if f.None {
			none++
		} else {
			seen++
		}
	}
	if seen != noted || noted < 2 || none < 28 {
		t.Errorf("%d things are kept as seen and %d as not there; %d were noted, and clearing the groups should answer all else", seen, none, noted)
	}
	// What wants more than an eye (a compass, say) is not answered by looking.
	if open := value[int](b, openTaps); open > 2 {
		t.Errorf("%d questions stand open", open)
	}
	if n := value[int](b, `[...document.querySelectorAll(".tally")].filter(t => t.innerText.trim() !== "all answered").length`); n != 0 {
		t.Errorf("%d groups are not all answered", n)
	}
}

const openTaps = `[...document.querySelectorAll("main .tap")].filter(t => t.innerText.includes("not looked at")).length`

// clear answers the group at hand with "nothing to note", by its key.
func (b *tab) clear(decided *int) {
	b.Helper()
	before := value[int](b, openTaps)
	b.press("0")
	*decided++
	b.until(fmt.Sprintf("%s < %d", openTaps, before))
}

// look goes through the questions that decide in the group at hand, by the
// arrow keys, and notes the second of them; it gives how many it noted.
func (b *tab) look(decided *int) (noted int) {
	b.Helper()
	const deciding = `[...document.querySelectorAll(".grp.now h3")].filter(h => h.innerText === "These decide").flatMap(h => [...h.nextElementSibling.querySelectorAll(".item")])`
	n := value[int](b, deciding+".length")
	for i := range n {
		here := fmt.Sprintf("%s[%d].contains(document.activeElement)", deciding, i)
		for range 60 {
			if value[bool](b, here) {
				break
			}
			if value[bool](b, `!!document.activeElement.closest(".grp.now .item")`) {
				b.press(kb.ArrowDown)
			} else {
				b.press(kb.Tab)
			}
		}
		*decided++
		if i == 1 {
			b.press(kb.Enter)
			b.until(fmt.Sprintf(`%s[%d].querySelector(".tap[aria-pressed=true]")`, deciding, i))
			noted++
		}
	}
	return noted
}

// tryNext goes down to the next function that may be tried and says that it
// works, by arrow keys and Enter; false when there is none.
func (b *tab) tryNext() bool {
	b.Helper()
	const open = `[...document.querySelectorAll("main .item")].filter(f => f.querySelector(".four") && !f.querySelector(".four [aria-pressed=true]"))`
	left := value[int](b, open+".length")
	if left == 0 {
		return false
	}
	answered := `document.querySelectorAll("main .four [aria-pressed=true]").length`
	before := value[int](b, answered)
	for range 60 {
		if value[bool](b, "(() => { const a = document.activeElement; return "+open+".some(f => f.contains(a)) })()") {
			break
		}
		if value[bool](b, `!!document.activeElement.closest(".item")`) {
			b.press(kb.ArrowDown)
		} else {
			b.press(kb.Tab)
		}
	}
	b.press(kb.Enter)
	b.until(fmt.Sprintf("%s > %d", answered, before))
	return true
}

func (b *tab) papers() *beatwright.Papers {
	b.Helper()
	lines, err := b.bench.Find(b.Context(), beatwright.Query{})
	if err != nil || len(lines) == 0 {
		b.Fatalf("no job is kept: %v", err)
	}
	p, err := b.bench.Job(b.Context(), string(lines[0].ID))
	if err != nil {
		b.Fatal(err)
	}
	return p
}

// aJob opens a job through the form.
func (b *tab) aJob() {
	b.Helper()
	b.goTo("/jobs/new")
	b.do(chromedp.SendKeys(`[name=kind]`, "automatic alarm with date"), chromedp.SendKeys(`[name=marks]`, "Quellmar Daycall"), chromedp.SendKeys(`[name=owner]`, "Ilse Marrow"),
		chromedp.Click(`main form .first`))
	b.says("Look it over")
}
