package live

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"
	"time"

	"beatwright"
	"beatwright/internal/files"
	"beatwright/internal/say"
	"beatwright/measure"
	"beatwright/movement"
	"beatwright/position"
	"beatwright/reading"
	"beatwright/sound"
	"beatwright/unit"
)

// Recording is sound that came to a job.
type Recording struct {
	// Name is what the sound was called, Sound the sound itself.
	Name  string
	Sound io.Reader
	// Position is how the watch lay, empty if not known.
	Position string
	State    beatwright.State
	// Stage is when in the job it was heard; empty: as the job's state says.
	Stage beatwright.Stage
	// Lift is the lift angle, nil for what is known of the movement.
	Lift *unit.Degrees
	Note string
	// At is when it was heard; zero: now.
	At  time.Time
	Who string
	// Progress is told how much was heard, and of how much (0: unknown).
	Progress func(done, total unit.Seconds)
}

// MaxSound is the most that is kept of one recording: 24 hours of one channel
// at 48 kHz and 24 bits, uncompressed.
const MaxSound = 13 << 30

// Keep measures a recording, keeps it as FLAC, and writes hearing and reading
// into the job. A sound in which no watch was heard is kept too, with the
// reason; a sound that cannot be read is refused and nothing is kept of it.
func (b *Bench) Keep(ctx context.Context, job string, rec Recording) (*beatwright.Hearing, *beatwright.Reading, error) {
	p, err := b.Job(ctx, job)
	if err != nil {
		return nil, nil, err
	}
	h, err := b.hearing(p, rec)
	if err != nil {
		return nil, nil, err
	}
	if err := b.working.take(ctx); err != nil {
		return nil, nil, err
	}
	defer b.working.give()
	res, err := b.keepSound(ctx, p, h, rec)
	if err != nil {
		return nil, nil, err
	}
	r := &beatwright.Reading{Entry: b.newEntry(), Job: p.Job.ID, Hearing: h.ID, By: b.By, At: b.Now(), Says: res.Reading}
	put := []beatwright.Thing{h, r}
	if round := b.roundFor(p, h, rec.Stage); round != nil {
		h.Round = round.ID
		if round.Rev == 0 {
			put = append([]beatwright.Thing{round}, put...)
		}
	}
	_, err = b.Apply(ctx, beatwright.Change{Who: rec.Who, What: heardWords(h, res.Reading), Job: p.Job.ID, Put: put})
	if err != nil {
		return nil, nil, err
	}
	b.results.put(r.ID, res)
	return h, r, nil
}

func (b *Bench) hearing(p *beatwright.Papers, rec Recording) (*beatwright.Hearing, error) {
	h := &beatwright.Hearing{
		Entry: b.newEntry(), Job: p.Job.ID, State: rec.State, From: baseName(rec.Name), At: b.Now(), Note: rec.Note,
		Clock: beatwright.Clock{Standing: "uncalibrated"},
	}
	if !rec.At.IsZero() {
		h.At = rec.At
	}
	if rec.Position != "" {
		pos, err := position.Parse(rec.Position)
		if err != nil {
			return nil, &beatwright.Error{Code: beatwright.Wrong, Field: "position", Text: "position", Err: err}
		}
		h.Position = pos.String()
	}
	if rec.Stage != "" && !slices.Contains(beatwright.Stages, rec.Stage) {
		return nil, &beatwright.Error{Code: beatwright.Wrong, Field: "stage", Text: fmt.Sprintf("stage: %q is no stage", rec.Stage)}
	}
	if rec.Lift != nil {
		if err := movement.CheckLift(*rec.Lift); err != nil {
			return nil, &beatwright.Error{Code: beatwright.Wrong, Field: "lift_deg", Text: "lift_deg", Err: err}
		}
	}
	return h, h.Check()
}

