// Package measure turns dated beats into a reading: rate, beat error and
// amplitude, each with its 95 % uncertainty and standing, or the plain reason
// why none can be given.
//
// It is the one door from sound to reading: file, replay and live sound pass
// the same engine (package beat), and every reading of a stretch is made from
// that stretch's segments. It keeps no record and knows no owner.
//
// Sources at the line; how each figure comes about is told in docs/method.md.
package measure

import (
	"context"
	"errors"
	"fmt"
	"math"

	"beatwright/beat"
	"beatwright/dsp"
	"beatwright/movement"
	"beatwright/reading"
	"beatwright/sound"
	"beatwright/unit"
)

// Options are what is known beforehand. The zero value assumes a lift angle
// of 52 ± 4° and finds the beat rate by itself.
type Options struct {
	// Lift is the lift angle, nil if not known; LiftU95 its uncertainty and
	// LiftStanding where it comes from (given if empty).
	Lift         *unit.Degrees
	LiftU95      unit.Degrees
	LiftStanding reading.Standing
	// BeatsPerHour is the nominal beat rate, nil to find it.
	BeatsPerHour *unit.BeatsPerHour
	// Movement is what is known of the movement; Lift and BeatsPerHour go
	// before it.
	Movement *movement.Movement
	// Every asks for one reading a whole window of this length instead of one
	// of all.
	Every unit.Seconds
	// EveryBeat keeps the beats of hours one by one, for a list of them.
	EveryBeat bool
	// Progress is told how much was heard, and of how much (0: unknown).
	Progress func(done, total unit.Seconds)
}

// Result is one reading with what stands behind it.
type Result struct {
	reading.Reading
	// Beats are all that were looked for, in order.
	Beats []Beat
	// Profiles are the averaged beats of the first and the second side, empty
	// where no watch was heard.
	Profiles []Profile
}

// Beat is one beat of a result.
type Beat struct {
	// At is the moment that its side's averaged sound dates, from the first
	// sample; ResidualMs has the trend of the middles taken in.
	At         unit.Seconds
	Side       int // 1 or 2
	ResidualMs float64
	Rejected   bool
	Reason     string
}

// Sound reads r to its end and gives emit one reading, or one for every whole
// window. A sound in which no watch is heard is a reading too.
func Sound(ctx context.Context, name string, r sound.Reader, o Options, emit func(Result) error) error {
	h, err := listen(ctx, r, o)
	if errors.Is(err, sound.ErrUnreadable) {
		return err // names the sound and what to do itself
	}
	if err != nil {
		return fmt.Errorf("read %s: %w", name, err)
	}
	for _, res := range h.results(name, o) {
		if err := emit(res); err != nil {
			return err
		}
	}
	return nil
}

// hearing is a sound that was heard to its end.
type hearing struct {
	format   sound.Format
	length   unit.Seconds
	engine   *beat.Engine
	level    level
	changes  []reading.Change // insertions, gaps
	warnings []string
	known    *part // the sounds of the last window whose swing was measured
	course   course
	judged   []*judgement // all stretches, nil before one is asked for
}

// listen passes all of r through the engine.
func listen(ctx context.Context, r sound.Reader, o Options) (*hearing, error) {
	f := r.Format()
	h := &hearing{format: f, engine: beat.New(f.Rate, f.Channels)}
	h.engine.KeepBeats = o.EveryBeat
	h.course.lift = liftOf(o).angle
	h.engine.Watch(h.course.see)
	if o.Every > 0 {
		h.engine.SegmentEvery(segmentFor(o.Every))
	}
	if err := h.hear(ctx, r, o.Progress); err != nil {
		return nil, err
	}
	h.warnings = r.Warnings()
	return h, nil
}

// heard is sound made ready for the engine, out of a count of frames.
type heard struct {
	filtered *beat.Filtered // nil if there was too little
	frames   int64
}

// hear reads, looks through and filters the sound ahead of following its
// beats.
func (h *hearing) hear(ctx context.Context, r sound.Reader, progress func(done, total unit.Seconds)) error {
	f := h.format
	door := sound.NewDoor(f)
	var frames, cut int64
	take := func(p sound.Piece) {
		if p.CutBefore > 0 {
			ms := 1e3 * float64(p.CutBefore) / float64(f.Rate)
			h.changes = append(h.changes, reading.Change{At: seconds(p.At-p.CutBefore-cut, f), What: reading.Insertion, Ms: &ms})
			cut += p.CutBefore
		}
		h.level.add(p.Samples)
		h.engine.Take(p.Samples)
	}
	prepare := func(x []float32) heard {
		frames += int64(len(x) / f.Channels)
		door.Push(x, take)
		return heard{h.engine.Filter(), frames}
	}
	follow := func(x heard) {
		if x.filtered != nil {
			h.engine.Follow(x.filtered)
		}
		if progress != nil {
			progress(seconds(x.frames, f), seconds(max(f.Frames, 0), f))
		}
	}
	if err := ahead(ctx, r, prepare, follow); err != nil {
		return err
	}
	door.Flush(take)
	for last := h.engine.Filter(); last != nil; last = h.engine.Filter() {
		follow(heard{last, frames})
	}
	h.engine.Close()
	h.length = seconds(frames-cut, f)
	return nil
}

func seconds(frames int64, f sound.Format) unit.Seconds {
	return unit.Seconds(float64(frames) / float64(f.Rate))
}

// segmentFor gives the length of segments so that whole windows are whole
// numbers of segments, two at least in five seconds: of one alone it is not seen that
// the swing falls, and the edge of its averaged first sound is that of the lowest.
func segmentFor(every unit.Seconds) unit.Seconds {
	const longest = 2.5
	return every / unit.Seconds(math.Ceil(float64(every)/longest))
}

// level watches how loud the samples are.
type level struct {
	n, full int64
	sum     float64
	peak    float32
}

func (l *level) add(x []float32) {
	const block = 1024
	l.n += int64(len(x))
	for len(x) > 0 {
		n := min(block, len(x))
		l.block(x[:n])
		x = x[n:]
	}
}

func (l *level) block(x []float32) {
	squares, peak := dsp.Level(x)
	l.sum += squares
	l.peak = max(l.peak, peak)
	if peak < fullScale {
		return
	}
	for _, v := range x {
		if max(v, -v) >= fullScale {
			l.full++
		}
	}
}

// fullScale is where a sample counts as clipped: within one step of 16 bits.
const fullScale = 1 - 1.0/32768

func (l *level) clipped() bool { return l.full > 16 }

func (l *level) rms() float64 { return math.Sqrt(l.sum / math.Max(1, float64(l.n))) }
