package web

import (
	"errors"
	"html/template"
	"math"
	"net/http"
	"strconv"
	"strings"

	"beatwright"
	"beatwright/internal/plot"
	"beatwright/internal/say"
	"beatwright/measure"
	"beatwright/reading"
	"beatwright/unit"
)

// statements are the three things said, as one sentence, each over its ruler.
func statements(w *reading.Watch) []statement {
	rulers := []template.HTML{rateRulerOf(w).Picture().Inline("rate"), beatRulerOf(w).Picture().Inline("beat"), swingRulerOf(w).Picture().Inline("swing")}
	figures := []string{rateInFigures(w), beatInFigures(w), swingInFigures(w)}
	var out []statement
	said := say.Statements(w)
	for i, s := range said {
		st := statement{Words: strings.TrimSuffix(s.Text, "."), Figure: figures[i], Detail: s.Detail, Sure: s.Sure, Ruler: rulers[i]}
		if i == 1 && w.BeatError != nil && w.BeatError.Degrees != nil {
			st.Words, _, _ = strings.Cut(st.Words, ", ") // the ms stand in figures
		}
		if st.Figure != "" {
			// What the figure says already is not said again.
			if _, rest, more := strings.Cut(st.Detail, "; "); more {
				st.Detail = rest
			}
		}
		if i > 0 {
			st.Words = lowerFirst(st.Words)
		}
		st.Words += map[bool]string{true: ".", false: ","}[i == len(said)-1]
		st.Detail = say.Sentence(st.Detail)
		out = append(out, st)
	}
	return out
}

func rateInFigures(w *reading.Watch) string {
	if w.Rate == nil {
		return ""
	}
	return say.SignedWith(w.Rate.Value, w.Rate.U95, "s/d") + ", the clock’s doubt in it."
}

func beatInFigures(w *reading.Watch) string {
	b := w.BeatError
	switch {
	case b == nil:
		return ""
	case b.Degrees == nil:
		return say.With(b.Value, b.U95, "ms") + "."
	}
	return say.With(b.Degrees.Value, b.Degrees.U95, "°") + ", " + say.With(b.Value, b.U95, "ms") + "."
}

func swingInFigures(w *reading.Watch) string {
	a := w.Amplitude
	if a.Standing != reading.Measured || a.Value == nil || a.U95 == nil {
		return ""
	}
	return say.With(*a.Value, *a.U95, "°") + " if the lift angle is " + say.Unit(say.Plain(w.Lift.Value), "°") + "."
}

func rateRulerOf(w *reading.Watch) *plot.Ruler {
	r := &plot.Ruler{What: "rate", Scale: plot.RateScale(), Standing: reading.NotResolved}
	if w.Rate != nil {
		r.Standing, r.Value, r.U95, r.Sure = reading.Measured, w.Rate.Value, w.Rate.U95, true
		r.Scale = r.Scale.Reaching(math.Abs(r.Value) + r.U95)
	}
	return r
}

func beatRulerOf(w *reading.Watch) *plot.Ruler {
	r := &plot.Ruler{What: "beat error", Scale: plot.BeatScale("ms"), Standing: reading.NotResolved}
	switch b := w.BeatError; {
	case b == nil:
	case b.Degrees != nil:
		r.Scale, r.Standing, r.Value, r.U95, r.Sure = plot.BeatScale("°"), reading.Measured, b.Degrees.Value, b.Degrees.U95, true
	default:
		r.Standing, r.Value, r.U95, r.Sure = reading.Measured, b.Value, b.U95, true
	}
	r.Scale = r.Scale.Reaching(r.Value + r.U95)
	return r
}

func swingRulerOf(w *reading.Watch) *plot.Ruler {
	a := w.Amplitude
	r := &plot.Ruler{What: "amplitude", Scale: plot.SwingScale(), Standing: reading.NotResolved}
	if a.Value != nil {
		r.Value = *a.Value
		switch {
		case a.Standing == reading.AtMost:
			r.Standing = reading.AtMost
		case a.U95WithLift != nil:
			r.Standing, r.U95, r.Sure = reading.Measured, *a.U95WithLift, true
		case a.U95 != nil:
			r.Standing, r.U95, r.Sure = reading.Measured, *a.U95, true
		}
	}
	return r
}

// drawn are the drawings of a hearing, with what they show in words.
type drawn struct {
	Profile, Drift           template.HTML
	ProfileWords, DriftWords string
	NoDrift                  string
	// Teeth are those of the escape wheel, empty where they were not told.
	Teeth      template.HTML
	TeethWords string
	// Turns are the waves of the swing, each over its turn.
	Turns []drawnTurn
	// Otherwise is set where the sound, measured by this program now, does
	// not say what the reading says.
	Otherwise string
	Path      string
}

// drawnTurn is a wave of the swing over its turn, with what it shows in words.
type drawnTurn struct {
	Picture template.HTML
	Words   string
}

