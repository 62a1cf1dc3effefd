package live

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"time"

	"beatwright"
	"beatwright/conduct"
	"beatwright/ear"
	"beatwright/measure"
	"beatwright/movement"
	"beatwright/position"
	"beatwright/train"
	"beatwright/unit"
)

// Sitting is one sitting at the bench: a round, a session of adjusting, or a
// trial of the pickup. It lives in the program, so that a page can be reloaded
// or closed and it goes on; after the program was stopped it is made anew from
// the record.
type Sitting struct {
	bench   *Bench
	id      beatwright.ID
	kind    Kind
	job     beatwright.ID
	number  string
	about   string
	crown   float64
	options measure.Options

	mu        sync.Mutex
	ear       *ear.Ear
	before    unit.Seconds // heard before the present ear
	feed      *Feed
	device    Device
	first     int64 // index in its capture of the ear's first sample
	lost      unit.Seconds
	coming    bool
	gone      string // why nothing comes any more
	goneAt    time.Time
	stir      *time.Timer
	round     *conduct.Round
	adjust    *conduct.Adjusting
	kept      map[int]beatwright.ID           // hearings by place
	writing   map[beatwright.ID]chan struct{} // closed when they were written, or failed
	lastWrite chan struct{}                   // the newest of them
	keeper    *keeper
	finishing sync.WaitGroup // writes into the record
	reads     sync.WaitGroup // readings being made
	trouble   string
	keptFirst bool // how it was before adjusting is kept

	heard    *measure.Result
	earlier  []Said
	funnelAt unit.Seconds
	reading  bool  // one is being made
	readAt   int64 // sample of the ear up to which the last was made
	readOf   int   // lying, or span, that it was of
	readCost time.Duration

	level     Level
	levelled  chan struct{}
	view      View
	changed   chan struct{}
	viewedAt  unit.Seconds
	say       string
	sayOnce   int
	beatsOver []HeardBeat
}

// sittings are those of a bench that are in memory.
type sittings struct {
	mu  sync.Mutex
	all map[beatwright.ID]*Sitting
}

// Sitting gives the sitting of a round (adjusting sessions are rounds), or, for
// Pickup, a trial; made anew from the record when it is not in memory.
func (b *Bench) Sitting(ctx context.Context, id beatwright.ID) (*Sitting, error) {
	b.sittings.mu.Lock()
	defer b.sittings.mu.Unlock()
	if s := b.sittings.all[id]; s != nil {
		return s, nil
	}
	s, err := b.newSitting(ctx, id)
	if err != nil {
		return nil, err
	}
	if b.sittings.all == nil {
		b.sittings.all = map[beatwright.ID]*Sitting{}
	}
	b.sittings.all[id] = s
	return s, nil
}

func (b *Bench) newSitting(ctx context.Context, id beatwright.ID) (*Sitting, error) {
	s := &Sitting{
		bench: b, id: id, kind: PickupKind, crown: 3, kept: map[int]beatwright.ID{}, writing: map[beatwright.ID]chan struct{}{},
		levelled: make(chan struct{}), changed: make(chan struct{}),
	}
	if id == Pickup {
		s.about = "Trying a pickup; nothing is kept"
	} else if err := s.fromRecord(ctx); err != nil {
		return nil, err
	}
	s.show()
	return s, nil
}

// Close ends all sittings: what is being heard is kept as far as it came.
func (b *Bench) Close() {
	b.sittings.mu.Lock()
	defer b.sittings.mu.Unlock()
	for _, s := range b.sittings.all {
		s.mu.Lock()
		s.feed = nil
		s.cut()
		s.away("closed")
		s.mu.Unlock()
		s.reads.Wait()
		s.finishing.Wait()
	}
	b.sittings.all = nil
}

