package live

import (
	"context"
	"errors"
	"sync"
	"time"

	"beatwright"
	"beatwright/conduct"
	"beatwright/ear"
	"beatwright/measure"
	"beatwright/position"
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
