package beatwright

import (
	"fmt"
	"slices"
	"strings"

	"beatwright/movement"
)

// Watch is the object on the bench, with its marks as found.
type Watch struct {
	Entry
	Owner ID `json:"owner,omitempty"`
	// Movement is the one of the workshop's library that it holds, if known.
	Movement ID `json:"movement,omitempty"`
	// Called is what the workshop calls it, Says what its dial and case say.
	Called string `json:"called,omitempty"`
	Says   string `json:"marks,omitempty"`
	// What says what kind of watch it is, as one says it: "automatic alarm
	// with date".
	What string `json:"kind,omitempty"`
	// Case and Works are the numbers on case and movement.
	Case  string `json:"case_number,omitempty"`
	Works string `json:"movement_number,omitempty"`
	About string `json:"about,omitempty"` // when it was made, as far as known
	// Crown is the hour at which the crown sits, where it is not the
	// movement's.
	Crown *float64 `json:"crown_hour,omitempty"`
	// Lume is what the luminous paint is: none, unknown, radium, tritium, later.
	Lume string `json:"lume,omitempty"`
	Note string `json:"note,omitempty"`
}

// Kind says what it is.
func (*Watch) Kind() Kind { return KindWatch }

// Links gives owner and movement.
func (w *Watch) Links() Links { return Links{Owner: w.Owner, Movement: w.Movement} }

// Name is what the watch is called on a page: what the workshop calls it, else
// its marks, else its kind.
func (w *Watch) Name() string {
	for _, s := range []string{w.Called, firstLine(w.Says), w.What} {
		if s = strings.TrimSpace(s); s != "" {
			return s
		}
	}
	return "a watch without marks"
}

func firstLine(s string) string {
	line, _, _ := strings.Cut(s, "\n")
	return line
}

// Lumes are the words for luminous paint. Unknown is treated as radium until
// it is measured (common practice).
var Lumes = []string{"none", "unknown", "radium", "tritium", "later"}

// Check holds the crown's place and the paint to what they can be.
func (w *Watch) Check() error {
	if c := w.Crown; c != nil && (*c <= 0 || *c > 12 || 2**c != float64(int(2**c))) {
		return wrong("watch.crown_hour", "%v is no hour; halves from 0.5 to 12 are", *c)
	}
	if w.Lume != "" && !slices.Contains(Lumes, w.Lume) {
		return wrong("watch.lume", "%q is no luminous paint; %s are", w.Lume, strings.Join(Lumes, ", "))
	}
	if w.Says == "" && w.Called == "" && w.What == "" {
		return wrong("watch", "say at least what kind of watch it is, or what is written on it")
	}
	return tooLong("watch", w.Called, w.Says, w.What, w.Case, w.Works, w.About, w.Note)
}

// Movement is an entry of the workshop's library: what is known of a movement,
// and from where. No maker's data comes with the program.
type Movement struct {
	Entry
	Facts movement.Movement `json:"facts"`
	// Source says where the facts are from, Standing how they stand as a
	// whole; the lift angle has its own.
	Source   string   `json:"source,omitempty"`
	Standing Standing `json:"standing,omitempty"`
	// Generic marks the kinds that come with the program.
	Generic bool   `json:"generic,omitempty"`
	Note    string `json:"note,omitempty"`
}

// Standing is where a fact comes from.
type Standing string

// The standings of a fact.
const (
	Given     Standing = "given"
	Published Standing = "published"
	Measured  Standing = "measured"
	Assumed   Standing = "assumed"
)

// Standings are all of them.
var Standings = []Standing{Given, Published, Measured, Assumed}

// Kind says what it is.
func (*Movement) Kind() Kind { return KindMovement }

// Links gives nothing.
func (*Movement) Links() Links { return Links{} }

// Check wants a name and facts that can be.
func (m *Movement) Check() error {
	if strings.TrimSpace(m.Facts.Name) == "" {
		return wrong("movement.name", "a movement in the library needs a name")
	}
	if m.Standing != "" && !slices.Contains(Standings, m.Standing) {
		return wrong("movement.standing", "%q is no standing", m.Standing)
	}
	if err := m.Facts.Check(); err != nil {
		return &Error{Code: Wrong, Field: "movement", Text: fmt.Sprintf("movement %s", m.Facts.Name), Err: err}
	}
	return tooLong("movement", m.Facts.Name, m.Source, m.Note)
}
