package e2e

import (
	"bytes"
	"flag"
	"image/png"
	"os"
	"path/filepath"
	"testing"
	"time"

	"beatwright"

	"github.com/chromedp/chromedp"
)

// update makes the pictures in docs anew:
//
//	go test ./internal/web/e2e -run Pictures -update
var update = flag.Bool("update", false, "make the pictures in docs anew")

// TestPictures: the pictures of pages in docs are there, of the size they are
// made with, and small.
func TestPictures(t *testing.T) {
	const most = 250_000
	if *update {
		makePictures(t)
		makeLivePicture(t)
	}
	for _, name := range []string{"due", "job", "positions", "hearing", "live"} {
		body, err := os.ReadFile(picturePath(name))
		if err != nil {
			t.Fatal(err)
		}
		head, err := png.DecodeConfig(bytes.NewReader(body))
		if err != nil || head.Width != 1280 || len(body) > most {
			t.Errorf("%s: %d px wide, %d bytes, %v; want 1280 px and under %d bytes", name, head.Width, len(body), err, most)
		}
	}
}

func picturePath(name string) string { return filepath.Join("../../../docs", "page-"+name+".png") }

// makePictures shows the invented workshop on a morning of its own, so that the
// pictures stay the same while the pages do.
func makePictures(t *testing.T) {
	t.Helper()
	chromium(t)
	morning := time.Date(2027, 3, 4, 10, 40, 0, 0, time.Local)
	w, err := invent(func() time.Time { return morning }, 1000)
	if err != nil {
		t.Fatal(err)
	}
	b := open(t, w, 1280, 800)
	at := "/jobs/" + w.job
	for name, path := range map[string]string{"due": "/", "job": at, "positions": "/jobs/" + foundAndLeft(t, w) + "/positions", "hearing": at + "/hearings/" + w.hearing} {
		b.goTo(path)
		b.until(`!document.querySelector("[data-later]") && document.fonts.status === "loaded"`)
		shot, err := chromedp.Run(b.ctx, chromedp.CaptureScreenshot())
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(picturePath(name), shot, 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// makeLivePicture shows a round in its fourth position. What is heard is real, so
// it comes out a little otherwise each time.
func makeLivePicture(t *testing.T) {
	t.Helper()
	w := emptyShop(t)
	r := w.aRound(t, nil, "CH", "FH", "12H", "3H", "6H", "9H")
	file, _ := wav(t, turned(11, append(six[:4:4], laid{3, 244, 0.4, 60})...))
	b := hears(t, w, file, false)
	b.goTo("/live/" + string(r.ID))
	b.press("m")
	b.untilIn(`document.body.innerText.includes("Listening in 3H") && document.querySelectorAll(".say").length === 3 && document.querySelectorAll(".say.sure").length >= 2 && /listening, ([6-9]|1\\d)/.test(document.body.innerText)`, 3*time.Minute)
	shot, err := chromedp.Run(b.ctx, chromedp.CaptureScreenshot())
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(picturePath("live"), shot, 0o644); err != nil {
		t.Fatal(err)
	}
}

// foundAndLeft is the job that was heard most, as found and as left.
func foundAndLeft(t *testing.T, w *workshop) (number string) {
	t.Helper()
	lines, err := w.bench.Find(t.Context(), beatwright.Query{})
	if err != nil {
		t.Fatal(err)
	}
	most := 0
	for _, l := range lines {
		p, err := w.bench.Job(t.Context(), string(l.ID))
		if err != nil {
			t.Fatal(err)
		}
		stages := map[beatwright.Stage]bool{}
		for _, r := range p.Rounds {
			stages[r.Stage] = true
		}
		if len(stages) > 1 && len(p.Hearings) > most {
			most, number = len(p.Hearings), l.Number
		}
	}
	return number
}
