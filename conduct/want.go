package conduct

import (
	"math"

	"beatwright/reading"
	"beatwright/unit"
)

// Want is what counts as sure enough.
type Want struct {
	// Least is how long a position is heard at least once the swing has
	// settled, Patience how long at most.
	Least, Patience unit.Seconds
	// The 95 % uncertainties wanted; of the rate what the sound alone allows.
	Rate      unit.SecondsPerDay
	BeatError unit.Milliseconds
	Amplitude unit.Degrees
	// Settled is how near the swing is to come to where it settles.
	Settled unit.Degrees
}

// Quick is a look of 20 s a position, Record one for the record: two turns of
// the fourth wheel, for what fewer cannot tell of the rate. turn is how long the
// wheel takes, 60 s where it is not known. What is wanted of each figure is
// chosen: a third of what a watchmaker regulates by.
func Quick() Want {
	return Want{Least: 10, Patience: 20, Rate: 2, BeatError: 0.3, Amplitude: 6, Settled: 4}
}

// Record is described at Quick.
func Record(turn unit.Seconds) Want {
	if !(turn > 0) {
		turn = 60
	}
	return Want{Least: 2 * turn, Patience: 3 * turn, Rate: 0.5, BeatError: 0.15, Amplitude: 4, Settled: 2}
}

// What a position takes beside the listening: to turn the watch, to find its
// beats, and to let the swing settle (chosen; time constants are 16 to 25 s,
// and most turns change the swing little).
const aside unit.Seconds = 15

// Takes is how long a position takes, at least.
func (w Want) Takes() unit.Seconds { return w.Least + aside }

// Sure says what is known well enough.
type Sure struct {
	Rate      bool `json:"rate"`
	BeatError bool `json:"beat_error"`
	Amplitude bool `json:"amplitude"`
	Settled   bool `json:"settled"`
}

// Sure holds what was heard over a span against what is wanted. A swing that can
// only be bounded is not sure.
func (w Want) Sure(r *reading.Watch, span unit.Seconds) (s Sure) {
	s.Rate = r.Rate == nil || r.Rate.U95Statistical <= float64(w.Rate)
	s.BeatError = r.BeatError != nil && r.BeatError.U95 <= float64(w.BeatError)
	a := r.Amplitude
	s.Amplitude = a.Standing == reading.Measured && a.U95 != nil && *a.U95 <= float64(w.Amplitude)
	s.Settled = settledWithin(r, span) <= float64(w.Settled)
	return s
}

// told tells whether enough was heard: what is not sure must be what more of the
// sound would not tell, after a while.
func (w Want) told(s Sure, r *reading.Watch, span unit.Seconds) bool {
	return s.Rate && s.Settled && span >= w.Least &&
		(s.BeatError || r.BeatError == nil) && (s.Amplitude || r.Amplitude.Standing != reading.Measured)
}

// settledWithin is how far the swing still is from where it settles, degrees.
func settledWithin(r *reading.Watch, span unit.Seconds) float64 {
	st := r.Settling
	if st == nil || st.TauS <= 0 {
		return 0
	}
	return math.Abs(st.From-st.Settled.Value) * math.Exp(-float64(span)/st.TauS)
}

// left is how much longer it takes until what r says is sure enough, s: the
// uncertainty of a slope falls with the power 3/2 of the time, that of a mean
// with its root.
func (w Want) left(r *reading.Watch, span unit.Seconds) unit.Seconds {
	need := w.Least
	if r.Rate != nil && r.Rate.U95Statistical > float64(w.Rate) {
		need = max(need, span*unit.Seconds(math.Pow(r.Rate.U95Statistical/float64(w.Rate), 2.0/3)))
	}
	if st := r.Settling; st != nil && settledWithin(r, span) > float64(w.Settled) {
		need = max(need, unit.Seconds(st.TauS*math.Log(math.Abs(st.From-st.Settled.Value)/float64(w.Settled))))
	}
	return max(1, min(need, w.Patience)-span)
}
