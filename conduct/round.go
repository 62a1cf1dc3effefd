package conduct

import (
	"errors"
	"fmt"
	"slices"

	"beatwright/ear"
	"beatwright/internal/say"
	"beatwright/position"
	"beatwright/reading"
	"beatwright/unit"
)

// State is how far a place of a round is.
type State string

// The states of a place.
const (
	Open    State = "open"
	Heard   State = "heard"
	Skipped State = "skipped"
)

// Place is one position of a round.
type Place struct {
	Position position.Position
	State    State
	// Repeat marks the check at the end.
	Repeat bool
	// Reading is what was heard, nil before.
	Reading *reading.Watch
	// Query says why the reading is doubted, empty if it is not.
	Query string
}

// Effect is something that the caller is to do.
type Effect struct {
	Do EffectKind
	// Place is the index of the place that it concerns.
	Place int
	// Note goes with what is kept.
	Note string
	// Say is what is to be spoken.
	Say string
}

// EffectKind is what is to be done.
type EffectKind string

// The effects.
const (
	Keep   EffectKind = "keep"   // keep the sound and reading of the present lying for the place
	Forget EffectKind = "forget" // what was kept for the place is heard again
	Lay    EffectKind = "lay"    // a new lying begins now
	Speak  EffectKind = "speak"
	Finish EffectKind = "finish" // the round is over
)

// Round leads through positions. It is used by one goroutine.
type Round struct {
	Want  Want
	Crown float64

	places []Place
	at     int // the place wanted or heard
	last   int // the place kept last, −1 for none
	phase  Phase

	asked int // the newest lying when the turn was asked for
	lying int // of the place that is heard, 0 none
	from  unit.Seconds
	now   ear.Now

	heard   *reading.Watch
	refused *reading.Refusal
	span    unit.Seconds
	sure    Sure
	settled unit.Seconds // how much of the lying was heard when the swing had settled, −1 before
	swings  [2]float64   // the swing wanted, if any: at least, at most
	longer  bool         // listen on though it is sure
	remark  string
	lost    bool // the beats stopped coming while listening
	anew    bool // a lying was begun by hand and is not heard yet
}

// NewRound prepares a round; places heard before are passed over.
func NewRound(places []Place, want Want, crown float64) *Round {
	r := &Round{Want: want, Crown: crown, places: slices.Clone(places), last: -1, settled: -1}
	for i := range r.places {
		if r.places[i].State == "" {
			r.places[i].State = Open
		}
		if r.places[i].State == Heard {
			r.last = i
		}
	}
	r.at = r.next(-1)
	r.phase = Turn
	if r.at < 0 && !r.offerRepeat() {
		r.end() // all was heard, and the end of it not written
	}
	return r
}

// Poise has the upright positions heard while the watch winds down to 150 to
// 160° (the usual swing for it, from memory; a little wider, to be met while the
// watch is turned), where want of poise shows three times as much as at 270°.
// About 1¼ turn, 225°, it does not show at all (Kleinlein, 1920, §28).
func (r *Round) Poise() { r.swings = [2]float64{145, 165} }

// End ends a round that was ended before.
func (r *Round) End() { r.end() }

// Reopen takes back that a place was heard: it could not be kept.
func (r *Round) Reopen(i int) {
	if i < 0 || i >= len(r.places) || r.places[i].State != Heard {
		return
	}
	r.places[i].State, r.places[i].Reading, r.places[i].Query = Open, nil, ""
	if i == r.last {
		r.last = -1
		if r.phase == Asking {
			r.phase = Turn
		}
	}
	if r.phase == Ended || r.at < 0 {
		r.phase, r.at = Turn, i
	}
}

// wide says that the swing is not where it is wanted, and what to do; nothing if
// it is.
func (r *Round) wide(w *reading.Watch) string {
	if r.swings[1] == 0 {
		return ""
	}
	v, ok := swing(w)
	of := fmt.Sprintf("it swings %s, wanted are 150 to 160°", say.Unit(say.Fixed(v, 0), "°"))
	switch {
	case !ok:
		return "its swing cannot be told yet; poise is read at 150 to 160°"
	case v > r.swings[1]:
		return of + ": let it run down, or let the mainspring down a little"
	case v < r.swings[0]:
		return of + ": wind it a little"
	}
	return ""
}

// Places are all positions as they stand.
func (r *Round) Places() []Place { return slices.Clone(r.places) }

// At is the place that is wanted or heard, −1 when none is.
func (r *Round) At() int { return r.at }

// Phase is what the round is doing.
func (r *Round) Phase() Phase { return r.phase }

// Sure says what of the present reading is known well enough.
func (r *Round) Sure() Sure { return r.sure }

// Lying is the lying that is heard for the place, 0 if none is.
func (r *Round) Lying() int { return r.lying }

// Span is how much of it was heard.
func (r *Round) Span() unit.Seconds { return r.span }

// next is the first open place after i, round about; −1 if there is none.
func (r *Round) next(i int) int {
	for k := range r.places {
		if j := (i + 1 + k) % len(r.places); r.places[j].State == Open {
			return j
		}
	}
	return -1
}

