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
)

// Reported is what was told or seen that forbids winding and setting.
type Reported struct {
	Water bool // was wet, or mist stands under the glass now
	Fall  bool // fell hard
}

// Harmed tells whether only what is safe after harm may be tried.
func (r Reported) Harmed() bool { return r.Water || r.Fall }

// Why says, for the page, why most functions are not offered; empty when all
// are.
func (r Reported) Why() string {
	const rest = " Look, listen, feel whether it runs; then open it first."
	switch {
	case r.Water:
		return "After water nothing is wound or set: water dries on steel within hours." + rest
	case r.Fall:
		return "After a hard fall nothing is wound or set: power makes the damage." + rest
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
	byID, undone := map[string]Function{}, map[string]string{}
	for _, fn := range order {
		byID[fn.ID] = fn
		if p.Stopped == "" && done[fn.ID].resists(fn) {
			p.Stopped = fn.ID
		}
		if o := done[fn.ID].outcome(fn); o != "" && o != NotTried {
			for _, id := range fn.Undoes {
				undone[id] = fn.Words
			}
		}
	}
	for _, fn := range order {
		if done[fn.ID].outcome(fn) != "" {
			continue
		}
		if b, ok := p.bar(fn, byID, done, undone); ok {
			p.Barred = append(p.Barred, b)
		} else {
			p.May = append(p.May, fn)
		}
	}
	return p
}

// bar tells why fn may not be tried now. undone holds what a later check has
// undone, with that check's words.
func (p Progress) bar(fn Function, byID map[string]Function, done Answers, undone map[string]string) (Barred, bool) {
	if p.Stopped != "" && !fn.Gentle {
		return Barred{fn, "stopped at \"" + byID[p.Stopped].Words + "\": nothing that resists is forced", true}, true
	}
	for _, id := range fn.After {
		first, ok := byID[id]
		if !ok {
			continue // the watch does not have it
		}
		switch o := done[id].outcome(first); {
		case o == "":
			return Barred{fn, "first: " + first.Words, false}, true
		case o == Fails, o == NotTried && !first.Unsure:
			return Barred{fn, "needs first: " + first.Words + " (" + o.Words() + ")", true}, true
		case undone[id] != "":
			return Barred{fn, "no longer sure: " + first.Words + " (since: " + undone[id] + ")", true}, true
		}
	}
	return Barred{}, false
}
