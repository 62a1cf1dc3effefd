package live

import (
	"fmt"

	"beatwright/conduct"
	"beatwright/internal/say"
	"beatwright/position"
	"beatwright/reading"
	"beatwright/unit"
)

// show makes a new View of how things stand. The caller holds the lock.
func (s *Sitting) show() {
	v := View{
		ID: s.id, Kind: s.kind, Job: s.job, Number: s.number, About: s.about, Crown: s.crown, Version: s.view.Version + 1,
		Heard: s.heard, Stale: !s.coming, Earlier: s.earlier, Say: s.say, SayOnce: s.sayOnce,
		Sound: s.soundView(),
	}
	if s.heard != nil {
		v.Reading = &s.heard.Reading
	}
	switch {
	case s.round != nil:
		s.viewRound(&v)
	case s.adjust != nil:
		s.viewAdjust(&v)
	default:
		s.viewPickup(&v)
	}
	if v.Phase != conduct.Ended {
		s.viewTrouble(&v)
	}
	s.viewedAt = s.now()
	s.view = v
	close(s.changed)
	s.changed = make(chan struct{})
}

func (s *Sitting) soundView() Sound {
	out := Sound{Coming: s.coming, Device: s.device.Name, RateHz: float64(s.device.RateHz), Path: s.device.Path, Seconds: s.now(), Lost: s.lost}
	for _, on := range []struct {
		is   bool
		name string
	}{{s.device.Echo, "echo cancellation"}, {s.device.Noise, "noise suppression"}, {s.device.Gain, "gain control"}} {
		if on.is {
			out.StayedOn = append(out.StayedOn, on.name)
		}
	}
	if s.keeper != nil {
		out.Durable = s.seconds(s.keeper.durable.Load(), s.keeper.rate)
	}
	return out
}

func (s *Sitting) viewRound(v *View) {
	r := s.round
	v.Phase = r.Phase()
	v.Doing = r.Doing()
	v.Doing.Advice = s.advice()
	v.Sure = r.Sure()
	next := false
	for i, p := range r.Places() {
		place := Place{
			Position: p.Position, Words: p.Position.Words(s.crown), Got: r.Got(i), Repeat: p.Repeat, Hearing: s.kept[i], State: Later,
		}
		switch {
		case p.State == conduct.Heard:
			place.State = Done
		case p.State == conduct.Skipped:
			place.State = Skipped
		case i == r.At() && r.Lying() > 0:
			place.State = Now
			if !s.coming {
				place.Got = []string{"stopped"}
			}
		case i == r.At() && v.Phase != conduct.Ended:
			place.State = Next
		case !next:
			next = true
			place.Got = []string{"next"}
		default:
			place.Got = []string{"after that"}
		}
		v.Places = append(v.Places, place)
	}
	if s.kind == AdjustKind {
		v.Adjust = s.poiseView(r)
	}
}

func (s *Sitting) viewAdjust(v *View) {
	a := s.adjust
	v.Phase = a.Phase()
	v.Doing = a.Doing()
	v.Doing.Advice = s.advice()
	v.Adjust = &Adjust{Target: a.Target, Wanted: a.Wanted, Touches: a.Touches(), Says: a.Says(), Done: a.Done()}
	v.Sure = a.Sure()
}

// viewTrouble puts what is wrong into the doing line, before all else.
func (s *Sitting) viewTrouble(v *View) {
	d := &v.Doing
	held := ""
	if s.keeper != nil {
		held = say.Unit(say.Fixed(float64(s.seconds(s.keeper.durable.Load(), s.keeper.rate)), 0), "s") + " are kept. "
	}
	switch {
	case s.trouble != "":
		d.Lead, d.Rest, d.Stop, d.Turn = "Not kept.", s.trouble, true, position.None
	case s.coming:
		return
	case s.ear == nil && s.gone != "unplugged":
		v.Phase = conduct.Silent
		d.Lead, d.Rest, d.Turn, d.Acts = "No sound yet.", "Choose the microphone; then lay the watch on it.", position.None, nil
	default:
		v.Phase = conduct.Silent
		at := s.goneAt.Local().Format("15:04")
		d.Lead, d.Stop, d.Turn = "The microphone went away at "+at+".", true, position.None
		d.Rest = held + "Plug it in; it goes on."
		if s.gone == "closed" || s.gone == "elsewhere" {
			d.Lead = "The page that listened was closed at " + at + "."
			d.Rest = held + "Begin listening; it goes on."
		}
	}
}

