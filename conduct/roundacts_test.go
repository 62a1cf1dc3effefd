package conduct_test

import (
	"errors"
	"math"
	"slices"
	"testing"

	"beatwright/conduct"
	"beatwright/ear"
	"beatwright/position"
	"beatwright/reading"
	"beatwright/unit"

	"pgregory.net/rapid"
)

// anyhow is a sitting in which anything may be heard and pressed, in any order.
// It does what a bench does with what the round wants done, and remembers what
// was kept.
type anyhow struct {
	round *conduct.Round
	now   ear.Now
	// last is the number of the newest lying, of the ears before too.
	last  int
	kept  map[int]position.Position
	ended bool
}

const anyRate unit.Hertz = 48000

func (a *anyhow) apply(t *rapid.T, es []conduct.Effect) {
	places := a.round.Places()
	for _, e := range es {
		switch e.Do {
		case conduct.Keep:
			if _, twice := a.kept[e.Place]; twice {
				t.Fatalf("place %d is kept a second time", e.Place)
			}
			if e.Place < 0 || e.Place >= len(places) || places[e.Place].Reading == nil {
				t.Fatalf("place %d is kept without a reading; %+v", e.Place, places)
			}
			a.kept[e.Place] = places[e.Place].Position
		case conduct.Forget:
			if _, was := a.kept[e.Place]; !was {
				t.Fatalf("place %d is forgotten and was not kept", e.Place)
			}
			delete(a.kept, e.Place)
		case conduct.Lay:
			a.last++
			a.now.Lying = ear.Lying{Number: a.last, From: int64(float64(a.now.At) * float64(anyRate))}
		case conduct.Finish:
			a.ended = true
		case conduct.Speak:
		default:
			t.Fatalf("%q is nothing to do", e.Do)
		}
	}
}

// Check holds at any time.
func (a *anyhow) Check(t *rapid.T) {
	r, places := a.round, a.round.Places()
	for i, p := range places {
		if was, is := a.kept[i]; is != (p.State == conduct.Heard) || is && was != p.Position {
			t.Fatalf("place %d is %s, %s; kept: %v, of %s", i, p.Position, p.State, is, was)
		}
		r.Got(i)
	}
	for i := range a.kept {
		if i >= len(places) {
			t.Fatalf("place %d was kept and is gone", i)
		}
	}
	d, over := r.Doing(), r.Phase() == conduct.Ended
	switch {
	case a.ended != over:
		t.Fatalf("phase %s, over: %v", r.Phase(), a.ended)
	case over != (len(d.Acts) == 0), d.Lead == "", !(d.Part >= 0 && d.Part <= 1):
		t.Fatalf("in phase %s: %+v", r.Phase(), d)
	case over:
		return
	case r.At() < 0 && r.Phase() != conduct.Asking:
		t.Fatalf("no place is wanted in phase %s", r.Phase())
	case (r.Lying() > 0) != (r.Phase() == conduct.Settling || r.Phase() == conduct.Listening):
		t.Fatalf("lying %d is heard in phase %s", r.Lying(), r.Phase())
	case r.At() >= len(places), r.At() >= 0 && places[r.At()].State == conduct.Heard:
		t.Fatalf("place %d of %+v is wanted", r.At(), places)
	}
}

// do does an act; one that is offered must be possible.
func (a *anyhow) do(t *rapid.T, act conduct.Act, p position.Position) {
	offered := slices.ContainsFunc(a.round.Doing().Acts, func(c conduct.Choice) bool { return c.Act == act })
	was := a.round.Phase()
	es, err := a.round.Do(act, p)
	switch {
	case err != nil && len(es) > 0:
		t.Fatalf("%s is refused (%v) and done: %+v", act, err, es)
	case err != nil && offered:
		t.Fatalf("%s was offered in phase %s and is refused: %v", act, was, err)
	case was == conduct.Ended && !errors.Is(err, conduct.ErrNotNow):
		t.Fatalf("%s after the end: %v", act, err)
	}
	a.apply(t, es)
	if act == conduct.Stop && a.round.Phase() != conduct.Ended {
		t.Fatalf("stopped in phase %s, the round is in phase %s", was, a.round.Phase())
	}
}

// Act does any act, one that is none among them.
func (a *anyhow) Act(t *rapid.T) {
	act := rapid.SampledFrom([]conduct.Act{
		conduct.Accept, conduct.Accept, conduct.Accept, conduct.Repeat, conduct.Skip, conduct.Wait, conduct.Longer, conduct.Lies, conduct.Lies, "dance",
	}).Draw(t, "act")
	a.do(t, act, anyPosition(t))
}

// Offered does one of the acts that are offered.
func (a *anyhow) Offered(t *rapid.T) {
	acts := a.round.Doing().Acts
	if len(acts) == 0 {
		t.Skip("over")
	}
	// Stop has its own, so that rounds go on for a while.
	if act := rapid.SampledFrom(acts).Draw(t, "offered").Act; act != conduct.Stop {
		a.do(t, act, position.None)
	}
}

func (a *anyhow) Stop(t *rapid.T) {
	if rapid.IntRange(0, 9).Draw(t, "stop") == 0 {
		a.do(t, conduct.Stop, position.None)
	}
}