func (r *Round) listening() bool { return r.lying > 0 && (r.phase == Settling || r.phase == Listening) }

// Hear takes what is heard now.
func (r *Round) Hear(n ear.Now, rate unit.Hertz) []Effect {
	interrupted := n.At < r.now.At
	r.now = n
	from := unit.Seconds(float64(n.Lying.From) / float64(rate))
	if r.phase != Waiting && r.at >= 0 && !r.listening() && (r.last >= 0 || r.asked > 0) && found(n.Breaks) {
		// The sound was interrupted: how the watch lies now is not known.
		r.asked = n.Lying.Number
		return nil
	}
	switch {
	case (r.phase == Turn || r.phase == Asking) && r.at >= 0 && n.Lying.Number > r.asked:
		r.remark = ""
		r.begin(n.Lying.Number, from)
		return []Effect{{Do: Speak}} // what was to be said is out of date
	case r.listening() && n.Lying.Number > r.lying && turned(n.Breaks):
		// Turned before it was sure: how it lies now is not known.
		r.remark = fmt.Sprintf("It was turned after %s, before it was sure.", about(r.span))
		r.asked, r.lying, r.phase = n.Lying.Number, 0, Turn
		return []Effect{{Do: Speak, Place: r.at, Say: r.spoken()}}
	case r.listening() && interrupted:
		// Another ear hears it now: what was heard before is not of its sound.
		r.remark = "The sound was interrupted; heard anew."
		r.begin(r.lying, 0)
	case r.listening() && n.Lying.Number > r.lying:
		// Knocked, or laid anew by hand: what lies now is heard anew.
		if r.heard != nil {
			r.remark = "A blow moved it; heard anew."
		}
		r.begin(n.Lying.Number, from)
	case r.listening():
		r.lost = n.Quiet > stoppedSec
		if !r.lost {
			r.span = n.At - r.from
		}
	}
	return nil
}

func found(bs []ear.Break) bool {
	return slices.ContainsFunc(bs, func(b ear.Break) bool { return b.What == ear.Found })
}

func turned(bs []ear.Break) bool {
	return slices.ContainsFunc(bs, func(b ear.Break) bool { return b.What == ear.Turned })
}

// stoppedSec without a beat is a watch that stopped or was taken away.
const stoppedSec unit.Seconds = 6

func (r *Round) begin(lying int, from unit.Seconds) {
	r.lying, r.from = lying, from
	r.phase = Settling
	r.heard, r.refused, r.sure, r.span, r.settled, r.lost, r.anew = nil, nil, Sure{}, 0, -1, false, false
}

// Read takes the reading of a lying, of so much of its sound.
func (r *Round) Read(lying int, span unit.Seconds, res reading.Reading) []Effect {
	if !r.listening() || lying != r.lying || r.anew {
		return nil
	}
	r.refused = res.Refusal
	if res.Watch == nil {
		if res.Refusal.Denies() {
			// More of the same sound shows that it was no watch.
			r.heard, r.sure, r.settled, r.phase = nil, Sure{}, -1, Settling
		}
		return nil
	}
	r.heard, r.span = res.Watch, max(r.span, span)
	r.sure = r.Want.Sure(res.Watch, span)
	if r.sure.Settled && r.settled < 0 && span >= settlesIn {
		r.settled = span
	}
	if r.phase = Listening; !r.sure.Settled {
		r.phase = Settling
	}
	patience := r.settled >= 0 && span-r.settled >= r.Want.Patience || span >= 3*r.Want.Patience
	switch {
	case r.lost || r.longer && !patience || r.wide(res.Watch) != "":
		return nil
	case r.Want.told(r.sure, res.Watch, span):
		return r.keep("")
	case patience:
		return r.keep(r.unsure())
	}
	return nil
}

// settlesIn is how long is heard before a swing that shows no settling counts
// as settled (chosen: four segments, the least that show one, take 20 s, and a
// quick look has less).
const settlesIn unit.Seconds = 5

// unsure says what stayed less sure than wanted.
func (r *Round) unsure() string {
	var what []string
	add := func(sure bool, s string) {
		if !sure {
			what = append(what, s)
		}
	}
	add(r.sure.Rate, "rate")
	add(r.sure.BeatError, "beat error")
	add(r.sure.Amplitude, "amplitude")
	add(r.sure.Settled, "the swing's settling")
	if len(what) == 0 {
		return ""
	}
	return "less sure than wanted: " + say.List(what)
}

// keep has the present lying kept and goes on.
func (r *Round) keep(note string) []Effect {
	kept := r.keepOnly(note)
	r.last, r.remark = kept.Place, ""
	return append([]Effect{kept}, r.goOn(r.places[kept.Place].Query != "")...)
}

// keepOnly has it kept.
func (r *Round) keepOnly(note string) Effect {
	p := &r.places[r.at]
	p.State, p.Reading = Heard, r.heard
	p.Query = r.doubt(r.at)
	return Effect{Do: Keep, Place: r.at, Note: note}
}

