package cli

import (
	"fmt"
	"path/filepath"

	"beatwright/internal/plot"
	"beatwright/internal/say"
	"beatwright/reading"
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
	below, err := plot.DriftOf(r).Picture()
	if err != nil {
		return fmt.Errorf("draw the drift of %s: %w", r.File, err)
	}
	name := display(filepath.Base(r.File))
	picture := plot.Stack("Beat profile and drift of "+name, head(name, r.Watch), plot.ProfileOf(r).Picture(), below)
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
