package cli

import (
	"fmt"
	"path/filepath"

	"beatwright/balance"
	"beatwright/estimate"
	"beatwright/internal/plot"
	"beatwright/internal/say"
	"beatwright/measure"
	"beatwright/reading"
	"beatwright/unit"
)

// driftFile is the drawing of a drift. A nil *driftFile draws nothing.
type driftFile struct {
	file  *newFile
	drawn bool
}

func newDriftFile(path string, inputs []string) (*driftFile, error) {
	if err := notAnInput("--plot", path, inputs); err != nil {
		return nil, err
	}
	f, err := createFile(path)
	if err != nil {
		return nil, err
	}
	return &driftFile{file: f}, nil
}

// draw draws what was said, the averaged beat, and the beats of the stretch
// that was measured.
func (d *driftFile) draw(r Result) error {
	if d == nil || r.Watch == nil {
		return nil
	}
	below, err := drift(r).Picture()
	if err != nil {
		return fmt.Errorf("draw the drift of %s: %w", r.File, err)
	}
	name := display(filepath.Base(r.File))
	picture := plot.Stack("Beat profile and drift of "+name, head(name, r.Watch), profile(r).Picture(), below)
	if err := picture.WriteSVG(d.file); err != nil {
		return fmt.Errorf("write %s: %w", d.file.path, err)
	}
	d.drawn = true
	return nil
}

// head says over the drawings what is said of the watch.
func head(name string, w *reading.Watch) *plot.Picture {
	var said []plot.Span
	for i, s := range say.Statements(w) {
		if i > 0 {
			s.Text = " " + s.Text
		}
		said = append(said, plot.Span{Words: s.Text, Strong: s.Sure})
	}
	return plot.Head(name+": "+say.Heard(w)+".", said...)
}

// profile is the averaged beat over the balance's angle, as far as the swing
// is known.
func profile(r Result) plot.Profile {
	w := r.Watch
	f := plot.Profile{Standing: plot.NotTold, Lift: unit.Degrees(w.Lift.Value), Period: unit.Milliseconds(2 * w.BeatTime.Value).Seconds()}
	switch a := w.Amplitude; {
	case a.Value == nil:
	case a.Standing == reading.Measured && a.U95 != nil && a.U95WithLift != nil:
		f.Standing, f.Amplitude = plot.Known, unit.Degrees(*a.Value)
		f.U95, f.U95WithLift = unit.Degrees(*a.U95), unit.Degrees(*a.U95WithLift)
	case a.Standing == reading.AtMost:
		f.Standing, f.Amplitude = plot.AtMost, unit.Degrees(*a.Value)
	}
	if f.Standing != plot.NotTold {
		f.BeatError = balance.BeatErrorAngle(signedBeatError(r).Seconds(), f.Amplitude, f.Period)
	}
	for i, s := range r.Profiles {
		if i < len(f.Sides) {
			f.Sides[i] = plot.Side{
				From: s.From, Cell: s.Cell, FromMiddle: s.FromMiddle, Power: s.Power,
				Unlocking: markAt(s.Unlocking), Impulse: markAt(s.Impulse), Drop: markAt(s.Drop), First: markAt(s.First),
			}
		}
	}
	return f
}

func markAt(m *measure.Mark) *unit.Seconds {
	if m == nil {
		return nil
	}
	return &m.At
}

// signedBeatError is the beat error, below 0 if the first beats come early;
// 0 where it cannot be told. Beats are dated by the whole sound of their side;
// how far its middle, or its drop, lies from that date is where its profile
// begins, less what both sides share.
func signedBeatError(r Result) unit.Milliseconds {
	if r.Watch.BeatError == nil {
		return 0
	}
	e := r.Watch.BeatError.Value
	apart := 0.0
	var late []float64
	for i := 1; i+1 < len(r.Beats); i++ {
		a, b, c := r.Beats[i-1], r.Beats[i], r.Beats[i+1]
		near := c.At-a.At < unit.Milliseconds(3*r.Watch.BeatTime.Value).Seconds()
		if b.Side == 1 && a.Side == 2 && c.Side == 2 && near && !a.Rejected && !b.Rejected && !c.Rejected {
			late = append(late, float64(b.At-(a.At+c.At)/2))
		}
	}
	if len(r.Profiles) == 2 {
		apart = float64(r.Profiles[1].From - r.Profiles[0].From)
	}
	if len(late) > 0 && estimate.Median(late)+apart < 0 {
		e = -e
	}
	return unit.Milliseconds(e)
}

func drift(r Result) plot.Drift {
	w := r.Watch
	d := plot.Drift{BeatError: signedBeatError(r)}
	if w.Rate != nil {
		d.Rate, d.U95, d.Known = unit.SecondsPerDay(w.Rate.Value), unit.SecondsPerDay(w.Rate.U95Statistical), true
	}
	for _, b := range r.Beats {
		if b.At >= w.From && b.At <= w.To {
			d.Beats = append(d.Beats, plot.Beat{At: b.At, First: b.Side == 1, Late: unit.Milliseconds(b.ResidualMs), LeftOut: b.Rejected})
		}
	}
	return d
}

func (d *driftFile) commit() error {
	if d == nil || !d.drawn {
		return nil
	}
	return d.file.commit()
}

func (d *driftFile) discard() {
	if d != nil {
		d.file.discard()
	}
}