// fromRecord takes up a round where the record has it.
func (s *Sitting) fromRecord(ctx context.Context) error {
	r, err := beatwright.Load[*beatwright.Round](ctx, s.bench, beatwright.KindRound, s.id)
	if err != nil {
		return err
	}
	p, err := s.bench.Job(ctx, string(r.Job))
	if err != nil {
		return err
	}
	s.kind, s.job, s.number = RoundKind, p.Job.ID, p.Job.Number
	s.about = p.Watch.Name() + ": " + string(r.Stage)
	s.options = s.bench.options(p, nil)
	if m := Facts(p); m != nil && m.CrownHour != nil {
		s.crown = *m.CrownHour
	}
	if a := r.Adjust; a != nil {
		s.kind = AdjustKind
		if target := conduct.Target(a.Target); target != conduct.Poise {
			s.adjust = conduct.NewAdjusting(target, a.Wanted)
			return nil
		}
	}
	places, err := s.places(p, r)
	if err != nil {
		return err
	}
	want := conduct.Quick()
	if !r.Quick {
		want = conduct.Record(fourthTurn(s.options.Movement))
	}
	s.round = conduct.NewRound(places, want, s.crown)
	if s.kind == AdjustKind {
		s.round.Poise()
	}
	switch {
	case r.Ended != nil:
		s.round.End()
	case s.round.Phase() == conduct.Ended:
		s.ended("") // all was heard; stopped before that was written
	}
	return nil
}

// places are the positions of a round's plan, with what was heard of them.
func (s *Sitting) places(p *beatwright.Papers, r *beatwright.Round) ([]conduct.Place, error) {
	var out []conduct.Place
	for _, symbol := range r.Plan {
		pos, err := position.Parse(symbol)
		if err != nil {
			return nil, fmt.Errorf("plan of the round: %w", err)
		}
		out = append(out, conduct.Place{Position: pos, State: conduct.Open})
	}
	for _, h := range p.Hearings {
		pos, err := position.Parse(h.Position)
		if h.Round != r.ID || BrokenOff(h) || err != nil {
			continue
		}
		i := 0
		for i < len(out) && (out[i].Position != pos || out[i].State == conduct.Heard) {
			i++
		}
		if i == len(out) {
			out = append(out, conduct.Place{Position: pos, Repeat: h.Repeat})
		}
		out[i].State = conduct.Heard
		if l := p.Latest(h.ID); l != nil {
			out[i].Reading = l.Says.Watch
		}
		s.kept[i] = h.ID
	}
	if len(out) == 0 {
		return nil, &beatwright.Error{Code: beatwright.Wrong, Text: "the round has no positions to hear", Do: "begin a new one and tick the positions"}
	}
	return out, nil
}

// FourthTurn is how long the fourth wheel of a job's watch takes to go round, 0
// if that is not known.
func FourthTurn(p *beatwright.Papers) unit.Seconds {
	if p.Movement == nil {
		return 0
	}
	return fourthTurn(&p.Movement.Facts)
}

func fourthTurn(m *movement.Movement) unit.Seconds {
	if m == nil {
		return 0
	}
	if m.BeatsPerHour == nil || m.EscapeTeeth == nil {
		return 0
	}
	t := train.Train{BeatsPerHour: *m.BeatsPerHour, EscapeTeeth: *m.EscapeTeeth, Wheels: m.Wheels, Pinions: m.Pinions}
	return t.Turns()["fourth"]
}

// Feed is where the sound of one page comes in.
type Feed struct {
	sitting *Sitting
	next    int64 // index of the next sample
	began   bool
}

// ErrElsewhere is the error of a page whose place another one took.
var ErrElsewhere = errors.New("the watch is heard in another window now; this one sends nothing more")

