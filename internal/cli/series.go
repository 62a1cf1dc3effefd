package cli

import (
	"encoding/csv"
	"fmt"
	"math"
	"path/filepath"
	"strconv"
	"strings"

	"beatwright/internal/plot"
	"beatwright/internal/say"
	"beatwright/reading"
	"beatwright/unit"
)

// seriesFile is a long hearing window by window, as CSV or, where its name ends
// in .svg, drawn. A nil *seriesFile takes everything and writes nothing.
type seriesFile struct {
	file  *newFile
	drawn bool
	every unit.Seconds
	all   []Result
}

func newSeriesFile(path string, inputs []string, every unit.Seconds) (*seriesFile, error) {
	if err := notAnInput("--series", path, inputs); err != nil {
		return nil, err
	}
	f, err := createFile(path)
	if err != nil {
		return nil, err
	}
	return &seriesFile{file: f, drawn: strings.EqualFold(filepath.Ext(path), ".svg"), every: every}, nil
}

// add keeps what a window says; not its beats, of which a day has half a
// million.
func (s *seriesFile) add(r Result) {
	if s == nil {
		return
	}
	r.Beats, r.Profiles = nil, nil
	s.all = append(s.all, r)
}

func (s *seriesFile) commit() error {
	if s == nil || len(s.all) == 0 {
		return nil
	}
	write := s.table
	if s.drawn {
		write = func() error { return s.picture().WriteSVG(s.file) }
	}
	if err := write(); err != nil {
		return fmt.Errorf("write %s: %w", s.file.path, err)
	}
	return s.file.commit()
}

func (s *seriesFile) discard() {
	if s != nil {
		s.file.discard()
	}
}

var seriesColumns = []string{
	"from_s", "to_s", "heard", "rate_s_per_day", "rate_u95_statistical", "beat_error_ms", "beat_error_u95",
	"amplitude_deg", "amplitude_u95", "amplitude_standing", "changes",
}

// table writes one row a window, empty where nothing can be told.
func (s *seriesFile) table() error {
	w := csv.NewWriter(s.file)
	if err := w.Write(seriesColumns); err != nil {
		return err
	}
	for i, r := range s.all {
		if err := w.Write(s.row(i, r)); err != nil {
			return err
		}
	}
	w.Flush()
	return w.Error()
}

func (s *seriesFile) row(i int, r Result) []string {
	row := make([]string, len(seriesColumns))
	row[0], row[1] = decimal(float64(s.from(i)), 3), decimal(float64(s.from(i)+s.every), 3)
	row[2] = strconv.FormatBool(r.Watch != nil)
	if r.Watch == nil {
		return row
	}
	if v := r.Watch.Rate; v != nil {
		row[3], row[4] = decimal(v.Value, 3), decimal(v.U95Statistical, 3)
	}
	if v := r.Watch.BeatError; v != nil {
		row[5], row[6] = decimal(v.Value, 4), decimal(v.U95, 4)
	}
	a := r.Watch.Amplitude
	if a.Value != nil {
		row[7] = decimal(*a.Value, 2)
	}
	if a.U95 != nil {
		row[8] = decimal(*a.U95, 2)
	}
	row[9] = string(a.Standing)
	var changes []string
	for _, c := range r.Watch.Changes {
		changes = append(changes, say.Change(c))
	}
	row[10] = strings.Join(changes, "; ")
	return row
}

func (s *seriesFile) from(i int) unit.Seconds { return unit.Seconds(i) * s.every }

// picture draws rate, amplitude and beat error one above another, with what
// happened meanwhile.
func (s *seriesFile) picture() *plot.Picture {
	rate := plot.Quantity{What: "rate", Unit: "s/d", Signed: true}
	swing := plot.Quantity{What: "amplitude", Unit: "°"}
	beat := plot.Quantity{What: "beat error", Unit: "ms"}
	var events []plot.Event
	for i, r := range s.all {
		at := plot.Window{From: s.from(i), To: s.from(i) + s.every, Value: math.NaN()}
		rateAt, swingAt, beatAt := at, at, at
		if w := r.Watch; w != nil {
			if w.Rate != nil {
				rateAt.Value, rateAt.U95 = w.Rate.Value, w.Rate.U95Statistical
			}
			swingAt = swingWindow(at, w.Amplitude)
			if w.BeatError != nil {
				beatAt.Value, beatAt.U95 = w.BeatError.Value, w.BeatError.U95
			}
			for _, c := range w.Changes {
				events = append(events, plot.Event{At: c.At, Words: c.What, Breaks: true})
			}
		}
		rate.Windows, swing.Windows, beat.Windows = append(rate.Windows, rateAt), append(swing.Windows, swingAt), append(beat.Windows, beatAt)
	}
	return plot.Framed(plot.Series{Quantities: []plot.Quantity{rate, swing, beat}, Events: events}.Picture(), 24)
}

func swingWindow(at plot.Window, a reading.Amplitude) plot.Window {
	if a.Value == nil {
		return at
	}
	at.Value, at.AtMost = *a.Value, a.Standing == reading.AtMost
	if a.U95 != nil {
		at.U95 = *a.U95
	}
	return at
}
