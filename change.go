package beatwright

import (
	"context"
	"errors"
	"strings"
	"time"
)

// Change is one act: what is written and removed together, and how it reads in
// the history ("noted: crown worn"). Either all of it is kept or nothing.
type Change struct {
	Who  string
	What string
	// Job is whose history the act stands in, empty for the workshop's.
	Job ID
	// Put are things made new or replaced.
	Put []Thing
	// Remove are things taken away; they stay in the history and can come back.
	Remove []Key
}

// Check tells what in the change cannot be.
func (c Change) Check() error {
	if c.What == "" {
		return wrong("what", "a change needs words for the history")
	}
	if len(c.Put)+len(c.Remove) == 0 {
		return wrong("put", "the change changes nothing; put or remove at least one thing")
	}
	var errs []error
	seen := map[Key]bool{}
	for _, t := range c.Put {
		k := KeyOf(t)
		switch {
		case !k.ID.Valid():
			errs = append(errs, wrong("id", "%q is not an ID", k.ID))
		case seen[k]:
			errs = append(errs, wrong("put", "the same %s twice in one change", k.Kind))
		default:
			errs = append(errs, t.Check())
		}
		seen[k] = true
	}
	for _, k := range c.Remove {
		if seen[k] {
			errs = append(errs, wrong("remove", "the same %s written and removed at once", k.Kind))
		}
		seen[k] = true
	}
	return errors.Join(errs...)
}

// Done is a change that was kept.
type Done struct {
	Number int64     `json:"number"`
	At     time.Time `json:"at"`
	Who    string    `json:"who,omitempty"`
	What   string    `json:"what"`
	Job    ID        `json:"job,omitempty"`
	// Undoes is the number of the change that this one takes back, UndoneBy
	// of the one that took it back; 0 if none.
	Undoes   int64 `json:"undoes,omitempty"`
	UndoneBy int64 `json:"undone_by,omitempty"`
}

// Undone begins the words of a change that takes another back; doing it again
// has words of its own.
const Undone = "undone: "

// TakesBack tells whether the change took another back, so that undoing it is
// doing that one again.
func (d Done) TakesBack() bool { return d.Undoes != 0 && strings.HasPrefix(d.What, Undone) }

// Touch is what one change did to one thing: JSON before and after, nil where
// it was not there.
type Touch struct {
	Key
	Before, After []byte
}

// Record keeps everything. Every write goes through Apply or Undo, and what
// these have returned is safe against a crash of program and machine.
type Record interface {
	// Apply keeps a change whole. It gives a new Job its number and a new
	// Picture its number in its job, and sets Rev of what was put.
	Apply(ctx context.Context, c Change) (Done, error)
	// Undo takes a change back by appending its inverse. A change whose
	// things were changed again later is refused, naming the later one.
	// To undo an undo is to redo.
	Undo(ctx context.Context, number int64, who string) (Done, error)
	// History gives the changes in a job (or, with an empty job, all),
	// newest first, at most limit, with numbers below before (0: from the
	// newest).
	History(ctx context.Context, job ID, before int64, limit int) ([]Done, error)
	// Touched gives what a change did.
	Touched(ctx context.Context, number int64) ([]Touch, error)

	// Get gives one thing as it is now; Missing if it is not there.
	Get(ctx context.Context, k Key) (Thing, error)
	// All gives every thing of a kind, in the order they were made.
	All(ctx context.Context, kind Kind) ([]Thing, error)
	// Job gives all there is of one job, by ID or number.
	Job(ctx context.Context, idOrNumber string) (*Papers, error)
	// OpenJobs gives all there is of every job that is not ended.
	OpenJobs(ctx context.Context) ([]*Papers, error)
	// Find gives lines of jobs, newest first.
	Find(ctx context.Context, q Query) ([]Line, error)
	// Counts says how many jobs stand in each state.
	Counts(ctx context.Context) (map[JobState]int, error)
}

// Load gives one thing as its own type.
func Load[T Thing](ctx context.Context, r Record, kind Kind, id ID) (T, error) {
	var none T
	t, err := r.Get(ctx, Key{kind, id})
	if err != nil {
		return none, err
	}
	return t.(T), nil
}

// Query asks for lines of jobs.
type Query struct {
	// Words must each begin a word somewhere in the job: its number, watch,
	// marks, owner, findings, notes.
	Words string
	// States limits to these; none means all.
	States []JobState
	// Owner, Watch and Kind limit to an owner, a watch, a word of the kind.
	Owner, Watch ID
	Kind         string
	// Limit is at most how many, 50 if 0; Offset how many to skip.
	Limit, Offset int
}

// Line is one job in a list.
type Line struct {
	ID       ID        `json:"id"`
	Number   string    `json:"number"`
	State    JobState  `json:"state"`
	Watch    string    `json:"watch"`
	Kind     string    `json:"kind"`
	Owner    string    `json:"owner,omitempty"`
	Opened   time.Time `json:"opened"`
	Deadline *Date     `json:"deadline,omitempty"`
	Changed  time.Time `json:"changed"`
	// OpenParts is how many makeshift or foreign parts still stand open.
	OpenParts int `json:"open_parts,omitempty"`
}
