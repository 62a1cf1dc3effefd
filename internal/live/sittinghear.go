package live

import (
	"context"
	"errors"
	"io/fs"
	"time"

	"beatwright/conduct"
	"beatwright/ear"
	"beatwright/measure"
	"beatwright/reading"
	"beatwright/sound"
	"beatwright/unit"
)

// measure has the present stretch read, in the background, at most once a
// second, and less often the longer that takes.
func (s *Sitting) measure(n ear.Now) {
	x, name, from := s.present()
	if name == 0 || s.reading || !n.Follows && s.kind != PickupKind {
		return
	}
	rate := s.ear.Rate()
	span := s.seconds(int64(len(x)), rate)
	if span < leastHeard {
		return
	}
	if name != s.readOf {
		s.heard, s.earlier, s.funnelAt, s.readAt, s.readOf = nil, nil, 0, 0, name
	}
	wait := max(readEvery, 4*unit.Seconds(s.readCost.Seconds()))
	if s.heard == nil {
		wait /= 2
	}
	if s.readAt > 0 && s.seconds(s.ear.Done()-s.readAt, rate) < wait {
		return
	}
	s.reading, s.readAt = true, s.ear.Done()
	of := s.ear
	s.reads.Go(func() {
		began := time.Now()
		res, err := s.read(x, rate)
		cost := time.Since(began)
		s.mu.Lock()
		defer s.mu.Unlock()
		s.reading, s.readCost = false, cost
		if err != nil || s.ear != of {
			return
		}
		s.take(res, name, from, span)
	})
}

const (
	// readEvery is how often a reading is made anew at most.
	readEvery unit.Seconds = 1
	// leastHeard is the least that a reading is tried on: eight beats and what
	// is needed to find them.
	leastHeard unit.Seconds = 1.8
)

// read is the reading of sound in memory: the same that the kept sound gives.
func (s *Sitting) read(x []float32, rate unit.Hertz) (measure.Result, error) {
	var out measure.Result
	r := &sound.Samples{Of: sound.Format{Rate: rate, Channels: 1, Bits: 24, Kind: "live", Frames: int64(len(x))}, Data: x}
	err := s.bench.Hear(context.Background(), string(s.id), r, s.options, func(res measure.Result) error {
		out = res
		return nil
	})
	return out, err
}

// take takes a reading in.
func (s *Sitting) take(res measure.Result, name int, from, span unit.Seconds) {
	if _, now, _ := s.present(); now != name {
		return // it is of a stretch that is over
	}
	if res.Watch != nil {
		s.funnel(res.Watch, span)
		s.heard = &res
	} else if s.kind == PickupKind || s.heard == nil || s.heard.Watch == nil || res.Refusal.Denies() {
		s.heard, s.earlier = &res, nil
	}
	switch {
	case s.round != nil:
		s.apply(s.round.Read(name, span, res.Reading), "")
	case s.adjust != nil:
		s.adjust.Read(from, span, res.Reading)
	}
	s.show()
}

// funnel keeps up to four earlier readings, each of twice the sound of the one
// before.
func (s *Sitting) funnel(w *reading.Watch, span unit.Seconds) {
	const most, first = 4, 2
	if s.heard == nil || s.heard.Watch == nil {
		s.funnelAt = span
		return
	}
	if span < s.funnelAt*1.6 || span < first {
		return
	}
	s.funnelAt = span
	s.earlier = append(s.earlier[max(0, len(s.earlier)-most+1):len(s.earlier):len(s.earlier)], saidOf(s.heard.Watch))
}

func saidOf(w *reading.Watch) Said {
	var out Said
	if w.Rate != nil {
		v, u := w.Rate.Value, w.Rate.U95
		out.Rate, out.RateU95 = &v, &u
	}
	if b := w.BeatError; b != nil {
		v, u := b.Value, b.U95
		out.BeatError, out.BeatErrorU95 = &v, &u
		if b.Degrees != nil {
			v, u := b.Degrees.Value, b.Degrees.U95
			out.Degrees, out.DegreesU95 = &v, &u
		}
	}
	if a := w.Amplitude; a.Value != nil {
		v := *a.Value
		out.Amplitude, out.AtMost = &v, a.Standing == reading.AtMost
		if a.U95WithLift != nil {
			u := *a.U95WithLift
			out.AmplitudeU95 = &u
		}
	}
	return out
}

