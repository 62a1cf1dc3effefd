package beatwright

import (
	"strings"
	"time"
)

// Picture is one picture in a job, numbered for life.
type Picture struct {
	Entry
	Job ID `json:"job"`
	// Number is given when the picture is first kept.
	Number int `json:"number"`
	// File is the name of the original, View and Thumb of copies without
	// whatever the camera wrote into it.
	File  string `json:"file"`
	View  string `json:"view,omitempty"`
	Thumb string `json:"thumb,omitempty"`
	// Width and Height are of the view, px.
	Width  int        `json:"width,omitempty"`
	Height int        `json:"height,omitempty"`
	Says   string     `json:"says,omitempty"` // what is seen
	Taken  *time.Time `json:"taken,omitempty"`
	At     time.Time  `json:"at"`
}

// Kind says what it is.
func (*Picture) Kind() Kind { return KindPicture }

// Links gives the job.
func (p *Picture) Links() Links { return Links{Job: p.Job} }

// Check wants a job and a file.
func (p *Picture) Check() error {
	if p.Job == "" || p.File == "" {
		return wrong("picture", "a picture needs its job and its file")
	}
	return tooLong("picture", p.Says)
}

// Move is one change of place of the watch or a part of it. A watch or part is
// always somewhere.
type Move struct {
	Entry
	Job ID `json:"job"`
	// What is moved: watch, movement, case, dial …
	What string `json:"what"`
	From string `json:"from,omitempty"`
	To   string `json:"to"`
	// Out says that it left the workshop: to a specialist, to the owner.
	Out     bool      `json:"out,omitempty"`
	DueBack *Date     `json:"due_back,omitempty"`
	Value   *Money    `json:"value,omitempty"`
	Insured string    `json:"insured,omitempty"`
	Who     string    `json:"who,omitempty"`
	Note    string    `json:"note,omitempty"`
	At      time.Time `json:"at"`
}

// Kind says what it is.
func (*Move) Kind() Kind { return KindMove }

// Links gives the job.
func (m *Move) Links() Links { return Links{Job: m.Job} }

// Check wants a place to go to.
func (m *Move) Check() error {
	switch {
	case m.Job == "":
		return wrong("move.job", "a move needs its job")
	case strings.TrimSpace(m.What) == "":
		return wrong("move.what", "say what was moved")
	case strings.TrimSpace(m.To) == "":
		return wrong("move.to", "say where it is now")
	}
	return tooLong("move", m.What, m.From, m.To, m.Note)
}

// Question is one that the workshop added to what is asked at intake; Body is
// the question itself, in the form of package intake.
type Question struct {
	Entry
	Body []byte `json:"body"`
}

// Kind says what it is.
func (*Question) Kind() Kind { return KindQuestion }

// Links gives nothing.
func (*Question) Links() Links { return Links{} }

// Check wants a body; whether it is a question, package intake tells.
func (q *Question) Check() error {
	if len(q.Body) == 0 || len(q.Body) > maxText {
		return wrong("question", "an empty question, or one too long")
	}
	return nil
}
