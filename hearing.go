package beatwright

import (
	"slices"
	"strings"
	"time"

	"beatwright/position"
	"beatwright/reading"
)

// Stage is when in the job a round was heard.
type Stage string

// The stages.
const (
	AsFound        Stage = "as found"
	AfterDemag     Stage = "after demagnetising"
	AfterCleaning  Stage = "after cleaning"
	WhileAdjusting Stage = "while adjusting"
	CasedStage     Stage = "cased"
	AsLeft         Stage = "as left"
	OnReturn       Stage = "on return"
)

// Stages are all of them, in the order of the work.
var Stages = []Stage{AsFound, AfterDemag, AfterCleaning, WhileAdjusting, CasedStage, AsLeft, OnReturn}

// State is how the watch was when it was heard. What is nil or empty was not
// stated.
type State struct {
	Hours       *float64 `json:"hours_since_full_wind,omitempty"`
	Wound       string   `json:"wound,omitempty"` // how: crown, rotor, winder
	Cased       *bool    `json:"cased,omitempty"`
	Dial        *bool    `json:"dial,omitempty"` // dial and hands on
	Rotor       *bool    `json:"rotor,omitempty"`
	Calendar    string   `json:"calendar,omitempty"`    // idle, engaged
	Chronograph string   `json:"chronograph,omitempty"` // on, off, none
	Temperature *float64 `json:"temperature_c,omitempty"`
}

// Check holds the state to what can be.
func (s State) Check() error {
	switch {
	case s.Hours != nil && !(*s.Hours >= 0 && *s.Hours <= 1000):
		return wrong("hours_since_full_wind", "%v is no time since full wind; 0 to 1000 hours are", *s.Hours)
	case !slices.Contains([]string{"", "on", "off", "none"}, s.Chronograph):
		return wrong("chronograph", "%q is no state of a chronograph; on, off and none are", s.Chronograph)
	case !slices.Contains([]string{"", "idle", "engaged"}, s.Calendar):
		return wrong("calendar", "%q is no state of a calendar; idle and engaged are", s.Calendar)
	case s.Temperature != nil && !(*s.Temperature > -60 && *s.Temperature < 100):
		return wrong("temperature_c", "%v °C is no temperature for a watch", *s.Temperature)
	}
	return nil
}

// Round is a planned series of readings at one stage.
type Round struct {
	Entry
	Job   ID    `json:"job"`
	Stage Stage `json:"stage"`
	// Plan are the positions wanted, in order; State what all readings share
	// unless they say otherwise.
	Plan  []string  `json:"plan,omitempty"`
	Quick bool      `json:"quick,omitempty"`
	State State     `json:"state"`
	At    time.Time `json:"at"`
	// Ended is when it was finished or given up.
	Ended *time.Time `json:"ended,omitempty"`
	Note  string     `json:"note,omitempty"`
	// Adjust makes it a session of adjusting.
	Adjust *Adjusting `json:"adjust,omitempty"`
}

// Adjusting is what a session of adjusting is after.
type Adjusting struct {
	// Target is rate, beat error or poise; Wanted the value, s/d or ms.
	Target string  `json:"target"`
	Wanted float64 `json:"wanted"`
}

// AdjustTargets are what can be adjusted for.
var AdjustTargets = []string{"rate", "beat error", "poise"}

// Kind says what it is.
func (*Round) Kind() Kind { return KindRound }

// Links gives the job.
func (r *Round) Links() Links { return Links{Job: r.Job} }

// Check wants a job, a stage and positions that exist.
func (r *Round) Check() error {
	if r.Job == "" {
		return wrong("round.job", "a round needs its job")
	}
	if !slices.Contains(Stages, r.Stage) {
		return wrong("round.stage", "%q is no stage", r.Stage)
	}
	for _, p := range r.Plan {
		if _, err := position.Parse(p); err != nil {
			return &Error{Code: Wrong, Field: "round.plan", Text: "plan", Err: err}
		}
	}
	if a := r.Adjust; a != nil {
		switch {
		case !slices.Contains(AdjustTargets, a.Target):
			return wrong("round.adjust.target", "%q is nothing to adjust for; rate, beat error and poise are", a.Target)
		case !(a.Wanted >= -1000 && a.Wanted <= 1000):
			return wrong("round.adjust.wanted", "%v cannot be wanted; −1000 to 1000 can", a.Wanted)
		}
	}
	return r.State.Check()
}

