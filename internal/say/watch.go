package say

import (
	"fmt"
	"math"
	"strings"

	"beatwright/reading"
	"beatwright/unit"
)

// Statement is one thing the program says of a watch: the sentence, and in
// Detail its uncertainty or the reason why it cannot be told. Sure tells
// whether it is a value; a bound and "cannot be told" are not.
type Statement struct {
	Text   string
	Detail string
	Sure   bool
}

// Statements are the three things said of every watch: rate, beat error and
// swing, in this order.
func Statements(w *reading.Watch) []Statement {
	return []Statement{Rate(w), BeatError(w), Swing(w)}
}

// Together says the three in one line of a list: "gaining 37 s a day, out of
// beat by 1.4°, swinging 143°".
func Together(w *reading.Watch) string {
	var parts []string
	for _, s := range Statements(w) {
		words := strings.TrimSuffix(s.Text, ".")
		parts = append(parts, strings.ToLower(words[:1])+words[1:])
	}
	return strings.Join(parts, ", ")
}

// Rate says what the watch gains or loses, and always which uncertainty is
// meant: with the clock's doubt, and by the sound alone.
func Rate(w *reading.Watch) Statement {
	r := w.Rate
	if r == nil {
		b := w.BeatTime
		return Statement{
			Text: "Rate cannot be told.",
			Detail: fmt.Sprintf("the beat lasts %s, or %s by the sound alone, and fits no common beat rate; give the watch's beats per hour",
				With(b.Value, b.U95, "ms"), With(b.Value, b.U95Statistical, "ms")),
		}
	}
	return Statement{Text: rateSentence(r), Detail: rateDetail(r), Sure: true}
}

func rateSentence(r *reading.Clocked) string {
	size := math.Abs(r.Value)
	if !(size > r.U95) {
		return "Keeping time within " + Unit(Uncertainty(size+r.U95), "s") + " a day."
	}
	verb := "Gaining "
	if r.Value < 0 {
		verb = "Losing "
	}
	return verb + Unit(Value(size, r.U95), "s") + " a day."
}

func rateDetail(r *reading.Clocked) string {
	alone := "the sound alone says " + SignedWith(r.Value, r.U95Statistical, "s/d")
	if size := math.Abs(r.Value); !(size > r.U95) {
		return SignedWith(r.Value, r.U95, "s/d") + " with the clock's doubt; " + alone
	}
	return Doubt(r.U95, "s/d") + " with the clock's doubt; " + alone
}

// BeatError says how far out of beat the watch is, in degrees where the swing
// is known and always in ms: half the difference of alternate beats.
func BeatError(w *reading.Watch) Statement {
	e := w.BeatError
	if e == nil {
		return Statement{Text: "Beat error cannot be told.", Detail: "the two beats could not be set against each other"}
	}
	detail := Doubt(e.U95, "ms") + "; half the difference of alternate beats, taken between " + sounds(e.By)
	if e.ByUnlocking != nil && math.Abs(*e.ByUnlocking-e.Value) > e.U95 {
		detail += "; between unlockings " + Unit(Value(*e.ByUnlocking, e.U95), "ms")
	}
	if e.ByDrop != nil && e.By != "drop" && math.Abs(*e.ByDrop-e.Value) > e.U95 {
		detail += "; between drops " + Unit(Value(*e.ByDrop, e.U95), "ms")
	}
	if !(e.Value > e.U95) {
		return Statement{Text: "In beat within " + Unit(Uncertainty(e.Value+e.U95), "ms") + ".", Detail: Unit(Value(e.Value, e.U95), "ms") + " " + detail, Sure: true}
	}
	ms := Unit(Value(e.Value, e.U95), "ms")
	if d := e.Degrees; d != nil {
		return Statement{Text: "Out of beat by " + Unit(Value(d.Value, d.U95), "°") + ", " + ms + ".", Detail: Doubt(d.U95, "°") + " and " + detail, Sure: true}
	}
	return Statement{Text: "Out of beat by " + ms + ".", Detail: detail, Sure: true}
}

