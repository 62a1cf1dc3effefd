package web_test

import (
	"bytes"
	"encoding/binary"
	"image"
	"image/color"
	"image/png"
	"io"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"strconv"
	"strings"
	"sync"
	"testing"

	"beatwright/internal/live"
	"beatwright/internal/web"
	"beatwright/synth"
	"beatwright/unit"
)

// clip is the sound of a simulated watch: 18 000 beats an hour, lift 48°.
type clip struct {
	rate      unit.SecondsPerDay
	beatError unit.Milliseconds
	amplitude unit.Degrees
	noise     unit.Decibels // how far it lies below the drop
	none      bool          // rain in place of a watch
	wave      unit.Degrees  // how far its swing rises and falls every 5 s
}

var clips sync.Map // clip → []byte, made once for all tests

// wav is the clip as a file of 12 s, of 30 s with a wave.
func (c clip) wav(t *testing.T) []byte {
	t.Helper()
	if b, ok := clips.Load(c); ok {
		return b.([]byte)
	}
	s := synth.Scene{Seed: 7, Rate: 48000, Duration: 12}
	if c.none {
		s.Noise = []synth.Noise{{Kind: synth.White, SNR: 20}}
	} else {
		s.Watch = &synth.Watch{BeatsPerHour: 18000, Lift: 48, Rate: c.rate, BeatError: c.beatError, Swing: synth.Swing{Start: c.amplitude}}
		if c.wave > 0 {
			s.Duration, s.Watch.Waves = 30, []synth.Wave{{Period: 5, Swing: c.wave}}
		}
		s.Noise = []synth.Noise{{Kind: synth.White, SNR: c.noise}}
	}
	samples, _, err := synth.Render(s)
	if err != nil {
		t.Fatal(err)
	}
	b := wav16(samples)
	clips.Store(c, b)
	return b
}

// wav16 writes one channel at 48 kHz as 16-bit WAV (RIFF, format tag 1).
func wav16(samples []float32) []byte {
	var b bytes.Buffer
	put := func(v any) { _ = binary.Write(&b, binary.LittleEndian, v) }
	b.WriteString("RIFF")
	put(uint32(36 + 2*len(samples)))
	b.WriteString("WAVEfmt ")
	put(uint32(16))
	put([]uint16{1, 1})
	put([]uint32{48000, 96000})
	put([]uint16{2, 16})
	b.WriteString("data")
	put(uint32(2 * len(samples)))
	for _, v := range samples {
		put(int16(max(-1, min(1, v)) * 32767))
	}
	return b.Bytes()
}

// part is a file of a multipart form.
type part struct {
	field, name string
	body        []byte
}

// send posts a form with files; a redirect is not followed, and its target
// comes back in place of the page.
func (w *workshop) send(path string, fields map[string]string, parts ...part) (int, string) {
	w.t.Helper()
	var b bytes.Buffer
	m := multipart.NewWriter(&b)
	for k, v := range fields {
		_ = m.WriteField(k, v)
	}
	for _, p := range parts {
		f, err := m.CreateFormFile(p.field, p.name)
		if err != nil {
			w.t.Fatal(err)
		}
		f.Write(p.body)
	}
	m.Close()
	return w.raw(path, m.FormDataContentType(), &b)
}

func (w *workshop) raw(path, kind string, body io.Reader) (int, string) {
	w.t.Helper()
	c := *w.Client()
	c.CheckRedirect = func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }
	res, err := c.Post(w.URL+path, kind, body)
	if err != nil {
		w.t.Fatal(err)
	}
	st, text := read(w.t, res)
	if to := res.Header.Get("Location"); to != "" {
		return st, to
	}
	return st, text
}

// hear uploads a clip and gives the address of its hearing.
func (w *workshop) hear(number string, c clip, position, stage, hours string) string {
	w.t.Helper()
	fields := map[string]string{"position": position, "stage": stage, "hours_since_full_wind": hours, "lift_deg": "48", "chronograph": "off", "temperature_c": "23"}
	st, to := w.send("/jobs/"+number+"/hearings", fields, part{"sound", "take.wav", c.wav(w.t)})
	if st != http.StatusSeeOther || !strings.Contains(to, "/hearings/") {
		w.t.Fatalf("hear %v: %d %s", c, st, to)
	}
	return to
}

// painting is a picture of w by h pixels as PNG.
func painting(t *testing.T, w, h int, seed byte) []byte {
	t.Helper()
	m := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			m.Set(x, y, color.RGBA{byte(x), byte(y), seed, 255})
		}
	}
	var b bytes.Buffer
	if err := png.Encode(&b, m); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// says tells whether a page holds all of these words, spaces of any kind alike.
func says(t *testing.T, what, text string, words ...string) {
	t.Helper()
	flat := func(s string) string {
		return strings.NewReplacer("\u00a0", " ", "\u2009", " ", "&#43;", "+").Replace(s)
	}
	for _, w := range words {
		if !strings.Contains(flat(text), flat(w)) {
			t.Errorf("%s does not say %q", what, w)
		}
	}
}

// forget closes the page and opens it again over the same folder, so that
// nothing measured is in memory.
func (w *workshop) forget() {
	w.t.Helper()
	bench := live.NewBench(w.bench.Record, w.bench.Folder, w.bench.By)
	page, err := web.New(bench, web.Options{Version: "test"})
	if err != nil {
		w.t.Fatal(err)
	}
	w.Close()
	w.bench, w.Server = bench, httptest.NewServer(page)
	w.t.Cleanup(w.Close)
}

// takeBack takes the last change of a job back.
func (w *workshop) takeBack(number string) {
	w.t.Helper()
	p, err := w.bench.Job(w.t.Context(), number)
	if err != nil {
		w.t.Fatal(err)
	}
	h, err := w.bench.History(w.t.Context(), p.Job.ID, 0, 1)
	if err != nil || len(h) != 1 {
		w.t.Fatalf("the last change: %v %v", h, err)
	}
	if st, text := w.post("/undo", "change", strconv.FormatInt(h[0].Number, 10), "back", "/jobs/"+number); st != http.StatusOK {
		w.t.Fatalf("undo %q: %d %.300s", h[0].What, st, text)
	}
}
