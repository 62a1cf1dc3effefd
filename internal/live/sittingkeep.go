package live

import (
	"context"
	"errors"
	"io/fs"
	"time"

	"beatwright"
	"beatwright/conduct"
	"beatwright/internal/files"
	"beatwright/measure"
	"beatwright/sound"
)

// cutShort is the note of a hearing that was kept although it was broken off;
// its position still wants hearing.
const cutShort = "broken off: the sound stopped coming before it was sure enough"

// BrokenOff tells whether a hearing was kept though its position still wants
// hearing.
func BrokenOff(h *beatwright.Hearing) bool { return h.Note == cutShort }

func notKept(err error) string {
	return "What is heard cannot be kept: " + err.Error() + ". Make room on the disk, then hear it again."
}

// finish completes the sound that is being kept and writes hearing and reading
// into the record. The round goes on meanwhile; where it fails, that is said and
// the place is open again.
func (s *Sitting) finish(place int, note, who string) {
	k := s.keeper
	if k == nil {
		if s.trouble == "" {
			s.trouble = "What was heard could not be kept. Hear it again."
		}
		if s.round != nil && note != cutShort {
			s.round.Reopen(place)
		}
		return
	}
	s.keeper = nil
	of := k.of
	if s.round != nil && place >= 0 {
		p := s.round.Places()[place]
		of.Position, of.Repeat = p.Position.String(), p.Repeat
	}
	entry := beatwright.Entry{ID: beatwright.ID(k.id)}
	if note != cutShort {
		s.kept[place] = entry.ID
	}
	if s.adjust != nil && note == "" {
		note = s.adjust.Closing()
	}
	if note != cutShort {
		of.Taken, of.Note, of.Who = true, note, who
	}
	k.last(of)
	before, written := s.lastWrite, make(chan struct{})
	s.writing[entry.ID], s.lastWrite = written, written
	s.finishing.Go(func() {
		defer close(written)
		err := s.write(k, before, entry, of, note, who)
		s.mu.Lock()
		defer s.mu.Unlock()
		delete(s.writing, entry.ID)
		if err == nil {
			return
		}
		s.trouble = notKept(err)
		if s.kept[place] == entry.ID {
			delete(s.kept, place)
			if s.round != nil {
				s.round.Reopen(place)
			}
		}
		s.show()
	})
}

// write puts a finished sound into the record, with the reading that the kept
// file gives: after the one before it, so that the record has them in their order.
func (s *Sitting) write(k *keeper, before <-chan struct{}, entry beatwright.Entry, of keptOf, note, who string) error {
	name, err := k.end()
	if before != nil {
		<-before
	}
	if err != nil {
		return err
	}
	return s.bench.writeHeard(context.Background(), name, entry, of, note, who)
}

// writeHeard writes a kept sound's hearing and reading in one change, then
// forgets what incoming still has of it.
func (b *Bench) writeHeard(ctx context.Context, name files.Name, entry beatwright.Entry, of keptOf, note, who string) error {
	p, err := b.Job(ctx, string(of.Job))
	if err != nil {
		return err
	}
	h := &beatwright.Hearing{
		Entry: entry, Job: of.Job, Round: of.Round, Position: of.Position, Repeat: of.Repeat, Sound: string(name),
		From: of.Device, At: of.At, Note: note,
		Clock: beatwright.Clock{Standing: "uncalibrated", Device: of.Device},
	}
	if r := p.Round(of.Round); r != nil {
		h.State = stateAt(r, of.At)
	}
	res, err := b.readKept(ctx, p, name, h)
	if err != nil {
		return err
	}
	r := &beatwright.Reading{Entry: b.newEntry(), Job: of.Job, Hearing: h.ID, By: b.By, At: b.Now(), Says: res.Reading}
	_, err = b.Apply(ctx, beatwright.Change{Who: who, What: heardWords(h, res.Reading), Job: of.Job, Put: []beatwright.Thing{h, r}})
	if err != nil {
		return err
	}
	b.results.put(r.ID, res)
	if err := b.Folder.Forget(string(entry.ID)); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return nil
}

// stateAt is the state of a round's reading some time after it began: wound
// less by as much.
func stateAt(r *beatwright.Round, at time.Time) beatwright.State {
	st := r.State
	if st.Hours != nil {
		h := *st.Hours + at.Sub(r.At).Hours()
		if h >= 0 {
			st.Hours = &h
		}
	}
	return st
}

// readKept reads a kept sound as a file is read; length and sampling rate of the
// hearing are the file's.
func (b *Bench) readKept(ctx context.Context, p *beatwright.Papers, name files.Name, h *beatwright.Hearing) (measure.Result, error) {
	var res measure.Result
	f, err := b.Folder.Open(name)
	if err != nil {
		return res, err
	}
	defer f.Close()
	in, err := sound.NewReader(ctx, string(name), f)
	if err != nil {
		return res, err
	}
	defer in.Close()
	form := in.Format()
	h.RateHz, h.Seconds = float64(form.Rate), float64(form.Frames)/float64(form.Rate)
	if err := b.working.take(ctx); err != nil {
		return res, err
	}
	defer b.working.give()
	err = b.Hear(ctx, h.From, in, b.options(p, nil), func(r measure.Result) error {
		res = r
		return nil
	})
	res.File = h.From
	return res, err
}

// forget takes the hearing of a place out of the job, to be heard again.
func (s *Sitting) forget(place int, who string) {
	id, ok := s.kept[place]
	if !ok {
		return
	}
	delete(s.kept, place)
	written := s.writing[id]
	s.finishing.Go(func() {
		if written != nil {
			<-written
		}
		err := s.bench.Drop(context.Background(), string(s.job), id, who)
		if err != nil && beatwright.CodeOf(err) != beatwright.Missing {
			s.mu.Lock()
			s.trouble = "The earlier reading could not be taken back: " + err.Error()
			s.mu.Unlock()
		}
	})
}

// ended writes that the round is over, once what it kept is in the record.
func (s *Sitting) ended(who string) {
	if s.keeper != nil {
		s.letGo()
	}
	if s.kind == PickupKind {
		return
	}
	id, at := s.id, s.bench.Now()
	note := ""
	if s.adjust != nil {
		note = s.adjust.Closing()
	}
	before := s.lastWrite
	s.finishing.Go(func() {
		if before != nil {
			<-before
		}
		s.mu.Lock()
		open := s.round != nil && s.round.Phase() != conduct.Ended
		s.mu.Unlock()
		if open {
			return // what could not be written is to be heard again
		}
		err := s.bench.endRound(id, at, note, who)
		if err != nil {
			s.mu.Lock()
			s.trouble = "That the round is over could not be written: " + err.Error()
			s.mu.Unlock()
		}
	})
}

func (b *Bench) endRound(id beatwright.ID, at time.Time, note, who string) error {
	ctx := context.Background()
	r, err := beatwright.Load[*beatwright.Round](ctx, b, beatwright.KindRound, id)
	if err != nil || r.Ended != nil {
		return err
	}
	next := *r
	next.Ended = &at
	if note != "" {
		next.Note = note
	}
	what := "round over: " + string(r.Stage)
	if r.Adjust != nil {
		what = "adjusted " + r.Adjust.Target
		if note != "" {
			what += ": " + note
		}
	}
	_, err = b.Apply(ctx, beatwright.Change{Who: who, What: what, Job: r.Job, Put: []beatwright.Thing{&next}})
	return err
}
