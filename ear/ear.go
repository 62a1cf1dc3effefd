// Package ear follows the sound of a watch while it lies on the bench: whether
// beats are heard, whether hands are at it, when it was laid anew and when it
// was only knocked, how loud it is, and which stretch of sound a reading is to
// be made of.
//
// It gives no reading: package measure does that, from the sound that the ear
// holds, so that what is shown live is, bit for bit, what the kept sound says.
// It knows no positions.
//
// How a turn is told from a knock: a watch that lies as it lay goes on in its
// old phase, whatever was heard meanwhile; one that was picked up and laid down
// does not, for turning the case turns the frame against the balance. So what
// is compared is the phase of the beats before a disturbance and after it; how
// long it lasted only tells hands from a single blow. Loudness would not do:
// hands in gloves are quieter than a drop.
package ear

import (
	"math"

	"beatwright/sound"
	"beatwright/unit"
)

const (
	// step is how much sound is worked off at a time.
	step unit.Seconds = 0.1
	// probeSec is the sound in which beats are first looked for, and probeEvery
	// how often: half a second and more of beats would do, but half a beat rate
	// passes for one in less.
	probeSec   unit.Seconds = 2.2
	probeEvery unit.Seconds = 0.2
	// held is how much sound is kept at hand beside that of the present lying.
	held unit.Seconds = 12
	// longest is how much of a lying is held.
	longest unit.Seconds = 300
)

// Ear follows one channel of sound. It is used by one goroutine; slices that it
// gives stay as they are.
type Ear struct {
	rate unit.Hertz
	door *sound.Door
	raw  []float32 // what passed the door, insertions put back as zeros
	base int64     // index of raw[0]
	cuts []span    // insertions in raw
	done int64     // worked off

	follows *follower
	search  *follower // looks since the beats were lost
	probed  int64
	from    int64 // beats are looked for from here on
	deaf    bool
	deafFor int64 // deaf samples since the beats were lost

	line     *line // of the beats before they were lost
	lastGood int64
	lying    Lying
	lyings   int
	resumed  bool // no beats were found yet since an interruption
	level    Level
	told     int64 // beats up to here were told
	beats    []Beat
	breaks   []Break
}

type span struct{ from, to int64 }

// Lying is a stretch in which the watch lies as it was laid.
type Lying struct {
	// Number counts lyings from 1; 0 is none yet.
	Number int
	// From is the first sample from which all beats are of this lying.
	From int64
}

// Beat is a beat as it comes. Side is 1 or 2, told anew for each lying.
type Beat struct {
	At   unit.Seconds
	Side int
	Kept bool
}

// What a break in the beats was.
const (
	Found  = "found"  // the first beats
	Knock  = "knock"  // the phase went on: the watch lies as it lay
	Moved  = "moved"  // a short blow after which the phase is another
	Turned = "turned" // hands were heard and the phase is another
)

// Break is a disturbance that is over.
type Break struct {
	What     string
	From, To unit.Seconds
}

// Level is how loud the last tenth of a second was.
type Level struct {
	Peak, RMS unit.Decibels // of full scale
	Clipped   bool
}

// Now is what is heard now.
type Now struct {
	At unit.Seconds // sound worked off
	// Follows tells whether beats are heard, Disturbed whether hands or a
	// noise hide them at this moment.
	Follows, Disturbed bool
	// Quiet is how long no beats were heard.
	Quiet unit.Seconds
	Lying Lying
	Level Level
	// Beats and Breaks are those since the last Now.
	Beats  []Beat
	Breaks []Break
}

// New prepares an ear for sound of one channel.
func New(rate unit.Hertz) *Ear {
	return &Ear{rate: rate, door: sound.NewDoor(sound.Format{Rate: rate, Channels: 1})}
}

// After has a new ear go on counting lyings from an old one's, after an
// interruption as when a microphone was unplugged: how the watch lies then is not
// known to be as before.
func (e *Ear) After(old *Ear) *Ear {
	e.lyings, e.resumed = old.lyings, true
	return e
}

// Rate is the sampling rate.
func (e *Ear) Rate() unit.Hertz { return e.rate }

