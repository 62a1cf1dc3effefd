package conduct

import (
	"fmt"
	"math"

	"beatwright/ear"
	"beatwright/estimate"
	"beatwright/internal/say"
	"beatwright/nudge"
	"beatwright/reading"
	"beatwright/unit"
)

// Adjusting leads through touches towards a wanted rate or beat error. Every
// disturbance is a touch until it is shown to have changed nothing. It is used
// by one goroutine.
//
// The first touch teaches what one touch does on this watch, and which way: no
// formula is trusted before it. Beat error has no sign in sound, so a touch that
// goes past the middle looks like one that did less; what the touches before
// it did tells the two apart, and where it does not, that is said.
type Adjusting struct {
	Target Target
	// Wanted is in s/d or ms.
	Wanted float64

	now     ear.Now
	from    unit.Seconds // the present span of steady beats began
	lying   int
	heard   *reading.Watch
	steady  *figure // before the touch that is judged next
	present *figure
	touches []Touch
	signed  []float64 // the reading after each, with its sign
	way     float64   // the way that the next touch is taken to go: 1 or −1
	touched unit.Seconds
	says    string
	done    bool
	ended   bool
	waiting bool
}

// figure is the value that is adjusted, as it was read.
type figure struct{ value, u95 float64 }

// NewAdjusting prepares a session.
func NewAdjusting(target Target, wanted float64) *Adjusting {
	return &Adjusting{Target: target, Wanted: wanted, way: 1, says: "Make one small touch: it teaches which way and how much."}
}

// Touches are those that were judged, with what each did.
func (a *Adjusting) Touches() []Touch { return append([]Touch(nil), a.touches...) }

// Says is what is left and which way.
func (a *Adjusting) Says() string { return a.says }

// Done tells whether what is left is within the doubt.
func (a *Adjusting) Done() bool { return a.done }

// Ended tells whether the session is over.
func (a *Adjusting) Ended() bool { return a.ended }

// From is where the present span of steady beats begins, s of the sound; Lying
// its lying.
func (a *Adjusting) From() (unit.Seconds, int) { return a.from, a.lying }

// Span is how long it is.
func (a *Adjusting) Span() unit.Seconds { return max(0, a.now.At-a.from) }

// Hear takes what is heard now; it tells whether a new span began.
func (a *Adjusting) Hear(n ear.Now, rate unit.Hertz) bool {
	a.now = n
	began := false
	if n.Lying.Number > 0 && a.lying == 0 {
		a.lying, a.from = n.Lying.Number, unit.Seconds(float64(n.Lying.From)/float64(rate))
		began = true
	}
	for _, b := range n.Breaks {
		if b.What == ear.Found {
			continue
		}
		a.lying, a.from, a.touched = n.Lying.Number, b.To, b.From
		if a.present != nil {
			a.steady = a.present
		}
		a.present, a.heard, began = nil, nil, true
	}
	return began
}

// Read takes the reading of the present span.
func (a *Adjusting) Read(from, span unit.Seconds, r reading.Reading) {
	if from != a.from || r.Watch == nil {
		return
	}
	a.heard = r.Watch
	f, ok := a.figureOf(r.Watch)
	if !ok || span < leastSpan {
		return
	}
	known := f.u95 <= a.enough() || span >= mostSpan
	if !known {
		return
	}
	first := a.present == nil
	a.present = &f
	if first && a.steady != nil {
		a.judge(*a.steady, f)
		return
	}
	if len(a.touches) > 0 && !first {
		// The same span, known better.
		if t := a.touches[len(a.touches)-1]; t.At == float64(a.touched) {
			a.learn(f)
		}
	}
	if len(a.touches) == 0 && math.Abs(f.value-a.Wanted) <= f.u95 {
		a.says, a.done = "It is where it is wanted, as far as can be told.", true
	}
}

const (
	// leastSpan is the least that a touch is judged by, mostSpan how long it
	// is waited for to be known as well as wanted.
	leastSpan unit.Seconds = 4
	mostSpan  unit.Seconds = 12
)

// enough is the uncertainty at which a touch may be judged (chosen): for the
// eye on a balance's stud a tenth of a millisecond, on an index two seconds a
// day.
func (a *Adjusting) enough() float64 {
	if a.Target == BeatError {
		return 0.1
	}
	return 2
}

