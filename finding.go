package beatwright

import (
	"slices"
	"strings"
	"time"
)

// Condition is the state of a part or function as it was found.
type Condition string

// The conditions.
const (
	Sound     Condition = "sound"
	Worn      Condition = "worn"
	Damaged   Condition = "damaged"
	Absent    Condition = "missing"
	WrongPart Condition = "wrong_part"
	Makeshift Condition = "makeshift"
	Altered   Condition = "altered"
	NotSeen   Condition = "not_seen"
)

// Conditions are all of them.
var Conditions = []Condition{Sound, Worn, Damaged, Absent, WrongPart, Makeshift, Altered, NotSeen}

// Finding is one observation on a part: what was asked or seen, what was
// found, and what it suggests.
type Finding struct {
	Entry
	Job ID `json:"job"`
	// Group is closed, back_off, movement_out, or empty for a finding made
	// in the course of the work; Item the id of the question it answers.
	Group string `json:"group,omitempty"`
	Item  string `json:"item,omitempty"`
	// What is the finding in words.
	What string `json:"what"`
	// None says that it was looked at and there was nothing to note.
	None bool `json:"none,omitempty"`
	// Answers are the words tapped, by their ids, Where the places.
	Answers   []string  `json:"answers,omitempty"`
	Where     []string  `json:"where,omitempty"`
	Condition Condition `json:"condition,omitempty"`
	// Signs are the ids of the signs it is, for the reasoning about causes.
	Signs    []string  `json:"signs,omitempty"`
	Suggests string    `json:"suggests,omitempty"`
	Note     string    `json:"note,omitempty"`
	Pictures []ID      `json:"pictures,omitempty"`
	At       time.Time `json:"at"`
	// Settled is set when a makeshift or foreign part stands open no more.
	Settled *Settled `json:"settled,omitempty"`
}

// Settled says how a makeshift or foreign part was dealt with.
type Settled struct {
	// How is replaced or accepted; an accepted one needs a reason.
	How string    `json:"how"`
	Why string    `json:"why,omitempty"`
	At  time.Time `json:"at"`
}

// StandsOpen tells whether the finding is of a makeshift or foreign part that
// was neither replaced nor accepted.
func (f *Finding) StandsOpen() bool {
	return (f.Condition == Makeshift || f.Condition == WrongPart) && f.Settled == nil && !f.None
}

// Kind says what it is.
func (*Finding) Kind() Kind { return KindFinding }

// Links gives the job.
func (f *Finding) Links() Links { return Links{Job: f.Job} }

// Check wants words, a job and a known condition.
func (f *Finding) Check() error {
	switch {
	case f.Job == "":
		return wrong("finding.job", "a finding needs its job")
	case strings.TrimSpace(f.What) == "":
		return wrong("finding.what", "say what was found")
	case f.Condition != "" && !slices.Contains(Conditions, f.Condition):
		return wrong("finding.condition", "%q is no condition", f.Condition)
	case f.Settled != nil && f.Settled.How != "replaced" && f.Settled.How != "accepted":
		return wrong("finding.settled", "a part is replaced or accepted, not %q", f.Settled.How)
	case f.Settled != nil && f.Settled.How == "accepted" && strings.TrimSpace(f.Settled.Why) == "":
		return wrong("finding.settled", "a part that stays needs the reason why")
	}
	return tooLong("finding", f.What, f.Note, f.Suggests)
}

// Result is how a function tried by hand went.
type Result string

// The results of a function check.
const (
	Works    Result = "works"
	Doubtful Result = "doubtful"
	Fails    Result = "fails"
	NotTried Result = "not_tried"
)

// Results are all of them.
var Results = []Result{Works, Doubtful, Fails, NotTried}

// FunctionCheck is one function tried by hand.
type FunctionCheck struct {
	Entry
	Job ID `json:"job"`
	// Item is the id of the function in the list of what is tried.
	Item   string `json:"item"`
	What   string `json:"what"`
	Result Result `json:"result"`
	// Answers are the words tapped below it, by their ids.
	Answers  []string  `json:"answers,omitempty"`
	Signs    []string  `json:"signs,omitempty"`
	Note     string    `json:"note,omitempty"`
	Pictures []ID      `json:"pictures,omitempty"`
	At       time.Time `json:"at"`
}

// Kind says what it is.
func (*FunctionCheck) Kind() Kind { return KindFunction }

// Links gives the job.
func (f *FunctionCheck) Links() Links { return Links{Job: f.Job} }

// Check wants a job, an item and a result.
func (f *FunctionCheck) Check() error {
	switch {
	case f.Job == "":
		return wrong("function.job", "a function check needs its job")
	case f.Item == "":
		return wrong("function.item", "say which function was tried")
	case !slices.Contains(Results, f.Result):
		return wrong("function.result", "%q is no result of a function check; works, doubtful, fails and not_tried are", f.Result)
	}
	return tooLong("function", f.What, f.Note)
}

// HandCheck is what the hands did against a clock.
type HandCheck struct {
	Entry
	Job ID `json:"job"`
	// ChangeS is what the hands gained over OverS seconds of true time, lost
	// is negative; ReadToS how finely each reading was taken.
	ChangeS float64   `json:"change_s"`
	OverS   float64   `json:"over_s"`
	ReadToS float64   `json:"read_to_s"`
	Stage   Stage     `json:"stage,omitempty"`
	Worn    bool      `json:"worn,omitempty"`
	Note    string    `json:"note,omitempty"`
	At      time.Time `json:"at"`
}

// Kind says what it is.
func (*HandCheck) Kind() Kind { return KindHandCheck }

// Links gives the job.
func (h *HandCheck) Links() Links { return Links{Job: h.Job} }

// Check wants a job and a time that passed.
func (h *HandCheck) Check() error {
	switch {
	case h.Job == "":
		return wrong("hand_check.job", "a hand check needs its job")
	case !(h.OverS > 0):
		return wrong("hand_check.over_s", "some time must have passed")
	case !(h.ReadToS > 0):
		return wrong("hand_check.read_to_s", "say how finely the hands were read, in seconds")
	case h.ChangeS != h.ChangeS || h.ChangeS < -43200 || h.ChangeS > 43200:
		return wrong("hand_check.change_s", "the hands cannot be more than half a day out")
	}
	return tooLong("hand_check", h.Note)
}
