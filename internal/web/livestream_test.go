package web_test

import (
	"context"
	"encoding/json"
	"math"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"beatwright/internal/live"
	"beatwright/internal/web"
	"beatwright/synth"
	"beatwright/unit"
)

// stream is what a page gets of a sitting's events, with the time of each. The
// time is that of a bubble: it goes on only when all wait.
type stream struct {
	*httptest.ResponseRecorder
	mu     sync.Mutex
	began  time.Time
	events []streamed
	// slow is how long the page takes for each event.
	slow time.Duration
}

type streamed struct {
	at   time.Duration
	name string
	data map[string]any
}

func (s *stream) Write(b []byte) (int, error) {
	time.Sleep(s.slow)
	name, data, _ := strings.Cut(string(b), "\ndata: ")
	e := streamed{at: time.Since(s.began), name: strings.TrimPrefix(name, "event: ")}
	if err := json.Unmarshal([]byte(data), &e.data); err != nil {
		return 0, err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.events = append(s.events, e)
	return len(b), nil
}

func (s *stream) Flush() {}

func (s *stream) called(name string) (out []streamed) {
	for _, e := range s.events {
		if e.name == name {
			out = append(out, e)
		}
	}
	return out
}

// watched is the sound of a watch for so long, at 44 100 samples a second.
func watched(t *testing.T, seconds unit.Seconds) []float32 {
	t.Helper()
	s := synth.Scene{
		Seed: 3, Rate: 44100, Level: -14, Watch: &synth.Watch{BeatsPerHour: 18000, Lift: 52, Rate: 8, BeatError: 0.4, Swing: synth.Swing{Start: 250}, FirstAt: 0.2},
		Noise: []synth.Noise{{Kind: synth.White, SNR: 38}},
	}
	s.Duration = seconds
	x, _, err := synth.Render(s)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

// streamTrial tries a pickup for ten seconds of a bubble before a page, and gives
// what the page got. At the end the server ends the stream.
func streamTrial(t *testing.T, x []float32, slow time.Duration) *stream {
	t.Helper()
	bench := live.NewBench(nil, nil, "test") // a trial keeps nothing
	defer bench.Close()
	page, err := web.New(bench, web.Options{Version: "test"})
	if err != nil {
		t.Fatal(err)
	}
	st, err := bench.Sitting(context.Background(), live.Pickup)
	if err != nil {
		t.Fatal(err)
	}
	out := &stream{ResponseRecorder: httptest.NewRecorder(), began: time.Now(), slow: slow}
	ended := make(chan struct{})
	go func() {
		defer close(ended)
		page.ServeHTTP(out, httptest.NewRequest("GET", "http://localhost/live/pickup/events", nil))
	}()
	synctest.Wait()
	feed, err := st.Attach(live.Device{Name: "test", RateHz: 44100, Path: "worklet"})
	if err != nil {
		t.Fatal(err)
	}
	const block = 4410
	for i := 0; i+block <= len(x); i += block {
		if err := feed.Push(int64(i), x[i:i+block]); err != nil {
			t.Fatal(err)
		}
		synctest.Wait()
		time.Sleep(100 * time.Millisecond)
	}
	page.Close()
	<-ended
	return out
}

// A page gets all its parts at first, empty ones too, since it may show what was
// before; then only what changed, at most twice a second, and the level between.
func TestStreamOfEvents(t *testing.T) {
	x := watched(t, 10)
	synctest.Test(t, func(t *testing.T) {
		out := streamTrial(t, x, 0)
		if got := out.Header().Get("Content-Type"); got != "text/event-stream" {
			t.Errorf("a stream of %s", got)
		}
		views := out.called("view")
		if n := len(views); n < 15 || n > 21 {
			t.Errorf("%d views in ten seconds, want some two a second", n)
		}
		shown := map[string]string{}
		for i, v := range views {
			if i > 0 && v.at-views[i-1].at < 500*time.Millisecond {
				t.Errorf("views at %v and %v", views[i-1].at, v.at)
			}
			parts, _ := v.data["parts"].(map[string]any)
			if i == 0 && len(parts) != 6 {
				t.Errorf("at first %d parts came: %v", len(parts), parts)
			}
			for name, html := range parts {
				if was, ok := shown[name]; ok && was == html {
					t.Errorf("%s came again at %v and is as it was", name, v.at)
				}
				shown[name] = html.(string)
			}
		}
		says(t, "the page at the end", shown["says"], "s/d")
		says(t, "the page at the end", shown["side"], "Good enough")
		levels := out.called("level")
		if n := len(levels); n < 95 || n > 100 {
			t.Errorf("%d levels came of 100", n)
		}
		last := levels[len(levels)-1].data
		if beats, _ := last["beats"].([]any); len(beats) < 4 || len(beats) > 6 {
			t.Errorf("at five beats a second, %d are told: %v", len(beats), last)
		}
	})
}

// A page that takes two seconds for each event gets the newest, not what it
// missed.
func TestStreamToASlowPage(t *testing.T) {
	x := watched(t, 10)
	synctest.Test(t, func(t *testing.T) {
		out := streamTrial(t, x, 2*time.Second)
		if n := len(out.events); n < 4 || n > 8 {
			t.Errorf("%d events came in ten seconds", n)
		}
		for _, l := range out.called("level") {
			// It took two seconds: it is of when that began, or the last there was.
			if newest := min(10, l.at.Seconds()-2); math.Abs(newest-l.data["at"].(float64)) > 0.2 {
				t.Errorf("at %v a level of %v s came", l.at, l.data["at"])
			}
		}
	})
}

// A program may ask for a stream of what is not there.
func TestStreamOfNothing(t *testing.T) {
	w := newWorkshop(t)
	for _, path := range []string{"/live/nosuch/events", "/live/nosuch/sound", "/live/nosuch", "/live/nosuch.json"} {
		if st, _ := w.get(path); st != http.StatusNotFound {
			t.Errorf("%s: %d", path, st)
		}
	}
}