const (
	// tooQuiet is the peak below which nothing of a watch is to be expected, dB
	// of full scale (chosen).
	tooQuiet unit.Decibels = -66
	// faintDB is the drop over the noise below which the unlocking, some 20 dB
	// fainter, is lost (from the pictures of real beats; chosen).
	faintDB = 22
)

// advice is plain advice on the sound.
func (s *Sitting) advice() (out []string) {
	if !s.coming {
		return nil
	}
	if s.level.Clipped || s.heard != nil && s.heard.Watch != nil && s.heard.Watch.Signal.Clipped {
		out = append(out, "Turn the gain down: the sound is clipped.")
	}
	if s.level.Peak < tooQuiet && s.now() > 2 {
		out = append(out, "Very quiet: press the pickup to the case, or turn the gain up.")
	}
	if s.heard != nil && s.heard.Watch != nil {
		w := s.heard.Watch
		if float64(w.Signal.SNR) < faintDB {
			out = append(out, "Faint: press the pickup to the case, crown side, and quieten the room.")
		}
		for _, c := range w.Changes {
			if c.What == reading.SecondWatch {
				out = append(out, "Another watch is ticking nearby: take it away.")
				break
			}
		}
	}
	if on := s.soundView().StayedOn; len(on) > 0 {
		out = append(out, "The browser would not switch off "+say.List(on)+": the swing may be misread; choose another input.")
	}
	return out
}

// viewPickup gives the verdict of a trial.
func (s *Sitting) viewPickup(v *View) {
	v.Phase = conduct.Listening
	v.Doing = conduct.Doing{Lead: "Trying the pickup.", Rest: "Lay a watch on it, dial up; ten seconds tell.", Advice: s.advice()}
	if s.heard == nil {
		return
	}
	v.Pickup = verdict(s.heard.Watch, s.heard.Refusal, s.level.Clipped)
	if w := s.heard.Watch; w != nil {
		v.Sure = conduct.Quick().Sure(w, w.To-w.From)
	}
}

// verdict tells whether a pickup that heard this is good enough.
func verdict(w *reading.Watch, refused *reading.Refusal, clipped bool) *Verdict {
	if w == nil {
		d := &Verdict{Says: "Not good enough: no watch is heard through it."}
		if refused != nil {
			d.Why = []string{say.Sentence(refused.Why)}
		}
		return d
	}
	why := []string{fmt.Sprintf("Drops stand %s over the noise.", say.Unit(say.Fixed(float64(w.Signal.SNR), 0), "dB"))}
	if clipped || w.Signal.Clipped {
		return &Verdict{Says: "Too loud: turn the gain down, then it may be good enough.", Why: why}
	}
	a := w.Amplitude
	switch {
	case a.Standing == reading.Measured && float64(w.Signal.SNR) >= faintDB:
		return &Verdict{Good: true, Says: "Good enough: the faint first sound of the beat is heard.", Why: why}
	case a.Standing == reading.Measured:
		return &Verdict{Good: true, Says: "Good enough for this watch; the swing of a tired one may only be bounded.", Why: why}
	}
	if a.Why != "" {
		why = append(why, say.Sentence(a.Why))
	}
	return &Verdict{Says: "Good enough for rate and beat error, not for the swing.", Why: append(why, "Press it to the case, crown side, or try a contact pickup.")}
}
