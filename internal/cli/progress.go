package cli

import (
	"fmt"
	"time"

	"beatwright/internal/say"
	"beatwright/sound"
	"beatwright/unit"
)

// Progress is shown from so long on, and renewed so often.
const (
	progressAfter = time.Second
	progressEach  = 200 * time.Millisecond
)

// progress is the one line that says how far a long hearing is. It is only
// ever written to a terminal, and wiped before anything else is.
type progress struct {
	*session
	on      bool
	files   int
	started time.Time
	shown   time.Time
	visible bool
}

func newProgress(s *session, files int) *progress {
	return &progress{session: s, on: s.IsTerminal(s.stderr), files: files}
}

// of gives the function the engine tells its progress to, or nil if nobody
// looks.
func (p *progress) of(i int, name string, f sound.Format) func(done, total unit.Seconds) {
	if !p.on {
		return nil
	}
	label := "hearing " + display(name)
	if p.files > 1 {
		label = fmt.Sprintf("hearing %d of %d, %s", i+1, p.files, display(name))
	}
	declared := unit.Seconds(0)
	if f.Frames > 0 && f.Rate > 0 {
		declared = unit.Seconds(float64(f.Frames) / float64(f.Rate))
	}
	tell := p.watch(label)
	return func(done, total unit.Seconds) {
		if total <= 0 {
			total = declared
		}
		tell(done, total)
	}
}

// watch starts the time of one piece of work.
func (p *progress) watch(label string) func(done, total unit.Seconds) {
	if !p.on {
		return func(_, _ unit.Seconds) {}
	}
	p.started = p.Now()
	return func(done, total unit.Seconds) { p.show(label, done, total) }
}

func (p *progress) show(label string, done, total unit.Seconds) {
	now := p.Now()
	if now.Sub(p.started) < progressAfter || now.Sub(p.shown) < progressEach {
		return
	}
	p.shown, p.visible = now, true
	line := label + ": " + say.Span(done)
	if total > 0 {
		line += " of " + say.Span(max(done, total))
	}
	_, _ = fmt.Fprint(p.stderr, "\r"+line+"\x1b[K")
}

func (p *progress) clear() {
	if p.visible {
		p.visible = false
		_, _ = fmt.Fprint(p.stderr, "\r\x1b[K")
	}
}