// baseName is the last part of what a sound was called, whatever the system
// it came from parts its paths with.
func baseName(name string) string {
	if i := strings.LastIndexAny(name, `/\`); i >= 0 {
		name = name[i+1:]
	}
	if len(name) > 200 {
		name = name[:200]
	}
	return strings.ToValidUTF8(name, "")
}

// keepSound reads the sound once: what the engine hears is what is kept.
func (b *Bench) keepSound(ctx context.Context, p *beatwright.Papers, h *beatwright.Hearing, rec Recording) (measure.Result, error) {
	var res measure.Result
	in, err := sound.NewReader(ctx, h.From, rec.Sound)
	if err != nil {
		return res, unreadable(err)
	}
	defer in.Close()
	spool, err := os.CreateTemp("", "beatwright-*.flac")
	if err != nil {
		return res, disk(err)
	}
	defer os.Remove(spool.Name())
	defer spool.Close()
	tee, err := newTee(in, spool)
	if err != nil {
		return res, unreadable(err)
	}
	o := b.options(p, rec.Lift)
	o.Progress = rec.Progress
	err = b.Hear(ctx, h.From, tee, o, func(r measure.Result) error {
		res = r
		return nil
	})
	if err != nil {
		return res, unreadable(err)
	}
	if err := tee.finish(); err != nil {
		return res, disk(err)
	}
	f := in.Format()
	h.Lossy, h.RateHz, h.Seconds = f.Lossy, float64(f.Rate), float64(tee.frames)/float64(f.Rate)
	if _, err := spool.Seek(0, io.SeekStart); err != nil {
		return res, disk(err)
	}
	name, err := b.Folder.Put(files.FLAC, spool, MaxSound)
	if err != nil {
		return res, err
	}
	h.Sound = string(name)
	res.File = h.From
	return res, nil
}

func unreadable(err error) error {
	if errors.Is(err, sound.ErrUnreadable) {
		return &beatwright.Error{Code: beatwright.Wrong, Field: "sound", Text: "the sound cannot be read", Err: err, Do: "nothing was kept of it"}
	}
	return err
}

func disk(err error) error {
	return &beatwright.Error{Code: beatwright.Storage, Text: "keep the sound", Err: err, Do: "nothing was kept of it; make room on the disk and try again"}
}

// options are what is known of the watch before it is heard.
func (b *Bench) options(p *beatwright.Papers, lift *unit.Degrees) measure.Options {
	var o measure.Options
	if p.Movement != nil {
		o.Movement = &p.Movement.Facts
	}
	if lift != nil {
		o.Lift, o.LiftU95, o.LiftStanding = lift, movement.StatedLiftU95, reading.Given
	}
	return o
}

// roundGap is how long after its last hearing a round still takes another one
// of the same state by itself (chosen: a round with its settling takes less).
const roundGap = 2 * time.Hour

// roundFor finds the round that a hearing belongs to, or makes one.
func (b *Bench) roundFor(p *beatwright.Papers, h *beatwright.Hearing, stage beatwright.Stage) *beatwright.Round {
	if stage == "" {
		stage = p.Job.DefaultStage()
	}
	for i := len(p.Rounds) - 1; i >= 0; i-- {
		r := p.Rounds[i]
		if r.Stage == stage && r.Ended == nil && alike(r.State, h.State) && h.At.Sub(lastHeard(p, r)) < roundGap {
			return r
		}
	}
	return &beatwright.Round{Entry: b.newEntry(), Job: p.Job.ID, Stage: stage, State: h.State, At: h.At}
}

func lastHeard(p *beatwright.Papers, r *beatwright.Round) time.Time {
	at := r.At
	for _, h := range p.Hearings {
		if h.Round == r.ID && h.At.After(at) {
			at = h.At
		}
	}
	return at
}

// alike tells whether two states are of one round: wound alike (within 6
// hours, chosen: a quarter of a day) and with the chronograph alike.
func alike(a, b beatwright.State) bool {
	if (a.Hours == nil) != (b.Hours == nil) || a.Chronograph != b.Chronograph {
		return false
	}
	if a.Hours == nil {
		return true
	}
	d := *a.Hours - *b.Hours
	return d > -6 && d < 6
}

// heardWords are the words of a hearing in the history.
func heardWords(h *beatwright.Hearing, r reading.Reading) string {
	where := ""
	if h.Position != "" {
		where = " " + h.Position
	}
	if r.Watch == nil {
		return "heard" + where + ": no watch, " + r.Refusal.Why
	}
	return "heard" + where + ": " + say.Together(r.Watch)
}
