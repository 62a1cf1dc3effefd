package web_test

import (
	"bufio"
	"context"
	"encoding/binary"
	"encoding/json"
	"math"
	"net/http"
	"strings"
	"testing"
	"time"

	"beatwright/internal/live"

	"github.com/coder/websocket"
)

// mouth is a page that sends sound.
type mouth struct {
	*websocket.Conn
	t   *testing.T
	ctx context.Context
}

// dial opens the way up of a sitting as a page of the origin does.
func (w *workshop) dial(id, origin string) (*mouth, *http.Response, error) {
	w.t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), 20*time.Second)
	w.t.Cleanup(cancel)
	h := http.Header{}
	if origin != "" {
		h.Set("Origin", origin)
	}
	c, res, err := websocket.Dial(ctx, w.URL+"/live/"+id+"/sound", &websocket.DialOptions{HTTPClient: w.Client(), HTTPHeader: h})
	if err != nil {
		return nil, res, err
	}
	w.t.Cleanup(func() { c.CloseNow() })
	return &mouth{c, w.t, ctx}, res, nil
}

func (w *workshop) speak(id, device string) *mouth {
	w.t.Helper()
	m, _, err := w.dial(id, "")
	if err != nil {
		w.t.Fatal(err)
	}
	m.text(device)
	return m
}

func (m *mouth) text(s string) {
	m.t.Helper()
	if err := m.Write(m.ctx, websocket.MessageText, []byte(s)); err != nil {
		m.t.Fatal(err)
	}
}

func (m *mouth) sound(first int64, n int) {
	m.t.Helper()
	b := make([]byte, 16+4*n)
	binary.LittleEndian.PutUint64(b, math.Float64bits(float64(first)))
	if err := m.Write(m.ctx, websocket.MessageBinary, b); err != nil {
		m.t.Fatal(err)
	}
}

// told reads what the program says until it says the field.
func (m *mouth) told(field string) any {
	m.t.Helper()
	for {
		_, b, err := m.Read(m.ctx)
		if err != nil {
			m.t.Fatalf("never told %s: %v", field, err)
		}
		var v map[string]any
		if err := json.Unmarshal(b, &v); err != nil {
			m.t.Fatal(err)
		}
		if x, ok := v[field]; ok {
			return x
		}
	}
}

const aDevice = `{"device":"test","rate":44100,"path":"processor","capture":"one"}`

func TestSoundFromElsewhere(t *testing.T) {
	w := newWorkshop(t)
	for origin, want := range map[string]int{"https://evil.example": 403, "http://127.0.0.1:1": 403, w.URL: 101, "": 101} {
		_, res, err := w.dial("pickup", origin)
		if res == nil || res.StatusCode != want {
			t.Errorf("from %q: %v, %v; want %d", origin, res, err, want)
		}
	}
	if _, res, _ := w.dial("nosuch", ""); res == nil || res.StatusCode != 404 {
		t.Errorf("a sitting that is not: %v", res)
	}
}

func TestSoundInWords(t *testing.T) {
	w := newWorkshop(t)
	for first, says := range map[string]string{
		`what`: "which microphone", `{"rate":8000}`: "8000 samples a second are not heard", `{}`: "samples a second",
	} {
		m := w.speak("pickup", first)
		if got, _ := m.told("error").(string); !strings.Contains(got, says) {
			t.Errorf("%s: told %q, want %q", first, got, says)
		}
	}
	m := w.speak("pickup", aDevice)
	m.told("next")
	if err := m.Write(m.ctx, websocket.MessageBinary, make([]byte, 21)); err != nil {
		t.Fatal(err)
	}
	if got, _ := m.told("error").(string); !strings.Contains(got, "21 bytes") {
		t.Errorf("told %q", got)
	}
	// More than a message may bring ends the connection.
	m = w.speak("pickup", aDevice)
	m.told("next")
	m.SetReadLimit(1 << 20)
	_ = m.Write(m.ctx, websocket.MessageBinary, make([]byte, 4<<20))
	if _, _, err := m.Read(m.ctx); websocket.CloseStatus(err) != websocket.StatusMessageTooBig {
		t.Errorf("after too much: %v", err)
	}
}

// heardUpTo waits until a sitting has heard so many samples of its capture.
func heardUpTo(t *testing.T, st *live.Sitting, sample int64) {
	t.Helper()
	late := time.After(20 * time.Second)
	for next := st.NextLevel(); st.Level().Sample < sample; next = st.NextLevel() {
		select {
		case <-next:
		case <-late:
			t.Fatalf("heard up to %d, want %d", st.Level().Sample, sample)
		}
	}
}

