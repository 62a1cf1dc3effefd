// Package beatwright is the vocabulary of the record: owners, watches, jobs and
// all that is found, heard, noted and done while a watch is at the bench.
//
// It holds what these things are and what may not be (Check), what a change to
// them is (Change), and what whoever keeps them promises (Record). It stores
// nothing itself, draws nothing, and knows no sound: a hearing is a file's name
// and what was said of it. The words are those of docs/terms.md.
package beatwright

import (
	"crypto/rand"
	"encoding/base32"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"strings"
	"time"
)

// ID names one thing for ever. IDs sort by the time they were made.
type ID string

// ids are written without padding, in lower case, so that they can stand in an
// address and be read aloud.
var ids = base32.NewEncoding("0123456789abcdefghjkmnpqrstvwxyz").WithPadding(base32.NoPadding)

// NewID makes an ID at the moment now: 48 bits of milliseconds, 72 of chance.
func NewID(now time.Time) ID {
	var b [15]byte
	var ms [8]byte
	binary.BigEndian.PutUint64(ms[:], uint64(now.UnixMilli()))
	copy(b[:6], ms[2:])
	rand.Read(b[6:]) // never fails since Go 1.24: it ends the program instead
	return ID(ids.EncodeToString(b[:]))
}

// Valid tells whether id has the form of one that NewID made, or of a name
// given by the program itself ("workshop").
func (id ID) Valid() bool {
	return id != "" && len(id) <= 64 && strings.Trim(string(id), "0123456789abcdefghijklmnopqrstuvwxyz_-") == ""
}

// Kind is what a thing is.
type Kind string

// The kinds of thing the record keeps.
const (
	KindWorkshop  Kind = "workshop"
	KindOwner     Kind = "owner"
	KindMovement  Kind = "movement"
	KindWatch     Kind = "watch"
	KindJob       Kind = "job"
	KindFinding   Kind = "finding"
	KindFunction  Kind = "function_check"
	KindHandCheck Kind = "hand_check"
	KindRound     Kind = "round"
	KindHearing   Kind = "hearing"
	KindReading   Kind = "reading"
	KindNote      Kind = "note"
	KindPicture   Kind = "picture"
	KindMove      Kind = "move"
	KindQuestion  Kind = "question"
)

// Kinds are all of them.
var Kinds = []Kind{
	KindWorkshop, KindOwner, KindMovement, KindWatch, KindJob, KindFinding, KindFunction, KindHandCheck,
	KindRound, KindHearing, KindReading, KindNote, KindPicture, KindMove, KindQuestion,
}

// Key says which thing is meant.
type Key struct {
	Kind Kind `json:"kind"`
	ID   ID   `json:"id"`
}

// Entry is what every thing has: its ID, and Rev, how often it was written (0
// before it is kept). A thing is only replaced by one of the same Rev, so that
// two hands cannot overwrite each other unseen.
type Entry struct {
	ID  ID  `json:"id"`
	Rev int `json:"rev"`
}

// Header gives the entry itself.
func (e *Entry) Header() *Entry { return e }

// Links are the things a thing belongs to or speaks of; the record holds that
// they exist.
type Links struct {
	Owner, Watch, Movement, Job, Round, Hearing ID
}

// Thing is anything the record keeps.
type Thing interface {
	// Header gives ID and Rev.
	Header() *Entry
	// Kind says what it is.
	Kind() Kind
	// Links says what must exist before it can.
	Links() Links
	// Check tells what in it cannot be, in words for a person.
	Check() error
}

// KeyOf gives the key of a thing.
func KeyOf(t Thing) Key { return Key{t.Kind(), t.Header().ID} }

// makers give an empty thing of each kind.
var makers = map[Kind]func() Thing{
	KindWorkshop:  func() Thing { return new(Workshop) },
	KindOwner:     func() Thing { return new(Owner) },
	KindMovement:  func() Thing { return new(Movement) },
	KindWatch:     func() Thing { return new(Watch) },
	KindJob:       func() Thing { return new(Job) },
	KindFinding:   func() Thing { return new(Finding) },
	KindFunction:  func() Thing { return new(FunctionCheck) },
	KindHandCheck: func() Thing { return new(HandCheck) },
	KindRound:     func() Thing { return new(Round) },
	KindHearing:   func() Thing { return new(Hearing) },
	KindReading:   func() Thing { return new(Reading) },
	KindNote:      func() Thing { return new(Note) },
	KindPicture:   func() Thing { return new(Picture) },
	KindMove:      func() Thing { return new(Move) },
	KindQuestion:  func() Thing { return new(Question) },
}

// Read makes a thing of kind from its JSON.
func Read(kind Kind, body []byte) (Thing, error) {
	empty, ok := makers[kind]
	if !ok {
		return nil, fmt.Errorf("read a %q: no such kind of thing", kind)
	}
	t := empty()
	if err := json.Unmarshal(body, t); err != nil {
		return nil, fmt.Errorf("read a %s: %w", kind, err)
	}
	return t, nil
}
