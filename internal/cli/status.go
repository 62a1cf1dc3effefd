package cli

import (
	"context"
	"errors"

	"beatwright/internal/explain"
	"beatwright/internal/reckoning"
	"beatwright/sound"
)

// Exit status of every command.
const (
	statusDone       = 0
	statusFailed     = 1
	statusUsage      = 2 // arguments that cannot be meant
	statusNoWatch    = 3 // the sound was read, and no watch is heard in it
	statusUnreadable = 4 // an input is not there, not permitted or of no use
)

// usageError is a wrong use of the command line.
type usageError struct {
	err  error
	hint string
}

func (e usageError) Error() string {
	if e.hint == "" {
		return e.err.Error()
	}
	return e.err.Error() + "; " + e.hint
}

func (e usageError) Unwrap() error { return e.err }

// unreadableError is an input other than sound that cannot be used.
type unreadableError struct{ err error }

func (e unreadableError) Error() string { return e.err.Error() }
func (e unreadableError) Unwrap() error { return e.err }

// said ends a run with a status after everything has been said already.
type said struct{ status int }

func (said) Error() string { return "" }

// message is what is still to be said about err, or nothing.
func message(err error) string {
	var done said
	switch {
	case err == nil || errors.As(err, &done):
		return ""
	case errors.Is(err, context.Canceled):
		return "stopped before the end; no file was written"
	}
	return err.Error()
}

// status maps an error to the exit status, in this one place.
func status(err error) int {
	var done said
	var usage usageError
	var unreadable unreadableError
	var table *explain.BadInput
	switch {
	case err == nil:
		return statusDone
	case errors.As(err, &done):
		return done.status
	case errors.As(err, &usage), errors.Is(err, reckoning.ErrUsage):
		return statusUsage
	case errors.As(err, &unreadable), errors.As(err, &table), errors.Is(err, sound.ErrUnreadable):
		return statusUnreadable
	}
	return statusFailed
}
