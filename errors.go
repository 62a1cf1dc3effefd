package beatwright

import (
	"errors"
	"fmt"
)

// Code says what sort of trouble an error is; a page and a command each map it
// once.
type Code string

// The codes.
const (
	// Wrong is something that cannot be, given by whoever asked.
	Wrong Code = "wrong"
	// Missing is a thing that is not in the record.
	Missing Code = "missing"
	// Conflict is a thing that was changed by someone else meanwhile.
	Conflict Code = "conflict"
	// Newer is a workshop folder written by a later program.
	Newer Code = "newer"
	// Busy is a folder that another program is writing to.
	Busy Code = "busy"
	// Storage is a disk that would not take it.
	Storage Code = "storage"
)

// Error is trouble that a person can do something about: Text says what is
// wrong and what was kept, Do what to do.
type Error struct {
	Code  Code
	Field string // of what was asked, where one is to blame
	Text  string
	Do    string
	Err   error // behind it, nil if none
}

// Error gives the words on one line.
func (e *Error) Error() string {
	s := e.Text
	if e.Err != nil {
		s += ": " + e.Err.Error()
	}
	if e.Do != "" {
		s += "; " + e.Do
	}
	return s
}

// Unwrap gives the error behind it.
func (e *Error) Unwrap() error { return e.Err }

// CodeOf gives the code of err, or "" for an error that is none of ours.
func CodeOf(err error) Code {
	if e, ok := errors.AsType[*Error](err); ok {
		return e.Code
	}
	return ""
}

// wrong makes an error about a field that cannot be as it was given.
func wrong(field, format string, args ...any) error {
	return &Error{Code: Wrong, Field: field, Text: fmt.Sprintf(format, args...)}
}

// NotFound is the error for a thing that is not in the record.
func NotFound(what, id string) error {
	return &Error{Code: Missing, Text: fmt.Sprintf("there is no %s %s here", what, id)}
}

// Errors of a change.
var (
	// ErrStale is met when a thing was changed since it was read.
	ErrStale = &Error{Code: Conflict, Text: "this was changed meanwhile", Do: "look at it again, then repeat your change"}
	// ErrNothing is met when there is nothing to undo.
	ErrNothing = &Error{Code: Missing, Text: "there is nothing to undo"}
)
