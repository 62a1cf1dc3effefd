package cli

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"regexp"

	"beatwright/internal/explain"
	"beatwright/unit"
)

type explainCmd struct {
	Readings    string   `arg:"" name:"READINGS.csv" help:"A table of readings, one position a row; - is standard input; YEAR-NNN is a job of the workshop."`
	Folder      *string  `env:"BEATWRIGHT_FOLDER" placeholder:"DIR" help:"The workshop folder of a job (a place of its own in your home folder without it)."`
	Movement    *string  `placeholder:"FILE.json" help:"What is known of the movement: lift, train, crown."`
	ClockU95PPM *float64 `name:"clock-u95-ppm" placeholder:"PPM" help:"95 % doubt of the recording device's clock (47.5, never checked)."`
	JSON        bool     `help:"Print one JSON object."`
	Plot        *string  `placeholder:"FILE.svg" help:"Draw the rate by position and where the balance is heavy, on one sheet; with several stages the first beside the last."`
}

// mostClock is the largest doubt of a clock taken, ppm (chosen: a clock so
// bad is 14 minutes a day off, and broken).
const mostClock = 10000

// jobNumber is how jobs are named.
var jobNumber = regexp.MustCompile(`^[0-9]{4}-[0-9]{3,}$`)

func (c *explainCmd) run(s *session) error {
	if jobNumber.MatchString(c.Readings) {
		return c.explainJob(s)
	}
	o := explain.Options{Name: display(c.Readings), JSON: c.JSON}
	if v := c.ClockU95PPM; v != nil {
		if !(*v >= 0 && *v <= mostClock) {
			return usageError{err: fmt.Errorf("--clock-u95-ppm is %v; want 0 to %d", *v, mostClock)}
		}
		o.ClockU95 = new(unit.PPM(*v))
	}
	if c.Movement != nil {
		m, err := readMovement(s, *c.Movement)
		if err != nil {
			return err
		}
		o.Movement = m
	}
	in, err := c.open(s)
	if err != nil {
		return err
	}
	defer in.Close()
	var sheet *sheetFile
	if c.Plot != nil {
		if sheet, err = newSheetFile(*c.Plot, c.Readings); err != nil {
			return err
		}
		defer sheet.discard()
	}
	var out bytes.Buffer
	if err := explain.Run(&out, sheet.keeping(in), o); err != nil {
		if errors.Is(err, s.ctx.Err()) {
			return s.ctx.Err()
		}
		return err
	}
	if err := sheet.draw(o); err != nil {
		return err
	}
	return s.print(out.String())
}

func (c *explainCmd) open(s *session) (io.ReadCloser, error) {
	switch c.Readings {
	case "":
		return nil, usageError{err: errors.New("an empty file name was given; name a table of readings, or - for standard input")}
	case "-":
		return io.NopCloser(interruptible(s.ctx, s.stdin)), nil
	}
	f, err := os.Open(c.Readings)
	if err != nil {
		return nil, unreadableError{fmt.Errorf("read readings: %w; check the name and the permissions", err)}
	}
	if info, err := f.Stat(); err == nil && info.IsDir() {
		_ = f.Close()
		return nil, unreadableError{fmt.Errorf("read readings: %s is a folder; name the table in it", c.Readings)}
	}
	return f, nil
}
