package beatwright

import (
	"regexp"
	"slices"
	"strings"
	"time"
)

// JobState is how far a job has come.
type JobState string

// The states of a job, in the order of the work. A considered job is one whose
// watch is not here: a prospect.
const (
	Considered JobState = "considered"
	Received   JobState = "received"
	Quoted     JobState = "quoted"
	Agreed     JobState = "agreed"
	InWork     JobState = "in work"
	OnTrial    JobState = "on trial"
	Ready      JobState = "ready"
	Returned   JobState = "returned"
	Declined   JobState = "declined"
)

// JobStates are all states in the order of the work; Declined ends a job at
// any place.
var JobStates = []JobState{Considered, Received, Quoted, Agreed, InWork, OnTrial, Ready, Returned, Declined}

// Open tells whether there is still something to do.
func (s JobState) Open() bool { return s != Returned && s != Declined }

// Here tells whether the watch is with the workshop.
func (s JobState) Here() bool { return s.Open() && s != Considered }

// Job is one visit of one watch to the bench.
type Job struct {
	Entry
	// Number is YEAR-NNN, given when the job is first kept.
	Number string   `json:"number"`
	Watch  ID       `json:"watch"`
	Owner  ID       `json:"owner,omitempty"`
	State  JobState `json:"state"`
	// Since is when it came to that state, nil where that was when it was
	// opened.
	Since *time.Time `json:"state_since,omitempty"`
	// After is the earlier job that this one follows: a come-back.
	After ID `json:"after,omitempty"`
	// Complaint is what is wrong, in the owner's words.
	Complaint string     `json:"complaint,omitempty"`
	Opened    time.Time  `json:"opened"`
	Received  *time.Time `json:"received,omitempty"`
	Ended     *time.Time `json:"ended,omitempty"`
	Wishes    Wishes     `json:"wishes"`
	Prospect  *Prospect  `json:"prospect,omitempty"`
	// Told are signs the owner told of, and claims the seller made, by the
	// ids of the questions.
	Told []string `json:"told,omitempty"`
	// Custody are things that came with the watch: box, papers, links.
	Custody []string `json:"custody,omitempty"`
	// Seen are the cautions that were acknowledged.
	Seen []string `json:"cautions_seen,omitempty"`
}

// Wishes are what may and may not be done, as the owner answered.
type Wishes struct {
	// Answers are by the id of the wish ("wi.polish": "none").
	Answers map[string]string `json:"answers,omitempty"`
	// Words are what the owner said of it, by the same ids.
	Words map[string]string `json:"words,omitempty"`
	// Limit is what may be spent without asking, Value what the watch is
	// agreed to be worth while it is here, Insured by whom.
	Limit    *Money `json:"limit,omitempty"`
	Value    *Money `json:"value,omitempty"`
	Insured  string `json:"insured,omitempty"`
	Deadline *Date  `json:"deadline,omitempty"`
	Why      string `json:"deadline_why,omitempty"`
}

// Prospect is what is known of a watch that is only being considered.
type Prospect struct {
	// Says are the seller's words, Claims the ids of what they claim.
	Says   string   `json:"says,omitempty"`
	Claims []string `json:"claims,omitempty"`
	// NotShown is what the pictures do not show.
	NotShown string `json:"not_shown,omitempty"`
	Asked    *Money `json:"asked,omitempty"`
	// Highest is the highest price that makes sense.
	Highest *Money `json:"highest,omitempty"`
	Seller  string `json:"seller,omitempty"`
	Ends    *Date  `json:"ends,omitempty"`
}

var jobNumber = regexp.MustCompile(`^[0-9]{4}-[0-9]{3,5}$`)

// IsJobNumber tells whether s is written as the number of a job: YEAR-NNN.
func IsJobNumber(s string) bool { return jobNumber.MatchString(s) }

// Kind says what it is.
func (*Job) Kind() Kind { return KindJob }

// Links gives watch and owner.
func (j *Job) Links() Links { return Links{Watch: j.Watch, Owner: j.Owner} }

// Check wants a watch, a state and a day on which the job was opened.
func (j *Job) Check() error {
	switch {
	case j.Number != "" && !IsJobNumber(j.Number):
		return wrong("job.number", "%q is no job number; they read 2026-041", j.Number)
	case j.Watch == "":
		return wrong("job.watch", "a job needs a watch")
	case !slices.Contains(JobStates, j.State):
		return wrong("job.state", "%q is none of considered, received, quoted, agreed, in work, on trial, ready, returned, declined", j.State)
	case j.Opened.IsZero():
		return wrong("job.opened", "a job needs the time it was opened")
	case j.After != "" && j.After == j.ID:
		return wrong("job.after", "a job cannot follow itself")
	}
	texts := []string{j.Complaint, j.Wishes.Insured, j.Wishes.Why}
	if p := j.Prospect; p != nil {
		texts = append(texts, p.Says, p.NotShown, p.Seller)
	}
	for _, w := range j.Wishes.Words {
		texts = append(texts, w)
	}
	return tooLong("job", texts...)
}

// DefaultStage is the stage at which a watch heard now is heard, going by how
// far its job has come.
func (j *Job) DefaultStage() Stage {
	switch j.State {
	case InWork:
		return WhileAdjusting
	case OnTrial, Ready:
		return AsLeft
	case Returned:
		return OnReturn
	}
	return AsFound
}

// Clean takes out what is not needed before a job is kept: empty answers and
// spaces around words.
func (j *Job) Clean() {
	j.Complaint = strings.TrimSpace(j.Complaint)
	for id, a := range j.Wishes.Answers {
		if a == "" {
			delete(j.Wishes.Answers, id)
		}
	}
}
