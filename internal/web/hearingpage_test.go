package web_test

import (
	"math"
	"net/http"
	"strings"
	"testing"

	"beatwright"
	"beatwright/internal/explain"
)

// Clips whose truth is what the synthesiser was told.
var (
	sound12  = clip{rate: 20, beatError: 1, amplitude: 240, noise: 50}
	buried   = clip{rate: 12, beatError: 1.5, amplitude: 150, noise: 14}
	noWatch  = clip{none: true}
	lying    = clip{rate: 14, beatError: 1.2, amplitude: 243, noise: 50}
	hanging  = clip{rate: -26, beatError: 1.2, amplitude: 199, noise: 50}
	adjusted = clip{rate: 5, beatError: 0.3, amplitude: 285, noise: 50}
)

// TestHearingPage: what is said is what the synthesiser was told, in words;
// what cannot be told is said so.
func TestHearingPage(t *testing.T) {
	t.Parallel()
	w := newWorkshop(t)
	number := w.aJob()
	for _, c := range []struct {
		name     string
		clip     clip
		position string
		want     []string
		not      []string
	}{
		{
			"measured", sound12, "3H",
			[]string{"Heard in 3H, crown up", "Gaining 20 s a day,", "out of beat by", "swinging 240", "48.0 ± 1.0°, given", "never checked", "/drawing.svg", `<audio controls`, "full wind, chronograph off, 23 °C"},
			[]string{"at most", "data-later"},
		},
		{"at most", buried, "6H", []string{"swinging at most", "out of beat by 1.5", "Beat profile"}, []string{"swinging 1", "NaN"}},
		{"no watch", noWatch, "9H", []string{"No watch was heard in this.", "counts in no table", "/sounds/"}, []string{`class="say`, "data-later", "Drift"}},
		{"position not known", sound12, "", []string{"Heard in a position not known"}, nil},
	} {
		st, text := w.get(w.hear(number, c.clip, c.position, "as found", "0"))
		if st != http.StatusOK {
			t.Fatalf("%s: %d", c.name, st)
		}
		says(t, c.name, text, c.want...)
		for _, n := range c.not {
			if strings.Contains(text, n) {
				t.Errorf("%s: the page says %q", c.name, n)
			}
		}
	}
	for _, path := range []string{"/jobs/" + number + "/hearings/nothing", "/sounds/nothing", "/sounds/..%2f..%2frecord.sqlite"} {
		if st, _ := w.get(path); st != http.StatusNotFound {
			t.Errorf("%s: %d, want 404", path, st)
		}
	}
}

// TestDrawingsAreFetched: what is not in memory does not hold the page up, and
// is drawn on asking, inside the page or as a file.
func TestDrawingsAreFetched(t *testing.T) {
	t.Parallel()
	w := newWorkshop(t)
	number := w.aJob()
	path := w.hear(number, sound12, "3H", "as found", "0")
	w.forget()
	if _, text := w.get(path); !strings.Contains(text, `data-later="`+path+`/drawings"`) || strings.Contains(text, "ribbon between") {
		t.Error("a page whose drawings must be measured first does not leave them for later")
	}
	for _, p := range []string{path + "/drawings", path + "/drawing.svg"} {
		if st, text := w.get(p); st != http.StatusOK || !strings.Contains(text, "<svg") || !strings.Contains(text, "unlocking") {
			t.Errorf("%s: %d without a drawing", p, st)
		}
	}
	if _, text := w.get(path); strings.Contains(text, "data-later") {
		t.Error("what was measured is not drawn at once")
	}
}

// TestSwingWaveIsTold: a swing that rises and falls is told and drawn, on the page
// and in the file.
func TestSwingWaveIsTold(t *testing.T) {
	t.Parallel()
	w := newWorkshop(t)
	path := w.hear(w.aJob(), clip{rate: 5, amplitude: 260, noise: 40, wave: 4}, "CH", "as found", "0")
	_, text := w.get(path)
	says(t, "the page", text, "throughout: the swing rises and falls by", "Swing over a turn of")
	if st, text := w.get(path + "/drawing.svg"); st != http.StatusOK || !strings.Contains(text, "Swing over a turn of") {
		t.Errorf("the file: %d without the swing's turn", st)
	}
}

