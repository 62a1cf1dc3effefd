package e2e

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"beatwright/reading"
	"beatwright/sound"
	"beatwright/synth"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
)

// TestRecordingIsDroppedAndUndone: a recording dropped on the page is measured,
// shown and kept, with its progress said meanwhile; U takes it back, and U
// again brings it back. A text dropped is refused in words and the page stays.
func TestRecordingIsDroppedAndUndone(t *testing.T) {
	b := open(t, emptyShop(t), 1280, 800)
	path := filepath.Join(t.TempDir(), "dial up.wav")
	record(t, path)
	text := filepath.Join(t.TempDir(), "letter.wav")
	if err := os.WriteFile(text, []byte("Bring it back on Thursday."), 0o600); err != nil {
		t.Fatal(err)
	}
	b.aJob()
	b.run(`document.querySelectorAll("details").forEach(d => d.open = true);
		window.told = new Set();
		new MutationObserver(() => window.told.add(document.getElementById("doing").innerText)).observe(document.getElementById("doing"), {childList: true, characterData: true, subtree: true});
		document.querySelector("[name=position][value=CH]").checked = true`)
	b.drop(`[data-upload=sound]`, text)
	b.until(`!document.getElementById("doing").hidden && document.getElementById("doing").classList.contains("bad")`)
	t.Logf("a text is refused: %s", value[string](b, `document.getElementById("doing").innerText`))
	b.shot("refused")
	if n := len(b.papers().Hearings); n != 0 {
		t.Errorf("of a text %d hearings are kept", n)
	}
	b.drop(`[data-upload=sound]`, path)
	b.says("Gaining 20")
	told := value[string](b, `[...window.told].join("; ")`)
	if !strings.Contains(told, "Taking in dial up.wav") || !strings.Contains(told, "Listening to dial up.wav") {
		t.Errorf("what was being done is said as %q", told)
	}
	b.until(`!document.querySelector("[data-later]")`)
	b.shot("heard")
	p := b.papers()
	if len(p.Hearings) != 1 || p.Hearings[0].Position != "CH" || p.Hearings[0].From != "dial up.wav" {
		t.Fatalf("kept are %+v", p.Hearings)
	}
	truth(t, p.Readings[0].Says.Watch)
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

// truth holds a reading to what record made: within the uncertainty that it
// gives itself, the sound's alone where the clock plays no part.
func truth(t *testing.T, got *reading.Watch) {
	t.Helper()
	if got == nil || got.Rate == nil || got.BeatError == nil || got.Amplitude.Value == nil || got.Amplitude.U95 == nil {
		t.Fatalf("heard is %+v", got)
	}
	for _, v := range []struct {
		what         string
		got, u95, is float64
	}{
		{"rate, s/d", got.Rate.Value, got.Rate.U95Statistical, 20},
		{"beat error, ms", got.BeatError.Value, got.BeatError.U95, 1},
		{"amplitude, °", *got.Amplitude.Value, *got.Amplitude.U95, 240},
	} {
		t.Logf("%s: %.3f ± %.3f, is %g", v.what, v.got, v.u95, v.is)
		if math.Abs(v.got-v.is) > v.u95 {
			t.Errorf("%s: %.3f ± %.3f, is %g", v.what, v.got, v.u95, v.is)
		}
	}
}

// drop lets a file fall on an element, as a hand does with the mouse.
func (b *tab) drop(on, path string) {
	b.Helper()
	b.run(`document.querySelector(` + quoted(on) + `).scrollIntoView({block: "center"})`)
	at := value[map[string]float64](b, `(() => { const r = document.querySelector(`+quoted(on)+`).getBoundingClientRect(); return {x: r.x + r.width / 2, y: r.y + r.height / 2} })()`)
	for _, what := range []input.DispatchDragEventType{"dragEnter", "dragOver", "drop"} {
		_, err := chromedp.Call(b.ctx, input.DispatchDragEvent, input.DispatchDragEventParams{
			Type: what, X: at["x"], Y: at["y"], Data: &input.DragData{Items: []*input.DragDataItem{}, Files: []string{path}, DragOperationsMask: 1},
		})
		if err != nil {
			b.Fatal(err)
		}
	}
}

// record writes the sound of a watch gaining 20 s/d, out of beat by 1 ms and
// swinging 240°.
func record(t *testing.T, path string) {
	t.Helper()
	x, scene, err := synth.Render(synth.Scene{
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
	w, err := sound.NewWAVWriter(f, sound.RawFormat{Encoding: sound.S24LE, Rate: scene.Scene.Rate, Channels: 1})
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
