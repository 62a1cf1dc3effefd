package synth

import (
	"sort"

	"beatwright/unit"
)

// book keeps the truth while the sound is made.
type book struct {
	scene   Scene
	tape    *tape
	changes []Change
	rates   []RateStep // the process's rate from each time of the file on
	next    int        // the first change not yet passed
	now     tally
	stretch []Stretch
	beats   []Beat
}

func newBook(s Scene, t *tape) *book {
	b := &book{scene: s, tape: t}
	if s.Watch != nil {
		b.list(*s.Watch)
	}
	for _, e := range s.Edits {
		if e.Gap > 0 {
			b.note(Change{At: e.At, What: Gap, Ms: e.Gap.Milliseconds()})
		}
		if e.Zeros > 0 {
			b.note(Change{At: e.At, What: Insertion, Ms: e.Zeros.Milliseconds()})
		}
	}
	sort.SliceStable(b.changes, func(i, j int) bool { return b.changes[i].At < b.changes[j].At })
	return b
}

func (b *book) note(c Change) {
	if c.At < b.scene.Duration {
		b.changes = append(b.changes, c)
	}
}

// at places a moment of the world in the file.
func (b *book) at(world unit.Seconds) unit.Seconds {
	t, _ := b.tape.place(world)
	return t
}

// list notes the changes of the watch itself.
func (b *book) list(w Watch) {
	rate := w.Rate
	b.rates = append(b.rates, RateStep{Rate: rate})
	steps, turns := w.RateSteps, w.Turns
	for len(steps)+len(turns) > 0 {
		var now RateStep
		if len(turns) == 0 || len(steps) > 0 && steps[0].At <= turns[0].At {
			now, steps = steps[0], steps[1:]
			b.note(Change{At: b.at(now.At), What: StepRate, PerDay: now.Rate - rate})
		} else {
			now = RateStep{At: turns[0].At, Rate: turns[0].Rate}
			b.turn(turns[0], rate)
			turns = turns[1:]
		}
		rate = now.Rate
		b.rates = append(b.rates, RateStep{At: b.at(now.At), Rate: rate})
	}
	if w.FirstAt > 1 {
		b.note(Change{At: b.at(w.FirstAt), What: Started})
	}
	if w.Stop > 0 {
		b.note(Change{At: b.at(w.Stop), What: Stopped})
	}
}

func (b *book) turn(t Turn, rate unit.SecondsPerDay) {
	what := Turned
	if t.Handling == 0 && t.Amplitude == 0 && t.Rate == rate && t.Phase != 0 {
		what = PhaseStep
	}
	b.note(Change{At: b.at(t.At), What: what, Ms: t.Phase, PerDay: t.Rate - rate})
	if t.Handling > 0 {
		b.note(Change{At: b.at(t.At + t.Handling), What: Handled})
	}
}

// add counts a beat that is on the file.
func (b *book) add(x Beat) {
	for b.next < len(b.changes) && x.Middle >= b.changes[b.next].At {
		b.close()
		b.next++
	}
	if x.Lost {
		return
	}
	rate := b.rateAt(x.Middle)
	b.now.rate = rate
	beat := Period(b.scene.Watch.BeatsPerHour, rate) / 2 * unit.Seconds(clockFactor(b.scene.ClockPPM))
	b.now.add(x, float64(beat))
}

func (b *book) rateAt(t unit.Seconds) unit.SecondsPerDay {
	i := sort.Search(len(b.rates), func(i int) bool { return b.rates[i].At > t })
	return b.rates[max(0, i-1)].Rate
}

// close ends the present stretch.
func (b *book) close() {
	b.stretch = append(b.stretch, b.closed()...)
	b.now = tally{}
}

// closed is the present stretch as it stands, if it has any beat.
func (b *book) closed() []Stretch {
	if b.now.n[0]+b.now.n[1] == 0 {
		return nil
	}
	s := Stretch{From: b.now.from, To: b.now.to, Rate: b.now.rate}
	s.Sampled = b.now.sampled(b.scene.Watch.BeatsPerHour, b.scene.ClockPPM)
	return []Stretch{s}
}

func (b *book) truth() Truth {
	t := Truth{Scene: b.scene, Changes: b.changes, Beats: b.beats}
	if n := b.scene.Second; n != nil {
		p := processOf(n.Watch, b.scene.ClockPPM)
		t.Second = &p
	}
	if b.scene.Watch == nil {
		return t
	}
	t.Process = processOf(*b.scene.Watch, b.scene.ClockPPM)
	t.Stretches = append(append([]Stretch(nil), b.stretch...), b.closed()...)
	for _, s := range t.Stretches {
		if s.Sampled != nil && (t.Sampled == nil || s.Sampled.Beats > t.Sampled.Beats) {
			t.Sampled = s.Sampled
		}
	}
	return t
}
