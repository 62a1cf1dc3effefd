package e2e

import (
	"context"
	"os"
	"path/filepath"
	"testing"
	"time"

	"beatwright"
	"beatwright/internal/live"
	"beatwright/sound"
	"beatwright/synth"
	"beatwright/unit"

	"github.com/chromedp/chromedp"
)

// The browser's microphone of these tests plays a file. At 44 100 Hz and 16 bits
// every sample comes through as it is.
const micRate unit.Hertz = 44100

// wav writes a scene's sound as such a file.
func wav(t *testing.T, s synth.Scene) (path string, x []float32) {
	t.Helper()
	s.Rate, s.Bits = micRate, 16
	x, _, err := synth.Render(s)
	if err != nil {
		t.Fatal(err)
	}
	path = filepath.Join(t.TempDir(), "microphone.wav")
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	w, err := sound.NewWAVWriter(f, sound.RawFormat{Encoding: sound.S16LE, Rate: micRate, Channels: 1})
	if err != nil {
		t.Fatal(err)
	}
	if err := w.Write(x); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return path, x
}

// hears opens a tab in a browser of its own whose microphone plays the file; with
// an empty name it has none, and refuse has it refused.
func hears(t *testing.T, w *workshop, file string, refuse bool) *tab {
	t.Helper()
	options := append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.NoSandbox, chromedp.ExecPath(chromium(t)), chromedp.Flag("disable-gpu", true), chromedp.Flag("disable-quic", true),
		chromedp.Flag("disable-background-networking", true), chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-sync", true),
		chromedp.Flag("lang", "en-GB"), chromedp.Flag("use-fake-device-for-media-stream", true))
	if !refuse {
		options = append(options, chromedp.Flag("use-fake-ui-for-media-stream", true))
	}
	if file != "" {
		options = append(options, chromedp.Flag("use-file-for-fake-audio-capture", file))
	}
	browser, end := chromedp.NewExecAllocator(context.Background(), options...)
	t.Cleanup(end)
	browser, _ = chromedp.NewContext(browser) // ends with its process
	if err := chromedp.Do(browser); err != nil {
		t.Fatal(err)
	}
	ctx, cancel := chromedp.NewContext(browser)
	t.Cleanup(cancel)
	ctx, cancel = context.WithTimeout(ctx, 10*time.Minute)
	t.Cleanup(cancel)
	b := &tab{T: t, ctx: ctx, bench: w.bench, url: w.url, end: end}
	b.do(chromedp.EmulateViewport(1280, 800))
	b.listen()
	return b
}

// aRound is a round of a new job in the workshop.
func (w *workshop) aRound(t *testing.T, adjust *beatwright.Adjusting, plan ...string) *beatwright.Round {
	t.Helper()
	now := w.bench.Now()
	entry := func() beatwright.Entry { return beatwright.Entry{ID: beatwright.NewID(now)} }
	watch := &beatwright.Watch{Entry: entry(), Called: "Orrel Vanward", What: "automatic with date"}
	job := &beatwright.Job{Entry: entry(), Watch: watch.ID, State: beatwright.Received, Opened: now}
	hours := 0.0
	r := &beatwright.Round{
		Entry: entry(), Job: job.ID, Stage: beatwright.AsFound, Plan: plan, Quick: true, Adjust: adjust, At: now,
		State: beatwright.State{Hours: &hours},
	}
	if adjust != nil {
		r.Stage = beatwright.WhileAdjusting
	}
	if _, err := w.bench.Apply(context.Background(), beatwright.Change{What: "a watch to hear", Job: job.ID, Put: []beatwright.Thing{watch, job, r}}); err != nil {
		t.Fatal(err)
	}
	return r
}

func sittingOf(t *testing.T, b *live.Bench, id beatwright.ID) *live.Sitting {
	t.Helper()
	s, err := b.Sitting(context.Background(), id)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// kept reads the sound of a hearing as it lies in the workshop.
func kept(t *testing.T, b *live.Bench, id beatwright.ID) []float32 {
	t.Helper()
	_, f, err := b.Sound(context.Background(), id)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r, err := sound.NewReader(context.Background(), f.Name, f)
	if err != nil {
		t.Fatal(err)
	}
	var out []float32
	buf := make([]float32, 1<<16)
	for {
		n, err := r.Read(buf)
		out = append(out, buf[:n]...)
		if err != nil {
			return out
		}
	}
}
