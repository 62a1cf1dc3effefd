package synth

import (
	"math"
	"math/rand/v2"
)

// bus is where strikes are added: sound in frames from base on.
type bus struct {
	acc  []float64
	base float64 // frame of acc[0]
	fs   float64 // frames per second of the world's time
}

func (b *bus) strike(p *pulse, at, gain float64, phase func() float64) {
	p.add(b.acc, at*b.fs-b.base, gain, phase)
}

// source makes sound by strikes. until adds all that begins before t (s of
// the world); tail is how long after t that may sound, s.
type source interface {
	until(t float64, b *bus)
	tail() float64
}

// lead is how far ahead of its block a beat is drawn: more than the greatest
// distance of its sounds from the crossing of rest.
const lead = 0.5

// voice is a watch as a source.
type voice struct {
	w       Watch
	p       *process
	rng     *rand.Rand
	sounds  [2][3]*pulse
	refs    [2][3]float64 // speed at the start
	level   float64
	echo    []Strike
	phase   func() float64
	longest float64
	// heard is told of every sounding beat.
	heard func(Beat)
	// held is a beat drawn but not yet due.
	held   Beat
	motion motion
	ready  bool
}

// reference is the factor that brings a watch's drop, mean power of both
// sides, to a peak envelope of 1 in the band.
func (w Watch) reference() float64 {
	sum := 0.0
	for _, s := range w.Sides {
		e := amplitudeOf(s.Drop.Level)
		sum += e * e / 2
	}
	return 1 / math.Sqrt(sum)
}

// strikeModes are a sound's own resonances and the case's.
func (w Watch) strikeModes(s Sound) []Mode {
	return append(append([]Mode(nil), s.Modes...), w.Case...)
}

// levelOf is the peak envelope in the band of a sound's resonances as they
// stand: divided by it, the sound is at its level.
func (w Watch) levelOf(s Sound) float64 {
	if e := peakEnvelope(inBand(w.strikeModes(s)), s.Attack); e > 0 {
		return e
	}
	return 1
}

func newVoice(w Watch, level, fs float64, process, shape *rand.Rand) *voice {
	v := &voice{w: w, p: newProcess(w, process), rng: shape, level: level * w.reference()}
	if w.PhaseSpread > 0 {
		v.phase = func() float64 { return w.PhaseSpread * (2*shape.Float64() - 1) }
	}
	v.echo = append([]Strike{{}}, w.Echoes...)
	for side, s := range w.Sides {
		for i, x := range s.all() {
			gain := amplitudeOf(x.Level) / w.levelOf(x)
			v.sounds[side][i] = newPulse(w.strikeModes(x), x.Attack, fs, gain)
			v.longest = max(v.longest, float64(v.sounds[side][i].tail)/fs+v.spread(x))
		}
		v.refs[side] = v.speeds(v.p.motionAtStart(side))
	}
	return v
}

func (s Side) all() [3]Sound { return [3]Sound{s.Unlocking, s.Impulse, s.Drop} }

// spread is how late the last strike of a sound may come.
func (v *voice) spread(s Sound) float64 {
	last, after, echo := 0.0, 0.0, 0.0
	for _, k := range s.Strikes {
		last = max(last, float64(k.After.Seconds()))
	}
	for _, k := range v.w.After {
		after = max(after, float64(k.After.Seconds())*1.5)
	}
	for _, k := range v.echo {
		echo = max(echo, float64(k.After.Seconds()))
	}
	return last + after + echo
}

func (p *process) motionAtStart(side int) motion {
	return motion{period: float64(p.period()), amplitude: float64(p.w.Swing.At(0)), beta: p.beta, side: side}
}

func (v *voice) speeds(m motion) [3]float64 {
	early, late := v.p.liftEnds()
	return [3]float64{m.speed(early), m.speed(v.p.impulse(m.side)), m.speed(late)}
}

func (v *voice) tail() float64 { return v.longest + 2*lead }

func (v *voice) until(t float64, b *bus) {
	for v.ready || v.draw(t+lead) {
		if float64(v.held.Middle) >= t+lead {
			return
		}
		v.sound(b)
		v.ready = false
	}
}

// draw holds the next sounding beat, if there is one before limit.
func (v *voice) draw(limit float64) bool {
	for v.p.rest() < limit {
		beat, m, silent, ok := v.p.next()
		if !ok {
			return false
		}
		if !silent {
			v.held, v.motion, v.ready = beat, m, true
			return true
		}
	}
	return false
}

// sound puts the held beat on the bus.
func (v *voice) sound(b *bus) {
	beat := v.held
	speeds := v.speeds(v.motion)
	at := [3]float64{float64(beat.Unlocking), float64(beat.Impulse), float64(beat.Drop)}
	for i, s := range v.w.Sides[beat.Side].all() {
		gain := v.level * v.gain(speeds[i], v.refs[beat.Side][i])
		if s.Absent {
			continue
		}
		p := v.sounds[beat.Side][i]
		v.blows(b, p, at[i], gain, s.Strikes)
		if i == 2 {
			v.afters(b, p, at[i], gain)
		}
	}
	if v.heard != nil {
		v.heard(beat)
	}
}

// gain is what speed and scatter make of a sound.
func (v *voice) gain(speed, ref float64) float64 {
	g := 1.0
	if v.w.SpeedPower != 0 && ref > 0 && speed > 0 {
		g = math.Pow(speed/ref, v.w.SpeedPower)
	}
	if v.w.LevelJitter > 0 {
		g *= math.Pow(10, float64(v.w.LevelJitter)*v.rng.NormFloat64()/20)
	}
	return g
}

func (v *voice) blows(b *bus, p *pulse, at, gain float64, strikes []Strike) {
	if len(strikes) == 0 {
		strikes = []Strike{{}}
	}
	for _, k := range strikes {
		v.echoed(b, p, at+float64(k.After.Seconds()), gain*amplitudeOf(k.Level))
	}
}

// afters come late by a little scatter of their own, a fiftieth of their
// delay (chosen).
func (v *voice) afters(b *bus, p *pulse, at, gain float64) {
	for _, k := range v.w.After {
		d := float64(k.After.Seconds())
		late := d * (1 + 0.02*math.Max(-3, math.Min(3, v.rng.NormFloat64())))
		v.echoed(b, p, at+late, gain*amplitudeOf(k.Level))
	}
}

func (v *voice) echoed(b *bus, p *pulse, at, gain float64) {
	for _, e := range v.echo {
		b.strike(p, at+float64(e.After.Seconds()), gain*amplitudeOf(e.Level), v.phase)
	}
}