func (a *Adjusting) figureOf(w *reading.Watch) (figure, bool) {
	switch {
	case a.Target == BeatError && w.BeatError != nil:
		return figure{w.BeatError.Value, w.BeatError.U95}, true
	case a.Target == Rate && w.Rate != nil:
		return figure{w.Rate.Value, w.Rate.U95Statistical}, true
	}
	return figure{}, false
}

// judge sets the reading after a disturbance against the one before. One that
// changed nothing was no touch, and its span goes on from the old.
func (a *Adjusting) judge(before, after figure) {
	d, u := after.value-before.value, math.Hypot(before.u95, after.u95)
	if math.Abs(d) <= u && len(a.touches) == 0 {
		a.says = "No change told: " + a.change(d, u) + ". Touch it a little more."
		return
	}
	a.touches = append(a.touches, Touch{At: float64(a.touched), Way: a.way, Before: before.value, BeforeU95: before.u95})
	a.signed = append(a.signed, 0)
	a.learn(after)
}

// learn works out what the newest touch did and what is left.
func (a *Adjusting) learn(after figure) {
	n := len(a.touches) - 1
	t := &a.touches[n]
	t.After, t.AfterU95 = after.value, after.u95
	t.Change, t.ChangeU95 = after.value-t.Before, math.Hypot(t.BeforeU95, after.u95)
	a.signed[n] = a.sign(n)
	a.done = math.Abs(after.value-a.Wanted) <= math.Max(after.u95, a.worthATouch())
	if a.done {
		a.says = "Done: " + say.With(after.value, after.u95, a.unit()) + ", and no touch is fine enough for what is left."
		return
	}
	effect, ok := a.effect()
	if !ok {
		a.says = "No change told: " + a.change(t.Change, t.ChangeU95) + ". Touch it a little more."
		return
	}
	l, err := nudge.Learn(nudge.Touch{
		Before: estimate.New(a.signed[n]-effect.Value, effect.U95()), After: estimate.New(a.signed[n], after.u95), Moved: 1,
	}, a.Wanted)
	if err != nil || l.Left == nil {
		a.says = "What a touch does is not told from nothing yet. Touch it a little more."
		return
	}
	a.advise(*t, l.Left.Value)
}

// worthATouch is what is not worth one (chosen): what wanders by itself from
// day to day.
func (a *Adjusting) worthATouch() float64 {
	if a.Target == BeatError {
		return 0.1
	}
	return 1
}

// before is the reading before touch n with its sign.
func (a *Adjusting) before(n int) float64 {
	if n > 0 {
		return math.Copysign(a.touches[n].Before, a.signed[n-1])
	}
	return a.touches[n].Before
}

// sign gives the reading after touch n its sign: of beat error the one that
// lies nearer to what the touches before it let expect.
func (a *Adjusting) sign(n int) float64 {
	t := a.touches[n]
	if a.Target != BeatError || n == 0 {
		return t.After
	}
	m := (a.signed[n-1] - a.before(n-1)) * a.touches[n-1].Way
	want := a.before(n) + m*t.Way
	if math.Abs(want+t.After) < math.Abs(want-t.After) {
		return -t.After
	}
	return t.After
}

// effect is what a touch of the first way does, by the newest that tells: a
// stud moves more easily once loosened.
func (a *Adjusting) effect() (estimate.Estimate, bool) {
	for n := len(a.touches) - 1; n >= 0; n-- {
		t := a.touches[n]
		e := estimate.New((a.signed[n]-a.before(n))*t.Way, t.ChangeU95)
		if e.Clear() {
			return e, true
		}
	}
	return estimate.Estimate{}, false
}

// advise says how many touches of the first way are left, as the hands know
// them: the same way as last time, or the other.
func (a *Adjusting) advise(t Touch, left float64) {
	way := "the same way"
	if left*t.Way < 0 {
		way = "the other way"
	}
	a.way = math.Copysign(1, left)
	size := math.Abs(left)
	did := "That touch did " + a.change(t.Change, t.ChangeU95) + "."
	switch {
	case size > 20:
		a.says = did + " It will take many more such touches, " + way + ": larger ones."
	case size >= 0.75:
		a.says = did + fmt.Sprintf(" About %s such touches more, %s.", say.Fixed(size, 1), way)
	default:
		a.says = did + fmt.Sprintf(" Less than one such touch is left, about %s of one, %s.", say.Fixed(size, 1), way)
	}
}

