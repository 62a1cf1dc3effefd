package cli

import (
	"bufio"
	"encoding/csv"
	"fmt"
	"os"
	"strconv"
)

// beatsFile writes one row a beat, those left out with their reason. A nil
// *beatsFile takes everything and writes nothing.
type beatsFile struct {
	file *newFile
	buf  *bufio.Writer
	csv  *csv.Writer
	rows int
}

var beatsColumns = []string{"file", "at_s", "side", "residual_ms", "rejected", "reason"}

func newBeatsFile(path string, inputs []string) (*beatsFile, error) {
	if err := notAnInput("--beats", path, inputs); err != nil {
		return nil, err
	}
	f, err := createFile(path)
	if err != nil {
		return nil, err
	}
	b := &beatsFile{file: f, buf: bufio.NewWriter(f)}
	b.csv = csv.NewWriter(b.buf)
	return b, b.csv.Write(beatsColumns)
}

// notAnInput keeps a slip of the hand from replacing a recording.
func notAnInput(flag, path string, inputs []string) error {
	out, err := os.Stat(path)
	if err != nil || !out.Mode().IsRegular() {
		return nil
	}
	for _, in := range inputs {
		if info, err := os.Stat(in); err == nil && os.SameFile(out, info) {
			return usageError{err: fmt.Errorf("%s would write over the sound file %s; give another name", flag, in)}
		}
	}
	return nil
}

func (b *beatsFile) add(r Result) error {
	if b == nil {
		return nil
	}
	for _, beat := range r.Beats {
		row := []string{
			r.File,
			strconv.FormatFloat(float64(beat.At), 'f', 6, 64),
			strconv.Itoa(beat.Side),
			decimal(beat.ResidualMs, 4),
			strconv.FormatBool(beat.Rejected),
			beat.Reason,
		}
		if err := b.csv.Write(row); err != nil {
			return fmt.Errorf("write %s: %w", b.file.path, err)
		}
		b.rows++
	}
	return nil
}

// decimal leaves the cell empty where there is no number.
func decimal(v float64, places int) string {
	if !finite(v) {
		return ""
	}
	return strconv.FormatFloat(v, 'f', places, 64)
}

// commit puts the file in its place if any beat was heard.
func (b *beatsFile) commit() error {
	if b == nil || b.rows == 0 {
		return nil
	}
	b.csv.Flush()
	if err := b.csv.Error(); err != nil {
		return fmt.Errorf("write %s: %w", b.file.path, err)
	}
	if err := b.buf.Flush(); err != nil {
		return fmt.Errorf("write %s: %w", b.file.path, err)
	}
	return b.file.commit()
}

func (b *beatsFile) discard() {
	if b != nil {
		b.file.discard()
	}
}