// Push takes any number of samples and tells each after every tenth of a
// second of sound.
func (e *Ear) Push(x []float32, each func(Now)) {
	e.door.Push(x, func(p sound.Piece) {
		if p.CutBefore > 0 {
			from := e.end()
			e.raw = append(e.raw, make([]float32, p.CutBefore)...)
			e.cuts = append(e.cuts, span{from, e.end()})
		}
		e.raw = append(e.raw, p.Samples...)
	})
	for e.end()-e.done >= e.frames(step) {
		e.advance(e.done + e.frames(step))
		if each != nil {
			each(e.take())
		}
	}
	e.trim()
}

// Lost tells that n samples are missing here: they count as time, and silence
// stands for them.
func (e *Ear) Lost(n int64) {
	from := e.end()
	e.raw = append(e.raw, make([]float32, n)...)
	e.cuts = append(e.cuts, span{from, e.end()})
	e.lose()
	e.from = e.end()
}

// Deaf has the ear take no notice, while the page itself speaks.
func (e *Ear) Deaf(on bool) {
	if on && !e.deaf {
		e.lose()
	}
	e.deaf = on
}

// Lay begins a new lying here and now, without a turn that was heard.
func (e *Ear) Lay() {
	e.lyings++
	e.lying = Lying{e.lyings, e.done}
}

// Since gives the sound of the present lying so far, and the index of its
// first sample.
func (e *Ear) Since() (x []float32, from int64) {
	from = min(max(e.lying.From, e.base), e.done)
	return e.raw[from-e.base : e.done-e.base : e.done-e.base], from
}

// From gives the held sound from a moment on, and the index of its first
// sample.
func (e *Ear) From(at unit.Seconds) (x []float32, from int64) {
	from = min(max(e.frames(at), e.base), e.done)
	return e.raw[from-e.base : e.done-e.base : e.done-e.base], from
}

// Done is how many samples were worked off.
func (e *Ear) Done() int64 { return e.done }

func (e *Ear) end() int64 { return e.base + int64(len(e.raw)) }

func (e *Ear) frames(s unit.Seconds) int64 { return int64(float64(s) * float64(e.rate)) }

func (e *Ear) seconds(i int64) unit.Seconds { return unit.Seconds(float64(i) / float64(e.rate)) }

// take gives what is heard now and begins to collect anew.
func (e *Ear) take() Now {
	n := Now{
		At: e.seconds(e.done), Follows: e.follows != nil, Lying: e.lying, Level: e.level,
		Beats: e.beats, Breaks: e.breaks,
	}
	if e.follows != nil {
		n.Disturbed = e.follows.disturbed(e.done)
	} else {
		n.Quiet = e.seconds(e.done - e.lastGood)
		n.Disturbed = e.lying.Number > 0
	}
	e.beats, e.breaks = nil, nil
	return n
}

// advance works off the sound up to a sample.
func (e *Ear) advance(to int64) {
	x := e.raw[e.done-e.base : to-e.base]
	e.level = levelOf(x)
	from := e.done
	e.done = to
	switch {
	case e.deaf:
		e.from = to
		e.deafFor += to - from
	case e.follows != nil:
		e.feed(e.follows, from, to)
		e.following()
	default:
		e.seek(from, to)
	}
}

// feed gives a follower the sound between two samples, without insertions.
func (e *Ear) feed(f *follower, from, to int64) {
	for _, c := range e.cuts {
		if c.to <= from || c.from >= to {
			continue
		}
		if c.from > from {
			f.push(e.raw[from-e.base : c.from-e.base])
		}
		f.skip(min(c.to, to) - max(c.from, from))
		from = min(c.to, to)
	}
	if from < to {
		f.push(e.raw[from-e.base : to-e.base])
	}
}

// following looks at what the follower has, and lets it go when it lost the
// beats.
func (e *Ear) following() {
	f := e.follows
	f.look()
	for _, b := range f.fresh(e.told) {
		e.beats = append(e.beats, Beat{At: e.seconds(b.at), Side: b.side + 1, Kept: b.good})
		e.told = b.at
	}
	if k, ok := f.overKnock(); ok {
		e.breaks = append(e.breaks, Break{Knock, e.seconds(k.from), e.seconds(k.to)})
	}
	if good, ok := f.lastGood(); ok {
		e.lastGood = good
	}
	if !f.now.Following {
		e.lose()
	}
}

