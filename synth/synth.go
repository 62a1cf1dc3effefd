// Package synth makes the sound of a simulated mechanical watch, with the
// physical truth of every beat beside it.
//
// The balance swings as θ(t) = A·sin(2πt/T), T = 7200/vph s at a rate of 0.
// The line of centres lies β away from rest. Unlocking sounds when the
// balance, on its way, enters the lift λ about that line, drop when it leaves
// it, impulse a fraction of the way between; all three times come from the
// motion by asin, so amplitude, beat error and intervals cannot contradict
// one another. Strikes are sums of damped resonances, placed at fractional
// sample positions and limited to the band of the sampling rate, so that the
// same scene is the same physical sound at every rate.
//
//	unlocking   impulse        drop
//	    |          |             |            one beat, first side
//	────╂──────────╂─────────────╂────────▶ t
//	  −λ/2        …            +λ/2           balance from the line of centres
//
// The package shares nothing with the engine it is meant to prove: it imports
// quantities only. It measures nothing and plays nothing. Scenes may also
// hold no watch at all (talk, music, rain, a stepping clock), for refusals.
//
// A scene is deterministic by its seed (math/rand/v2 PCG). Every default for
// a zero field is said at the field. Shapes and spreads of the named kinds
// are chosen to be broad and plausible; they are not fitted to recordings.
//
// Sources: sequence of the sounds, H. R. Playtner, An Analysis of the Lever
// Escapement (1910); the relations of amplitude, interval and beat error
// follow from the sinusoidal motion and are tested against integration of the
// balance's equation.
package synth

import (
	"fmt"
	"io"

	"beatwright/unit"
)

// Scene is all that is heard and how it is recorded.
type Scene struct {
	// Name says what the scene is, for people; the kind it was drawn from.
	Name string `json:"name,omitempty"`
	// Seed fixes every random draw.
	Seed uint64 `json:"seed"`
	// Rate is the sampling rate written in the file; 0 is 48 000.
	Rate unit.Hertz `json:"sampling_hz,omitempty"`
	// Duration is the length of the file; 0 is 30 s.
	Duration unit.Seconds `json:"duration_s,omitempty"`
	// ClockPPM is the error of the recorder's clock: + takes that many
	// samples per million too many, so that a watch seems to lose.
	ClockPPM unit.PPM `json:"clock_ppm,omitempty"`
	// Level is the reference: the drop's peak envelope in the band, dB re
	// full scale; 0 is −12. Over 0 the sound clips. Every other level is in
	// dB re this.
	Level unit.Decibels `json:"level_dbfs,omitempty"`
	// ClipAt is the share of full scale where the sound is cut off; 0 is 1.
	ClipAt float64 `json:"clip_at,omitempty"`
	// Bits quantises the samples to a grid of 2^-(Bits-1); 0 leaves them.
	Bits int `json:"bits,omitempty"`
	// Channels are interleaved; none is one plain channel.
	Channels []Channel `json:"channels,omitempty"`
	// Watch is the watch that is heard; nil is none.
	Watch *Watch `json:"watch,omitempty"`
	// Second is another watch in the room.
	Second *Neighbour `json:"second,omitempty"`
	// Noise is added to every channel, independently.
	Noise []Noise `json:"noise,omitempty"`
	// Hum is mains hum.
	Hum []Hum `json:"hum,omitempty"`
	// Bumps are random knocks.
	Bumps *Bumps `json:"bumps,omitempty"`
	// Bursts are random stretches of room noise.
	Bursts *Bursts `json:"bursts,omitempty"`
	// Events are disturbances at given times.
	Events []Event `json:"events,omitempty"`
	// Others are sounds that are no watch.
	Others []Other `json:"others,omitempty"`
	// Edits are gaps and insertions in the file.
	Edits []Edit `json:"edits,omitempty"`
}

// Channel says what one channel of the file carries.
type Channel struct {
	// Level is the gain of all but the channel's own noise, dB.
	Level unit.Decibels `json:"level_db,omitempty"`
	// Inverted turns the sign.
	Inverted bool `json:"inverted,omitempty"`
	// Deaf carries the noise but neither watch nor disturbance.
	Deaf bool `json:"deaf,omitempty"`
	// Dead is exact zeros.
	Dead bool `json:"dead,omitempty"`
}

// Neighbour is a second watch in the same sound.
type Neighbour struct {
	// Level is dB re the first watch's drop; 0 is as loud.
	Level unit.Decibels `json:"level_db"`
	Watch Watch         `json:"watch"`
}

// Edit is a place where the file does not follow the sound.
type Edit struct {
	// At is the place in the finished file, s.
	At unit.Seconds `json:"at_s"`
	// Gap is how much sound is missing there.
	Gap unit.Seconds `json:"gap_s,omitempty"`
	// Zeros is how much exact silence is put in there.
	Zeros unit.Seconds `json:"zeros_s,omitempty"`
}

// withDefaults fills the fields whose zero value means something else.
func (s Scene) withDefaults() Scene {
	s.Rate = orElse(s.Rate, 48000)
	s.Duration = orElse(s.Duration, 30)
	s.Level = orElse(s.Level, -12)
	s.ClipAt = orElse(s.ClipAt, 1)
	if len(s.Channels) == 0 {
		s.Channels = []Channel{{}}
	}
	if s.Watch != nil {
		w := s.Watch.withDefaults()
		s.Watch = &w
	}
	if s.Second != nil {
		s.Second = &Neighbour{Level: s.Second.Level, Watch: s.Second.Watch.withDefaults()}
	}
	return s
}

func orElse[T comparable](v, otherwise T) T {
	var zero T
	if v == zero {
		return otherwise
	}
	return v
}

// maxRendered is the most samples that Render makes at once, 2 GB; chosen.
const maxRendered = 1 << 29

// Render makes the whole sound at once: interleaved samples and the truth
// with every beat. It is the Stream, read to its end.
func Render(s Scene) ([]float32, Truth, error) {
	st, err := NewStream(s)
	if err != nil {
		return nil, Truth{}, err
	}
	count := st.Frames() * int64(st.Channels())
	if count > maxRendered {
		return nil, Truth{}, fmt.Errorf("render %d samples at once: more than %d; read them from a stream", count, maxRendered)
	}
	st.KeepBeats = true
	samples := make([]float32, count)
	for at := 0; at < len(samples); {
		n, err := st.Read(samples[at:])
		if err == io.EOF {
			return samples[:at], st.Truth(), nil
		}
		at += n
	}
	return samples, st.Truth(), nil
}
