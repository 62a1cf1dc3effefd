package e2e

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"beatwright"
	"beatwright/internal/live"
	"beatwright/measure"
	"beatwright/sound"
	"beatwright/synth"
	"beatwright/unit"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// steady is a watch that lies still.
func steady(seed uint64, rate unit.SecondsPerDay, swing unit.Degrees, beat unit.Milliseconds, length unit.Seconds) synth.Scene {
	return synth.Scene{
		Seed: seed, Level: -22, Noise: []synth.Noise{{SNR: 38}}, Duration: length,
		Watch: &synth.Watch{
			BeatsPerHour: 21600, Lift: 52, Rate: rate, BeatError: beat, Swing: synth.Swing{Start: swing}, FirstAt: 0.2,
			Jitter: synth.Jitter{Centre: 0.03, Unlocking: 0.015, Impulse: 0.015, Drop: 0.015},
		},
	}
}

// A file through the browser's microphone comes to the workshop's disk sample by
// sample, and says there what the file itself says.
func TestSoundExact(t *testing.T) {
	t.Parallel()
	w := emptyShop(t)
	r := w.aRound(t, nil, "CH")
	file, x := wav(t, steady(1, 12, 270, 0.5, 90))
	b := hears(t, w, file, false)
	b.goTo("/live/" + string(r.ID))
	b.says("No sound yet.")
	b.press("m")
	b.says("That is all.")
	sittingOf(t, w.bench, r.ID).Settled()
	p, err := w.bench.Job(context.Background(), string(r.Job))
	if err != nil || len(p.Hearings) != 1 {
		t.Fatalf("%v, hearings %+v", err, p.Hearings)
	}
	h := p.Hearings[0]
	y := kept(t, w.bench, h.ID)
	at := placeOf(x, y)
	if at < 0 {
		t.Fatal("what was kept is not in the file")
	}
	for i, v := range y {
		// A quarter of a 16-bit step is what the browser's own conversion costs.
		if d := math.Abs(float64(v-x[at+i])) * 32768; d > 0.26 {
			t.Fatalf("sample %d differs by %.3f steps of 16 bits", i, d)
		}
	}
	var want measure.Result
	of := sound.Format{Rate: micRate, Channels: 1, Bits: 16, Kind: "test", Frames: int64(len(y))}
	if err := measure.Sound(context.Background(), "file", &sound.Samples{Of: of, Data: x[at : at+len(y)]}, measure.Options{}, func(res measure.Result) error {
		want = res
		return nil
	}); err != nil {
		t.Fatal(err)
	}
	got := p.Latest(h.ID).Says.Watch
	if d := got.Rate.Value - want.Watch.Rate.Value; math.Abs(d) > 0.001 {
		t.Errorf("kept it says %.4f s/d, the file itself %.4f", got.Rate.Value, want.Watch.Rate.Value)
	}
	b.shot("round-over")
}

// placeOf is where y begins in x, −1 if it does not.
func placeOf(x, y []float32) int {
	const n = 400
	if len(y) < n {
		return -1
	}
	for at := range len(x) - len(y) + 1 {
		same := true
		for i := range n {
			if math.Abs(float64(y[i]-x[at+i]))*32768 > 0.5 {
				same = false
				break
			}
		}
		if same {
			return at
		}
	}
	return -1
}

// laid is one position of a sitting: what the watch does there, and how long it
// lies.
type laid struct {
	rate  unit.SecondsPerDay
	swing unit.Degrees
	beat  unit.Milliseconds
	lies  unit.Seconds
}

// turned is a watch laid from one position to the next, with two seconds of
// hands between.
func turned(seed uint64, ps ...laid) synth.Scene {
	s := steady(seed, ps[0].rate, ps[0].swing, ps[0].beat, 0)
	at := ps[0].lies
	for i, p := range ps[1:] {
		s.Watch.Turns = append(s.Watch.Turns, synth.Turn{
			At: at, Handling: 2, Amplitude: p.swing, Settling: 1, Rate: p.rate, BeatError: p.beat,
			Phase: unit.Milliseconds(23 + 31*float64(i%3)),
		})
		at += 2 + p.lies
	}
	s.Duration = at
	return s
}

