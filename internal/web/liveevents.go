package web

import (
	"bytes"
	"encoding/json"
	"fmt"
	"log/slog"
	"net/http"
	"time"

	"beatwright/conduct"
	"beatwright/internal/live"
)

// eventsEvery is how often a page is shown something new at most.
const eventsEvery = 500 * time.Millisecond

// liveEvents tells a page what changed, as server-sent events: "view" with the
// parts of the page that differ from what it has, "level" many times a second.
// A page that is slow gets the newest and no backlog.
func (s *Server) liveEvents(w http.ResponseWriter, r *http.Request) {
	st, err := s.sittingOf(r)
	if err != nil {
		s.trouble(w, r, err)
		return
	}
	w.Header().Set("Content-Type", "text/event-stream")
	w.Header().Set("Cache-Control", "no-store")
	out := &events{w: w, flush: http.NewResponseController(w)}
	last, shown, version := map[string]string{}, time.Time{}, -1
	pause := time.NewTimer(0)
	defer pause.Stop()
	level := st.NextLevel()
	for {
		changed := st.Changed()
		if v := st.View(); v.Version != version {
			if wait := eventsEvery - time.Since(shown); wait > 0 {
				pause.Reset(wait)
				changed = nil
			} else {
				version, shown = v.Version, time.Now()
				if out.send("view", s.difference(v, last)) != nil {
					return
				}
			}
		}
		select {
		case <-changed:
		case <-pause.C:
		case <-level:
			level = st.NextLevel()
			if out.send("level", st.Level()) != nil {
				return
			}
		case <-r.Context().Done():
			return
		case <-s.closing:
			return
		}
	}
}

// events writes server-sent events.
type events struct {
	w     http.ResponseWriter
	flush *http.ResponseController
}

func (e *events) send(name string, v any) error {
	b, err := json.Marshal(v)
	if err != nil {
		return err
	}
	if _, err := fmt.Fprintf(e.w, "event: %s\ndata: %s\n\n", name, b); err != nil {
		return err
	}
	return e.flush.Flush()
}

// viewEvent is what a page is told of a View.
type viewEvent struct {
	Version int           `json:"version"`
	Phase   conduct.Phase `json:"phase"`
	Coming  bool          `json:"coming"`
	Say     string        `json:"say,omitempty"`
	SayOnce int           `json:"say_once,omitempty"`
	// Parts are the parts of the page, by name, that differ from those sent
	// before.
	Parts map[string]string `json:"parts,omitempty"`
}

// difference is what of v differs from what was sent last.
func (s *Server) difference(v live.View, last map[string]string) viewEvent {
	e := viewEvent{Version: v.Version, Phase: v.Phase, Coming: v.Sound.Coming, Say: v.Say, SayOnce: v.SayOnce, Parts: map[string]string{}}
	f := s.fragments(v)
	for _, name := range liveParts {
		var b bytes.Buffer
		if err := s.pages["live.html"].ExecuteTemplate(&b, "live-"+name, f); err != nil {
			slog.Error("show a part of the live page", "part", name, "error", err)
			continue
		}
		// An empty part is sent too: the page may show what was before.
		html := b.String()
		if was, sent := last[name]; !sent || was != html {
			last[name], e.Parts[name] = html, html
		}
	}
	return e
}
