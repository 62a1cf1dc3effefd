package sqlite

import (
	"context"
	"errors"
	"fmt"

	"beatwright"

	driver "modernc.org/sqlite"
	lib "modernc.org/sqlite/lib"
)

// trouble is what a sort of SQLite's errors means to a person.
type trouble struct {
	code     beatwright.Code
	text, do string
}

// troubles go by SQLite's primary result codes. Where the disk fails in the
// middle of a commit, the change is not acknowledged but may be found whole
// after a crash, so the person is asked to look.
var troubles = map[int]trouble{
	lib.SQLITE_FULL:     {beatwright.Storage, "the disk is full", "all that was acknowledged is kept, this is not; make room on the disk, then do it again"},
	lib.SQLITE_READONLY: {beatwright.Storage, "the workshop folder cannot be written to", "all that was acknowledged is kept, this is not; allow writing to the folder, then do it again"},
	lib.SQLITE_CANTOPEN: {beatwright.Storage, "the workshop folder cannot be used", "nothing in it was changed; see that it is there, and that it can be read and written to"},
	lib.SQLITE_PERM:     {beatwright.Storage, "the workshop folder cannot be used", "nothing in it was changed; see that it can be read and written to"},
	lib.SQLITE_IOERR:    {beatwright.Storage, "the disk failed", "all that was acknowledged is kept; copy the folder to another disk, and look whether this is there before you do it again"},
	lib.SQLITE_CORRUPT:  {beatwright.Storage, "the record is damaged", "go back to the last copy of the folder"},
	lib.SQLITE_NOTADB:   {beatwright.Storage, "the record's file is not one of beatwright's, or damaged", "nothing was touched; go back to the last copy of the folder"},
	lib.SQLITE_BUSY:     {beatwright.Busy, "another program holds the record", "end it or wait for it, then try again"},
	lib.SQLITE_LOCKED:   {beatwright.Busy, "another program holds the record", "end it or wait for it, then try again"},
}

// storage puts what went wrong while doing something into words.
func storage(doing string, err error) error {
	switch {
	case err == nil:
		return nil
	case beatwright.CodeOf(err) != "":
		return err
	case errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded):
		return fmt.Errorf("%s: %w", doing, err) // given up by whoever asked
	}
	t := trouble{beatwright.Storage, "it failed", "what was acknowledged before is kept; see that the disk has room and can be written to, then try again"}
	if known, ok := troubles[result(err)]; ok {
		t = known
	}
	return &beatwright.Error{Code: t.code, Text: "could not " + doing + ": " + t.text, Do: t.do, Err: err}
}

// result is SQLite's primary result code, 0 for an error that is not its own.
func result(err error) int {
	if e, ok := errors.AsType[*driver.Error](err); ok {
		return e.Code() & 0xff
	}
	return 0
}