// keep has the sound of the present stretch written while it is heard.
func (s *Sitting) keep() {
	if s.kind == PickupKind {
		return
	}
	lying, from := s.stretch()
	if s.keeper != nil && s.keeper.lying != lying {
		if s.adjust != nil && !s.keptFirst && s.heard != nil && s.heard.Watch != nil {
			s.keptFirst = true
			s.finish(-1, "before it was touched", "")
		} else {
			s.letGo()
		}
	}
	if lying == 0 {
		return
	}
	if s.keeper == nil {
		entry := s.bench.newEntry()
		of := s.place(keptOf{Job: s.job, Round: s.id, Device: s.device.Name, At: s.bench.Now()})
		k, err := newKeeper(s.bench.Folder, string(entry.ID), s.ear.Rate(), of)
		if err != nil {
			if s.trouble == "" {
				s.trouble = notKept(err)
				s.show()
			}
			return
		}
		k.lying, k.next = lying, from
		s.keeper = k
	}
	if of := s.place(s.keeper.of); of != s.keeper.of {
		s.keeper.is(of) // it was said to lie otherwise
	}
	if err := s.keeper.failed(); err != nil && s.trouble == "" {
		s.trouble = notKept(err)
		s.show()
	}
	s.handOn()
}

// place puts the position that is heard now into what is known of a sound.
func (s *Sitting) place(of keptOf) keptOf {
	if s.round != nil && s.round.At() >= 0 {
		p := s.round.Places()[s.round.At()]
		of.Position, of.Repeat = p.Position.String(), p.Repeat
	}
	return of
}

// stretch is what is to be kept now: a number that names it, and its first
// sample.
func (s *Sitting) stretch() (lying int, from int64) {
	if s.round != nil {
		_, from = s.ear.Since()
		return s.round.Lying(), from
	}
	at, lying := s.adjust.From()
	if lying == 0 {
		return 0, 0
	}
	_, from = s.ear.From(at)
	return 1 + int(at*1000), from
}

// handOn gives the keeper what it does not have yet.
func (s *Sitting) handOn() {
	k := s.keeper
	x, from := s.ear.From(s.seconds(k.next, k.rate))
	if skip := k.next - from; skip > 0 {
		x, from = x[min(skip, int64(len(x))):], k.next
	}
	k.take(x)
	k.next = from + int64(len(x))
}

// letGo ends the keeping of sound that the round does not want: nothing of it
// stays.
func (s *Sitting) letGo() {
	k := s.keeper
	s.keeper = nil
	s.finishing.Go(func() {
		_, _ = k.end() // it is forgotten either way
		if err := s.bench.Folder.Forget(k.id); err != nil && !errors.Is(err, fs.ErrNotExist) {
			s.mu.Lock()
			s.trouble = notKept(err)
			s.mu.Unlock()
		}
	})
}

// cut ends what is being heard because the sound was interrupted; what there is
// of it is kept with that note.
func (s *Sitting) cut() {
	if s.keeper == nil {
		return
	}
	if s.heard != nil && s.heard.Watch != nil && s.round != nil {
		s.finish(s.round.At(), cutShort, "")
		return
	}
	s.letGo()
}

// apply does what the round wants done.
func (s *Sitting) apply(es []conduct.Effect, who string) {
	for _, e := range es {
		switch e.Do {
		case conduct.Keep:
			if s.keeper != nil {
				s.handOn()
			}
			s.finish(e.Place, e.Note, who)
		case conduct.Forget:
			s.forget(e.Place, who)
		case conduct.Lay:
			s.lay()
		case conduct.Speak:
			s.say = e.Say
			if e.Say != "" {
				s.sayOnce++
			}
		case conduct.Finish:
			if s.round != nil && s.round.Phase() != conduct.Ended {
				continue // the last place could not be kept and is open again
			}
			s.say = ""
			s.ended(who)
		}
	}
	if len(es) > 0 {
		s.show()
	}
}

// lay begins a lying by hand.
func (s *Sitting) lay() {
	if s.ear == nil {
		return
	}
	if s.keeper != nil {
		s.letGo()
	}
	s.ear.Lay()
}
