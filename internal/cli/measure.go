package cli

import (
	"context"
	"errors"
	"fmt"
	"math"
	"runtime/debug"
	"time"

	"beatwright/movement"
	"beatwright/reading"
	"beatwright/sound"
	"beatwright/unit"
)

type measureCmd struct {
	Files        []string `arg:"" name:"FILE" help:"Sound files; - is standard input."`
	Lift         *float64 `placeholder:"DEG" help:"Lift angle of the balance, degrees (assumed 52 ± 4 without it)."`
	BeatsPerHour *float64 `placeholder:"N" help:"The watch's beats per hour (found from the sound without it)."`
	Movement     *string  `placeholder:"FILE.json" help:"What is known of the movement: lift, train, escapement."`
	Every        *string  `placeholder:"DUR" help:"A reading of each whole stretch of this length, such as 30s or 2m."`
	JSON         bool     `help:"One JSON object a line."`
	Beats        *string  `placeholder:"FILE.csv" help:"Write every beat: when, which side, how far off, why left out."`
	Plot         *string  `placeholder:"FILE.svg" help:"Draw the averaged beat over the balance's angle, and how far the watch runs ahead or behind."`
	Series       *string  `placeholder:"FILE" help:"With --every: rate, amplitude and beat error over time, as CSV, or drawn where FILE ends in .svg."`
	Profile      bool     `help:"Draw the averaged beat with characters, as is done on a terminal."`
	Raw          *string  `placeholder:"ENCODING" help:"The sound has no header: s16le, s24le or f32le; with --rate and --channels."`
	Rate         *float64 `placeholder:"HZ" help:"Samples a second of raw sound."`
	Channels     *int     `placeholder:"N" help:"Channels of raw sound."`
}

// shortestEvery is the shortest stretch --every takes: eight beats, the least
// evidence of a reading, need 0.8 s at 36 000 an hour.
const shortestEvery = time.Second

// tightMemory, bytes, is what the program aims to stay within while it
// measures, whatever the length: what is in use is under 30 MB, and beyond it
// unused memory is taken back at once. It is no bound: a sound of many channels
// may need more.
const tightMemory = 38 << 20

func (c *measureCmd) run(s *session) error {
	defer debug.SetMemoryLimit(debug.SetMemoryLimit(tightMemory))
	o, raw, err := c.settings(s)
	if err != nil {
		return err
	}
	m := &hearing{session: s, options: o, raw: raw, progress: newProgress(s, len(c.Files))}
	m.out = c.printer(m)
	if c.Beats != nil {
		if m.beats, err = newBeatsFile(*c.Beats, c.Files); err != nil {
			return err
		}
		defer m.beats.discard()
	}
	if c.Plot != nil {
		if m.drift, err = newDriftFile(*c.Plot, c.Files); err != nil {
			return err
		}
		defer m.drift.discard()
	}
	if c.Series != nil {
		if m.series, err = newSeriesFile(*c.Series, c.Files, o.Every); err != nil {
			return err
		}
		defer m.series.discard()
	}
	return m.all(c.Files)
}

// settings checks the flags and makes the engine's options of them.
func (c *measureCmd) settings(s *session) (Options, *sound.RawFormat, error) {
	var o Options
	raw, err := c.rawFormat()
	if err != nil {
		return o, nil, usageError{err: err}
	}
	if err := c.checkFlags(); err != nil {
		return o, nil, usageError{err: err}
	}
	if o.Every, err = parseEvery(c.Every); err != nil {
		return o, nil, usageError{err: err}
	}
	if c.Movement != nil {
		if o.Movement, err = readMovement(s, *c.Movement); err != nil {
			return o, nil, err
		}
	}
	o.EveryBeat = c.Beats != nil
	o.BeatsPerHour = c.beatsPerHour(o.Movement)
	o.Lift, o.LiftU95, o.LiftStanding = c.lift(o.Movement)
	return o, raw, nil
}

func (c *measureCmd) checkFlags() error {
	stdin := 0
	for _, f := range c.Files {
		switch f {
		case "":
			return errors.New("an empty file name was given; name a sound file, or - for standard input")
		case "-":
			stdin++
		}
	}
	if stdin > 1 {
		return errors.New("standard input (-) was given twice; it can be heard only once")
	}
	if c.Lift != nil {
		if err := movement.CheckLift(unit.Degrees(*c.Lift)); err != nil {
			return fmt.Errorf("--lift: %w degrees", err)
		}
	}
	if c.BeatsPerHour != nil {
		if err := movement.CheckBeats(unit.BeatsPerHour(*c.BeatsPerHour)); err != nil {
			return fmt.Errorf("--beats-per-hour: %w", err)
		}
	}
	for flag, v := range map[string]*string{"--movement": c.Movement, "--beats": c.Beats, "--plot": c.Plot, "--series": c.Series} {
		if v != nil && *v == "" {
			return fmt.Errorf("%s is empty; give a file name", flag)
		}
	}
	if c.Plot != nil && (len(c.Files) > 1 || c.Every != nil) {
		return errors.New("--plot draws one reading; give one file, and no --every")
	}
	if c.Series != nil && (len(c.Files) > 1 || c.Every == nil) {
		return errors.New("--series is one hearing over time; give one file, and --every, for instance --every 1m")
	}
	if c.Profile && (len(c.Files) > 1 || c.Every != nil || c.JSON) {
		return errors.New("--profile draws one reading in words; give one file, and neither --every nor --json")
	}
	return nil
}

