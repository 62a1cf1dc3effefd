package cli

import (
	"fmt"
	"path/filepath"

	"beatwright/internal/plot"
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

// draw draws the beats of the stretch that was measured.
func (d *driftFile) draw(r Result) error {
	if d == nil || r.Watch == nil {
		return nil
	}
	picture, err := drift(r).Picture()
	if err != nil {
		return fmt.Errorf("draw the drift of %s: %w", r.File, err)
	}
	if beat, err := profile(r).Picture(); err == nil {
		picture = plot.Stack(beat, picture)
	}
	if err := picture.WriteSVG(d.file); err != nil {
		return fmt.Errorf("write %s: %w", d.file.path, err)
	}
	d.drawn = true
	return nil
}

// profile is the averaged beat over the balance's angle, as far as the swing
// is known.
func profile(r Result) plot.Profile {
	w := r.Watch
	f := plot.Profile{Name: display(filepath.Base(r.File)), Standing: plot.NotTold, Lift: unit.Degrees(w.Lift.Value), Period: unit.Milliseconds(2 * w.BeatTime.Value).Seconds()}
	switch a := w.Amplitude; {
	case a.Standing == reading.Measured && a.Value != nil && a.U95 != nil:
		f.Standing, f.Amplitude, f.U95 = plot.Known, unit.Degrees(*a.Value), unit.Degrees(*a.U95)
	case a.Standing == reading.AtMost && a.Value != nil:
		f.Standing, f.Amplitude = plot.AtMost, unit.Degrees(*a.Value)
	}
	if e := w.BeatError; e != nil && e.Degrees != nil {
		f.BeatError = unit.Degrees(e.Degrees.Value)
	}
	for i, s := range r.Profiles {
		if i < len(f.Sides) && s.FromMiddle == (f.Standing == plot.Known) {
			f.Sides[i] = plot.Side{From: s.From, Cell: s.Cell, Power: s.Power, Unlocking: markAt(s.Unlocking), Impulse: markAt(s.Impulse), Drop: markAt(s.Drop), First: markAt(s.First)}
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

func drift(r Result) plot.Drift {
	w := r.Watch
	d := plot.Drift{Name: display(filepath.Base(r.File))}
	if w.Rate != nil {
		d.Rate, d.U95, d.Known = unit.SecondsPerDay(w.Rate.Value), unit.SecondsPerDay(w.Rate.U95Statistical), true
	}
	if w.BeatError != nil {
		d.BeatError = unit.Milliseconds(w.BeatError.Value)
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