// Clock is what is known of the clock of the device that took the sound down:
// how much it runs fast (ppm), and how far that can be wrong.
type Clock struct {
	// Standing is uncalibrated (or empty) or calibrated.
	Standing string  `json:"standing,omitempty"`
	PPM      float64 `json:"ppm,omitempty"`
	U95PPM   float64 `json:"u95_ppm,omitempty"`
	Device   string  `json:"device,omitempty"`
	On       *Date   `json:"on,omitempty"`
}

// Hearing is a stretch of sound from the watch, kept as evidence.
type Hearing struct {
	Entry
	Job ID `json:"job"`
	// Round is the round it belongs to.
	Round ID `json:"round,omitempty"`
	// Position is empty where it is not known.
	Position string `json:"position,omitempty"`
	State    State  `json:"state"`
	// Sound is the name of the kept file, From what it was called when it
	// came, or the device that heard it.
	Sound string `json:"sound,omitempty"`
	From  string `json:"from,omitempty"`
	// Lossy says that it came in a form that had thrown sound away.
	Lossy   bool      `json:"lossy,omitempty"`
	Seconds float64   `json:"seconds,omitempty"`
	RateHz  float64   `json:"rate_hz,omitempty"`
	Clock   Clock     `json:"clock"`
	At      time.Time `json:"at"`
	Note    string    `json:"note,omitempty"`
	// Repeat marks the same position heard a second time on purpose.
	Repeat bool `json:"repeat,omitempty"`
}

// Kind says what it is.
func (*Hearing) Kind() Kind { return KindHearing }

// Links gives job and round.
func (h *Hearing) Links() Links { return Links{Job: h.Job, Round: h.Round} }

// Check wants a job and a position that exists.
func (h *Hearing) Check() error {
	if h.Job == "" {
		return wrong("hearing.job", "a hearing needs its job")
	}
	if h.Position != "" {
		if _, err := position.Parse(h.Position); err != nil {
			return &Error{Code: Wrong, Field: "position", Text: "position", Err: err}
		}
	}
	if err := h.State.Check(); err != nil {
		return err
	}
	return tooLong("hearing", h.From, h.Note)
}

// Reading is what a hearing said when it was reckoned with a given lift angle;
// a hearing can have several, all kept.
type Reading struct {
	Entry
	Job     ID `json:"job"`
	Hearing ID `json:"hearing"`
	// By is the program that reckoned it.
	By   string          `json:"by,omitempty"`
	At   time.Time       `json:"at"`
	Says reading.Reading `json:"says"`
}

// Kind says what it is.
func (*Reading) Kind() Kind { return KindReading }

// Links gives job and hearing.
func (r *Reading) Links() Links { return Links{Job: r.Job, Hearing: r.Hearing} }

// Check wants a hearing.
func (r *Reading) Check() error {
	if r.Job == "" || r.Hearing == "" {
		return wrong("reading.hearing", "a reading needs its hearing")
	}
	return nil
}

// Note is something to remember of a job.
type Note struct {
	Entry
	Job  ID        `json:"job"`
	Text string    `json:"text"`
	At   time.Time `json:"at"`
	// Due is when it wants doing, if it does; Done when it was.
	Due  *time.Time `json:"due,omitempty"`
	Done *time.Time `json:"done,omitempty"`
}

// Kind says what it is.
func (*Note) Kind() Kind { return KindNote }

// Links gives the job.
func (n *Note) Links() Links { return Links{Job: n.Job} }

// Check wants words.
func (n *Note) Check() error {
	if n.Job == "" {
		return wrong("note.job", "a note needs its job")
	}
	if strings.TrimSpace(n.Text) == "" {
		return wrong("note.text", "the note is empty; write what is to be remembered")
	}
	return tooLong("note", n.Text)
}
