package web_test

import (
	"context"
	"encoding/binary"
	"math"
	"net"
	"net/http"
	"strings"
	"testing"
	"time"

	"beatwright"
	"beatwright/internal/live"

	"github.com/coder/websocket"
)

// until waits until a sitting's view is as wanted.
func (w *workshop) until(st *live.Sitting, what string, is func(live.View) bool) live.View {
	w.t.Helper()
	late := time.After(30 * time.Second)
	for {
		changed := st.Changed()
		v := st.View()
		if is(v) {
			return v
		}
		select {
		case <-changed:
		case <-late:
			w.t.Fatalf("never %s: %+v, %+v", what, v.Doing, v.Sound)
		}
	}
}

func (w *workshop) sitting(id string) *live.Sitting {
	w.t.Helper()
	st, err := w.bench.Sitting(w.t.Context(), beatwright.ID(id))
	if err != nil {
		w.t.Fatal(err)
	}
	return st
}

// play sends sound from a sample on, in messages of a tenth of a second.
func (m *mouth) play(first int, x []float32) {
	m.t.Helper()
	for i := 0; i < len(x); i += 4410 {
		block := x[i:min(i+4410, len(x))]
		b := make([]byte, 16, 16+4*len(block))
		binary.LittleEndian.PutUint64(b, math.Float64bits(float64(first+i)))
		for _, v := range block {
			b = binary.LittleEndian.AppendUint32(b, math.Float32bits(v))
		}
		if err := m.Write(m.ctx, websocket.MessageBinary, b); err != nil {
			m.t.Fatal(err)
		}
	}
}

// A page elsewhere that points a name of its own at this computer may not send
// sound: neither is its name ours, nor does its origin become ours by it.
func TestSoundUnderAnotherName(t *testing.T) {
	w := newWorkshop(t)
	_, port, _ := net.SplitHostPort(w.Listener.Addr().String())
	ctx, cancel := context.WithTimeout(t.Context(), 20*time.Second)
	defer cancel()
	for _, tt := range []struct {
		host, origin string
		want         int
	}{
		{"localhost:" + port, "http://localhost:" + port, 101},
		{"evil.example:" + port, "http://evil.example:" + port, 403},
		{"evil.example", "", 403},
		{"localhost:" + port, "http://evil.example", 403},
		{"localhost:" + port, "http://localhost:1", 403},
		{"localhost:" + port, "null", 403},
	} {
		h := http.Header{}
		if tt.origin != "" {
			h.Set("Origin", tt.origin)
		}
		c, res, err := websocket.Dial(ctx, w.URL+"/live/pickup/sound", &websocket.DialOptions{HTTPClient: w.Client(), HTTPHeader: h, Host: tt.host})
		if res == nil || res.StatusCode != tt.want {
			t.Errorf("as %s from %q: %v, %v; want %d", tt.host, tt.origin, res, err, tt.want)
		}
		if err == nil {
			c.CloseNow()
		}
	}
}

// Forms of other sites begin no round and press nothing.
func TestOthersCannotPress(t *testing.T) {
	w := newWorkshop(t)
	number := w.aJob()
	begin := func() string {
		r := &beatwright.Round{Entry: beatwright.Entry{ID: beatwright.NewID(time.Now())}, Stage: beatwright.AsFound, Plan: []string{"CH"}, Quick: true, At: time.Now()}
		p, err := w.bench.Job(t.Context(), number)
		if err != nil {
			t.Fatal(err)
		}
		r.Job = p.Job.ID
		if _, err := w.bench.Apply(t.Context(), beatwright.Change{What: "test", Job: r.Job, Put: []beatwright.Thing{r}}); err != nil {
			t.Fatal(err)
		}
		return string(r.ID)
	}
	id := begin()
	for path, body := range map[string]string{
		"/live/" + id + "/act":                "act=stop",
		"/live/" + id + "/act?act=stop":       "",
		"/api/sittings/" + id + "/acts":       `{"act":"stop"}`,
		"/jobs/" + number + "/listen":         "stage=as+found&position=CH",
		"/jobs/" + number + "/adjust":         "target=rate",
		"/api/jobs/" + number + "/sittings":   `{"plan":["CH"]}`,
		"/api/jobs/" + number + "/sittings?x": `{"adjust":{"target":"rate","wanted":0}}`,
	} {
		req, err := http.NewRequest("POST", w.URL+path, strings.NewReader(body))
		if err != nil {
			t.Fatal(err)
		}
		req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		req.Header.Set("Sec-Fetch-Site", "cross-site")
		res, err := w.Client().Do(req)
		if err != nil {
			t.Fatal(err)
		}
		if st, _ := read(t, res); st != http.StatusForbidden {
			t.Errorf("%s: %d", path, st)
		}
	}
	p, err := w.bench.Job(t.Context(), number)
	if err != nil {
		t.Fatal(err)
	}
	if len(p.Rounds) != 1 || p.Rounds[0].Ended != nil || w.sitting(id).View().Phase == "ended" {
		t.Errorf("a page elsewhere began or ended a round: %+v", p.Rounds)
	}
	// What cannot be done now is refused in words, and once.
	st, text := w.post("/live/"+id+"/act", "act", "repeat")
	if st != http.StatusUnprocessableEntity || strings.Count(text, "cannot be done now") != 1 {
		t.Errorf("%d, %.2000s", st, text)
	}
}

