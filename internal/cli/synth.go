package cli

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"beatwright/sound"
	"beatwright/synth"
	"beatwright/unit"
)

type synthCmd struct {
	Out           string   `arg:"" name:"OUT" help:"OUT.wav or OUT.flac; - is a WAV on standard output."`
	Truth         *string  `placeholder:"FILE.json" help:"Write what the watch truly did, beat by beat."`
	Scene         *string  `placeholder:"FILE.json" help:"Begin with this scene, as a truth file holds it."`
	Kind          *string  `placeholder:"NAME" help:"Begin with a scene drawn at random: ${kinds}."`
	Other         *string  `placeholder:"NAME" help:"No watch, but another sound, such as rain, babble or music."`
	Seed          *uint64  `placeholder:"N" help:"Another seed gives other random draws."`
	Duration      *string  `placeholder:"DUR" help:"Length, such as 30s (so it is without it) or 2m."`
	Sampling      *float64 `placeholder:"HZ" help:"Samples a second (48000)."`
	Encoding      *string  `placeholder:"ENCODING" help:"Of a WAV: s16le, s24le (so it is without it) or f32le."`
	BeatsPerHour  *float64 `placeholder:"N" help:"Beats per hour (28800)."`
	Rate          *float64 `placeholder:"S/D" help:"Rate, seconds a day; + gains (0)."`
	BeatError     *float64 `placeholder:"MS" help:"Beat error, half the difference of alternate beats, ms (0)."`
	Amplitude     *float64 `placeholder:"DEG" help:"Amplitude, degrees (270)."`
	AmplitudeWave *string  `placeholder:"DEG/DUR" help:"The amplitude rises and falls by DEG with each DUR, as a fault of a wheel makes it: 4/60s (none)."`
	Lift          *float64 `placeholder:"DEG" help:"Lift angle, degrees (52)."`
	Jitter        *float64 `placeholder:"MS" help:"Random displacement of each beat, ms rms (0)."`
	Noise         *float64 `placeholder:"DB" help:"White noise so far below the drop, dB (none)."`
	ClockPPM      *float64 `name:"clock-ppm" placeholder:"PPM" help:"Error of the recorder's clock, ppm (0)."`
}

func (c *synthCmd) run(s *session) error {
	scene, err := c.scene()
	if err != nil {
		return err
	}
	encoding, err := c.encoding()
	if err != nil {
		return usageError{err: err}
	}
	for _, side := range []*string{c.Truth, c.Scene} {
		if side != nil && filepath.Clean(*side) == filepath.Clean(c.Out) {
			return usageError{err: fmt.Errorf("%s is named twice; give the sound a name of its own", c.Out)}
		}
	}
	stream, err := synth.NewStream(scene)
	if err != nil {
		return usageError{err: err}
	}
	stream.KeepBeats = c.Truth != nil
	return c.write(s, stream, encoding)
}

// scene is what shall be heard: a file's, a kind's, or a plain one, with the
// flags put on top.
func (c *synthCmd) scene() (synth.Scene, error) {
	scene, err := c.base()
	if err != nil {
		return scene, err
	}
	if err := c.change(&scene); err != nil {
		return scene, usageError{err: err}
	}
	if err := scene.Validate(); err != nil {
		return scene, usageError{err: err}
	}
	return scene, nil
}

func (c *synthCmd) base() (synth.Scene, error) {
	var scene synth.Scene
	given := 0
	for _, f := range []*string{c.Scene, c.Kind, c.Other} {
		if f != nil {
			given++
		}
	}
	switch {
	case given > 1:
		return scene, usageError{err: errors.New("--scene, --kind and --other exclude one another; give one")}
	case c.Scene != nil:
		return readScene(*c.Scene)
	case c.Kind != nil:
		kind, err := synth.ParseKind(*c.Kind)
		if err != nil {
			return scene, usageError{err: err}
		}
		seed := uint64(0)
		if c.Seed != nil {
			seed = *c.Seed
		}
		return kind.Scene(seed), nil
	case c.Other != nil:
		scene.Others = []synth.Other{{Kind: *c.Other}}
		return scene, nil
	}
	scene.Watch = &synth.Watch{}
	return scene, nil
}

