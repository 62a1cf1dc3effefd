package intake

// Outcome is how a function check ended.
type Outcome string

// The outcomes, in the order of the cells to tap.
const (
	Works    Outcome = "works"
	Doubtful Outcome = "doubtful"
	Fails    Outcome = "fails"
	NotTried Outcome = "not_tried"
)

// Outcomes lists the outcomes in the order of the cells to tap.
func Outcomes() []Outcome { return []Outcome{Works, Doubtful, Fails, NotTried} }

// Words is the outcome as it is read.
func (o Outcome) Words() string {
	if o == NotTried {
		return "not tried"
	}
	return string(o)
}

// Function is one function tried by hand.
type Function struct {
	ID    string `json:"id"`
	Words string `json:"words"` // what should happen: "Date changes at midnight"
	Try   string `json:"try"`   // what the hands do
	Guard string `json:"guard,omitempty"`
	Fits  Fits   `json:"fits,omitempty"`
	// After must have worked, at least doubtfully, before this is tried.
	After []string `json:"after,omitempty"`
	// Undoes lists what must be done again once this was tried: the alarm is
	// set again, the hands have gone on.
	Undoes []string `json:"undoes,omitempty"`
	// Gentle marks what only looks and listens, and so may always be tried.
	Gentle bool `json:"gentle,omitempty"`
	// AfterHarm marks what is safe after water or a hard fall.
	AfterHarm bool     `json:"after_harm,omitempty"`
	Decides   bool     `json:"decides,omitempty"`
	Answers   []Answer `json:"answers,omitempty"`
	Cautions  []string `json:"cautions,omitempty"`
	Source    Source   `json:"source"`
	// Unsure is set by Functions where it is not known whether the watch has
	// the function.
	Unsure bool `json:"-"`
}

// Report is something of the past that forbids trying.
type Report string

// The reports.
const (
	ReportWater Report = "water"
	ReportFall  Report = "fall"
	ReportLoose Report = "loose"
)

// Reported is what was told or seen that forbids winding and setting.
type Reported struct {
	Water bool // was wet, or mist stands under the glass now
	Fall  bool // fell hard
	Loose bool // a part lies loose inside
}

// add notes one report.
func (r *Reported) add(rep Report) {
	r.Water = r.Water || rep == ReportWater
	r.Fall = r.Fall || rep == ReportFall
	r.Loose = r.Loose || rep == ReportLoose
}

// Harmed tells whether only what is safe after harm may be tried.
func (r Reported) Harmed() bool { return r.Water || r.Fall || r.Loose }

// Why says, for the page, why most functions are not offered; empty when all
// are.
func (r Reported) Why() string {
	const rest = " Look, listen, feel whether it runs; then open it first."
	switch {
	case r.Water:
		return "After water nothing is wound or set: water dries on steel within hours." + rest
	case r.Fall:
		return "After a hard fall nothing is wound or set: power makes the damage." + rest
	case r.Loose:
		return "With a part loose inside nothing is wound or set: it may fall into the train." + rest
	}
	return ""
}

// Functions gives the function checks of a watch with features f in the order
// that does no harm; after water or a hard fall only those that are safe.
func (c *Catalogue) Functions(f Features, told Reported) []Function {
	var out []Function
	for _, fn := range c.functions {
		k := fn.Fits.Match(f)
		if k == No || told.Harmed() && !fn.AfterHarm {
			continue
		}
		fn.Unsure = k == Unknown
		fn.Answers = fitted(fn.Answers, f)
		out = append(out, fn)
	}
	return out
}

// Progress is what may be tried now, and what not.
type Progress struct {
	May     []Function // in order; the first is next
	Barred  []Barred
	Stopped string // id of the function that resisted, if one did
}

// Barred is a function that may not be tried now, with the reason.
type Barred struct {
	Function Function
	Why      string
	// Final is set when nothing that is still to be tried can lift the bar.
	Final bool
}

// Next says what of the order may still be tried, given what was answered.
// At the first thing that resists, only looking and listening is left. What
// needs something else first waits for it, and falls away when that failed
// or was left out.
func Next(order []Function, done Answers) Progress {
	var p Progress
	t := tried{byID: map[string]Function{}, undone: map[string]string{}, barred: map[string]string{}}
	for _, fn := range order {
		t.byID[fn.ID] = fn
		if p.Stopped == "" && done[fn.ID].resists(fn) {
			p.Stopped = fn.ID
		}
		t.note(fn, done[fn.ID])
	}
	for _, fn := range order {
		if done[fn.ID].outcome(fn) != "" {
			continue
		}
		if why, final := t.bar(fn, p.Stopped, done); why != "" {
			p.Barred = append(p.Barred, Barred{fn, why, final})
		} else {
			p.May = append(p.May, fn)
		}
	}
	return p
}

// tried is what the checks so far have left: what later ones have undone, and
// what answers forbid, each with the words that say so.
type tried struct {
	byID           map[string]Function
	undone, barred map[string]string
}

func (t tried) note(fn Function, g Given) {
	if o := g.outcome(fn); o != "" && o != NotTried {
		for _, id := range fn.Undoes {
			t.undone[id] = fn.Words
		}
	}
	for _, tap := range g.Taps {
		a, _ := answerByID(fn.Answers, tap.Answer)
		for _, id := range a.Bars {
			t.barred[id] = a.Words
		}
	}
}

// bar tells why fn may not be tried now, empty when it may, and whether
// nothing still to be tried can change that.
func (t tried) bar(fn Function, stopped string, done Answers) (why string, final bool) {
	switch {
	case stopped != "" && !fn.Gentle:
		return "stopped at \"" + t.byID[stopped].Words + "\": nothing that resists is forced", true
	case t.barred[fn.ID] != "":
		return "not with this found: " + t.barred[fn.ID], true
	}
	for _, id := range fn.After {
		first, ok := t.byID[id]
		if !ok {
			continue // the watch does not have it
		}
		switch o := done[id].outcome(first); {
		case o == "":
			return "first: " + first.Words, false
		case o == Fails, o == NotTried && !first.Unsure:
			return "needs first: " + first.Words + " (" + o.Words() + ")", true
		case t.undone[id] != "":
			return "no longer sure: " + first.Words + " (since: " + t.undone[id] + ")", true
		}
	}
	return "", false
}
