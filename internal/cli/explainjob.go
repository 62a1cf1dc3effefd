package cli

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"beatwright"
	"beatwright/internal/explain"
	"beatwright/internal/live"
	"beatwright/internal/sqlite"
)

// explainJob says what the readings of a job mean together. The folder is
// only read, beside a bench that may be writing to it.
func (c *explainCmd) explainJob(s *session) error {
	if c.Movement != nil || c.ClockU95PPM != nil {
		return usageError{err: errors.New("a job knows its movement and its clock; leave --movement and --clock-u95-ppm out")}
	}
	p, err := c.papers(s)
	if err != nil {
		return err
	}
	o := explain.Options{Name: p.Job.Number, Movement: live.Facts(p)}
	rep := live.Explain(p)
	if len(rep.Table.Readings) == 0 {
		return said{s.tell(fmt.Sprintf("job %s has no reading in a position yet; hear it, or say on the page how it lay", p.Job.Number))}
	}
	if c.Plot != nil {
		sheet, err := newSheetFile(*c.Plot, "")
		if err != nil {
			return err
		}
		defer sheet.discard()
		if err := sheet.put(rep, o); err != nil {
			return err
		}
	}
	if c.JSON {
		b, err := json.Marshal(rep)
		if err != nil {
			return fmt.Errorf("write what %s says: %w", p.Job.Number, err)
		}
		return s.print(string(b) + "\n")
	}
	var out strings.Builder
	if err := rep.WriteText(&out); err != nil {
		return err
	}
	return s.print(out.String())
}

// tell complains and gives the status of an input of no use.
func (s *session) tell(msg string) int {
	s.complain(msg)
	return statusUnreadable
}

// papers reads the job that the argument names.
func (c *explainCmd) papers(s *session) (*beatwright.Papers, error) {
	dir, err := folderOf(c.Folder)
	if err != nil {
		return nil, err
	}
	if _, err := os.Stat(filepath.Join(dir, sqlite.File)); errors.Is(err, fs.ErrNotExist) {
		return nil, unreadableError{fmt.Errorf("read job %s: there is no workshop in %s; name its folder with --folder or BEATWRIGHT_FOLDER", c.Readings, display(dir))}
	}
	record, err := sqlite.Open(s.ctx, dir, sqlite.Options{ReadOnly: true, Now: s.Now})
	if err != nil {
		return nil, err
	}
	defer record.Close()
	p, err := record.Job(s.ctx, c.Readings)
	if beatwright.CodeOf(err) == beatwright.Missing {
		return nil, unreadableError{fmt.Errorf("read job: there is no job %s in %s", c.Readings, display(dir))}
	}
	return p, err
}