// Attach begins to take sound from a page; one that sent before is let go.
func (s *Sitting) Attach(d Device) (*Feed, error) {
	if !(d.RateHz >= 22050 && d.RateHz <= 768000) {
		return nil, &beatwright.Error{Code: beatwright.Wrong, Field: "rate", Text: fmt.Sprintf("%g samples a second are not heard; 22 050 to 768 000 are", float64(d.RateHz)), Do: "choose another input, or set this one to 44 100 or 48 000"}
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if old := s.feed; old != nil && d.Capture != "" && d == s.device {
		// The same capture over a new connection: nothing is missing.
		s.feed = &Feed{sitting: s, next: old.next, began: old.began}
		return s.feed, nil
	}
	s.cut()
	old := s.ear
	s.ear = ear.New(d.RateHz)
	if old != nil {
		s.before += s.seconds(old.Done(), old.Rate())
		s.ear.After(old)
	}
	s.device, s.gone, s.coming, s.readAt, s.viewedAt = d, "", true, 0, 0
	s.feed = &Feed{sitting: s}
	s.show()
	return s.feed, nil
}

func (s *Sitting) seconds(n int64, rate unit.Hertz) unit.Seconds {
	return unit.Seconds(float64(n) / float64(rate))
}

// Push takes the samples from index first of this capture on; what came before
// is passed over, and a jump is a loss.
func (f *Feed) Push(first int64, x []float32) error {
	s := f.sitting
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.feed != f {
		return ErrElsewhere
	}
	if !f.began {
		f.began, f.next, s.first = true, first, first
	}
	switch gap := first - f.next; {
	case gap < 0:
		x = x[min(-gap, int64(len(x))):]
	case gap > 0:
		s.lose(gap)
		f.next = first
	}
	f.next += int64(len(x))
	s.stirred()
	s.ear.Push(x, s.hear)
	return nil
}

// longestLoss is the most that is counted as time; more is an interruption.
const longestLoss unit.Seconds = 60

func (s *Sitting) lose(n int64) {
	t := s.seconds(n, s.ear.Rate())
	s.lost += t
	if t > longestLoss {
		n = int64(float64(longestLoss) * float64(s.ear.Rate()))
	}
	s.ear.Lost(n)
}

// Next is the index of the next sample that is wanted, −1 for those that come
// from now on.
func (f *Feed) Next() int64 {
	f.sitting.mu.Lock()
	defer f.sitting.mu.Unlock()
	if !f.began {
		return -1
	}
	return f.next
}

// Speaking says whether the page's own voice is sounding: what is heard
// meanwhile is not the watch.
func (f *Feed) Speaking(on bool) {
	s := f.sitting
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.feed == f {
		s.ear.Deaf(on)
	}
}

// Durable is how many samples of what is being kept survive a crash.
func (f *Feed) Durable() int64 {
	s := f.sitting
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.keeper == nil {
		return 0
	}
	return s.keeper.durable.Load()
}

// Close ends the feed, and says why.
func (f *Feed) Close(why string) {
	s := f.sitting
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.feed != f {
		return
	}
	s.feed = nil
	if s.over() {
		s.before, s.ear = s.now(), nil // it holds minutes of sound
	}
	s.away(why)
}

// over tells whether nothing more is to be heard in this sitting; a trial can
// begin again.
func (s *Sitting) over() bool {
	switch {
	case s.round != nil:
		return s.round.Phase() == conduct.Ended
	case s.adjust != nil:
		return s.adjust.Ended()
	}
	return true
}

// silentAfter is how long nothing may come before it is said.
const silentAfter = 1500 * time.Millisecond

// stirred notes that sound comes.
func (s *Sitting) stirred() {
	if s.stir == nil {
		s.stir = time.AfterFunc(silentAfter, func() {
			s.mu.Lock()
			defer s.mu.Unlock()
			if s.coming {
				s.away("")
			}
		})
	} else {
		s.stir.Reset(silentAfter)
	}
	if !s.coming {
		s.coming, s.gone = true, ""
		s.show()
	}
}

// away notes that no sound comes any more.
func (s *Sitting) away(why string) {
	if s.stir != nil {
		s.stir.Stop()
	}
	s.coming, s.gone, s.goneAt = false, why, s.bench.Now()
	s.show()
}

// View is what a page shows now.
func (s *Sitting) View() View {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.view
}

// Changed is closed at the next change of the View.
func (s *Sitting) Changed() <-chan struct{} {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.changed
}

// Level is the newest level; its beats are those of the last second.
func (s *Sitting) Level() Level {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.level
}

// NextLevel is closed at the next Level.
func (s *Sitting) NextLevel() <-chan struct{} {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.levelled
}

// Act does what a person pressed.
func (s *Sitting) Act(ctx context.Context, a conduct.Act, p position.Position, who string) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	var es []conduct.Effect
	var err error
	switch {
	case s.round != nil:
		es, err = s.round.Do(a, p)
	case s.adjust != nil:
		if err = s.adjust.Do(a); err == nil && s.adjust.Ended() {
			es = []conduct.Effect{{Do: conduct.Keep}, {Do: conduct.Finish}}
		}
	default:
		err = conduct.ErrNotNow
	}
	if err != nil {
		no := &beatwright.Error{Code: beatwright.Wrong, Field: "act", Text: conduct.ErrNotNow.Error(), Do: "see what the line asks for"}
		if !errors.Is(err, conduct.ErrNotNow) {
			no.Err = err
		}
		return no
	}
	s.trouble = ""
	s.apply(es, who)
	s.show()
	return nil
}