// Hear lets some time pass, in which the watch may have been turned, knocked,
// or the sound interrupted.
func (a *anyhow) Hear(t *rapid.T) {
	n := &a.now
	n.At += unit.Seconds(rapid.SampledFrom([]float64{0.1, 1, 10, 30}).Draw(t, "passes"))
	n.Breaks = nil
	n.Disturbed = rapid.Bool().Draw(t, "disturbed")
	n.Quiet = unit.Seconds(rapid.SampledFrom([]float64{0, 0, 0, 7}).Draw(t, "quiet"))
	switch what := rapid.SampledFrom([]string{"", "", "", ear.Knock, ear.Moved, ear.Turned, ear.Turned, ear.Found, "another ear"}).Draw(t, "happens"); what {
	case "":
	case "another ear": // its beats are yet to be found
		n.At, n.Lying = 0.1, ear.Lying{}
	default:
		n.Breaks = []ear.Break{{What: what, From: n.At - 0.1, To: n.At}}
		if what != ear.Knock {
			a.last++
			n.Lying = ear.Lying{Number: a.last, From: int64(float64(n.At) * float64(anyRate))}
		}
	}
	a.apply(t, a.round.Hear(*n, anyRate))
}

// Read brings a reading, of this lying or one that is over.
func (a *anyhow) Read(t *rapid.T) {
	lying := a.round.Lying()
	if rapid.IntRange(0, 9).Draw(t, "late") == 0 {
		lying--
	}
	span := unit.Seconds(rapid.Float64Range(1, 70).Draw(t, "span"))
	a.apply(t, a.round.Read(lying, span, anyReading(t)))
}

// Position turns the watch and hears it for as long as it takes.
func (a *anyhow) Position(t *rapid.T) {
	a.last++
	n := &a.now
	n.At += 90
	n.Lying = ear.Lying{Number: a.last, From: int64(float64(n.At-85) * float64(anyRate))}
	n.Breaks, n.Quiet, n.Disturbed = []ear.Break{{What: ear.Turned, From: n.At - 87, To: n.At - 85}}, 0, false
	a.apply(t, a.round.Hear(*n, anyRate))
	a.Check(t)
	a.apply(t, a.round.Read(a.round.Lying(), 85, anyReading(t)))
}

// Reopen tells that something kept could not be written.
func (a *anyhow) Reopen(t *rapid.T) {
	i := rapid.IntRange(-1, 9).Draw(t, "unwritten")
	if rapid.Bool().Draw(t, "does fail") {
		a.round.Reopen(i)
		delete(a.kept, i)
		a.ended = a.round.Phase() == conduct.Ended
	}
}

func anyPosition(t *rapid.T) position.Position {
	return rapid.SampledFrom([]position.Position{position.None, position.CH, position.FH, position.H12, position.H3, position.H6, position.H9, 99}).Draw(t, "position")
}

func anyReading(t *rapid.T) reading.Reading {
	if rapid.IntRange(0, 5).Draw(t, "refused") == 0 {
		return reading.Reading{Refusal: &reading.Refusal{Code: reading.Noise, Why: "no beats stand out"}}
	}
	w := &reading.Watch{}
	some := func(name string) bool { return rapid.IntRange(0, 4).Draw(t, name) > 0 }
	any := func(name string, from, to float64) float64 { return rapid.Float64Range(from, to).Draw(t, name) }
	if some("rate") {
		w.Rate = &reading.Clocked{Value: any("s/d", -300, 300), U95: 5, U95Statistical: any("of it", 0, 5)}
	}
	if some("beat error") {
		w.BeatError = &reading.BeatError{Value: any("ms", 0, 5), U95: any("of it", 0, 1)}
	}
	v, u := any("swing", 100, 320), any("of it", 0, 12)
	w.Amplitude.Standing = rapid.SampledFrom([]reading.Standing{reading.Measured, reading.Measured, reading.AtMost, reading.NotResolved}).Draw(t, "standing")
	switch w.Amplitude.Standing {
	case reading.Measured:
		w.Amplitude.Value, w.Amplitude.U95 = &v, &u
	case reading.AtMost:
		w.Amplitude.Value = &v
	}
	if !some("steady") {
		w.Settling = &reading.Settling{From: any("from", 100, 320), Settled: reading.Value{Value: v, U95: u}, TauS: any("tau", -1, 40)}
	}
	return reading.Reading{Watch: w}
}

// Whatever is heard and pressed, in whatever order: no place is kept twice
// unless it was given up between, none that was kept gets lost, what is offered
// can be done, and Stop ends it.
func TestRoundAnyhow(t *testing.T) {
	t.Parallel()
	// Some faults need many acts in a row; forty times the usual number of tries
	// finds those seen so far, in half a second.
	for range 40 {
		rapid.Check(t, anyRound)
	}
}

func anyRound(t *rapid.T) {
	a := &anyhow{kept: map[int]position.Position{}}
	var places []conduct.Place
	for i := range rapid.IntRange(1, 6).Draw(t, "places") {
		p := conduct.Place{
			Position: position.Six[rapid.IntRange(0, 5).Draw(t, "lies")],
			State:    rapid.SampledFrom([]conduct.State{"", "", conduct.Open, conduct.Heard, conduct.Skipped}).Draw(t, "state"),
		}
		if p.State == conduct.Heard {
			a.kept[i] = p.Position
			p.Reading = anyReading(t).Watch // nil where it could not be read
			p.Repeat = i > 0 && rapid.Bool().Draw(t, "repeat")
		}
		places = append(places, p)
	}
	want := conduct.Quick()
	if rapid.Bool().Draw(t, "record") {
		want = conduct.Record(unit.Seconds(rapid.SampledFrom([]float64{0, 60, math.NaN()}).Draw(t, "turn")))
	}
	a.round = conduct.NewRound(places, want, 3)
	a.ended = a.round.Phase() == conduct.Ended
	if rapid.Bool().Draw(t, "poise") {
		a.round.Poise()
	}
	t.Repeat(map[string]func(*rapid.T){
		"": a.Check, "act": a.Act, "offered": a.Offered, "stop": a.Stop, "hear": a.Hear, "read": a.Read, "position": a.Position, "reopen": a.Reopen,
	})
	if !a.ended {
		a.do(t, conduct.Stop, position.None)
	}
	a.Check(t)
}
