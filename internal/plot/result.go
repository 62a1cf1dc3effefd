package plot

import (
	"beatwright/balance"
	"beatwright/estimate"
	"beatwright/internal/say"
	"beatwright/measure"
	"beatwright/reading"
	"beatwright/unit"
)

// ProfileOf is the averaged beat of a result over the balance's angle, as far
// as the swing is known. Of a result without a watch it is empty.
func ProfileOf(r measure.Result) Profile {
	w := r.Watch
	if w == nil {
		return Profile{Standing: NotTold}
	}
	f := Profile{Standing: NotTold, Lift: unit.Degrees(w.Lift.Value), Period: unit.Milliseconds(2 * w.BeatTime.Value).Seconds()}
	switch a := w.Amplitude; {
	case a.Value == nil:
	case a.Standing == reading.Measured && a.U95 != nil && a.U95WithLift != nil:
		f.Standing, f.Amplitude = Known, unit.Degrees(*a.Value)
		f.U95, f.U95WithLift = unit.Degrees(*a.U95), unit.Degrees(*a.U95WithLift)
	case a.Standing == reading.AtMost:
		f.Standing, f.Amplitude = AtMost, unit.Degrees(*a.Value)
	}
	if f.Standing != NotTold {
		f.BeatError = balance.BeatErrorAngle(signedBeatError(r).Seconds(), f.Amplitude, f.Period)
	}
	for i, s := range r.Profiles {
		if i < len(f.Sides) {
			f.Sides[i] = Side{
				From: s.From, Cell: s.Cell, FromMiddle: s.FromMiddle, Power: s.Power,
				Unlocking: markAt(s.Unlocking), Impulse: markAt(s.Impulse), Drop: markAt(s.Drop), First: markAt(s.First),
			}
		}
	}
	return f
}

func markAt(m *measure.Mark) *unit.Seconds {
	if m == nil {
		return nil
	}
	return &m.At
}

// signedBeatError is the beat error, below 0 if the first beats come early;
// 0 where it cannot be told. Beats are dated by the whole sound of their side;
// how far its middle, or its drop, lies from that date is where its profile
// begins, less what both sides share.
func signedBeatError(r measure.Result) unit.Milliseconds {
	if r.Watch.BeatError == nil {
		return 0
	}
	e := r.Watch.BeatError.Value
	apart := 0.0
	var late []float64
	for i := 1; i+1 < len(r.Beats); i++ {
		a, b, c := r.Beats[i-1], r.Beats[i], r.Beats[i+1]
		near := c.At-a.At < unit.Milliseconds(3*r.Watch.BeatTime.Value).Seconds()
		if b.Side == 1 && a.Side == 2 && c.Side == 2 && near && !a.Rejected && !b.Rejected && !c.Rejected {
			late = append(late, float64(b.At-(a.At+c.At)/2))
		}
	}
	if len(r.Profiles) == 2 {
		apart = float64(r.Profiles[1].From - r.Profiles[0].From)
	}
	if len(late) > 0 && estimate.Median(late)+apart < 0 {
		e = -e
	}
	return unit.Milliseconds(e)
}

// DriftOf is the drift of a result over the stretch that was measured; without
// a watch it has no beats.
func DriftOf(r measure.Result) Drift {
	w := r.Watch
	if w == nil {
		return Drift{}
	}
	d := Drift{BeatError: signedBeatError(r)}
	if w.Rate != nil {
		d.Rate, d.U95, d.Known = unit.SecondsPerDay(w.Rate.Value), unit.SecondsPerDay(w.Rate.U95Statistical), true
	}
	for _, b := range r.Beats {
		if b.At >= w.From && b.At <= w.To {
			d.Beats = append(d.Beats, Beat{At: b.At, First: b.Side == 1, Late: unit.Milliseconds(b.ResidualMs), LeftOut: b.Rejected})
		}
	}
	return d
}

// HeadOf says over drawings what is said of a watch; before stands in front of
// what was heard, such as the file's name.
func HeadOf(before string, w *reading.Watch) *Picture {
	var said []Span
	for i, s := range say.Statements(w) {
		if i > 0 {
			s.Text = " " + s.Text
		}
		said = append(said, Span{Words: s.Text, Strong: s.Sure})
	}
	return Head(before+say.Heard(w)+".", said...)
}