func (a *Adjusting) change(d, u float64) string { return say.SignedWith(d, u, a.unit()) }

func (a *Adjusting) unit() string {
	if a.Target == BeatError {
		return "ms"
	}
	return "s/d"
}

// Do takes what a person does.
func (a *Adjusting) Do(act Act) error {
	switch {
	case a.ended:
		return ErrNotNow
	case act == Stop || act == Accept && a.done:
		a.ended = true
	case act == Wait:
		a.waiting = true
	case act == Accept && a.waiting:
		a.waiting = false
	case act == Repeat:
		// The last touch went the other way than was taken.
		if n := len(a.touches); n > 0 {
			a.touches[n-1].Way = -a.touches[n-1].Way
			a.way = a.touches[n-1].Way
			a.learn(figure{a.touches[n-1].After, a.touches[n-1].AfterU95})
			return nil
		}
		return ErrNotNow
	default:
		return ErrNotNow
	}
	return nil
}

// Waits tells whether sound is passed over.
func (a *Adjusting) Waits() bool { return a.waiting }

// Phase is what the session is doing.
func (a *Adjusting) Phase() Phase {
	switch {
	case a.ended:
		return Ended
	case a.waiting:
		return Waiting
	case a.lying == 0 || a.now.Disturbed:
		return Settling
	}
	return Listening
}

// Sure says what of it is known well enough.
func (a *Adjusting) Sure() Sure {
	if a.heard == nil {
		return Sure{}
	}
	w := Quick()
	if a.Target == BeatError {
		w.BeatError = unit.Milliseconds(a.enough())
	}
	return w.Sure(a.heard, a.Span())
}

// Heard is the reading of the present span, nil before the first.
func (a *Adjusting) Heard() *reading.Watch { return a.heard }

// Doing says what the session is doing and what the hands should do.
func (a *Adjusting) Doing() Doing {
	stop := Choice{Act: Stop, Name: "Keep and stop", Key: keyStop}
	var d Doing
	switch {
	case a.ended:
		return Doing{Lead: "That is all.", Rest: a.Closing(), Part: 1}
	case a.waiting:
		return Doing{Lead: "Waiting.", Acts: []Choice{{Act: Accept, Name: "Go on", Key: keyAccept, Wanted: true}, stop}}
	case a.lying == 0:
		d.Lead, d.Rest = "Lay the movement on the pickup.", "It begins by itself."
	case a.now.Disturbed:
		d.Lead, d.Rest = "A touch is heard.", "Hands off; it is judged when the beats are steady."
	case a.present == nil:
		d.Lead, d.Part = "Listening.", math.Min(1, float64(a.Span()/mostSpan))
		d.Rest = "What the touch did is known in a moment."
		if a.steady == nil {
			d.Rest = "How it stands is known in a moment."
		}
	default:
		d.Lead, d.Part = "Touch it.", 1
		d.Rest = a.says
		if a.done {
			d.Lead = "Done."
			d.Acts = append(d.Acts, Choice{Act: Accept, Name: "Keep it", Key: keyAccept, Wanted: true})
		}
	}
	if len(a.touches) > 0 && !a.done {
		d.Acts = append(d.Acts, Choice{Act: Repeat, Name: "It went the other way", Key: keyRepeat})
	}
	d.Acts = append(d.Acts, Choice{Act: Wait, Name: "Wait", Key: keyWait}, stop)
	return d
}

// Closing says what the session came to.
func (a *Adjusting) Closing() string {
	if len(a.touches) == 0 {
		return "No touch was judged."
	}
	first, last := a.touches[0], a.touches[len(a.touches)-1]
	n := fmt.Sprintf("%d touches", len(a.touches))
	if len(a.touches) == 1 {
		n = "one touch"
	}
	return fmt.Sprintf("From %s to %s in %s.", say.With(first.Before, first.BeforeU95, a.unit()), say.With(last.After, last.AfterU95, a.unit()), n)
}
