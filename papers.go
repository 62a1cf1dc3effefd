package beatwright

import (
	"slices"
	"time"
)

// Papers are all there is of one job.
type Papers struct {
	Job      *Job
	Watch    *Watch
	Owner    *Owner    // nil: not said
	Movement *Movement // nil: not known
	// Others are the other jobs of the same watch, oldest first.
	Others []Line

	Findings   []*Finding
	Functions  []*FunctionCheck
	HandChecks []*HandCheck
	Rounds     []*Round
	Hearings   []*Hearing
	Readings   []*Reading
	Notes      []*Note
	Pictures   []*Picture
	Moves      []*Move
}

// Add puts a thing of the job in its place; other kinds are passed over.
func (p *Papers) Add(t Thing) {
	switch t := t.(type) {
	case *Finding:
		p.Findings = append(p.Findings, t)
	case *FunctionCheck:
		p.Functions = append(p.Functions, t)
	case *HandCheck:
		p.HandChecks = append(p.HandChecks, t)
	case *Round:
		p.Rounds = append(p.Rounds, t)
	case *Hearing:
		p.Hearings = append(p.Hearings, t)
	case *Reading:
		p.Readings = append(p.Readings, t)
	case *Note:
		p.Notes = append(p.Notes, t)
	case *Picture:
		p.Pictures = append(p.Pictures, t)
	case *Move:
		p.Moves = append(p.Moves, t)
	}
}

// OpenParts are the makeshift and foreign parts that still stand open. Those of
// a watch that is not here are only findings.
func (p *Papers) OpenParts() []*Finding {
	if !p.Job.State.Here() {
		return nil
	}
	var out []*Finding
	for _, f := range p.Findings {
		if f.StandsOpen() {
			out = append(out, f)
		}
	}
	return out
}

// Finding gives the answer to a question, nil if it was not answered.
func (p *Papers) Finding(item string) *Finding {
	for _, f := range slices.Backward(p.Findings) {
		if f.Item == item {
			return f
		}
	}
	return nil
}

// Function gives how a function tried by hand went, nil if it was not asked.
func (p *Papers) Function(item string) *FunctionCheck {
	for _, f := range slices.Backward(p.Functions) {
		if f.Item == item {
			return f
		}
	}
	return nil
}

// Round gives a round by its ID, nil if there is none.
func (p *Papers) Round(id ID) *Round {
	for _, r := range p.Rounds {
		if r.ID == id {
			return r
		}
	}
	return nil
}

// Stage is the stage at which a hearing was heard.
func (p *Papers) Stage(h *Hearing) Stage {
	if r := p.Round(h.Round); r != nil {
		return r.Stage
	}
	return AsFound
}

// Latest is the newest reading of a hearing, nil if it was never reckoned.
func (p *Papers) Latest(hearing ID) *Reading {
	for _, r := range slices.Backward(p.Readings) {
		if r.Hearing == hearing {
			return r
		}
	}
	return nil
}

// Place is the last move of what (the watch, its dial …), nil if it was never
// moved.
func (p *Papers) Place(what string) *Move {
	for _, m := range slices.Backward(p.Moves) {
		if m.What == what {
			return m
		}
	}
	return nil
}

// Away are the things that are out of the workshop now.
func (p *Papers) Away() []*Move {
	var out []*Move
	for _, m := range p.Moves {
		if m.Out && p.Place(m.What) == m {
			out = append(out, m)
		}
	}
	return out
}

// FullWind is when the watch was fully wound for a round, and whether that is
// known.
func (r *Round) FullWind() (time.Time, bool) {
	if r.State.Hours == nil {
		return time.Time{}, false
	}
	return r.At.Add(-time.Duration(*r.State.Hours * float64(time.Hour))), true
}