// lose lets the beats go; their line is kept to know them again by.
func (e *Ear) lose() {
	if e.follows != nil {
		e.line = e.follows.line()
		e.follows = nil
		e.deafFor = 0
	}
	e.search, e.from = nil, max(e.from, e.lastGood)
}

// seek looks for beats: quickly in the last two seconds, and with patience in
// all since they were lost.
func (e *Ear) seek(from, to int64) {
	if e.search == nil {
		from = max(e.from, e.base)
		e.search = newFollower(e.rate, from)
	}
	e.feed(e.search, from, to)
	e.search.look()
	if start, ok := e.search.steady(0.7); ok {
		e.found(e.search, start)
		return
	}
	if to-e.probed < e.frames(probeEvery) {
		return
	}
	e.probed = to
	first := max(to-e.frames(probeSec), e.from, e.base)
	if e.seconds(to-first) < probeSec-step {
		return
	}
	f := newFollower(e.rate, first)
	e.feed(f, first, to)
	f.look()
	if start, ok := f.steady(0.85); ok {
		e.found(f, start)
	}
}

// found takes up the beats that f follows from a sample on.
func (e *Ear) found(f *follower, start int64) {
	e.follows, e.search = f, nil
	b := Break{Found, e.seconds(e.lastGood), e.seconds(start)}
	if e.lyings == 0 || e.resumed {
		b.From, e.resumed = b.To, false
	} else {
		b.What = e.what(f, e.seconds(start-e.lastGood-e.deafFor))
	}
	if b.What != Knock {
		e.lyings++
		e.lying = Lying{e.lyings, max(e.base, start-e.frames(lead))}
	}
	e.breaks = append(e.breaks, b)
	e.told = max(e.told, start-1)
	e.line = nil
	if good, ok := f.lastGood(); ok {
		e.lastGood = good
	}
	e.following()
}

// what tells a turn from a knock, by how the phase went on and how long the
// beats were hidden.
func (e *Ear) what(f *follower, gap unit.Seconds) string {
	if e.line == nil {
		return Turned
	}
	shift := unit.Seconds(math.Abs(float64(e.line.shift(f))))
	switch {
	case shift < samePhase:
		return Knock
	case shift < blowPhase && gap < handsSec && e.deafFor == 0:
		return Moved
	}
	return Turned
}

const (
	// samePhase is how near the old line beats must fall for the watch to lie as
	// it lay: over some seconds a tired watch wanders by some tenths of a
	// millisecond. blowPhase is the most that a blow moves it; a
	// turn moves it by anything up to half a beat (both chosen).
	samePhase unit.Seconds = 0.0006
	blowPhase unit.Seconds = 0.005
	// handsSec is how long beats are hidden by hands at least; a blow rings
	// for less (chosen).
	handsSec unit.Seconds = 0.7
	// lead is the sound kept before the first beat of a lying, so that it is
	// whole.
	lead unit.Seconds = 0.06
)

// trim lets go of sound that no one asks for any more. What was given out
// stays: the rest moves to a place of its own.
func (e *Ear) trim() {
	keep := e.done - e.frames(held)
	if e.lyings > 0 {
		keep = min(keep, max(e.lying.From, e.done-e.frames(longest)))
	}
	if keep-e.base < e.frames(held) {
		return
	}
	e.raw = append([]float32(nil), e.raw[keep-e.base:]...)
	e.base = keep
	for len(e.cuts) > 0 && e.cuts[0].to < e.base {
		e.cuts = e.cuts[1:]
	}
}

func levelOf(x []float32) Level {
	var sum float64
	var peak float32
	full := 0
	for _, v := range x {
		v = max(v, -v)
		peak = max(peak, v)
		sum += float64(v) * float64(v)
		if v >= fullScale {
			full++
		}
	}
	const floor = 1e-12 // −120 dB
	return Level{
		Peak:    unit.DB(math.Max(float64(peak)*float64(peak), floor)),
		RMS:     unit.DB(math.Max(sum/math.Max(1, float64(len(x))), floor)),
		Clipped: full > 2,
	}
}

// fullScale is where a sample counts as clipped: within one step of 16 bits.
const fullScale = 1 - 1.0/32768
