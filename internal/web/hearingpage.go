package web

import (
	"html/template"
	"net/http"
	"strings"
	"time"

	"beatwright"
	"beatwright/internal/plot"
	"beatwright/internal/say"
	"beatwright/position"
	"beatwright/reading"
	"beatwright/unit"
)

// hearingView is what one hearing said.
type hearingView struct {
	Number  string              `json:"number"`
	Hearing *beatwright.Hearing `json:"hearing"`
	Stage   beatwright.Stage    `json:"stage"`
	Title   string              `json:"title"`
	Lead    string              `json:"lead"`
	Path    string              `json:"path"`
	// Counts is the reading that counts: the newest. Readings are all.
	Counts   *beatwright.Reading `json:"counts,omitempty"`
	Readings []readingLine       `json:"readings"`
	Says     []statement         `json:"statements,omitempty"`
	Limits   []string            `json:"limits,omitempty"`
	Changes  []string            `json:"changes,omitempty"`
	Warnings []string            `json:"warnings,omitempty"`
	Facts    []fact              `json:"facts"`
	// Why says why no watch was heard, Do what may help.
	Why string `json:"why,omitempty"`
	Do  string `json:"do,omitempty"`

	Glyph    template.HTML         `json:"-"`
	Drawings *drawn                `json:"-"`
	Glyphs   []glyph               `json:"-"`
	Stages   []beatwright.Stage    `json:"-"`
	Lift     string                `json:"-"`
	Before   *beatwright.Hearing   `json:"-"`
	After    *beatwright.Hearing   `json:"-"`
	Same     []*beatwright.Hearing `json:"-"`
}

// statement is one of the three things said of a watch, over its ruler.
type statement struct {
	Words  string        `json:"words"`
	Figure string        `json:"figure,omitempty"`
	Detail string        `json:"detail,omitempty"`
	Sure   bool          `json:"sure"`
	Ruler  template.HTML `json:"-"`
}

// readingLine is one reckoning of a hearing.
type readingLine struct {
	At     time.Time `json:"at"`
	Lift   string    `json:"lift"`
	Swing  string    `json:"amplitude"`
	By     string    `json:"by,omitempty"`
	Counts bool      `json:"counts"`
}

func (s *Server) hearingPage(r *http.Request) (*shown, error) {
	p, h, err := s.hearingOf(r)
	if err != nil {
		return nil, err
	}
	v := s.hearingView(p, h)
	if v.Counts != nil && v.Counts.Says.Watch != nil && !wantsJSON(r) {
		// What is in memory is drawn at once; a kept sound must be measured
		// for it, which the page does not wait for unless it is asked to.
		if s.bench.InMemory(v.Counts.ID) || r.URL.Query().Has("drawn") {
			if v.Drawings, err = s.draw(r, v.Counts); err != nil {
				return nil, err
			}
		}
	}
	return &shown{Title: p.Job.Number + " " + v.Title, Nav: "Jobs", Where: p.Job.Number + " " + p.Watch.Name(), Job: p.Job.ID, View: v}, nil
}

func (s *Server) hearingView(p *beatwright.Papers, h *beatwright.Hearing) hearingView {
	v := hearingView{
		Number: p.Job.Number, Hearing: h, Stage: p.Stage(h), Path: hearingPath(p, h), Counts: p.Latest(h.ID),
		Glyphs: glyphs(p), Stages: beatwright.Stages,
	}
	v.Title, v.Lead = hearingTitle(p, h), hearingLead(h, v.Stage)
	if pos, err := position.Parse(h.Position); err == nil {
		v.Glyph = plot.Glyph(pos, 58, crown(p)).Inline("lies")
	}
	v.neighbours(p)
	for _, r := range p.Readings {
		if r.Hearing == h.ID {
			v.Readings = append(v.Readings, lineOf(r, r == v.Counts))
		}
	}
	if v.Counts == nil {
		v.Why = "it was not measured yet"
		return v
	}
	switch says := v.Counts.Says; {
	case says.Watch != nil:
		v.watch(says.Watch, h)
	case says.Refusal != nil:
		v.Why, v.Do = says.Refusal.Why, remedy[says.Refusal.Code]
	case says.Fault != nil:
		v.Why = says.Fault.Error
	}
	return v
}

// neighbours are the hearings before and after in the job, and those of the
// same position.
func (v *hearingView) neighbours(p *beatwright.Papers) {
	for i, h := range p.Hearings {
		if h.ID != v.Hearing.ID {
			if h.Position != "" && h.Position == v.Hearing.Position {
				v.Same = append(v.Same, h)
			}
			continue
		}
		if i > 0 {
			v.Before = p.Hearings[i-1]
		}
		if i+1 < len(p.Hearings) {
			v.After = p.Hearings[i+1]
		}
	}
	if n := len(v.Same); n > 8 {
		v.Same = v.Same[n-8:]
	}
}