// draw makes the drawings, from memory or by measuring the kept sound again.
func (s *Server) draw(r *http.Request, counts *beatwright.Reading) (*drawn, error) {
	res, err := s.bench.Behind(r.Context(), counts.ID)
	if err != nil {
		return nil, err
	}
	d := &drawn{Path: "/jobs/" + r.PathValue("number") + "/hearings/" + string(counts.Hearing)}
	d.Otherwise = otherwise(counts.Says.Watch, res.Watch)
	if len(res.Profiles) > 0 {
		f := plot.ProfileOf(res)
		d.Profile, d.ProfileWords = f.Picture().Inline("profile"), f.Words().Sentence
	}
	run := plot.DriftOf(res)
	switch pic, err := run.Picture(); {
	case errors.Is(err, plot.ErrNothing):
		d.NoDrift = "Not drawn: fewer than two beats to draw."
	case err != nil:
		return nil, err
	default:
		d.Drift, d.DriftWords = pic.Inline("drift"), run.Words().Sentence
	}
	if t, ok := plot.TeethOf(res); ok {
		d.Teeth, d.TeethWords = t.Picture().Inline("teeth"), t.Words().Sentence
	}
	for i, t := range plot.SwingTurnsOf(res) {
		d.Turns = append(d.Turns, drawnTurn{t.Picture().Inline("turn" + strconv.Itoa(i)), t.Words().Sentence})
	}
	return d, nil
}

// otherwise says how what is drawn differs from the reading that counts: a
// reading stays as the program of its day made it.
func otherwise(was, now *reading.Watch) string {
	if now == nil {
		return "This program hears no watch in it any more; the reading is of an earlier one."
	}
	if was.Beats == now.Beats && rateInFigures(was) == rateInFigures(now) && say.Swing(was).Text == say.Swing(now).Text {
		return ""
	}
	says := "The drawings are of the sound as this program measures it now, which is not quite what the reading says: " + say.Heard(now)
	if f := rateInFigures(now); f != "" {
		says += "; " + strings.TrimSuffix(f, ".")
	}
	return says + "; " + strings.TrimSuffix(lowerFirst(say.Swing(now).Text), ".") + ". Measure it again to take that."
}

// drawings are asked for by a page that did not wait for them.
func (s *Server) drawings(w http.ResponseWriter, r *http.Request) {
	d, err := s.drawingsOf(r)
	if err != nil {
		s.trouble(w, r, err)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Header().Set("Cache-Control", "no-store")
	if err := s.pages["hearing.html"].ExecuteTemplate(w, "drawings", d); err != nil {
		s.trouble(w, r, err)
	}
}

func (s *Server) drawingsOf(r *http.Request) (*drawn, error) {
	counts, err := s.countingReading(r)
	if err != nil {
		return nil, err
	}
	return s.draw(r, counts)
}

// countingReading is the newest reading of the hearing that an address names.
func (s *Server) countingReading(r *http.Request) (*beatwright.Reading, error) {
	p, h, err := s.hearingOf(r)
	if err != nil {
		return nil, err
	}
	counts := p.Latest(h.ID)
	if counts == nil || counts.Says.Watch == nil {
		return nil, beatwright.NotFound("drawing of hearing", string(h.ID))
	}
	return counts, nil
}

// drawingFile is profile and drift as one drawing that stands alone.
func (s *Server) drawingFile(w http.ResponseWriter, r *http.Request) {
	counts, err := s.countingReading(r)
	var res measure.Result
	if err == nil {
		res, err = s.bench.Behind(r.Context(), counts.ID)
	}
	if err == nil && res.Watch == nil { // another program heard one in it
		err = beatwright.NotFound("watch heard by this program in hearing", string(counts.Hearing))
	}
	if err != nil {
		s.trouble(w, r, err)
		return
	}
	pictures := []*plot.Picture{plot.HeadOf("", res.Watch), plot.ProfileOf(res).Picture()}
	if below, err := plot.DriftOf(res).Picture(); err == nil {
		pictures = append(pictures, below)
	}
	if t, ok := plot.TeethOf(res); ok {
		pictures = append(pictures, t.Picture())
	}
	for _, t := range plot.SwingTurnsOf(res) {
		pictures = append(pictures, t.Picture())
	}
	w.Header().Set("Content-Type", "image/svg+xml")
	w.Header().Set("Cache-Control", "no-store")
	// A drawing carries its own style; it runs nothing.
	w.Header().Set("Content-Security-Policy", "default-src 'none'; style-src 'unsafe-inline'; sandbox")
	if err := plot.Stack("Beat profile and drift", pictures...).WriteSVG(w); err != nil {
		s.trouble(w, r, err)
	}
}

func degreesOf(v *float64) *unit.Degrees {
	if v == nil {
		return nil
	}
	d := unit.Degrees(*v)
	return &d
}
