package sound

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
)

// ErrUnreadable is what errors.Is finds in every error of this package that
// comes from the input: wrong kind, broken, not there, not permitted.
var ErrUnreadable = errors.New("unreadable input")

// Error says what input could not be read, why, and what to do; one line.
// It is ErrUnreadable to errors.Is.
type Error struct {
	Name string // file name or the name given for a stream
	What string // what is wrong
	Do   string // what to do about it; may be empty
	Err  error  // cause; may be nil
}

func (e *Error) Error() string {
	s := "read " + plainName(e.Name) + ": " + e.What
	if e.Do != "" {
		s += "; " + e.Do
	}
	return s
}

// Unwrap gives the cause.
func (e *Error) Unwrap() error { return e.Err }

// Is reports ErrUnreadable as matching.
func (e *Error) Is(target error) bool { return target == ErrUnreadable }

// unreadable makes an Error; args belong to what.
func unreadable(name, what, do string, args ...any) *Error {
	return &Error{Name: name, What: fmt.Sprintf(what, args...), Do: do}
}

// because makes an Error from a cause.
func because(name, what, do string, err error) *Error {
	return &Error{Name: name, What: what + ": " + oneLine(err.Error()), Do: do, Err: err}
}

// plainName quotes a name that would break the line.
func plainName(name string) string {
	if strings.IndexFunc(name, func(r rune) bool { return r < ' ' || r == 0x7f || r == 0xFFFD }) >= 0 {
		return strconv.Quote(name)
	}
	return name
}

// oneLine keeps a foreign message on one line of sane length.
func oneLine(s string) string {
	s = strings.Join(strings.Fields(s), " ")
	if len(s) > 300 {
		s = strings.ToValidUTF8(s[:300], "") + "…"
	}
	return s
}
