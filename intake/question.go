package intake

// Group is when a question is asked.
type Group string

// The groups, in the order in which a watch is opened.
const (
	Told        Group = "told"         // asked of the owner
	Closed      Group = "closed"       // seen with the case shut
	BackOff     Group = "back_off"     // seen with a loupe, the back off
	MovementOut Group = "movement_out" // seen while it is taken down
)

// Groups lists the groups in the order in which a watch is opened.
func Groups() []Group { return []Group{Told, Closed, BackOff, MovementOut} }

// Words is the group's heading.
func (g Group) Words() string {
	switch g {
	case Told:
		return "Told"
	case Closed:
		return "Closed"
	case BackOff:
		return "Back off"
	case MovementOut:
		return "Movement out"
	}
	return string(g)
}

// Condition is what a part is found to be.
type Condition string

// The conditions of a part.
const (
	Sound     Condition = "sound"
	Worn      Condition = "worn"
	Damaged   Condition = "damaged"
	Missing   Condition = "missing"
	WrongPart Condition = "wrong_part"
	Makeshift Condition = "makeshift"
	Altered   Condition = "altered"
	NotSeen   Condition = "not_seen" // hidden: right, and stays open
)

// Conditions lists the conditions, sound first.
func Conditions() []Condition {
	return []Condition{Sound, Worn, Damaged, Missing, WrongPart, Makeshift, Altered, NotSeen}
}

// Words is the condition as it is read.
func (c Condition) Words() string {
	switch c {
	case WrongPart:
		return "wrong part"
	case NotSeen:
		return "not seen"
	}
	return string(c)
}

// Question is one thing to look at. Words say what would be there ("Rotor
// rubs"), so that tapping it means it is, and a dash that nothing is to note.
type Question struct {
	ID    string `json:"id"`
	Group Group  `json:"group"`
	Words string `json:"words"`
	// Part is what the answers are about, for a line of the record.
	Part string `json:"part,omitempty"`
	// Look says how to look, where that is not plain.
	Look string `json:"look,omitempty"`
	Fits Fits   `json:"fits,omitempty"`
	// Decides marks those of the ten that are asked before all others.
	Decides bool `json:"decides,omitempty"`
	// Trial marks what only a trial of its own answers, so that "nothing to
	// note" for a whole group leaves it open.
	Trial   bool     `json:"trial,omitempty"`
	Answers []Answer `json:"answers"`
	// Where are places to tap, for all answers that have none of their own.
	Where    []string `json:"where,omitempty"`
	Cautions []string `json:"cautions,omitempty"`
	// Steps are the steps of taking down at which it is met.
	Steps  []string `json:"steps,omitempty"`
	Source Source   `json:"source"`
	// Own is set for a question that the workshop added.
	Own bool `json:"own,omitempty"`
	// Unsure is set by Questions where it is not known whether the watch has
	// what is asked about.
	Unsure bool `json:"-"`
}

// Answer is one thing to tap below a question or a function check.
type Answer struct {
	ID        string    `json:"id"` // unique within its question
	Words     string    `json:"words"`
	Condition Condition `json:"condition,omitempty"`
	// Outcome, for a function check, is what the answer amounts to.
	Outcome Outcome `json:"outcome,omitempty"`
	// Resists marks, for a function check, what ends the trying.
	Resists bool `json:"resists,omitempty"`
	// Bars lists the function checks that this answer of another forbids.
	Bars []string `json:"bars,omitempty"`
	// Reports is what the answer tells of the past that forbids trying.
	Reports Report `json:"reports,omitempty"`
	// Sign is the id of the sign that likely causes reason from.
	Sign string `json:"sign,omitempty"`
	// OnlySeen marks a sign that a function check can show but not rule out:
	// five turns of the crown do not tell that it will come to a stop.
	OnlySeen bool `json:"only_seen,omitempty"`
	// Suggests is a sentence: what it may mean or what to do.
	Suggests string   `json:"suggests,omitempty"`
	Where    []string `json:"where,omitempty"`
	Fits     Fits     `json:"fits,omitempty"`
}

// answerByID finds an answer.
func answerByID(answers []Answer, id string) (Answer, bool) {
	for _, a := range answers {
		if a.ID == id {
			return a, true
		}
	}
	return Answer{}, false
}

// fitted gives the answers that can be met on a watch with features f.
func fitted(answers []Answer, f Features) []Answer {
	var out []Answer
	for _, a := range answers {
		if a.Fits.Match(f) != No {
			out = append(out, a)
		}
	}
	return out
}
