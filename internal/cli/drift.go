package cli

import (
	"fmt"
	"path/filepath"

	"beatwright/internal/plot"
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

// draw draws what was said, the averaged beat, the beats of the stretch that was
// measured, and the escape wheel's teeth and the waves of the swing where they were
// told.
func (d *driftFile) draw(r Result) error {
	if d == nil || r.Watch == nil {
		return nil
	}
	below, err := plot.DriftOf(r).Picture()
	if err != nil {
		return fmt.Errorf("draw the drift of %s: %w", r.File, err)
	}
	name := display(filepath.Base(r.File))
	pictures := []*plot.Picture{plot.HeadOf(name+": ", r.Watch), plot.ProfileOf(r).Picture(), below}
	if t, ok := plot.TeethOf(r); ok {
		pictures = append(pictures, t.Picture())
	}
	for _, t := range plot.SwingTurnsOf(r) {
		pictures = append(pictures, t.Picture())
	}
	if err := plot.Stack("Beat profile and drift of "+name, pictures...).WriteSVG(d.file); err != nil {
		return fmt.Errorf("write %s: %w", d.file.path, err)
	}
	d.drawn = true
	return nil
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