// TestMeasuredAgain: another lift scales the swing, and both readings stay; a
// smaller lift in the same time is a smaller swing (A = λ/(2·sin(π·t/T)), so
// about in proportion).
func TestMeasuredAgain(t *testing.T) {
	t.Parallel()
	w := newWorkshop(t)
	number := w.aJob()
	path := w.hear(number, sound12, "3H", "as found", "0")
	st, text := w.post(path+"/again", "lift_deg", "44")
	if st != http.StatusOK {
		t.Fatalf("measure again: %d", st)
	}
	says(t, "measured again", text, "swinging 22", "44.0 ± 1.0°, given", "swinging 240", "48.0 ± 1.0°, given", "Measured again with lift 44")
	if strings.Count(text, "<b>swinging") != 1 {
		t.Error("more than one reading counts")
	}
	_, table := w.get("/jobs/" + number + "/positions.csv")
	read, err := explain.Read(strings.NewReader(table), explain.Options{})
	if err != nil {
		t.Fatal(err)
	}
	// 240° · 44/48; two degrees for what a first sound's edge may cost.
	if got := read.Sum.MeanAmplitude.Value; math.Abs(got-220) > 2 {
		t.Errorf("the table says %v°, want the newest reading's 220", got)
	}
	for _, bad := range []string{"4", "x", "-3", "400"} {
		if st, text := w.post(path+"/again", "lift_deg", bad); st != http.StatusUnprocessableEntity {
			t.Errorf("lift %s: %d\n%.300s", bad, st, text)
		}
	}
}

// TestHearingMovesAndGoes: to another position, to another stage, out of the
// job; each can be undone.
func TestHearingMovesAndGoes(t *testing.T) {
	t.Parallel()
	w := newWorkshop(t)
	number := w.aJob()
	path := w.hear(number, sound12, "3H", "as found", "0")
	_, text := w.post(path+"/move", "position", "9H", "stage", "as found")
	says(t, "moved", text, "Heard in 9H", "Hearing moved from 3H to 9H")
	_, text = w.post(path+"/move", "position", "9H", "stage", "as left")
	says(t, "another stage", text, "As left; full wind", "from as found to as left")
	p, err := w.bench.Job(t.Context(), number)
	if err != nil || len(p.Rounds) != 1 || p.Rounds[0].Stage != "as left" {
		t.Errorf("rounds after the move: %v %v", p.Rounds, err)
	}
	w.takeBack(number)
	if _, text = w.get(path); !strings.Contains(text, "As found; full wind") {
		t.Error("undo does not bring the stage back")
	}
	for _, bad := range [][2]string{{"13H", ""}, {"3H", "never"}} {
		if st, _ := w.post(path+"/move", "position", bad[0], "stage", bad[1]); st != http.StatusUnprocessableEntity {
			t.Errorf("move to %v: %d", bad, st)
		}
	}
	if st, text := w.post(path + "/delete"); st != http.StatusOK || !strings.Contains(text, "No position has been heard yet.") {
		t.Errorf("delete: %d", st)
	}
	if st, _ := w.get(path); st != http.StatusNotFound {
		t.Errorf("a deleted hearing answers %d", st)
	}
	w.takeBack(number)
	if st, _ := w.get(path); st != http.StatusOK {
		t.Errorf("after undo it answers %d", st)
	}
}

// TestSoundIsServed in parts, as a player asks for it (RFC 9110, 14).
func TestSoundIsServed(t *testing.T) {
	t.Parallel()
	w := newWorkshop(t)
	number := w.aJob()
	path := w.hear(number, sound12, "3H", "as found", "0")
	id := path[strings.LastIndex(path, "/")+1:]
	req, _ := http.NewRequest("GET", w.URL+"/sounds/"+id, nil)
	req.Header.Set("Range", "bytes=0-3")
	res, err := w.Client().Do(req)
	if err != nil {
		t.Fatal(err)
	}
	st, text := read(t, res)
	// A FLAC stream begins with these four bytes (RFC 9639, 6).
	if st != http.StatusPartialContent || text != "fLaC" || res.Header.Get("Content-Type") != "audio/flac" {
		t.Errorf("a part: %d %.20q %s", st, text, res.Header.Get("Content-Type"))
	}
	res, err = w.Client().Get(w.URL + "/sounds/" + id + "?keep")
	if err != nil {
		t.Fatal(err)
	}
	read(t, res)
	if got := res.Header.Get("Content-Disposition"); !strings.HasPrefix(got, `attachment; filename="hearing-3H-2`) {
		t.Errorf("to take away: %q", got)
	}
}

// TestDrawnOtherwise: where a reading was made by another program and says
// something else, the drawings say that they are not of it.
func TestDrawnOtherwise(t *testing.T) {
	t.Parallel()
	w := newWorkshop(t)
	number := w.aJob()
	path := w.hear(number, sound12, "3H", "as found", "0")
	w.forget()
	if _, text := w.get(path + "/drawings"); strings.Contains(text, "measures it now") {
		t.Error("the same program finds another reading in the same sound")
	}
	p, err := w.bench.Job(t.Context(), number)
	if err != nil {
		t.Fatal(err)
	}
	r := p.Readings[0]
	r.Says.Watch.Rate.Value += 9
	if _, err := w.bench.Apply(t.Context(), beatwright.Change{What: "an earlier program", Job: p.Job.ID, Put: []beatwright.Thing{r}}); err != nil {
		t.Fatal(err)
	}
	_, text := w.get(path + "/drawings")
	says(t, "the drawings", text, "measures it now, which is not quite what the reading says", "+20", "Measure it again")
}
