package synth

import (
	"math"
	"math/rand/v2"

	"beatwright/unit"
)

// Beat is the truth of one beat; times are places in the file, s. A file of
// a wrong clock, or one with gaps, shifts them as it shifts the samples.
type Beat struct {
	Number    int          `json:"number"`
	Side      int          `json:"side"` // 0 first, 1 second
	Unlocking unit.Seconds `json:"unlocking_s"`
	Impulse   unit.Seconds `json:"impulse_s"`
	Drop      unit.Seconds `json:"drop_s"`
	// Middle is half-way between unlocking and drop: the beat's date.
	Middle unit.Seconds `json:"middle_s"`
	// Centre is the middle without the three sounds' own jitter.
	Centre    unit.Seconds `json:"centre_s"`
	Amplitude unit.Degrees `json:"amplitude_deg"`
	// Lost is set where a gap in the file took some of it.
	Lost bool `json:"lost,omitempty"`
}

// process walks through the beats of one watch, in the world's time.
type process struct {
	w   Watch
	rng *rand.Rand

	number int
	// The balance crosses rest at origin + (number − first)·T/2.
	origin float64
	first  int
	rate   unit.SecondsPerDay
	beta   float64

	steps   []RateStep
	turns   []Turn
	settle  *Turn // the turn whose amplitude is being approached
	from    unit.Degrees
	slow    float64
	stopped bool
}

func newProcess(w Watch, rng *rand.Rand) *process {
	p := &process{w: w, rng: rng, origin: float64(w.FirstAt), rate: w.Rate}
	p.beta = float64(BeatAngle(w.BeatError, w.Swing.At(0), p.period()))
	p.steps, p.turns = w.RateSteps, w.Turns
	p.slow = rng.NormFloat64() * float64(w.Jitter.Slow.Seconds())
	return p
}

func (p *process) period() unit.Seconds { return Period(p.w.BeatsPerHour, p.rate) }

// rest is when the balance next crosses rest.
func (p *process) rest() float64 {
	return p.origin + float64(p.number-p.first)*float64(p.period())/2
}

// next gives the next beat, and false when the watch has stopped for good. A
// beat whose swing does not reach through the lift is silent: it has number
// and side only, and ok.
func (p *process) next() (b Beat, m motion, silent, ok bool) {
	p.change()
	at := p.rest()
	if p.stopped {
		return b, m, true, false
	}
	m = p.motion(at)
	b = Beat{Number: p.number, Side: m.side, Amplitude: unit.Degrees(m.amplitude)}
	p.number++
	shift := p.shift(at, b)
	early, late := p.liftEnds()
	u, d := m.after(early), m.after(late)
	if math.IsNaN(u) || math.IsNaN(d) {
		return b, m, true, true
	}
	j := p.w.Jitter
	at += shift
	b.Centre = unit.Seconds(at + (u+d)/2)
	b.Unlocking = unit.Seconds(at + u + p.normal(j.Unlocking))
	b.Impulse = unit.Seconds(at + m.after(p.impulse(m.side)) + p.normal(j.Impulse))
	b.Drop = unit.Seconds(at + d + p.normal(j.Drop))
	b.Middle = (b.Unlocking + b.Drop) / 2
	return b, m, false, true
}

// liftEnds are the balance's angles from the line of centres, on its way, at
// unlocking and drop.
func (p *process) liftEnds() (early, late float64) {
	half, shift := float64(p.w.Lift)/2, float64(p.w.LiftShift)
	return shift - half, shift + half
}

func (p *process) impulse(side int) float64 {
	early, late := p.liftEnds()
	return early + p.w.ImpulseAt[side]*(late-early)
}

// normal draws a displacement; nothing is drawn for none.
func (p *process) normal(rms unit.Milliseconds) float64 {
	if rms == 0 {
		return 0
	}
	return p.rng.NormFloat64() * float64(rms.Seconds())
}

// change takes up the rate steps, turns and the stop that are due before the
// next beat.
func (p *process) change() {
	for len(p.steps) > 0 && float64(p.steps[0].At) <= p.rest() {
		p.rebase(p.steps[0].Rate, 0)
		p.steps = p.steps[1:]
	}
	for len(p.turns) > 0 && float64(p.turns[0].At) <= p.rest() {
		p.turn(p.turns[0])
		p.turns = p.turns[1:]
	}
	if p.w.Stop > 0 && unit.Seconds(p.rest()) >= p.w.Stop && p.w.Fade <= 0 {
		p.stopped = true
	}
}

// rebase goes on at another rate from the next crossing, moved by jump.
func (p *process) rebase(rate unit.SecondsPerDay, jump unit.Milliseconds) {
	p.origin, p.first, p.rate = p.rest()+float64(jump.Seconds()), p.number, rate
}

func (p *process) turn(t Turn) {
	p.from = p.amplitude(t.At)
	if t.Amplitude > 0 {
		p.settle = &t
	}
	p.rebase(t.Rate, t.Phase)
	amplitude := p.from
	if t.Amplitude > 0 {
		amplitude = t.Amplitude
	}
	p.beta = float64(BeatAngle(t.BeatError, amplitude, p.period()))
}

// amplitude is that of the course, with turn and stop.
func (p *process) amplitude(t unit.Seconds) unit.Degrees {
	a := p.w.Swing.At(t)
	if s := p.settle; s != nil {
		tau := orElse(s.Settling, 20)
		a = s.Amplitude + (p.from-s.Amplitude)*unit.Degrees(math.Exp(-math.Max(0, float64((t-s.At)/tau))))
	}
	if p.w.Stop > 0 && t > p.w.Stop && p.w.Fade > 0 {
		a *= unit.Degrees(math.Exp(-float64((t - p.w.Stop) / p.w.Fade)))
	}
	return a
}

// motion is the half swing about the crossing of rest at t.
func (p *process) motion(at float64) motion {
	t := unit.Seconds(at)
	m := motion{period: float64(p.period()), beta: p.beta, side: p.number & 1}
	a := p.amplitude(t)
	for _, v := range p.w.Waves {
		a += v.Swing * unit.Degrees(v.at(t))
	}
	if p.w.Jitter.Swing > 0 {
		a += p.w.Jitter.Swing * unit.Degrees(p.rng.NormFloat64())
	}
	half := p.w.Swing.SideDifference / 2
	if m.side == 1 {
		half = -half
	}
	m.amplitude = float64(a + half)
	return m
}

// shift is how far the beat is displaced by jitter, train and teeth, s.
func (p *process) shift(at float64, b Beat) float64 {
	j := p.w.Jitter
	s := p.normal(j.Centre)
	if j.Slow > 0 {
		s += p.slow
		p.slow = j.Memory*p.slow + math.Sqrt(1-j.Memory*j.Memory)*p.normal(j.Slow)
	}
	for _, v := range p.w.Waves {
		s += float64(v.Peak.Seconds()) * v.at(unit.Seconds(at))
	}
	return s + p.tooth(b)
}

// tooth is the displacement by the escape tooth at work. The exit pallet
// works on a tooth 2½ pitches from the entry's (Playtner: pallets span 2½
// spaces), so that a bad tooth shows in two beats of each turn.
func (p *process) tooth(b Beat) float64 {
	if len(p.w.ToothErrors) == 0 {
		return 0
	}
	tooth := b.Number / 2
	if b.Side == 1 {
		tooth += p.w.EscapeTeeth - 2
	}
	tooth %= p.w.EscapeTeeth
	if tooth >= len(p.w.ToothErrors) {
		return 0
	}
	return float64(p.w.ToothErrors[tooth].Seconds())
}