func (c *measureCmd) rawFormat() (*sound.RawFormat, error) {
	if c.Raw == nil {
		if c.Rate != nil || c.Channels != nil {
			return nil, errors.New("--rate and --channels are for sound without a header; add --raw s16le, s24le or f32le")
		}
		return nil, nil
	}
	enc, err := sound.ParseEncoding(*c.Raw)
	if err != nil {
		return nil, fmt.Errorf("--raw: %w", err)
	}
	if c.Rate == nil || c.Channels == nil {
		return nil, errors.New("--raw needs --rate HZ and --channels N beside it, for instance --rate 48000 --channels 1")
	}
	if r := unit.Hertz(*c.Rate); !(r >= sound.MinRate && r <= sound.MaxRate) {
		return nil, fmt.Errorf("--rate is %v; want %v to %v samples a second", *c.Rate, float64(sound.MinRate), float64(sound.MaxRate))
	}
	if n := *c.Channels; n < 1 || n > sound.MaxChannels {
		return nil, fmt.Errorf("--channels is %d; want 1 to %d", n, sound.MaxChannels)
	}
	return &sound.RawFormat{Encoding: enc, Rate: unit.Hertz(*c.Rate), Channels: *c.Channels}, nil
}

// parseEvery reads the length of a stretch; nothing given is 0, the whole.
func parseEvery(s *string) (unit.Seconds, error) {
	if s == nil {
		return 0, nil
	}
	d, err := time.ParseDuration(*s)
	if err != nil {
		return 0, fmt.Errorf("--every is %q; want a length of time such as 30s or 2m", *s)
	}
	if d < shortestEvery || d > 24*time.Hour {
		return 0, fmt.Errorf("--every is %s; want 1s to 24h", *s)
	}
	return unit.Seconds(d.Seconds()), nil
}

func (c *measureCmd) beatsPerHour(m *movement.Movement) *unit.BeatsPerHour {
	switch {
	case c.BeatsPerHour != nil:
		return new(unit.BeatsPerHour(*c.BeatsPerHour))
	case m != nil:
		return m.BeatsPerHour
	}
	return nil
}

// lift gives the lift angle to reckon with, nil to leave the engine its
// assumption. The flag goes before the movement file.
func (c *measureCmd) lift(m *movement.Movement) (*unit.Degrees, unit.Degrees, reading.Standing) {
	if c.Lift != nil {
		m = &movement.Movement{Lift: new(unit.Degrees(*c.Lift))}
	}
	lift, u95, standing, ok := m.KnownLift()
	if !ok {
		return nil, 0, ""
	}
	return &lift, u95, reading.Standing(standing)
}

// hearing is one run of measure over its files.
type hearing struct {
	*session
	options  Options
	raw      *sound.RawFormat
	out      printer
	beats    *beatsFile
	drift    *driftFile
	series   *seriesFile
	progress *progress
}

// all hears every file, whatever becomes of the ones before, and ends with
// the highest status.
func (m *hearing) all(files []string) error {
	worst := statusDone
	for i, name := range files {
		st, err := m.file(i, name)
		m.progress.clear()
		if err != nil {
			return err
		}
		worst = max(worst, st)
	}
	if err := m.out.done(); err != nil {
		return err
	}
	if err := errors.Join(m.beats.commit(), m.drift.commit(), m.series.commit()); err != nil {
		return err
	}
	if worst != statusDone {
		return said{worst}
	}
	return nil
}

// file hears one file. Its error is one that ends the whole run.
func (m *hearing) file(i int, name string) (int, error) {
	windows, heard := 0, 0
	fatal := error(nil)
	emit := func(r Result) error {
		windows++
		if r.Watch != nil {
			heard++
		}
		fatal = m.print(name, r)
		return fatal
	}
	err := m.listen(i, name, emit)
	switch {
	case fatal != nil:
		return statusFailed, fatal
	case m.ctx.Err() != nil:
		return statusFailed, context.Canceled
	case err != nil:
		return m.fault(name, err)
	case windows == 0:
		m.progress.clear()
		m.complain(fmt.Sprintf("%s is shorter than one stretch of --every; nothing was measured, give a shorter one", display(name)))
		return statusNoWatch, nil
	case heard == 0:
		return statusNoWatch, nil
	}
	return statusDone, nil
}

func (m *hearing) listen(i int, name string, emit func(Result) error) error {
	r, err := m.open(name)
	if err != nil {
		return err
	}
	o := m.options
	o.Progress = m.progress.of(i, name, r.Format())
	return errors.Join(m.Hear(m.ctx, name, r, o, emit), r.Close())
}

// fault says once what went wrong with a file, and in JSON too.
func (m *hearing) fault(name string, err error) (int, error) {
	m.progress.clear()
	m.complain(err.Error())
	st := status(err)
	if st == statusUnreadable {
		fault := reading.Fault{Error: oneLine(err.Error()), Code: reading.Unreadable}
		return st, m.out.reading(Result{Reading: reading.Reading{File: name, Fault: &fault}})
	}
	return st, nil
}

func (m *hearing) print(name string, r Result) error {
	if r.File == "" {
		r.File = name
	}
	m.progress.clear()
	m.series.add(r)
	if err := errors.Join(m.beats.add(r), m.drift.draw(r)); err != nil {
		return err
	}
	return m.out.reading(r)
}

// display is how a file is called to a person.
func display(name string) string {
	if name == "-" {
		return "standard input"
	}
	return printable(name)
}

// finite tells whether v is a number.
func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