func sounds(by string) string {
	switch by {
	case "unlocking", "drop":
		return by + "s"
	case "":
		return "like sounds"
	}
	return by
}

// Swing says the amplitude, a bound on it, or why it cannot be told.
func Swing(w *reading.Watch) Statement {
	a := w.Amplitude
	switch {
	case a.Standing == reading.Measured && a.Value != nil:
		return Statement{Text: "Swinging " + Unit(Value(*a.Value, or(a.U95)), "°") + ".", Detail: swingDetail(a, w.Lift), Sure: true}
	case a.Standing == reading.AtMost && a.Value != nil:
		return Statement{Text: "Swinging at most " + Unit(Fixed(math.Ceil(*a.Value), 0), "°") + ".", Detail: a.Why}
	}
	return Statement{Text: "Swing cannot be told.", Detail: a.Why}
}

func swingDetail(a reading.Amplitude, lift reading.Lift) string {
	parts := []string{Doubt(or(a.U95), "°") + " if the lift angle is " + Unit(Plain(lift.Value), "°")}
	if a.U95WithLift != nil && lift.U95 > 0 {
		parts = append(parts, Doubt(*a.U95WithLift, "°")+" with the lift's own doubt ("+string(lift.Standing)+", "+
			PlusMinus+NoBreak+Unit(Plain(lift.U95), "°")+")")
	}
	if a.First != nil && a.Second != nil && math.Abs(*a.First-*a.Second) > or(a.U95) {
		parts = append(parts, "first beats "+Unit(Value(*a.First, or(a.U95)), "°")+", second "+Unit(Value(*a.Second, or(a.U95)), "°"))
	}
	return strings.Join(parts, "; ")
}

// or gives NaN for what is not known, which prints as a dash.
func or(v *float64) float64 {
	if v == nil {
		return math.NaN()
	}
	return *v
}

// Plain prints a number that a person gave, with the digits it was given in,
// at most four after the point.
func Plain(v float64) string {
	s := Fixed(v, 4)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	return s
}

// Heard says what was listened to: beat rate, how many beats over how long.
func Heard(w *reading.Watch) string {
	var b strings.Builder
	if w.BeatsPerHour != nil {
		b.WriteString(Plain(float64(*w.BeatsPerHour)) + " beats an hour; ")
	}
	fmt.Fprintf(&b, "%s beats in %s, from %s to %s", Count(w.Beats), Span(w.To-w.From), Moment(w.From), Moment(w.To))
	switch w.BeatsRejected {
	case 0:
	default:
		b.WriteString("; " + Count(w.BeatsRejected) + " left out")
	}
	return b.String()
}

// Moment prints a time from the first sample: "12.2 s", "3:05.2" from a minute on.
func Moment(t unit.Seconds) string {
	s := math.Round(float64(t)*10) / 10
	if math.IsNaN(s) || math.IsInf(s, 0) {
		return Dash
	}
	if s < 60 {
		return Unit(Fixed(s, 1), "s")
	}
	minutes := math.Floor(s / 60)
	rest := fmt.Sprintf("%04.1f", s-60*minutes)
	if minutes < 60 {
		return fmt.Sprintf("%.0f:%s", minutes, rest)
	}
	return fmt.Sprintf("%.0f:%02.0f:%s", math.Floor(minutes/60), math.Mod(minutes, 60), rest)
}

// Span prints a length of time: "29.6 s", "12 min 5 s", "3 h 20 min".
func Span(t unit.Seconds) string {
	s := float64(t)
	switch {
	case math.IsNaN(s) || math.IsInf(s, 0):
		return Dash
	case s < 59.95:
		return Unit(Fixed(s, 1), "s")
	case s < 3599.5:
		n := int(math.Round(s))
		return pair(n/60, "min", n%60, "s")
	}
	n := int(math.Round(s / 60))
	return pair(n/60, "h", n%60, "min")
}

func pair(a int, of string, b int, rest string) string {
	s := Unit(Count(a), of)
	if b > 0 {
		s += NoBreak + Unit(Count(b), rest)
	}
	return s
}