// Settled waits until everything that was accepted is in the record.
func (s *Sitting) Settled() { s.finishing.Wait() }

// hear is told by the ear every tenth of a second.
func (s *Sitting) hear(n ear.Now) {
	s.levels(n)
	switch {
	case s.round != nil:
		s.apply(s.round.Hear(n, s.ear.Rate()), "")
	case s.adjust != nil:
		if s.adjust.Hear(n, s.ear.Rate()) {
			s.readAt = 0
		}
	}
	s.keep()
	s.measure(n)
	if at := s.now(); at-s.viewedAt >= showEvery {
		s.show()
	}
}

// showEvery is how often a page is told what changed at most.
const showEvery unit.Seconds = 0.5

// now is how much was heard in the sitting.
func (s *Sitting) now() unit.Seconds {
	if s.ear == nil {
		return s.before
	}
	return s.before + s.seconds(s.ear.Done(), s.ear.Rate())
}

func (s *Sitting) levels(n ear.Now) {
	l := Level{At: s.now(), Sample: s.first + s.ear.Done(), Peak: n.Level.Peak, RMS: n.Level.RMS, Clipped: n.Level.Clipped, Handling: n.Disturbed && n.Lying.Number > 0}
	for _, b := range n.Beats {
		if b.Kept {
			s.beatsOver = append(s.beatsOver, HeardBeat{s.before + b.At, b.Side})
		}
	}
	for len(s.beatsOver) > 0 && s.beatsOver[0].At < l.At-1 {
		s.beatsOver = s.beatsOver[1:]
	}
	l.Beats = append(l.Beats, s.beatsOver...)
	s.level = l
	close(s.levelled)
	s.levelled = make(chan struct{})
}

// present is the stretch that a reading is to be made of, and a number that
// names it; 0 when there is none.
func (s *Sitting) present() (x []float32, name int, from unit.Seconds) {
	if s.ear == nil {
		return nil, 0, 0
	}
	switch {
	case s.round != nil:
		if s.round.Lying() > 0 {
			x, _ = s.ear.Since()
			return x, s.round.Lying(), 0
		}
	case s.adjust != nil:
		if at, lying := s.adjust.From(); lying > 0 {
			x, _ = s.ear.From(max(at, s.seconds(s.ear.Done(), s.ear.Rate())-trialSec))
			return x, 1 + int(at*1000), at
		}
	default:
		x, from := s.ear.From(s.seconds(s.ear.Done(), s.ear.Rate()) - trialSec)
		return x, 1, s.seconds(from, s.ear.Rate())
	}
	return nil, 0, 0
}

// trialSec is how much of the newest sound a trial or a touch is judged by at
// most.
const trialSec unit.Seconds = 30