// near holds what was kept of a position against what the watch did there.
func near(t *testing.T, p *beatwright.Papers, h *beatwright.Hearing, want laid) {
	t.Helper()
	l := p.Latest(h.ID)
	if l == nil || l.Says.Watch == nil || l.Says.Watch.Rate == nil || l.Says.Watch.BeatError == nil || l.Says.Watch.Amplitude.Value == nil {
		t.Errorf("%s: no whole reading: %+v", h.Position, l)
		return
	}
	w := l.Says.Watch
	if d := w.Rate.Value - float64(want.rate); math.Abs(d) > math.Max(0.5, w.Rate.U95Statistical) {
		t.Errorf("%s: %.2f ± %.2f s/d, the watch did %g", h.Position, w.Rate.Value, w.Rate.U95Statistical, want.rate)
	}
	if d := w.BeatError.Value - math.Abs(float64(want.beat)); math.Abs(d) > math.Max(0.1, w.BeatError.U95) {
		t.Errorf("%s: %.2f ms, the watch has %g", h.Position, w.BeatError.Value, want.beat)
	}
	if d := *w.Amplitude.Value - float64(want.swing); math.Abs(d) > 5 {
		t.Errorf("%s: swings %.1f°, the watch does %g", h.Position, *w.Amplitude.Value, want.swing)
	}
}

