package files

import (
	"errors"
	"fmt"
	"io/fs"
	"math"

	"beatwright"
)

// What errors.Is finds behind the errors of this package. All but ErrNotThere
// and ErrName come inside a *beatwright.Error, whose words are for a person.
var (
	// ErrFull: no room on the disk.
	ErrFull = errors.New("the disk is full")
	// ErrReadOnly: the disk, or this opening of the folder, takes no writing.
	ErrReadOnly = errors.New("not to be written to")
	// ErrDisk: any other trouble with the disk.
	ErrDisk = errors.New("the disk failed")
	// ErrTooLarge: more bytes came than were allowed.
	ErrTooLarge = errors.New("too large")
	// ErrName: not a name that this package gives.
	ErrName = errors.New("not the name of a kept file")
	// ErrNotThere: a good name, and no such file.
	ErrNotThere = fmt.Errorf("no such file: %w", fs.ErrNotExist)
)

// BusyError says who writes to a folder already.
type BusyError struct {
	Dir    string
	Holder Holder // may be empty, if it has not said yet
}

func (e *BusyError) Error() string {
	switch h := e.Holder; {
	case h.Address != "":
		return fmt.Sprintf("%s is open at %s (process %d)", e.Dir, h.Address, h.Process)
	case h.Process != 0:
		return fmt.Sprintf("%s is open in process %d", e.Dir, h.Process)
	}
	return e.Dir + " is open in another program"
}

// busy makes the whole error about a folder that another program has.
func busy(dir string, h Holder) error {
	do := "end the other one first"
	if h.Address != "" {
		do = "use it at " + h.Address + ", or end it first"
	}
	return &beatwright.Error{
		Code: beatwright.Busy, Text: "this workshop folder is in use by another program", Do: do,
		Err: &BusyError{dir, h},
	}
}

// storage says in words what a disk answered to doing something; nil for nil.
func storage(doing string, err error) error {
	if err == nil {
		return nil
	}
	if _, ok := errors.AsType[*beatwright.Error](err); ok {
		return err // it has its words
	}
	e := &beatwright.Error{Code: beatwright.Storage}
	var kind error
	switch {
	case isAny(err, fullErrors):
		kind, e.Text = ErrFull, "the disk is full; what was acknowledged is kept"
		e.Do = "free some space and try again"
	case isAny(err, readOnlyErrors), errors.Is(err, fs.ErrPermission):
		kind, e.Text = ErrReadOnly, "the workshop folder cannot be written to; what was acknowledged is kept"
		e.Do = "allow writing there, or move the folder, and try again"
	default:
		kind, e.Text = ErrDisk, "the disk failed; what was acknowledged before is kept"
		e.Do = "copy the workshop folder to another disk, then look at this one"
	}
	e.Err = &cause{kind, fmt.Errorf("%s: %w", doing, err)}
	return e
}

// cause is a particular error that is also one of the kinds above.
type cause struct{ kind, err error }

func (c *cause) Error() string   { return c.err.Error() }
func (c *cause) Unwrap() []error { return []error{c.kind, c.err} }

func isAny(err error, of []error) bool {
	for _, e := range of {
		if errors.Is(err, e) {
			return true
		}
	}
	return false
}

func tooLarge(limit int64) error {
	return &beatwright.Error{
		Code: beatwright.Wrong,
		Text: fmt.Sprintf("the file is larger than %s; nothing of it was kept", bytesText(limit)),
		Do:   "give a smaller one", Err: ErrTooLarge,
	}
}

// bytesText is a size as a person reads it.
func bytesText(n int64) string {
	switch {
	case n >= 1<<30 && n%(1<<30) == 0:
		return fmt.Sprintf("%d GiB", n>>30)
	case n >= 1<<20 && n%(1<<20) == 0:
		return fmt.Sprintf("%d MiB", n>>20)
	}
	return fmt.Sprintf("%d bytes", n)
}

func clampInt64(n uint64) int64 { return int64(min(n, math.MaxInt64)) }
