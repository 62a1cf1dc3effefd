package live

import (
	"context"
	"fmt"

	"beatwright"
	"beatwright/conduct"
	"beatwright/movement"
	"beatwright/position"
	"beatwright/train"
	"beatwright/unit"
)

// fromRecord takes up a round where the record has it.
func (s *Sitting) fromRecord(ctx context.Context) error {
	r, err := beatwright.Load[*beatwright.Round](ctx, s.bench, beatwright.KindRound, s.id)
	if err != nil {
		return err
	}
	p, err := s.bench.Job(ctx, string(r.Job))
	if err != nil {
		return err
	}
	s.kind, s.job, s.number = RoundKind, p.Job.ID, p.Job.Number
	s.about = p.Watch.Name() + ": " + string(r.Stage)
	s.options = s.bench.options(p, nil)
	if m := Facts(p); m != nil && m.CrownHour != nil {
		s.crown = *m.CrownHour
	}
	if a := r.Adjust; a != nil {
		s.kind = AdjustKind
		if target := conduct.Target(a.Target); target != conduct.Poise {
			s.adjust = conduct.NewAdjusting(target, a.Wanted)
			return nil
		}
	}
	places, err := s.places(p, r)
	if err != nil {
		return err
	}
	want := conduct.Quick()
	if !r.Quick {
		want = conduct.Record(fourthTurn(s.options.Movement))
	}
	s.round = conduct.NewRound(places, want, s.crown)
	if s.kind == AdjustKind {
		s.round.Poise()
	}
	switch {
	case r.Ended != nil:
		s.round.End()
	case s.round.Phase() == conduct.Ended:
		s.ended("") // all was heard; stopped before that was written
	}
	return nil
}

// places are the positions of a round's plan, with what was heard of them.
func (s *Sitting) places(p *beatwright.Papers, r *beatwright.Round) ([]conduct.Place, error) {
	var out []conduct.Place
	for _, symbol := range r.Plan {
		pos, err := position.Parse(symbol)
		if err != nil {
			return nil, fmt.Errorf("plan of the round: %w", err)
		}
		out = append(out, conduct.Place{Position: pos, State: conduct.Open})
	}
	for _, h := range p.Hearings {
		pos, err := position.Parse(h.Position)
		if h.Round != r.ID || BrokenOff(h) || err != nil {
			continue
		}
		i := 0
		for i < len(out) && (out[i].Position != pos || out[i].State == conduct.Heard) {
			i++
		}
		if i == len(out) {
			out = append(out, conduct.Place{Position: pos, Repeat: h.Repeat})
		}
		out[i].State = conduct.Heard
		if l := p.Latest(h.ID); l != nil {
			out[i].Reading = l.Says.Watch
		}
		s.kept[i] = h.ID
	}
	if len(out) == 0 {
		return nil, &beatwright.Error{Code: beatwright.Wrong, Text: "the round has no positions to hear", Do: "begin a new one and tick the positions"}
	}
	return out, nil
}

// FourthTurn is how long the fourth wheel of a job's watch takes to go round, 0
// if that is not known.
func FourthTurn(p *beatwright.Papers) unit.Seconds {
	if p.Movement == nil {
		return 0
	}
	return fourthTurn(&p.Movement.Facts)
}

func fourthTurn(m *movement.Movement) unit.Seconds {
	if m == nil {
		return 0
	}
	if m.BeatsPerHour == nil || m.EscapeTeeth == nil {
		return 0
	}
	t := train.Train{BeatsPerHour: *m.BeatsPerHour, EscapeTeeth: *m.EscapeTeeth, Wheels: m.Wheels, Pinions: m.Pinions}
	return t.Turns()["fourth"]
}