// papersOf waits for what was accepted and gives the job.
func papersOf(t *testing.T, b *live.Bench, r *beatwright.Round) *beatwright.Papers {
	t.Helper()
	sittingOf(t, b, r.ID).Settled()
	p, err := b.Job(context.Background(), string(r.Job))
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func positionsOf(p *beatwright.Papers) (out []string) {
	for _, h := range p.Hearings {
		out = append(out, h.Position)
	}
	return out
}

var six = []laid{{12, 270, 0.5, 23}, {8, 265, 0.5, 23}, {-6, 240, 0.6, 23}, {3, 244, 0.4, 23}, {14, 238, 0.5, 23}, {5, 241, 0.5, 23}}

// A round of six positions, the page never touched after it began to listen; each
// reading is of its position and says what the watch did there. How far what is
// shown lags behind the sound is held to its target.
func TestRoundUntouched(t *testing.T) {
	t.Parallel()
	w := emptyShop(t)
	plan := []string{"CH", "FH", "12H", "3H", "6H", "9H"}
	r := w.aRound(t, nil, plan...)
	file, _ := wav(t, turned(11, append(slices.Clone(six), six[0], laid{12, 270, 0.5, 20})...))
	b := hears(t, w, file, false)
	b.goTo("/live/" + string(r.ID))
	b.press("m")
	b.says("Listening in CH")
	b.untilIn(`document.querySelectorAll(".say").length === 3 && document.querySelector(".pos.now")`, 30*time.Second)
	b.shot("live-listening")
	b.untilIn(`document.querySelector(".line.turn")`, 30*time.Second)
	b.shot("live-turn")
	b.untilIn(`listening.phase === "ended"`, 4*time.Minute)
	b.shot("live-ended")
	p := papersOf(t, w.bench, r)
	if got := positionsOf(p); fmt.Sprint(got) != "[CH FH 12H 3H 6H 9H CH]" {
		t.Fatalf("heard %v", got)
	}
	for i, h := range p.Hearings {
		near(t, p, h, append(slices.Clone(six), six[0])[i])
		if h.Repeat != (i == 6) {
			t.Errorf("%s: repeat %v", h.Position, h.Repeat)
		}
	}
	if p.Rounds[0].Ended == nil {
		t.Error("the round is not over in the record")
	}
	// What was said aloud, or would have been with a voice of the computer's own.
	if said := value[string](b, "listening.spoken"); said != "Now dial up." {
		t.Errorf("said last %q", said)
	}
	// Target: level and beats no more than 250 ms behind the sound at 95 %.
	lag := value[[]float64](b, "listening.lag")
	slices.Sort(lag)
	if len(lag) < 100 {
		t.Fatalf("only %d levels came", len(lag))
	}
	p95 := lag[len(lag)*95/100]
	t.Logf("levels behind the sound: median %.0f ms, p95 %.0f ms of %d", lag[len(lag)/2], p95, len(lag))
	if p95 > 250 {
		t.Errorf("p95 of the lag is %.0f ms, the target 250", p95)
	}
	b.goTo("/jobs/" + p.Job.Number + "/positions")
	b.says("9H")
	b.shot("live-positions")
}

// A blow is no turn; a position laid wrongly is queried and heard again by the
// space of a pedal; a stop is told and what was heard is kept.
func TestRoundBumpWrongTurnStop(t *testing.T) {
	t.Parallel()
	w := emptyShop(t)
	r := w.aRound(t, nil, "12H", "3H", "6H", "9H")
	// In 9H the watch should lose; it was laid as for 3H, and gains. At last it lies
	// for so short that it stops well before it is heard for long enough.
	s := turned(12, laid{0, 240, 0.5, 24}, laid{30, 240, 0.5, 23}, laid{0, 240, 0.5, 23}, laid{30, 240, 0.5, 17}, laid{-30, 240, 0.5, 7})
	s.Watch.Stop = s.Duration
	s.Duration += 30
	s.Events = []synth.Event{{At: 6, Kind: synth.Knock, Level: 14}, {At: 15, Kind: synth.Knock, Level: 14}, {At: 16, Kind: synth.Rub, Length: 1}}
	file, _ := wav(t, s)
	b := hears(t, w, file, false)
	b.goTo("/live/" + string(r.ID))
	// A pedal is taught: PageDown accepts, PageUp hears again, none skips.
	b.run(`document.getElementById("teach").click()`)
	b.press(kb.PageDown, kb.PageUp, kb.Escape)
	b.press("m")
	b.untilIn(`document.body.innerText.includes("9H is doubtful")`, 2*time.Minute)
	b.shot("live-doubtful")
	b.press(kb.PageUp)
	b.untilIn(`document.querySelector(".line.stop") && document.body.innerText.includes("No beats for")`, time.Minute)
	b.shot("live-stopped")
	b.press(kb.PageDown)
	b.untilIn(`document.body.innerText.includes("Turn to 12H") || listening.phase === "ended"`, 30*time.Second)
	p := papersOf(t, w.bench, r)
	if got := positionsOf(p); fmt.Sprint(got) != "[12H 3H 6H 9H]" {
		t.Fatalf("kept %v", got)
	}
	near(t, p, p.Hearings[0], laid{0, 240, 0.5, 0})
	near(t, p, p.Hearings[3], laid{-30, 240, 0.5, 0})
}

// The browser is closed in the middle; another opens the page and the round goes
// on where it was.
func TestRoundBrowserClosed(t *testing.T) {
	t.Parallel()
	w := emptyShop(t)
	r := w.aRound(t, nil, "CH", "FH", "12H")
	file, _ := wav(t, turned(13, six[0], six[1], six[2], six[2]))
	b := hears(t, w, file, false)
	b.goTo("/live/" + string(r.ID))
	b.press("m")
	b.untilIn(`document.body.innerText.includes("Listening in FH") && document.querySelectorAll(".say").length === 3`, time.Minute)
	b.end()
	file, _ = wav(t, turned(14, six[1], six[2], six[0], six[0]))
	b = hears(t, w, file, false)
	b.goTo("/live/" + string(r.ID))
	b.says("FH")
	b.press("m")
	b.untilIn(`listening.phase === "ended"`, 2*time.Minute)
	p := papersOf(t, w.bench, r)
	got := strings.Join(positionsOf(p), " ")
	// What was heard of FH before the browser went is kept too, as broken off.
	if got != "CH FH FH 12H CH" {
		t.Fatalf("heard %s", got)
	}
	near(t, p, p.Hearings[2], six[1])
	near(t, p, p.Hearings[3], six[2])
}

// Beat error falls from 3 ms to 0.2 in touches; each is told with what it did.
func TestAdjustingLive(t *testing.T) {
	t.Parallel()
	w := emptyShop(t)
	r := w.aRound(t, &beatwright.Adjusting{Target: "beat error"})
	truth := []float64{3, 2.1, 1.2, 0.2}
	var ps []laid
	for _, e := range truth {
		ps = append(ps, laid{5, 250, unit.Milliseconds(e), 17})
	}
	ps[len(ps)-1].lies = 40
	file, _ := wav(t, turned(15, ps...))
	b := hears(t, w, file, false)
	b.goTo("/live/" + string(r.ID))
	b.press("m")
	b.untilIn(`document.body.innerText.includes("Make one small touch")`, time.Minute)
	b.untilIn(`document.querySelectorAll(".adjust tbody tr").length === 1`, time.Minute)
	b.shot("live-adjusting")
	b.untilIn(`document.querySelectorAll(".adjust tbody tr").length === 3`, 2*time.Minute)
	b.press("s")
	b.untilIn(`listening.phase === "ended"`, 20*time.Second)
	b.shot("live-adjusted")
	touches := sittingOf(t, w.bench, r.ID).View().Adjust.Touches
	for i, touch := range touches {
		if want := truth[i+1] - truth[i]; math.Abs(touch.Change-want) > math.Max(0.1, touch.ChangeU95) {
			t.Errorf("touch %d did %.2f ± %.2f ms, in truth %.2f", i+1, touch.Change, touch.ChangeU95, want)
		}
	}
	p := papersOf(t, w.bench, r)
	if len(p.Hearings) != 2 || p.Rounds[0].Ended == nil || !strings.Contains(p.Rounds[0].Note, "3 touches") {
		t.Errorf("kept %v, round %+v", positionsOf(p), p.Rounds[0])
	}
}

// A microphone that is refused is said, with what to do.
func TestMicrophoneRefused(t *testing.T) {
	t.Parallel()
	w := emptyShop(t)
	b := hears(t, w, "", true)
	b.goTo("/pickup")
	b.press("m")
	b.says("The microphone was refused.")
	b.shot("live-refused")
}

// A pickup that is unplugged is said with what is kept; plugged in again, it goes
// on.
func TestPickupUnplugged(t *testing.T) {
	t.Parallel()
	w := emptyShop(t)
	r := w.aRound(t, nil, "CH", "FH")
	file, _ := wav(t, steady(16, 12, 270, 0.5, 90))
	b := hears(t, w, file, false)
	b.goTo("/live/" + string(r.ID))
	// The track is kept, to be ended as a plug that is pulled ends it.
	b.run(`const get = navigator.mediaDevices.getUserMedia.bind(navigator.mediaDevices);
		navigator.mediaDevices.getUserMedia = async c => { const m = await get(c); window.track = m.getAudioTracks()[0]; return m; };`)
	b.press("m")
	b.untilIn(`document.querySelectorAll(".say").length === 3`, 30*time.Second)
	b.run(`track.stop(); track.dispatchEvent(new Event("ended"))`)
	b.says("The microphone went away at")
	b.says("as last heard")
	b.shot("live-unplugged")
	b.press("m")
	b.untilIn(`document.body.innerText.includes("Turn to") || document.body.innerText.includes("Lay it dial down")`, time.Minute)
	p := papersOf(t, w.bench, r)
	last := p.Hearings[len(p.Hearings)-1]
	if last.Position != "CH" || last.Note != "" {
		t.Errorf("kept %v, the last %+v", positionsOf(p), last)
	}
	near(t, p, last, laid{12, 270, 0.5, 0})
}

// The pickup is tried without a job, and nothing is kept.
func TestPickupTried(t *testing.T) {
	t.Parallel()
	w := emptyShop(t)
	file, _ := wav(t, steady(17, -8, 255, 0.3, 60))
	b := hears(t, w, file, false)
	b.goTo("/pickup")
	b.press("m")
	b.says("Good enough")
	b.shot("live-pickup")
}

// Where a track cannot be handed to a Worker, an AudioWorklet takes the sound;
// blocks of zeros that it puts in are cut out of the timing.
func TestWorklet(t *testing.T) {
	t.Parallel()
	w := emptyShop(t)
	r := w.aRound(t, nil, "CH")
	file, _ := wav(t, steady(18, 12, 270, 0.5, 90))
	b := hears(t, w, file, false)
	b.goTo("/live/" + string(r.ID))
	b.run(`delete window.MediaStreamTrackProcessor`)
	b.press("m")
	b.untilIn(`listening.phase === "ended"`, time.Minute)
	if path := sittingOf(t, w.bench, r.ID).View().Sound.Path; path != "worklet" {
		t.Errorf("captured by %q", path)
	}
	p := papersOf(t, w.bench, r)
	near(t, p, p.Hearings[0], laid{12, 270, 0.5, 0})
}

// The page is reloaded in the middle: it listens again by itself and the round
// goes on; the microphone that was chosen is remembered.
func TestReload(t *testing.T) {
	t.Parallel()
	w := emptyShop(t)
	r := w.aRound(t, nil, "CH", "FH")
	file, _ := wav(t, turned(19, laid{12, 270, 0.5, 40}, laid{8, 265, 0.5, 60}))
	b := hears(t, w, file, false)
	b.goTo("/live/" + string(r.ID))
	b.press("m")
	b.untilIn(`document.querySelectorAll(".say").length === 3`, 30*time.Second)
	b.do(chromedp.Reload())
	b.untilIn(`window.listening && listening.capturing && document.querySelectorAll(".say").length === 3 && listening.phase !== "silent"`, 30*time.Second)
	b.untilIn(`document.querySelector(".line.turn")`, time.Minute)
	p := papersOf(t, w.bench, r)
	near(t, p, p.Hearings[len(p.Hearings)-1], laid{12, 270, 0.5, 0})
}

// A tired watch in noise: its swing is only bounded, or not told at all, and the
// page says so in light type. Looked at in all sizes and both themes.
func TestLiveStates(t *testing.T) {
	t.Parallel()
	w := emptyShop(t)
	for name, c := range map[string]struct {
		snr   unit.Decibels
		swing unit.Degrees
		says  string
	}{
		"at-most": {14, 118, "swinging at most"}, "cannot": {6, 105, "swing cannot be told"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			r := w.aRound(t, nil, "12H", "3H")
			s := steady(3, -27, c.swing, 1.6, 60)
			s.Noise = []synth.Noise{{SNR: c.snr}}
			s.Watch.Sides[0] = synth.Side{}
			file, _ := wav(t, s)
			b := hears(t, w, file, false)
			b.goTo("/live/" + string(r.ID))
			b.press("m")
			b.untilIn(fmt.Sprintf(`document.querySelector(".live").innerText.includes(%q)`, c.says), 40*time.Second)
			b.shot("live-" + name + "-light")
			b.do(chromedp.EmulateViewport(390, 844))
			b.shot("live-" + name + "-phone")
			wide := value[int](b, "document.documentElement.scrollWidth")
			if wide > 390 {
				t.Errorf("the page is %d px wide on a phone of 390", wide)
			}
			b.do(chromedp.EmulateViewport(1280, 800))
			b.run(`document.documentElement.dataset.theme = "dark"`)
			b.shot("live-" + name + "-dark")
			// What busy hands need fits 1280 × 800 unscrolled.
			foot := value[float64](b, `document.querySelector('[data-part="says"]').getBoundingClientRect().bottom`)
			if foot > 800 {
				t.Errorf("the statements end at %.0f px", foot)
			}
		})
	}
}

// Another watch ticks nearby: the page says so, with what to do.
func TestSecondWatchNearby(t *testing.T) {
	t.Parallel()
	w := emptyShop(t)
	r := w.aRound(t, nil, "CH", "FH")
	s := steady(20, 12, 270, 0.5, 90)
	s.Second = &synth.Neighbour{Level: -10, Watch: synth.Watch{BeatsPerHour: 28800, Rate: -20, Swing: synth.Swing{Start: 280}, FirstAt: 0.07}}
	file, _ := wav(t, s)
	b := hears(t, w, file, false)
	b.goTo("/live/" + string(r.ID))
	b.press("m")
	b.untilIn(`document.body.innerText.includes("Another watch is ticking nearby")`, time.Minute)
	b.shot("live-second")
	b.untilIn(`document.querySelector(".line.turn")`, time.Minute)
	p := papersOf(t, w.bench, r)
	near(t, p, p.Hearings[0], laid{12, 270, 0.5, 0})
}
