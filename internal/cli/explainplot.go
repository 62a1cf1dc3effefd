package cli

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"path/filepath"
	"strings"

	"beatwright/internal/explain"
	"beatwright/internal/plot"
	"beatwright/internal/say"
	"beatwright/movement"
	"beatwright/round"
)

// sheetFile is the drawing of what readings by position say. A nil *sheetFile
// draws nothing.
type sheetFile struct {
	file *newFile
	read bytes.Buffer
}

func newSheetFile(path, readings string) (*sheetFile, error) {
	if path == "" {
		return nil, usageError{err: errors.New("--plot is empty; give a file name")}
	}
	if notAnInput("--plot", path, []string{readings}) != nil {
		return nil, usageError{err: fmt.Errorf("--plot would write over the readings %s; give another name", display(readings))}
	}
	f, err := createFile(path)
	if err != nil {
		return nil, err
	}
	return &sheetFile{file: f}, nil
}

// keeping keeps what is read, to be drawn.
func (f *sheetFile) keeping(in io.Reader) io.Reader {
	if f == nil {
		return in
	}
	return io.TeeReader(in, &f.read)
}

// draw draws what was read, and puts the file in its place.
func (f *sheetFile) draw(o explain.Options) error {
	if f == nil {
		return nil
	}
	rep, err := explain.Read(&f.read, o)
	if err != nil {
		return err
	}
	return f.put(rep, o)
}

// put draws what was worked out, and puts the file in its place.
func (f *sheetFile) put(rep explain.Report, o explain.Options) error {
	if err := roundSheet(rep, o).Picture().WriteSVG(f.file); err != nil {
		return fmt.Errorf("write %s: %w", f.file.path, err)
	}
	return f.file.commit()
}

func (f *sheetFile) discard() {
	if f != nil {
		f.file.discard()
	}
}

// roundSheet is the round that the report's summary is of, beside that of the
// first stage where there are several.
func roundSheet(rep explain.Report, o explain.Options) plot.RoundSheet {
	name := display(filepath.Base(o.Name))
	s := plot.RoundSheet{Title: "By position: " + name, Heard: name + ".", Said: saidOfRound(rep), Crowns: crowns(o.Movement)}
	if rep.Main == nil {
		return s
	}
	s.Heard = name + ": " + rep.Main.State.Words() + "."
	stages := rep.Table.Stages()
	if len(stages) > 1 {
		first := explain.Readings(ofStage(rep.Table, stages[0]), o)
		s.Heard = name + ": " + first.Main.State.Words() + "; then " + rep.Main.State.Words() + "."
		s.Changes = plot.Changes(*first.Main, *rep.Main)
		addState(&s, first, false)
	}
	addState(&s, rep, len(stages) > 1 || !strings.Contains(stages[0], "found"))
	return s
}

func addState(s *plot.RoundSheet, rep explain.Report, left bool) {
	name := rep.Main.State.Stage
	s.Curve.States = append(s.Curve.States, plot.StateOf(name, left, *rep.Main))
	s.Balances = append(s.Balances, plot.BalanceOf(name, left, rep.Poise, rep.Unbalance, rep.WhyNoPoise))
}

func ofStage(t round.Table, stage string) []round.Reading {
	var out []round.Reading
	for _, r := range t.Readings {
		if r.State.Stage == stage {
			out = append(out, r)
		}
	}
	return out
}

func crowns(m *movement.Movement) []float64 {
	if m == nil || m.CrownHour == nil {
		return nil
	}
	return []float64{*m.CrownHour}
}

// saidOfRound is the sentence over the drawing: the mean, then the spread,
// semibold what is told.
func saidOfRound(rep explain.Report) []plot.Span {
	mean, spread := rep.Sum.MeanRate, rep.Sum.Spread
	if rep.Main == nil || mean == nil {
		return []plot.Span{{Words: "The rate cannot be told."}}
	}
	said := plot.Span{Words: "On the mean, within " + say.Unit(say.Uncertainty(math.Abs(mean.Value)+mean.U95()), "s") + " a day"}
	if mean.Clear() {
		verb := "Gaining "
		if mean.Value < 0 {
			verb = "Losing "
		}
		said = plot.Span{Words: verb + say.Unit(say.Value(math.Abs(mean.Value), mean.U95()), "s") + " a day on the mean", Strong: true}
	}
	switch {
	case spread == nil:
		said.Words += " of one position."
		return []plot.Span{said}
	case !spread.Clear():
		return []plot.Span{said, {Words: "; no position is told from another."}}
	}
	said.Words += ", "
	return []plot.Span{said, {Words: say.Unit(say.Value(spread.Value, spread.U95()), "s") + " a day between " +
		spread.Slowest.String() + " and " + spread.Fastest.String() + ".", Strong: true}}
}
