package synth

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"

	"beatwright/unit"
)

// Kinds of sound that are no watch.
const (
	// Stepping is a clock that steps once a second: two blows, all alike.
	Stepping = "stepping"
	// Babble is talk: voices of damped formants, with hisses.
	Babble = "babble"
	// Music is chords on a beat.
	Music = "music"
	// Percussion is a steady kit: low, snare and cymbal.
	Percussion = "percussion"
	// Metronome is one click a beat, all alike.
	Metronome = "metronome"
	// Rain is many small drops over noise.
	Rain = "rain"
	// Crackle is a fire: rare sharp cracks of very unlike strength.
	Crackle = "crackle"
	// Thump is a rotor: low thuds, many a second.
	Thump = "thump"
)

var otherKinds = []string{Stepping, Babble, Music, Percussion, Metronome, Rain, Crackle, Thump}

// Other is a sound that is no watch.
type Other struct {
	Kind string `json:"kind"`
	// Level is dB re the scene's level, roughly at the sound's peaks.
	Level unit.Decibels `json:"level_db"`
	// Tempo is beats a minute, where the sound has a beat: 0 is 60 for
	// stepping, 120 for music, percussion and metronome, 780 for a thump.
	Tempo float64 `json:"tempo,omitempty"`
}

func (o Other) validate() error {
	if !slices.Contains(otherKinds, o.Kind) {
		return fmt.Errorf("sound %q is none of %s", o.Kind, strings.Join(otherKinds, ", "))
	}
	if o.Tempo < 0 || o.Tempo > 6000 {
		return fmt.Errorf("tempo %g a minute is outside 0 to 6000", o.Tempo)
	}
	return nil
}

// player is a sound of single strikes: play makes what is due at a time and
// says when the next is.
type player struct {
	at   float64
	ring float64
	play func(b *bus, at float64) float64
}

func (p *player) tail() float64 { return p.ring }

func (p *player) until(t float64, b *bus) {
	for p.at < t {
		p.at = p.play(b, p.at)
	}
}

// kit makes the pulses of one sound.
type kit struct {
	fs, level float64
	rng       *rand.Rand
	ring      float64
}

// pulse makes a strike of the kit's level at its peak.
func (k *kit) pulse(attack unit.Milliseconds, modes ...Mode) *pulse {
	p := newPulse(modes, attack, k.fs, k.level/peakEnvelope(modes, attack))
	k.ring = max(k.ring, float64(p.tail)/k.fs)
	return p
}

func (k *kit) phase() float64 { return randomPhase(k.rng)() }

// addOther adds the n-th sound that is no watch.
func (st *Stream) addOther(o Other, level, fs float64, n uint64) {
	k := &kit{fs: fs, level: level * amplitudeOf(o.Level), rng: st.scene.rng(drawOthers + n*100)}
	tempo := o.Tempo
	switch o.Kind {
	case Stepping:
		st.play(k, stepping(k, 60/orElse(tempo, 60)))
	case Metronome:
		st.play(k, metronome(k, 60/orElse(tempo, 120)))
	case Percussion:
		st.play(k, percussion(k, 60/orElse(tempo, 120)))
	case Thump:
		st.play(k, thump(k, 60/orElse(tempo, 780)))
	case Music:
		st.play(k, music(k, 60/orElse(tempo, 120)))
	case Rain:
		st.play(k, rain(k))
		st.murmur(Pink, k, -22)
	case Crackle:
		st.play(k, crackle(k))
		st.murmur(Pink, k, -34)
	case Babble:
		for range 3 {
			st.play(k, talker(k))
		}
		st.hiss(k)
	}
}

func (st *Stream) play(k *kit, f func(b *bus, at float64) float64) {
	st.sources = append(st.sources, &player{at: k.rng.Float64() * 0.5, ring: k.ring, play: f})
}

// murmur lies under a sound all the time.
func (st *Stream) murmur(kind string, k *kit, db unit.Decibels) {
	st.fillers = append(st.fillers, steady{newNoiseMaker(kind, k.level*amplitudeOf(db), k.fs, k.rng)})
}

// hiss are the noisy sounds of speech.
func (st *Stream) hiss(k *kit) {
	st.fillers = append(st.fillers, &rubber{
		fs: k.fs, noise: newNoiseMaker(White, k.level*amplitudeOf(-16), k.fs, k.rng),
		random: k.rng, mean: 0.35, length: 0.09,
	})
}

type steady struct{ noise *noiseMaker }

func (s steady) fill(out []float64, _ int64) { s.noise.add(out, 1) }

// stepping is a motor's step and its settling.
func stepping(k *kit, every float64) func(*bus, float64) float64 {
	step := k.pulse(0.02, Mode{Frequency: 2900, Decay: 2}, Mode{Frequency: 5100, Decay: 1.2, Level: -3}, Mode{Frequency: 900, Decay: 4, Level: -6})
	return func(b *bus, at float64) float64 {
		b.strike(step, at, 1, nil)
		b.strike(step, at+0.0078, 0.35, nil)
		return at + every
	}
}

func metronome(k *kit, every float64) func(*bus, float64) float64 {
	click := k.pulse(0.03, Mode{Frequency: 2600, Decay: 3}, Mode{Frequency: 4300, Decay: 2, Level: -4}, Mode{Frequency: 7900, Decay: 1, Level: -10})
	return func(b *bus, at float64) float64 {
		b.strike(click, at, 1, nil)
		return at + every
	}
}

// percussion plays in halves of a beat: cymbal on all, low on the odd beats,
// snare on the even.
func percussion(k *kit, beat float64) func(*bus, float64) float64 {
	low := k.pulse(1, Mode{Frequency: 62, Decay: 70}, Mode{Frequency: 95, Decay: 40, Level: -6}, Mode{Frequency: 2400, Decay: 2, Level: -18})
	snare := k.pulse(0.1, inharmonic(k.rng, 10, 1200, 9000, 25)...)
	cymbal := k.pulse(0.1, inharmonic(k.rng, 10, 5000, 16000, 14)...)
	half := 0
	return func(b *bus, at float64) float64 {
		b.strike(cymbal, at, 0.25, k.phase)
		switch half % 4 {
		case 0:
			b.strike(low, at, 1, nil)
		case 2:
			b.strike(snare, at, 0.6, k.phase)
		}
		half++
		return at + beat/2
	}
}

// inharmonic are n resonances strewn over a band.
func inharmonic(rng *rand.Rand, n int, lo, hi, decay float64) []Mode {
	out := make([]Mode, n)
	for i := range out {
		out[i] = Mode{Frequency: unit.Hertz(lo + (hi-lo)*rng.Float64()), Decay: unit.Milliseconds(decay * (0.6 + 0.8*rng.Float64()))}
	}
	return out
}

func thump(k *kit, every float64) func(*bus, float64) float64 {
	thud := k.pulse(4, Mode{Frequency: 48, Decay: 22}, Mode{Frequency: 110, Decay: 14, Level: -4}, Mode{Frequency: 310, Decay: 8, Level: -10}, Mode{Frequency: 900, Decay: 6, Level: -20})
	slap := k.pulse(2, inharmonic(k.rng, 12, 400, 6000, 9)...)
	return func(b *bus, at float64) float64 {
		b.strike(thud, at, 1+0.15*k.rng.NormFloat64(), nil)
		b.strike(slap, at+0.004, 0.12, k.phase)
		return at + every*(1+0.004*k.rng.NormFloat64())
	}
}