// While the page itself speaks nothing is taken for the watch; then it is heard.
func TestSpeakingIsNotHeard(t *testing.T) {
	w := newWorkshop(t)
	st := w.sitting("pickup")
	m := w.speak("pickup", aDevice)
	m.told("next")
	x := watched(t, 9)
	m.text(`{"speaking":true}`)
	m.play(0, x[:4*44100])
	v := w.until(st, "four seconds in", func(v live.View) bool { return v.Sound.Seconds >= 3.9 })
	if n := len(st.Level().Beats); n > 0 || v.Pickup != nil && v.Pickup.Good {
		t.Errorf("while it spoke %d beats were heard, verdict %+v", n, v.Pickup)
	}
	m.text(`{"speaking":false}`)
	m.play(4*44100, x[4*44100:])
	w.until(st, "heard", func(v live.View) bool { return v.Sound.Seconds >= 8.4 })
	if n := len(st.Level().Beats); n < 4 {
		t.Errorf("then %d beats were heard in a second", n)
	}
}

// A page that goes says why, and the sitting says it on.
func TestEndedInWords(t *testing.T) {
	w := newWorkshop(t)
	number := w.aJob()
	w.post("/jobs/"+number+"/listen", "stage", "as found", "how", "quick", "position", "CH")
	p, err := w.bench.Job(t.Context(), number)
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct{ id, why, says string }{
		{string(p.Rounds[0].ID), "unplugged", "The microphone went away at "},
		{string(p.Rounds[0].ID), "closed", "The page that listened was closed at "},
		{"pickup", "unplugged", "The microphone went away at "},
		{"pickup", "closed", "No sound yet."}, // a trial is over with its page
	} {
		m := w.speak(tt.id, aDevice)
		m.told("next")
		m.sound(0, 4410)
		m.text(`{"ended":"` + tt.why + `"}`)
		w.until(w.sitting(tt.id), tt.says, func(v live.View) bool { return !v.Sound.Coming && strings.HasPrefix(v.Doing.Lead, tt.says) })
	}
	m := w.speak("pickup", aDevice)
	m.told("next")
	m.text(`["speaking"]`)
	if got, _ := m.told("error").(string); got != "a message that is not understood" {
		t.Errorf("told %q", got)
	}
}

// A round is begun, heard, accepted and read by the API alone; each view keeps to
// the description.
func TestAPIHearsARound(t *testing.T) {
	a := newAPI(t)
	number := a.send("POST", "/api/jobs", "/api/jobs", `{"watch":{"kind":"automatic"}}`, 201)["number"].(string)
	begun := a.send("POST", "/api/jobs/"+number+"/sittings", "/api/jobs/{number}/sittings", `{"stage":"as left","plan":["fh"," 1h30"],"quick":true,"state":{"hours_since_full_wind":24},"who":"Ilse"}`, 201)
	id := begun["id"].(string)
	if now := a.do("GET", "/api/things/round/"+id, "/api/things/{kind}/{id}", "", nil, 200); now["rev"] != begun["rev"] || now["stage"] != "as left" {
		t.Errorf("begun as %v, kept as %v", begun, now)
	}
	m := a.speak(id, aDevice)
	m.told("next")
	m.play(0, watched(t, 6))
	a.until(a.sitting(id), "read", func(v live.View) bool { return v.Reading != nil && v.Reading.Watch != nil })
	v := a.do("GET", "/api/sittings/"+id, "/api/sittings/{id}", "", nil, 200)
	says := dig(v, "reading")
	if says["heard"] != true || dig(says, "rate_s_per_day") == nil || says["beats_per_hour"] != 18000.0 {
		t.Errorf("it reads %v", says)
	}
	for _, heavy := range []string{"heard", "earlier", "profiles"} {
		if v[heavy] != nil {
			t.Errorf("the view carries %s", heavy)
		}
	}
	v = a.send("POST", "/api/sittings/"+id+"/acts", "/api/sittings/{id}/acts", `{"act":"accept"}`, 201)
	if doing := dig(v, "doing"); v["phase"] != "turn" || doing["turn"] != "1H30" {
		t.Errorf("accepted, it wants %v", doing)
	}
	a.sitting(id).Settled()
	open := a.do("GET", "/api/sittings", "/api/sittings", "", nil, 200)["sittings"].([]any)
	if one := open[0].(map[string]any); len(open) != 1 || one["words"] != "as left, 1 of 2 positions heard" {
		t.Errorf("open: %v", open)
	}
	a.send("POST", "/api/sittings/"+id+"/acts", "/api/sittings/{id}/acts", `{"act":"stop"}`, 201)
	a.sitting(id).Settled()
	if open := a.do("GET", "/api/sittings", "/api/sittings", "", nil, 200)["sittings"].([]any); len(open) != 0 {
		t.Errorf("stopped, it can go on: %v", open)
	}
	job := a.do("GET", "/api/jobs/"+number, "/api/jobs/{number}", "", nil, 200)
	hearings := job["hearings"].([]any)
	if h := hearings[0].(map[string]any); len(hearings) != 1 || h["position"] != "FH" || h["round"] != id || dig(h, "state")["hours_since_full_wind"].(float64) < 24 {
		t.Errorf("kept: %v", hearings)
	}
	a.send("POST", "/api/sittings/"+id+"/acts", "/api/sittings/{id}/acts", `{"lies":"CH"}`, 422)
}