// The newest page wins, the same capture goes on over a new connection, and what
// is missing is told.
func TestSoundConnections(t *testing.T) {
	w := newWorkshop(t)
	st, err := w.bench.Sitting(t.Context(), live.Pickup)
	if err != nil {
		t.Fatal(err)
	}
	m := w.speak("pickup", aDevice)
	if next := m.told("next"); next != -1.0 {
		t.Errorf("a new capture is asked for sample %v", next)
	}
	for i := range 30 {
		m.sound(int64(i)*2205, 2205)
	}
	heardUpTo(t, st, 30*2205-4410)
	again := w.speak("pickup", aDevice)
	next, _ := again.told("next").(float64)
	// The last message may still have been on its way; it is sent again then.
	if next < 30*2205-4410 || next > 30*2205 || math.Mod(next, 2205) != 0 {
		t.Errorf("the same capture goes on at %v", next)
	}
	again.sound(int64(next), 4410)
	again.sound(int64(next)+4410+441, 44100)
	heardUpTo(t, st, int64(next)+4410+441+40000)
	if v := st.View(); math.Abs(float64(v.Sound.Lost)-0.01) > 1e-9 {
		t.Errorf("lost %v s, want 0.01", v.Sound.Lost)
	}
	other := w.speak("pickup", `{"device":"other","rate":48000,"capture":"two"}`)
	other.told("next")
	again.sound(int64(next)+50000, 4410)
	if got, _ := again.told("error").(string); !strings.Contains(got, "another window") {
		t.Errorf("the page that lost its place is told %q", got)
	}
	other.text(`{"speaking":true}`)
	other.text(`{"ended":"unplugged"}`)
	if _, _, err := other.Read(other.ctx); err == nil {
		t.Error("an ended page is still listened to")
	}
}

// The stream brings the whole page once, then only what changed; it ends with
// the server.
func TestEvents(t *testing.T) {
	w := newWorkshop(t)
	res, err := w.Client().Get(w.URL + "/live/pickup/events")
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	if got := res.Header.Get("Content-Type"); got != "text/event-stream" {
		t.Errorf("a stream of %s", got)
	}
	lines := bufio.NewScanner(res.Body)
	lines.Buffer(nil, 1<<20)
	next := func() (name string, v map[string]any) {
		for lines.Scan() {
			if n, ok := strings.CutPrefix(lines.Text(), "event: "); ok {
				name = n
			}
			if data, ok := strings.CutPrefix(lines.Text(), "data: "); ok {
				if err := json.Unmarshal([]byte(data), &v); err != nil {
					t.Fatal(err)
				}
				return name, v
			}
		}
		return "", nil
	}
	name, v := next()
	if parts, _ := v["parts"].(map[string]any); name != "view" || parts["line"] == nil || parts["says"] == nil || parts["sound"] == nil {
		t.Errorf("first %s with %v", name, v["parts"])
	}
	m := w.speak("pickup", aDevice)
	m.told("next")
	m.sound(0, 44100)
	levels, views := 0, 0
	for levels == 0 || views == 0 {
		name, v = next()
		switch name {
		case "level":
			levels++
		case "view":
			views++
			if parts, _ := v["parts"].(map[string]any); parts["line"] == nil || parts["places"] != nil {
				t.Errorf("then %v", v["parts"])
			}
		default:
			t.Fatal("the stream ended")
		}
	}
	w.page.Close()
	for name, _ = next(); name != ""; name, _ = next() {
	}
}

func TestListenForm(t *testing.T) {
	w := newWorkshop(t)
	w.post("/jobs", "kind", "automatic with date", "marks", "Quellmar")
	number := w.jobs()[0].Number
	_, text := w.get("/jobs/" + number + "/listen")
	text = strings.ReplaceAll(text, "\u00a0", " ")
	// Six positions at 25 and 135 s each.
	for _, want := range []string{"about 2 min 30 s", "about 13 min 30 s", "crown left", "Calendar"} {
		if !strings.Contains(text, want) {
			t.Errorf("the form does not say %q", want)
		}
	}
	if st, text := w.post("/jobs/"+number+"/listen", "stage", "as found", "how", "quick"); st != 422 || !strings.Contains(text, "No position is ticked") {
		t.Errorf("without a position: %d", st)
	}
	if st, _ := w.post("/jobs/"+number+"/listen", "stage", "as found", "how", "record", "position", "CH", "more", "1h30", "hours_since_full_wind", "2", "calendar", "idle"); st != 200 {
		t.Fatalf("begun: %d", st)
	}
	p, err := w.bench.Job(t.Context(), number)
	if err != nil {
		t.Fatal(err)
	}
	r := p.Rounds[0]
	if strings.Join(r.Plan, " ") != "CH 1H30" || r.Quick || *r.State.Hours != 2 || r.State.Calendar != "idle" {
		t.Errorf("%+v", r)
	}
	for _, page := range []string{"/listen", "/jobs/" + number + "/listen"} {
		if _, text := w.get(page); !strings.Contains(text, "/live/"+string(r.ID)) {
			t.Errorf("%s does not offer to go on", page)
		}
	}
	if st, text := w.post("/live/"+string(r.ID)+"/act", "act", "dance"); st != 422 || !strings.Contains(text, "That cannot be done now") {
		t.Errorf("an act that is none: %d", st)
	}
	if st, _ := w.post("/live/"+string(r.ID)+"/act", "lies", "13H"); st != 422 {
		t.Errorf("a position that is none: %d", st)
	}
	if st, _ := w.get("/live/nosuch"); st != 404 {
		t.Errorf("a sitting that is not: %d", st)
	}
}
