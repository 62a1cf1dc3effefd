package live

import (
	"context"
	"fmt"
	"slices"

	"beatwright"
	"beatwright/position"
)

// Move says that a hearing was in another position, or of another stage, than
// was kept: its reading stays, its place in the table changes. An empty
// position is one that is not known.
func (b *Bench) Move(ctx context.Context, job string, hearing beatwright.ID, lies string, stage beatwright.Stage, who string) error {
	p, h, err := b.HearingOf(ctx, job, hearing)
	if err != nil {
		return err
	}
	if lies != "" {
		pos, err := position.Parse(lies)
		if err != nil {
			return &beatwright.Error{Code: beatwright.Wrong, Field: "position", Text: "position", Err: err}
		}
		lies = pos.String()
	}
	was := p.Stage(h)
	if stage == "" {
		stage = was
	}
	if !slices.Contains(beatwright.Stages, stage) {
		return &beatwright.Error{Code: beatwright.Wrong, Field: "stage", Text: fmt.Sprintf("stage: %q is no stage", stage)}
	}
	if lies == h.Position && stage == was {
		return nil
	}
	c := beatwright.Change{Who: who, What: movedWords(h.Position, lies, was, stage), Job: p.Job.ID}
	h.Position = lies
	if stage != was {
		c = b.otherRound(c, p, h, stage)
	}
	c.Put = append(c.Put, h)
	_, err = b.Apply(ctx, c)
	return err
}

// otherRound puts a hearing into a round of another stage; the round it leaves
// goes with it when nothing else was heard in it, and it was not planned.
func (b *Bench) otherRound(c beatwright.Change, p *beatwright.Papers, h *beatwright.Hearing, stage beatwright.Stage) beatwright.Change {
	left := h.Round
	to := b.roundFor(p, h, stage)
	if to.Rev == 0 {
		to.At = h.At
		c.Put = append(c.Put, to)
	}
	h.Round = to.ID
	if r := p.Round(left); r != nil && len(r.Plan) == 0 && p.HeardIn(left) == 0 {
		c.Remove = append(c.Remove, beatwright.KeyOf(r))
	}
	return c
}

func movedWords(from, to string, was, stage beatwright.Stage) string {
	name := func(s string) string {
		if s == "" {
			return "a position not known"
		}
		return s
	}
	words := "hearing"
	if from != to {
		words += " moved from " + name(from) + " to " + name(to)
	} else {
		words += " in " + name(from) + " moved"
	}
	if was != stage {
		words += fmt.Sprintf(", from %s to %s", was, stage)
	}
	return words
}

// Drop takes a hearing and what it said out of the job. Its sound stays in the
// folder, so that the act can be undone.
func (b *Bench) Drop(ctx context.Context, job string, hearing beatwright.ID, who string) error {
	p, h, err := b.HearingOf(ctx, job, hearing)
	if err != nil {
		return err
	}
	c := beatwright.Change{Who: who, What: "hearing taken out", Job: p.Job.ID}
	if h.Position != "" {
		c.What += ": " + h.Position + ", " + string(p.Stage(h))
	}
	for _, r := range p.Readings {
		if r.Hearing == h.ID {
			c.Remove = append(c.Remove, beatwright.KeyOf(r))
		}
	}
	c.Remove = append(c.Remove, beatwright.KeyOf(h))
	_, err = b.Apply(ctx, c)
	return err
}

// HearingOf gives a hearing of a job, with all the job's papers.
func (b *Bench) HearingOf(ctx context.Context, job string, hearing beatwright.ID) (*beatwright.Papers, *beatwright.Hearing, error) {
	p, err := b.Job(ctx, job)
	if err != nil {
		return nil, nil, err
	}
	for _, h := range p.Hearings {
		if h.ID == hearing {
			return p, h, nil
		}
	}
	return nil, nil, beatwright.NotFound("hearing", string(hearing))
}
