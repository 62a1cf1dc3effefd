package e2e

import (
	"net/url"
	"strings"
	"testing"
	"time"

	"beatwright"
	"beatwright/internal/demo"
)

// The program is killed in the middle of a position and started again: what was
// accepted stands, what was being heard is kept as far as it came, the page finds
// its way back by itself and the round goes on where it was.
func TestRoundProgramKilled(t *testing.T) {
	t.Parallel()
	folder := t.TempDir()
	chromium(t)
	p := bench(t, folder)
	job := p.post("/jobs", url.Values{"kind": {"automatic"}, "marks": {"Tessen"}})
	number := strings.Split(job, "/")[2]
	to := p.post("/jobs/"+number+"/listen", url.Values{"stage": {"as found"}, "how": {"quick"}, "position": {"CH", "FH"}, "hours_since_full_wind": {"0"}})
	s := turned(21, six[0], laid{8, 265, 0.5, 90})
	file, _ := wav(t, s)
	b := hears(t, &workshop{url: p.url}, file, false)
	b.goTo(to)
	b.press("m")
	b.untilIn(`document.body.innerText.includes("Listening in FH") && listening.durable > 4 * 44100`, time.Minute)
	p.kill()
	b.says("The program does not answer.")
	b.shot("live-no-program")
	p = benchAt(t, folder, strings.TrimPrefix(p.url, "http://"))
	// It lies in FH still, which no turn tells the program: the space bar does.
	b.untilIn(`document.body.innerText.includes("Lay it dial down, FH") && listening.level && listening.level.beats && !document.body.innerText.includes("does not answer")`, 30*time.Second)
	b.press(" ")
	b.untilIn(`document.body.innerText.includes("Once more, as a check") || listening.phase === "ended"`, time.Minute)
	p.kill()
	w, end, err := serve(folder, demo.NewClock(time.Now))
	if err != nil {
		t.Fatal(err)
	}
	defer end()
	// As the program does when it opens: what was not in the record yet comes there.
	if _, err := w.bench.Salvage(t.Context()); err != nil {
		t.Fatal(err)
	}
	papers, err := w.bench.Job(t.Context(), number)
	if err != nil {
		t.Fatal(err)
	}
	var whole, broken []*beatwright.Hearing
	for _, h := range papers.Hearings {
		if h.Note == "" {
			whole = append(whole, h)
		} else {
			broken = append(broken, h)
		}
	}
	if len(whole) != 2 || whole[0].Position != "CH" || whole[1].Position != "FH" || len(broken) != 1 || broken[0].Position != "FH" || broken[0].Seconds < 3.8 {
		t.Fatalf("whole %+v, broken off %+v", whole, broken)
	}
	near(t, papers, whole[0], six[0])
	near(t, papers, whole[1], laid{8, 265, 0.5, 0})
}