// change puts the flags on the scene.
func (c *synthCmd) change(scene *synth.Scene) error {
	if c.Seed != nil {
		scene.Seed = *c.Seed
	}
	if c.Duration != nil {
		d, err := time.ParseDuration(*c.Duration)
		if err != nil || d <= 0 {
			return fmt.Errorf("--duration is %q; want a length of time such as 30s or 2m", *c.Duration)
		}
		scene.Duration = unit.Seconds(d.Seconds())
	}
	if c.Noise != nil {
		scene.Noise = []synth.Noise{{SNR: unit.Decibels(*c.Noise)}}
	}
	return errors.Join(
		set(&scene.Rate, c.Sampling, "--sampling", positive),
		set(&scene.ClockPPM, c.ClockPPM, "--clock-ppm", number),
		c.changeWatch(scene),
	)
}

var errNoWatch = errors.New("the scene has no watch, but flags speak of one; leave one or the other away")

// parseWave reads a wave of the amplitude as degrees and period.
func parseWave(s string) (synth.Wave, error) {
	size, period, _ := strings.Cut(s, "/")
	deg, err := strconv.ParseFloat(size, 64)
	d, errPeriod := time.ParseDuration(period)
	if err != nil || errPeriod != nil || !finite(deg) || deg < 0 || d <= 0 {
		return synth.Wave{}, fmt.Errorf("--amplitude-wave is %q; want degrees and a length of time such as 4/60s", s)
	}
	return synth.Wave{Period: unit.Seconds(d.Seconds()), Swing: unit.Degrees(deg)}, nil
}

func (c *synthCmd) changeWatch(scene *synth.Scene) error {
	watch := scene.Watch
	if watch == nil {
		for _, f := range []*float64{c.BeatsPerHour, c.Rate, c.BeatError, c.Amplitude, c.Lift, c.Jitter} {
			if f != nil {
				return errNoWatch
			}
		}
		if c.AmplitudeWave != nil {
			return errNoWatch
		}
		return nil
	}
	if w := c.AmplitudeWave; w != nil {
		wave, err := parseWave(*w)
		if err != nil {
			return err
		}
		watch.Waves = append(watch.Waves, wave)
	}
	return errors.Join(
		set(&watch.BeatsPerHour, c.BeatsPerHour, "--beats-per-hour", positive),
		set(&watch.Rate, c.Rate, "--rate", number),
		set(&watch.BeatError, c.BeatError, "--beat-error", number),
		set(&watch.Swing.Start, c.Amplitude, "--amplitude", positive),
		set(&watch.Lift, c.Lift, "--lift", positive),
		set(&watch.Jitter.Centre, c.Jitter, "--jitter", notNegative),
	)
}

// set puts a flag's value into a field, if it was given and can be meant.
func set[T ~float64](field *T, v *float64, flag string, check func(float64) string) error {
	if v == nil {
		return nil
	}
	if want := check(*v); want != "" {
		return fmt.Errorf("%s is %v; want %s", flag, *v, want)
	}
	*field = T(*v)
	return nil
}

func number(v float64) string {
	if !finite(v) {
		return "a number"
	}
	return ""
}

func positive(v float64) string {
	if !finite(v) || v <= 0 {
		return "a number above 0"
	}
	return ""
}

func notNegative(v float64) string {
	if !finite(v) || v < 0 {
		return "a number from 0 on"
	}
	return ""
}

// largestScene is the most a scene or truth file may hold, bytes (chosen: a
// truth of an hour of beats is a third of that).
const largestScene = 64 << 20

// readScene reads a scene, or the scene of a truth file.
func readScene(path string) (synth.Scene, error) {
	fail := func(err error) (synth.Scene, error) {
		return synth.Scene{}, unreadableError{fmt.Errorf("read scene %s: %w", path, err)}
	}
	f, err := os.Open(path)
	if err != nil {
		return fail(errors.Unwrap(err))
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, largestScene+1))
	if err != nil {
		return fail(err)
	}
	if len(data) > largestScene {
		return fail(fmt.Errorf("larger than %d bytes: this is no scene", largestScene))
	}
	var truth struct {
		Scene json.RawMessage `json:"scene"`
	}
	if err := json.Unmarshal(data, &truth); err != nil {
		return fail(err)
	}
	if truth.Scene != nil {
		data = truth.Scene
	}
	var scene synth.Scene
	dec := json.NewDecoder(bytes.NewReader(data))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&scene); err != nil {
		return fail(err)
	}
	if err := scene.Validate(); err != nil {
		return fail(err)
	}
	return scene, nil
}

