package beat

import "beatwright/unit"

// Now is what an engine follows at this moment, before the run is finished:
// for showing beats as they come. Their dates may still be made better.
type Now struct {
	// Following tells whether the beats of a watch are followed; Lost that
	// they stopped coming and are looked for.
	Following, Lost bool
	// Beats are the newest beats of the run, those not heard among them.
	Beats []Beat
	// Period is the full period, and Next when the next beat of either side is
	// due.
	Period unit.Seconds
	Next   [2]unit.Seconds
}

// Now gives what is followed now, with up to n of the newest beats.
func (e *Engine) Now(n int) Now {
	r := e.run
	if r == nil || len(r.beats) == 0 {
		return Now{}
	}
	cell := r.c.tape.cell()
	out := Now{Following: e.lostAt == 0, Lost: e.lostAt > 0, Period: unit.Seconds(2 * r.line.Slope * cell)}
	for _, b := range r.beats[max(0, len(r.beats)-n):] {
		out.Beats = append(out.Beats, Beat{K: b.k, At: unit.Seconds(b.at * cell), Score: b.score, Miss: b.miss, Why: b.why})
	}
	for _, k := range []int{r.nextK(), r.nextK() + 1} {
		out.Next[k&1] = unit.Seconds(r.predict(k) * cell)
	}
	return out
}

// Known is what is needed to know the beats of a run again: how they sound and
// when they are due.
type Known struct{ run run }

// Known gives the run that is followed, to be known again later; nil if none is.
func (e *Engine) Known() *Known {
	if e.run == nil || len(e.run.beats) == 0 {
		return nil
	}
	return &Known{run: *e.run}
}

// Again looks for beats known from another engine of the same sampling rate in
// what this one follows, in any phase. later is how much later this engine was
// set on in the sound. shift is how much later the beats come than they were
// due, the nearest way round; ok is false where the beats do not sound the
// same.
func (e *Engine) Again(k *Known, later unit.Seconds) (shift unit.Seconds, ok bool) {
	if e.run == nil || len(e.run.beats) == 0 {
		return 0, false
	}
	old := k.run
	old.c = e.run.c
	cell := old.c.tape.cell()
	old.base -= float64(later) / cell
	from := max(0, int64(e.run.beats[0].at)-int64(e.run.l.pre))
	_, by, ok := old.relock(from)
	return unit.Seconds(by * cell), ok
}