// remedy is what may help where no watch was heard.
var remedy = map[reading.Code]string{
	reading.Silence:  "See that the right device was listened to and that the pickup touches the watch; then take it again.",
	reading.Noise:    "Bring the pickup to the watch, crown side or case back, quieten the room, and take it again.",
	reading.Stepping: "A clock that steps is heard by its motor; a balance cannot be read from it. Take it away from the pickup, if it is another than the watch.",
	reading.Periodic: "Something beats, but not as a balance does: music, a fan, a machine. Switch it off and take it again.",
	reading.TooShort: "Ten seconds are the least that says something, half a minute is better: take a longer one.",
}

func hearingTitle(p *beatwright.Papers, h *beatwright.Hearing) string {
	pos, err := position.Parse(h.Position)
	if err != nil {
		return "Heard in a position not known"
	}
	return "Heard in " + pos.String() + ", " + pos.Words(crown(p))
}

func hearingLead(h *beatwright.Hearing, stage beatwright.Stage) string {
	parts := []string{string(stage)}
	if s := stateWords(h.State); s != "" {
		parts = append(parts, s)
	}
	parts = append(parts, h.At.Local().Format("2 January 2006, 15:04"))
	if h.Seconds > 0 {
		parts = append(parts, say.Span(unit.Seconds(h.Seconds)))
	}
	if h.From != "" {
		parts = append(parts, "from "+h.From)
	}
	return say.Sentence(strings.Join(parts, "; "))
}

// stateWords say how the watch was; what was not stated is passed over.
func stateWords(st beatwright.State) string {
	var parts []string
	switch {
	case st.Hours == nil:
	case *st.Hours == 0:
		parts = append(parts, "full wind")
	default:
		parts = append(parts, say.Unit(say.Plain(*st.Hours), "h")+" after full wind")
	}
	switch st.Chronograph {
	case "on":
		parts = append(parts, "chronograph running")
	case "off":
		parts = append(parts, "chronograph off")
	}
	if st.Calendar != "" {
		parts = append(parts, "calendar "+st.Calendar)
	}
	if st.Cased != nil {
		parts = append(parts, map[bool]string{true: "cased", false: "out of its case"}[*st.Cased])
	}
	if st.Temperature != nil {
		parts = append(parts, say.Unit(say.Plain(*st.Temperature), "°C"))
	}
	return strings.Join(parts, ", ")
}

func lineOf(r *beatwright.Reading, counts bool) readingLine {
	l := readingLine{At: r.At, By: r.By, Counts: counts, Lift: say.Dash, Swing: "no watch"}
	if w := r.Says.Watch; w != nil {
		l.Lift = say.With(w.Lift.Value, w.Lift.U95, "°") + ", " + string(w.Lift.Standing)
		l.Swing = strings.TrimSuffix(lowerFirst(say.Swing(w).Text), ".")
	}
	return l
}

// watch puts what was heard of a watch into words.
func (v *hearingView) watch(w *reading.Watch, h *beatwright.Hearing) {
	v.Says = statements(w)
	v.Limits = say.Limits(w)
	for _, c := range w.Changes {
		v.Changes = append(v.Changes, say.Moment(c.At)+": "+say.Change(c))
	}
	for _, p := range w.Periodic {
		v.Changes = append(v.Changes, "throughout: "+say.Wave(p))
	}
	for _, a := range w.AmplitudePeriodic {
		v.Changes = append(v.Changes, "throughout: "+say.SwingWave(a))
	}
	for _, warning := range w.Warnings {
		v.Warnings = append(v.Warnings, say.Sentence(warning))
	}
	v.Lift = say.Plain(w.Lift.Value)
	v.Facts = []fact{
		{"Heard", say.Heard(w)},
		{"Lift angle", say.With(w.Lift.Value, w.Lift.U95, "°") + ", " + string(w.Lift.Standing)},
		{"Clock", clockWords(w.Clock)},
		{"Sound", signalWords(w.Signal)},
	}
	if st := w.Settling; st != nil {
		v.Facts = append(v.Facts, fact{"Settling", "from " + say.Unit(say.Fixed(st.From, 0), "°") + " to " + say.With(st.Settled.Value, st.Settled.U95, "°") + ", time constant " + say.Unit(say.Fixed(st.TauS, 0), "s")})
	}
	if h.Note != "" {
		v.Facts = append(v.Facts, fact{"Note", h.Note})
	}
}

func clockWords(c reading.Clock) string {
	if c.Standing == reading.Calibrated {
		return "calibrated: " + say.With(c.PPM, c.U95PPM, "ppm")
	}
	return "never checked: " + say.PlusMinus + say.NoBreak + say.Unit(say.Plain(c.U95PPM), "ppm") + ", " + say.Doubt(float64(unit.PPM(c.U95PPM).PerDay()), "s/d")
}

func signalWords(s reading.Signal) string {
	words := "drops " + say.Unit(say.Fixed(float64(s.SNR), 0), "dB") + " over the noise"
	if s.Clipped {
		words += "; clipped"
	}
	if s.Lossy {
		words += "; came lossy"
	}
	return words
}
