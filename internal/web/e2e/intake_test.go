package e2e

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"beatwright"
	"beatwright/sound"
	"beatwright/synth"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// TestTakeInByKeyboard takes a watch in without touching the mouse: job, owner,
// complaint, what the eye sees in all groups. The hands' time is reckoned by the
// keystroke-level model (Card, Moran and Newell 1980, values from memory): 0.28
// s a key, 1.35 s of thought before each of the things decided.
func TestTakeInByKeyboard(t *testing.T) {
	b := open(t, 1280, 800)
	b.goTo("/")
	b.says("No job yet.")
	b.press("n")
	b.says("A watch comes in")
	b.press("automatic alarm with date", kb.Tab, "Quellmar Daycall", kb.Tab, kb.Tab, kb.Tab, kb.Tab, kb.Tab, "Ilse Marrow", kb.Tab, kb.Tab, "Stops at night.", kb.Tab, kb.Enter)
	b.says("Look it over")
	b.press("i")
	b.says("What the eye sees")
	decided := 6
	b.clear(&decided) // told
	b.clear(&decided) // closed
	for range 30 {    // what is tried by hand, as far as it may be
		if !b.tryNext() {
			break
		}
		decided++
	}
	b.clear(&decided) // back off
	b.clear(&decided) // movement out
	b.shot("intake-by-keyboard")
	seconds := 0.28*float64(b.strokes) + 1.35*float64(decided)
	t.Logf("%d keys, %d things decided: %.0f s", b.strokes, decided, seconds)
	if seconds > 240 {
		t.Errorf("taking in by keyboard needs %.0f s, want under 240", seconds)
	}
	p := b.papers()
	if p.Owner == nil || p.Owner.Name != "Ilse Marrow" || p.Watch.Says != "Quellmar Daycall" || p.Job.Complaint != "Stops at night." {
		t.Errorf("kept is owner %+v, watch %+v, complaint %q", p.Owner, p.Watch, p.Job.Complaint)
	}
	if len(p.Findings) < 30 {
		t.Errorf("%d findings are kept; clearing the groups should answer all questions", len(p.Findings))
	}
}

// clear answers the group at hand with "nothing to note", by its key.
func (b *tab) clear(decided *int) {
	b.Helper()
	open := `[...document.querySelectorAll("main .tap")].filter(t => t.innerText.includes("not looked at")).length`
	before := value[int](b, open)
	b.press("0")
	*decided++
	b.until(fmt.Sprintf("%s < %d", open, before))
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

// TestRecordingIsTakenAndUndone: a recording handed to the page is measured,
// shown and kept; U takes it back, and U again brings it back.
func TestRecordingIsTakenAndUndone(t *testing.T) {
	b := open(t, 1280, 800)
	path := filepath.Join(t.TempDir(), "dial up.wav")
	record(t, path)
	b.aJob()
	b.do(chromedp.Evaluate[chromedp.Void](`void (document.querySelectorAll("details").forEach(d => d.open = true))`))
	b.do(chromedp.Evaluate[chromedp.Void](`void (document.querySelector("[name=position][value=CH]").checked = true)`))
	b.do(chromedp.SetUploadFiles(`[data-upload=sound] input[type=file]`, []string{path}))
	b.says("Gaining 20")
	b.shot("hearing")
	if p := b.papers(); len(p.Hearings) != 1 || p.Hearings[0].Position != "CH" || p.Hearings[0].From != "dial up.wav" {
		t.Fatalf("kept are %+v", p.Hearings)
	}
	b.press("u")
	b.until(`document.querySelector(".undo button").innerText.startsWith("Redo")`)
	if p := b.papers(); len(p.Hearings) != 0 {
		t.Errorf("after U the hearing is still there")
	}
	b.press("u")
	b.until(`document.querySelector(".undo button").innerText.startsWith("Undo")`)
	if p := b.papers(); len(p.Hearings) != 1 {
		t.Errorf("after U again there are %d hearings, want the one", len(p.Hearings))
	}
}

// record writes the sound of a watch gaining 20 s/d.
func record(t *testing.T, path string) {
	t.Helper()
	x, truth, err := synth.Render(synth.Scene{
		Seed: 7, Rate: 48000, Duration: 12, Noise: []synth.Noise{{SNR: 50}},
		Watch: &synth.Watch{BeatsPerHour: 18000, Lift: 52, Rate: 20, BeatError: 1, Swing: synth.Swing{Start: 240}},
	})
	if err != nil {
		t.Fatal(err)
	}
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	w, err := sound.NewWAVWriter(f, sound.RawFormat{Encoding: sound.S24LE, Rate: truth.Scene.Rate, Channels: 1})
	if err != nil {
		t.Fatal(err)
	}
	if err := w.Write(x); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
}
