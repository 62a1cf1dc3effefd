package web

import (
	"context"
	"slices"
	"strings"
	"time"

	"beatwright"
	"beatwright/handcheck"
	"beatwright/intake"
	"beatwright/internal/say"
	"beatwright/unit"
)

// step is one place on the spine of a job.
type step struct {
	Name string `json:"name"`
	// Mark is done, now or later.
	Mark  string     `json:"mark"`
	When  *time.Time `json:"when,omitempty"`
	Words string     `json:"words,omitempty"`
	// Link is where the step's own page is, LinkName what it is called.
	Link     string `json:"link,omitempty"`
	LinkName string `json:"-"`
	// Open names the form that stands open here.
	Open string `json:"-"`
}

// steps puts the job in the order of the work. A step is done when something
// of it is kept and the job has gone on; the first that is not is the present.
func steps(p *beatwright.Papers) []step {
	base := "/jobs/" + p.Job.Number
	received := step{Name: "Received", When: p.Job.Received, Words: receivedWords(p), Link: base + "/wishes", LinkName: "Wishes and custody"}
	if p.Job.Received == nil {
		received.Name, received.When = "Considered", &p.Job.Opened
	}
	seen := step{Name: "Seen", Words: seenWords(p), Link: base + "/intake", LinkName: "Look it over", Open: "seen"}
	if n := len(p.Findings); n > 0 {
		seen.When = &p.Findings[n-1].At
	}
	found := roundStep(p, "Heard as found", beatwright.AsFound)
	work := step{Name: "Work", Open: "work"}
	left := roundStep(p, "As left", beatwright.AsLeft, beatwright.CasedStage)
	back := step{Name: "Return", When: p.Job.Ended, Open: "return"}
	steps := []step{received, seen, found, work, left, back}
	marks(steps, p)
	return steps
}

// marks says of each step whether it is done, present or later.
func marks(steps []step, p *beatwright.Papers) {
	done := map[string]bool{
		"Received": p.Job.State != beatwright.Considered, "Considered": false,
		"Seen":           len(p.Findings)+len(p.Functions) > 0,
		"Heard as found": heardAt(p, beatwright.AsFound) > 0,
		"Work":           p.Job.State == beatwright.OnTrial || p.Job.State == beatwright.Ready || p.Job.State == beatwright.Returned,
		"As left":        heardAt(p, beatwright.AsLeft, beatwright.CasedStage) > 0 && (p.Job.State == beatwright.Ready || p.Job.State == beatwright.Returned),
		"Return":         p.Job.State == beatwright.Returned,
	}
	present := false
	// Once the work has begun, what was left out before it is past.
	left := func(name string) bool {
		return p.Job.State == beatwright.InWork && (name == "Seen" || name == "Heard as found")
	}
	for i := range steps {
		switch name := steps[i].Name; {
		case done[name]:
			steps[i].Mark = "done"
		case !present && !left(name) && p.Job.State.Open():
			steps[i].Mark, present = "now", true
		default:
			steps[i].Mark = "later"
		}
	}
}

func heardAt(p *beatwright.Papers, stages ...beatwright.Stage) int {
	n := 0
	for _, h := range p.Hearings {
		if slices.Contains(stages, p.Stage(h)) {
			n++
		}
	}
	return n
}

func receivedWords(p *beatwright.Papers) string {
	var parts []string
	if n := len(p.Pictures); n > 0 {
		parts = append(parts, say.Count(n)+" "+plural(n, "picture", "pictures"))
	}
	var keep []string
	for _, id := range []string{"wi.polish", "wi.dial", "wi.hands"} {
		switch p.Job.Wishes.Answers[id] {
		case "none":
			keep = append(keep, "nothing to be polished")
		case "untouched":
			keep = append(keep, map[string]string{"wi.dial": "dial untouched", "wi.hands": "hands untouched"}[id])
		}
	}
	if len(keep) > 0 {
		parts = append(parts, strings.Join(keep, ", "))
	}
	if len(parts) == 0 {
		return "No wishes noted yet: until then nothing is polished, and dial and hands stay as they are."
	}
	return say.Sentence(strings.Join(parts, "; "))
}

// verdicts set what the seller claimed against what was found.
func (s *Server) verdicts(ctx context.Context, p *beatwright.Papers) []intake.Verdict {
	if p.Job.Prospect == nil || len(p.Job.Prospect.Claims) == 0 {
		return nil
	}
	return s.catalogue(ctx).Compare(p.Job.Prospect.Claims, features(p), answersOf(p), nil)
}

// answersOf are the job's answers in the form the intake reasons with.
func answersOf(p *beatwright.Papers) intake.Answers {
	a := intake.Answers{}
	for _, f := range p.Findings {
		if f.Item == "" {
			continue
		}
		a[f.Item] = givenFinding(f)
	}
	for _, f := range p.Functions {
		a[f.Item] = givenFunction(f)
	}
	return a
}

func handLines(p *beatwright.Papers) []handLine {
	var out []handLine
	for _, h := range p.HandChecks {
		c := handcheck.Check{Change: unit.Seconds(h.ChangeS), Over: unit.Seconds(h.OverS), ReadTo: unit.Seconds(h.ReadToS)}
		verb := "gained"
		if h.ChangeS < 0 {
			verb = "lost"
		}
		line := handLine{Words: verb + " " + say.Span(unit.Seconds(abs(h.ChangeS))) + " in " + say.Span(unit.Seconds(h.OverS)), Note: h.Note}
		if rate, err := c.Rate(); err == nil {
			line.Rate = say.SignedWith(rate.Value, rate.U95(), "s/d")
		}
		out = append(out, line)
	}
	return out
}

func abs(v float64) float64 {
	if v < 0 {
		return -v
	}
	return v
}