// goOn asks for the next position.
func (r *Round) goOn(asking bool) []Effect {
	from := r.at
	r.asked, r.lying, r.lost, r.longer = r.now.Lying.Number, 0, false, false
	r.phase = Turn
	if r.at = r.next(from); r.at < 0 {
		if !r.offerRepeat() {
			if asking {
				r.phase = Asking // the last one may still be heard again
				return nil
			}
			return r.end()
		}
	}
	if asking {
		r.phase = Asking
	}
	return []Effect{{Do: Speak, Place: r.at, Say: r.spoken()}}
}

// offerRepeat puts one position at the end once more, as a check; false if it
// was offered before, or there is nothing to compare with.
func (r *Round) offerRepeat() bool {
	first := -1
	for i, p := range r.places {
		if p.Repeat {
			return false
		}
		if p.State == Heard && first < 0 {
			first = i
		}
	}
	if first < 0 || len(r.places) < 3 {
		r.at = -1
		return false
	}
	r.places = append(r.places, Place{Position: r.places[first].Position, State: Open, Repeat: true})
	r.at = len(r.places) - 1
	return true
}

func (r *Round) end() []Effect {
	r.phase, r.lying, r.at = Ended, 0, -1
	return []Effect{{Do: Finish}}
}

// ErrNotNow is the error of an act that means nothing in the present phase.
var ErrNotNow = errors.New("that cannot be done now")

// Do takes what a person does; p is for Lies alone.
func (r *Round) Do(a Act, p position.Position) ([]Effect, error) {
	if r.phase == Ended {
		return nil, ErrNotNow
	}
	switch a {
	case Accept:
		return r.accept()
	case Repeat:
		return r.again()
	case Skip:
		return r.skip()
	case Wait:
		if r.at < 0 {
			return nil, ErrNotNow
		}
		r.phase, r.lying = Waiting, 0
		return nil, nil
	case Longer:
		return r.listenOn()
	case Stop:
		var out []Effect
		if r.listening() && r.heard != nil {
			out = append(out, r.keepOnly(r.unsure()))
		}
		return append(out, r.end()...), nil
	case Lies:
		return r.lies(p)
	}
	return nil, fmt.Errorf("%q is no act", a)
}

// accept keeps what is heard; or says that the watch lies as wanted.
func (r *Round) accept() ([]Effect, error) {
	switch {
	case r.listening() && r.heard != nil:
		return r.keep(r.unsure()), nil
	case r.listening():
		return nil, ErrNotNow
	case r.phase == Asking && r.at < 0:
		return r.end(), nil
	case r.at < 0:
		return nil, ErrNotNow
	}
	// It lies so, though no turn was heard.
	r.asked, r.phase, r.remark = r.now.Lying.Number, Turn, ""
	return []Effect{{Do: Lay}, {Do: Speak}}, nil
}

// again hears the same position once more: the one that is heard, or the one
// that was kept last.
func (r *Round) again() ([]Effect, error) {
	if r.listening() {
		r.begin(r.lying, r.from)
		r.anew = true
		return []Effect{{Do: Lay}}, nil
	}
	if r.last < 0 {
		return nil, ErrNotNow
	}
	if n := len(r.places) - 1; r.places[n].Repeat && r.places[n].State == Open && r.last != n {
		r.places = r.places[:n]
	}
	p := &r.places[r.last]
	p.State, p.Reading, p.Query = Open, nil, ""
	r.at, r.asked, r.phase = r.last, r.now.Lying.Number, Turn
	out := []Effect{{Do: Forget, Place: r.last}}
	r.last = -1
	return append(out, Effect{Do: Speak, Place: r.at, Say: r.spoken()}), nil
}

func (r *Round) skip() ([]Effect, error) {
	if r.at < 0 {
		return r.end(), nil
	}
	r.places[r.at].State = Skipped
	return r.goOn(false), nil
}

// listenOn listens longer to what was kept last or is heard.
func (r *Round) listenOn() ([]Effect, error) {
	if r.listening() {
		r.longer = true
		return nil, nil
	}
	if r.last < 0 || r.phase != Turn && r.phase != Asking {
		return nil, ErrNotNow
	}
	out, err := r.again()
	r.longer = true
	return append(out, Effect{Do: Lay}), err
}

// lies says in which position the watch lies, or is to be laid next.
func (r *Round) lies(p position.Position) ([]Effect, error) {
	if !p.Valid() {
		return nil, errors.New("the position is not known; name it by its symbol, as CH or 3H")
	}
	i := slices.IndexFunc(r.places, func(x Place) bool { return x.Position == p && x.State != Heard })
	if i < 0 {
		again := slices.ContainsFunc(r.places, func(x Place) bool { return x.Position == p })
		r.places = append(r.places, Place{Position: p, State: Open, Repeat: again})
		i = len(r.places) - 1
	}
	r.places[i].State, r.at = Open, i
	if r.phase == Waiting || r.phase == Asking {
		r.phase = Turn
	}
	if r.listening() {
		return nil, nil
	}
	return []Effect{{Do: Speak, Place: i, Say: r.spoken()}}, nil
}