func (c *synthCmd) encoding() (sound.Encoding, error) {
	name := "s24le"
	if c.Encoding != nil {
		name = *c.Encoding
	}
	switch strings.ToLower(filepath.Ext(c.Out)) {
	case ".wav":
	case ".flac":
		if c.Encoding != nil {
			return 0, errors.New("--encoding is for WAV; a FLAC is always written with 24 bits")
		}
	default:
		if c.Out != "-" {
			return 0, fmt.Errorf("OUT is %q; want a name that ends in .wav or .flac, or - for standard output", c.Out)
		}
	}
	return sound.ParseEncoding(name)
}

// write makes the sound and its truth; neither appears unless both are whole.
func (c *synthCmd) write(s *session, stream *synth.Stream, encoding sound.Encoding) error {
	var truth *newFile
	var err error
	if c.Truth != nil {
		if truth, err = createFile(*c.Truth); err != nil {
			return err
		}
		defer truth.discard()
	}
	if err := c.writeSound(s, stream, encoding); err != nil {
		return err
	}
	if truth == nil {
		return nil
	}
	enc := json.NewEncoder(truth)
	enc.SetIndent("", " ")
	if err := enc.Encode(stream.Truth()); err != nil {
		return fmt.Errorf("write %s: %w", truth.path, err)
	}
	return truth.commit()
}

// soundWriter is what the WAV and the FLAC writer have in common.
type soundWriter interface {
	Write(frames []float32) error
	Close() error
}

func (c *synthCmd) writeSound(s *session, stream *synth.Stream, encoding sound.Encoding) error {
	if c.Out == "-" {
		if s.IsTerminal(s.stdout) {
			return usageError{err: errors.New("standard output is a terminal; send the sound to a program or name a file")}
		}
		w, err := newSoundWriter(c.Out, s.stdout, stream, encoding)
		if err != nil {
			return err
		}
		return c.copy(s, stream, w)
	}
	f, err := createFile(c.Out)
	if err != nil {
		return err
	}
	defer f.discard()
	w, err := newSoundWriter(c.Out, f.File, stream, encoding)
	if err != nil {
		return err
	}
	if err := c.copy(s, stream, w); err != nil {
		return err
	}
	return f.commit()
}

func newSoundWriter(name string, w io.Writer, stream *synth.Stream, encoding sound.Encoding) (soundWriter, error) {
	if strings.EqualFold(filepath.Ext(name), ".flac") {
		return sound.NewFLACWriter(w, sound.Format{Rate: stream.Rate(), Channels: stream.Channels()})
	}
	return sound.NewWAVWriter(w, sound.RawFormat{Encoding: encoding, Rate: stream.Rate(), Channels: stream.Channels()})
}

// copy passes the sound on, block by block.
func (c *synthCmd) copy(s *session, stream *synth.Stream, w soundWriter) error {
	p := newProgress(s, 1)
	defer p.clear()
	tell := p.watch("making " + display(c.Out))
	total := unit.Seconds(float64(stream.Frames()) / float64(stream.Rate()))
	buf := make([]float32, 1<<14*stream.Channels())
	for frames := int64(0); ; {
		n, err := stream.Read(buf)
		if err == io.EOF {
			return w.Close()
		}
		if err == nil {
			err = w.Write(buf[:n])
		}
		if err == nil {
			err = s.ctx.Err()
		}
		if err != nil {
			return err
		}
		frames += int64(n / stream.Channels())
		tell(unit.Seconds(float64(frames)/float64(stream.Rate())), total)
	}
}

// kindNames lists the kinds of scene for the help.
func kindNames() string {
	var names []string
	for _, k := range synth.Kinds() {
		names = append(names, k.Name)
	}
	return strings.Join(names, ", ")
}
