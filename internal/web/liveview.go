package web

import (
	"errors"
	"fmt"
	"html/template"
	"math"
	"strings"

	"beatwright/conduct"
	"beatwright/internal/live"
	"beatwright/internal/plot"
	"beatwright/internal/say"
	"beatwright/reading"
)

// liveParts are the parts of the live page that change by themselves; each is a
// template "live-…".
var liveParts = []string{"places", "line", "says", "charts", "side", "sound"}

// liveFragments is a View made ready to be shown.
type liveFragments struct {
	live.View
	Cells []liveCell
	// Glyph is the watch as it is wanted.
	Glyph    template.HTML
	Percent  int
	Says     []statement
	Why      string // no watch is heard, and why
	Profile  template.HTML
	Drift    template.HTML
	NoDrift  string
	Touches  []touchLine
	Balance  template.HTML
	LevelNow string
	Device   string
	Kept     string
}

type liveCell struct {
	live.Place
	Class, Symbol string
	Glyph         template.HTML
}

type touchLine struct{ Before, After, Did string }

// fragments makes a View ready.
func (s *Server) fragments(v live.View) *liveFragments {
	f := &liveFragments{View: v, Percent: int(math.Round(100 * v.Doing.Part))}
	for i, p := range v.Places {
		class := map[live.PlaceState]string{
			live.Done: "done", live.Now: "now", live.Next: "next", live.Later: "todo", live.Skipped: "todo",
		}[p.State]
		f.Cells = append(f.Cells, liveCell{p, class, p.Position.String(), plot.Glyph(p.Position, 52, v.Crown).Inline(fmt.Sprint("lies", i))})
	}
	if v.Doing.Turn.Valid() {
		f.Glyph = plot.Glyph(v.Doing.Turn, 54, v.Crown).Inline("wanted")
	}
	f.heard()
	if a := v.Adjust; a != nil {
		f.adjusting(a)
	}
	f.Device = deviceWords(v.Sound)
	if v.Sound.Durable >= 1 {
		f.Kept = say.Unit(say.Fixed(math.Floor(float64(v.Sound.Durable)), 0), "s")
	}
	return f
}

func deviceWords(d live.Sound) string {
	if d.Device == "" && d.RateHz == 0 {
		return ""
	}
	words := d.Device
	if words == "" {
		words = "a microphone"
	}
	words += ", " + say.Unit(say.Fixed(d.RateHz, 0), "Hz")
	if len(d.StayedOn) > 0 {
		return words + "; " + say.List(d.StayedOn) + " stayed on"
	}
	return words + "; echo cancellation, noise suppression and gain control off"
}

func (f *liveFragments) heard() {
	h := f.Heard
	if h == nil {
		return
	}
	if h.Watch == nil {
		if h.Refusal != nil {
			f.Why = say.Sentence(h.Refusal.Why)
		}
		return
	}
	f.Says = liveStatements(f.View)
	if len(h.Profiles) > 0 {
		profile := plot.ProfileOf(*h)
		profile.Small = true
		f.Profile = profile.Picture().Inline("profile")
	}
	drift := plot.DriftOf(*h)
	drift.Small = true
	switch pic, err := drift.Picture(); {
	case errors.Is(err, plot.ErrNothing):
		f.NoDrift = "Not drawn: fewer than two beats to draw."
	case err == nil:
		f.Drift = pic.Inline("drift")
	}
}

// liveStatements are the three statements with their funnels, weighted by what
// is sure enough.
func liveStatements(v live.View) []statement {
	w := v.Heard.Watch
	out := statements(w)
	sure := []bool{v.Sure.Rate, v.Sure.BeatError, v.Sure.Amplitude}
	rulers := []*plot.Ruler{rateRulerOf(w), beatRulerOf(w), swingRulerOf(w)}
	for _, e := range v.Earlier {
		add(rulers[0], e.Rate, e.RateU95, false)
		if w.BeatError != nil && w.BeatError.Degrees != nil {
			add(rulers[1], e.Degrees, e.DegreesU95, false)
		} else {
			add(rulers[1], e.BeatError, e.BeatErrorU95, false)
		}
		add(rulers[2], e.Amplitude, e.AmplitudeU95, e.AtMost)
	}
	details := liveDetails(w)
	// At a metre it must fit one line.
	out[0].Words = strings.Replace(out[0].Words, "Keeping time within", "Within", 1)
	if w.Rate != nil {
		out[0].Figure = say.SignedWith(w.Rate.Value, w.Rate.U95, "s/d") + "."
	}
	for i, r := range rulers {
		out[i].Detail = details[i]
		r.Sure, r.Stale = sure[i], v.Stale
		out[i].Sure = sure[i] && !v.Stale
		out[i].Ruler = r.Picture().Inline([]string{"rate", "beat", "swing"}[i])
		if v.Stale && out[i].Figure != "" {
			out[i].Figure = strings.TrimSuffix(out[i].Figure, ".") + ", as last heard."
			out[i].Detail = map[bool]string{true: "Hollow bar: nothing is coming in."}[i == 0]
		}
	}
	return out
}

// liveDetails say in a few words what limits each statement, or what to do.
func liveDetails(w *reading.Watch) (d [3]string) {
	switch r := w.Rate; {
	case r == nil:
		d[0] = "It beats near no common beat rate: give its beats per hour."
	case r.U95Statistical < r.U95/2:
		d[0] = "Limited by the clock: the sound alone " + say.Doubt(r.U95Statistical, "s/d") + "."
	default:
		d[0] = "Limited by the time heard: the sound alone " + say.Doubt(r.U95Statistical, "s/d") + "."
	}
	if b := w.BeatError; b != nil {
		d[1] = "By the " + b.By + "."
		switch {
		case b.ByUnlocking != nil && math.Abs(*b.ByUnlocking-b.Value) > b.U95:
			d[1] += " The unlocking says " + say.Unit(say.Value(*b.ByUnlocking, b.U95), "ms") + "."
		case b.ByDrop != nil && math.Abs(*b.ByDrop-b.Value) > b.U95:
			d[1] += " The drop says " + say.Unit(say.Value(*b.ByDrop, b.U95), "ms") + "."
		case b.Degrees == nil:
			d[1] += " In degrees once the swing is known."
		}
	}
	switch a := w.Amplitude; {
	case a.Standing == reading.Measured && a.U95WithLift != nil:
		d[2] = "With the lift angle’s own doubt " + say.Doubt(*a.U95WithLift, "°") + "."
	case a.Why != "":
		d[2] = say.Sentence(a.Why)
	}
	return d
}

func add(r *plot.Ruler, v, u *float64, atMost bool) {
	switch {
	case v == nil:
	case atMost:
		r.Before = append(r.Before, plot.Interval{To: *v, AtMost: true})
	case u != nil:
		r.Before = append(r.Before, plot.Interval{From: *v - *u, To: *v + *u})
	}
}

func (f *liveFragments) adjusting(a *live.Adjust) {
	name := map[conduct.Target]string{conduct.BeatError: "ms"}[a.Target]
	if name == "" {
		name = "s/d"
	}
	for _, t := range a.Touches {
		f.Touches = append(f.Touches, touchLine{
			Before: say.With(t.Before, t.BeforeU95, name), After: say.With(t.After, t.AfterU95, name), Did: say.SignedWith(t.Change, t.ChangeU95, name),
		})
	}
	if a.Poise != nil {
		f.Balance = plot.BalanceOf("as heard", false, a.Poise, nil, a.Says).Picture().Inline("balance")
	}
}
