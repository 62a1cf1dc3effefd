package cli_test

import (
	"bytes"
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"beatwright/internal/cli"
	"beatwright/reading"
	"beatwright/sound"
	"beatwright/unit"
)

// The tests here start the whole program with an engine that says what it is
// told to: they hold the arguments, the output and the exit status. The
// scripts in testdata hold the same with the real engine.

// ran is what one run of the program left.
type ran struct {
	status      int
	out, err    string
	asked       []cli.Options
	names       []string
	soundFrames int
}

// engine answers by the name of the sound.
type engine map[string][]cli.Result

func (e engine) hear(r *ran) cli.HearFunc {
	return func(_ context.Context, name string, s sound.Reader, o cli.Options, emit func(cli.Result) error) error {
		r.asked = append(r.asked, o)
		r.names = append(r.names, name)
		buf := make([]float32, 4096*s.Format().Channels)
		for {
			n, err := s.Read(buf)
			r.soundFrames += n
			if errors.Is(err, io.EOF) {
				break
			}
			if err != nil {
				return err
			}
		}
		for _, res := range e[filepath.Base(name)] {
			res.File = name
			if err := emit(res); err != nil {
				return err
			}
		}
		return nil
	}
}

func run(t *testing.T, e engine, stdin string, args ...string) ran {
	t.Helper()
	var r ran
	p := cli.New()
	p.Hear = e.hear(&r)
	var out, errs bytes.Buffer
	r.status = p.Run(t.Context(), args, strings.NewReader(stdin), &out, &errs)
	r.out, r.err = out.String(), errs.String()
	return r
}

// plain undoes the typesetting of spaces.
func plain(s string) string { return strings.NewReplacer("\u00a0", " ", "\u2009", " ").Replace(s) }

// wav writes a WAV of silence and gives its path.
func wav(t *testing.T, dir, name string) string {
	t.Helper()
	path := filepath.Join(dir, name)
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	w, err := sound.NewWAVWriter(f, sound.RawFormat{Encoding: sound.S16LE, Rate: 48000, Channels: 1})
	if err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(w.Write(make([]float32, 4800)), w.Close(), f.Close()); err != nil {
		t.Fatal(err)
	}
	return path
}

// heard is an invented reading, written as in DESIGN's contract.
func heard() cli.Result {
	return cli.Result{
		Reading: reading.Reading{Watch: &reading.Watch{
			From: 0.4, To: 30, BeatsPerHour: new(unit.BeatsPerHour(18000)), Beats: 148, BeatsRejected: 2,
			BeatTime:  reading.Clocked{Value: 199.9132, U95: 0.0095, U95Statistical: 0.00014},
			Rate:      &reading.Clocked{Value: 37.5, U95: 4.104, U95Statistical: 0.06},
			BeatError: &reading.BeatError{Value: 1.24, U95: 0.03, By: "drop"},
			Amplitude: reading.Amplitude{Standing: reading.AtMost, Value: new(123.2), Why: "no unlocking was heard above the noise"},
			Lift:      reading.Lift{Value: 52, U95: 4, Standing: reading.Assumed},
			Clock:     reading.Clock{Standing: reading.Uncalibrated, U95PPM: 47.5},
			Periodic:  []reading.Periodicity{{Period: 6, PeakMs: 0.15, U95: 0.03, Chance: 1e-6, Wheels: []string{"escape"}}},
			Changes:   []reading.Change{{At: 12.2, What: reading.PhaseStep, Ms: new(-57.0)}},
			Signal:    reading.Signal{SNR: 24.1},
			Warnings:  []string{"less than two turns of the fourth wheel were heard"},
		}},
		Beats: []cli.Beat{
			{At: 0.4, Side: 1, ResidualMs: 0.0123},
			{At: 0.6, Side: 2, ResidualMs: -0.02, Rejected: true, Reason: "bump, louder than a beat"},
		},
	}
}

func refused() cli.Result {
	return cli.Result{Reading: reading.Reading{Refusal: &reading.Refusal{Code: reading.Noise, Why: "noise without a beat in it"}}}
}

// ticking is a clock that has moved on by a step at each look.
func ticking(step time.Duration) func() time.Time {
	now := time.Unix(0, 0)
	return func() time.Time {
		now = now.Add(step)
		return now
	}
}