// A position that was broken off still wants hearing, and is not counted.
func TestBrokenOffIsNotHeard(t *testing.T) {
	w := newWorkshop(t)
	number := w.aJob()
	w.post("/jobs/"+number+"/listen", "stage", "as found", "how", "quick", "position", "CH", "position", "FH")
	p, err := w.bench.Job(t.Context(), number)
	if err != nil {
		t.Fatal(err)
	}
	id := string(p.Rounds[0].ID)
	st := w.sitting(id)
	m := w.speak(id, aDevice)
	m.told("next")
	m.play(0, watched(t, 6))
	w.until(st, "read", func(v live.View) bool { return v.Reading != nil && v.Reading.Watch != nil })
	m.text(`{"ended":"unplugged"}`)
	w.until(st, "away", func(v live.View) bool { return v.Doing.Stop })
	w.speak(id, aDevice).told("next")
	st.Settled()
	if p, err = w.bench.Job(t.Context(), number); err != nil || len(p.Hearings) != 1 {
		t.Fatalf("kept %+v, %v", p.Hearings, err)
	}
	_, text := w.get("/listen")
	says(t, "the page", text, "as found, 0 of 2 positions heard")
}

// Adjusting by the API, and what its description says of it.
func TestAPIAdjusts(t *testing.T) {
	a := newAPI(t)
	number := a.send("POST", "/api/jobs", "/api/jobs", `{"watch":{"kind":"automatic"}}`, 201)["number"].(string)
	begin := func(body string, want int) map[string]any {
		return a.send("POST", "/api/jobs/"+number+"/sittings", "/api/jobs/{number}/sittings", body, want)
	}
	id := begin(`{"stage":"while adjusting","adjust":{"target":"rate","wanted":4}}`, 201)["id"].(string)
	v := a.do("GET", "/api/sittings/"+id, "/api/sittings/{id}", "", nil, 200)
	if adjust := dig(v, "adjust"); v["kind"] != "adjusting" || adjust["target"] != "rate" || adjust["wanted"] != 4.0 {
		t.Errorf("%v", v)
	}
	id = begin(`{"adjust":{"target":"poise","wanted":0},"plan":["12H","3H","6H","9H"]}`, 201)["id"].(string)
	if v := a.do("GET", "/api/sittings/"+id, "/api/sittings/{id}", "", nil, 200); len(v["places"].([]any)) != 4 || dig(v, "adjust")["target"] != "poise" {
		t.Errorf("%v", v)
	}
	for _, wrong := range []string{
		`{"adjust":{"target":"poise","wanted":0}}`, `{"adjust":{"target":"rate","wanted":5000}}`, `{"plan":["13H"]}`, `{"stage":"some day","plan":["CH"]}`,
		`{"plan":["CH"],"state":{"chronograph":"perhaps"}}`, `{"plans":["CH"]}`,
	} {
		if told := begin(wrong, 422); told["code"] != "wrong" || len(told["error"].(string)) < 12 {
			t.Errorf("%s: %v", wrong, told)
		}
	}
	a.send("POST", "/api/jobs/2026-999/sittings", "/api/jobs/{number}/sittings", `{"plan":["CH"]}`, 404)
	schemas := dig(a.doc, "components", "schemas")
	if dig(schemas, "Round", "properties", "adjust", "properties", "target") == nil || dig(schemas, "View", "properties", "reading") == nil {
		t.Error("the description says nothing of adjusting, or of what is read")
	}
	if open := a.do("GET", "/api/sittings", "/api/sittings", "", nil, 200)["sittings"].([]any); len(open) != 2 {
		t.Errorf("%d can go on", len(open))
	}
}
