package plot

import (
	"math"
	"slices"

	"beatwright/internal/say"
	"beatwright/unit"
)

// Series is a long hearing: what was heard window by window, and what
// happened meanwhile.
type Series struct {
	Quantities []Quantity // drawn one above another, on one axis of time
	Events     []Event
}

// Quantity is one thing over time.
type Quantity struct {
	What, Unit string // "rate", "s/d"
	Signed     bool
	Windows    []Window // in order of time
}

// Window is a value with its 95 % half-width, or a bound, from one stretch of
// sound. A window in which it could not be told is not there, or is NaN: the
// line has a gap.
type Window struct {
	From, To   unit.Seconds
	Value, U95 float64
	AtMost     bool
}

// Event is a change or a stop, with words.
type Event struct {
	At    unit.Seconds
	Words string
	// Breaks ends the lines there: nothing is joined across it.
	Breaks bool
}

// mostWindows is how many windows are drawn; more are averaged in even pieces
// (chosen: about one a px and a half).
const mostWindows = 500

func (w Window) known() bool {
	return finite(float64(w.From), float64(w.To)) && w.To >= w.From && math.Abs(w.Value) <= mostRate
}

func (w Window) doubt() float64 {
	if !(w.U95 >= 0 && w.U95 <= mostRate) || w.AtMost {
		return 0
	}
	return w.U95
}

func (w Window) mid() float64 { return float64(w.From+w.To) / 2 }

// runs cuts the windows where the line has a gap: more than a window and a
// half without one, a break, or a bound beside a value.
func (s Series) runs(q Quantity) [][]Window {
	var out [][]Window
	var last *Window
	for i := range q.Windows {
		w := q.Windows[i]
		if !w.known() {
			last = nil
			continue
		}
		if last == nil || s.cut(*last, w) {
			out = append(out, nil)
		}
		out[len(out)-1] = append(out[len(out)-1], w)
		last = &q.Windows[i]
	}
	total := 0
	for _, r := range out {
		total += len(r)
	}
	for i, r := range out {
		out[i] = merged(r, total)
	}
	return out
}

func (s Series) cut(a, b Window) bool {
	long := math.Max(float64(a.To-a.From), float64(b.To-b.From))
	if a.AtMost != b.AtMost || float64(b.From-a.To) > long/2 {
		return true
	}
	return slices.ContainsFunc(s.Events, func(e Event) bool {
		return e.Breaks && float64(e.At) > a.mid() && float64(e.At) <= b.mid()
	})
}

// merged averages even pieces of a run when there are too many windows in all.
// Their doubts are averaged too, not narrowed: they share what they share.
func merged(run []Window, total int) []Window {
	n := max(1, len(run)*mostWindows/max(total, 1))
	if total <= mostWindows || len(run) <= n {
		return run
	}
	out := make([]Window, n)
	for i := range out {
		piece := run[i*len(run)/n : (i+1)*len(run)/n]
		out[i] = Window{From: piece[0].From, To: piece[len(piece)-1].To, AtMost: piece[0].AtMost}
		for _, w := range piece {
			out[i].Value += w.Value / float64(len(piece))
			out[i].U95 += w.doubt() / float64(len(piece))
		}
	}
	return out
}

// spanned is the time from the first window or event to the last.
func (s Series) spanned() (from, to float64) {
	from, to = math.Inf(1), math.Inf(-1)
	for _, q := range s.Quantities {
		for _, w := range q.Windows {
			if w.known() {
				from, to = math.Min(from, float64(w.From)), math.Max(to, float64(w.To))
			}
		}
	}
	for _, e := range s.Events {
		if at := float64(e.At); finite(at, from) {
			from, to = math.Min(from, at), math.Max(to, at)
		}
	}
	return from, to
}

// clockSteps are the steps of an axis of time, s.
var clockSteps = []float64{1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 4 * 3600, 6 * 3600, 12 * 3600, 86400, 2 * 86400, 7 * 86400}

// clockTicks divides an axis of time into about n steps, and says in what
// unit its figures are.
func (a axis) clockTicks(n int) (ticks []float64, per float64, unit string) {
	step := clockSteps[len(clockSteps)-1]
	for _, v := range clockSteps {
		if (a.high-a.low)/v <= float64(n) {
			step = v
			break
		}
	}
	for (a.high-a.low)/step > float64(2*n) {
		step *= 2
	}
	for i := math.Ceil(a.low/step - 1e-9); i*step <= a.high+1e-9*step; i++ {
		ticks = append(ticks, i*step)
	}
	switch {
	case step >= 86400:
		return ticks, 86400, "d"
	case step >= 1800:
		return ticks, 3600, "h"
	case step >= 60:
		return ticks, 60, "min"
	}
	return ticks, 1, "s"
}

// Words says each quantity over time: first, last, least and most, then what
// happened; the table has one row a quantity and one an event.
func (s Series) Words() Words {
	w := Words{Head: []string{"", "first", "last", "least", "most"}}
	var said string
	for _, q := range s.Quantities {
		var known []Window
		for _, v := range q.Windows {
			if v.known() {
				known = append(known, v)
			}
		}
		if len(known) == 0 {
			said += q.What + " could not be told; "
			w.Rows = append(w.Rows, []string{q.What, say.Dash, say.Dash, say.Dash, say.Dash})
			continue
		}
		by := func(a, b Window) int {
			if a.Value < b.Value {
				return -1
			}
			return 1
		}
		first, last := known[0], known[len(known)-1]
		least, most := slices.MinFunc(known, by), slices.MaxFunc(known, by)
		said += q.What + " from " + q.text(first) + " to " + q.text(last) + ", between " + q.text(least) + " and " + q.text(most) + "; "
		w.Rows = append(w.Rows, []string{q.What + ", " + q.Unit, q.text(first), q.text(last), q.text(least), q.text(most)})
	}
	for _, e := range s.Events {
		when := moment(float64(e.At))
		said += e.Words + " at " + when + "; "
		w.Rows = append(w.Rows, []string{e.Words, when, "", "", ""})
	}
	if said == "" {
		said = "nothing was heard; "
	}
	w.Sentence = say.Sentence(said[:len(said)-2])
	return w
}

func (q Quantity) text(w Window) string {
	switch {
	case w.AtMost:
		return "at most " + say.Unit(say.Fixed(math.Ceil(w.Value-1e-9), 0), q.Unit)
	case q.Signed:
		return say.SignedWith(w.Value, w.U95, q.Unit)
	}
	return say.With(w.Value, w.U95, q.Unit)
}

// moment says a time from the beginning.
func moment(s float64) string {
	switch {
	case s >= 2*3600:
		return say.Unit(say.Fixed(s/3600, 1), "h")
	case s >= 2*60:
		return say.Unit(say.Fixed(s/60, 1), "min")
	}
	return say.Unit(say.Fixed(s, 0), "s")
}
