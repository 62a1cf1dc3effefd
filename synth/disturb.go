package synth

import (
	"math"
	"math/rand/v2"

	"beatwright/unit"
)

// Hum is mains hum with its harmonics.
type Hum struct {
	// Frequency of the mains; 0 is 50.
	Frequency unit.Hertz `json:"hz,omitempty"`
	// Level is that of the fundamental's peak, dB re the drop.
	Level unit.Decibels `json:"level_db"`
	// Harmonics is how many overtones; each is Fall dB below the last (0 is
	// 3).
	Harmonics int           `json:"harmonics,omitempty"`
	Fall      unit.Decibels `json:"fall_db,omitempty"`
	// Phase of the fundamental, rad.
	Phase float64 `json:"phase_rad,omitempty"`
}

// Bumps are knocks at random times.
type Bumps struct {
	PerMinute float64 `json:"per_minute"`
	// Level is dB re the drop; Spread its rms scatter, dB.
	Level  unit.Decibels `json:"level_db"`
	Spread unit.Decibels `json:"spread_db,omitempty"`
}

// Bursts are stretches of room noise at random times.
type Bursts struct {
	PerMinute float64      `json:"per_minute"`
	Length    unit.Seconds `json:"length_s"`
	// SNR is as for Noise, while the burst lasts.
	SNR  unit.Decibels `json:"snr_db"`
	Kind string        `json:"kind,omitempty"`
}

// Kinds of event.
const (
	Knock = "knock"
	Rub   = "rub"
)

// Event is a disturbance at a given time: a knock, or rubbing for a while.
type Event struct {
	At   unit.Seconds `json:"at_s"`
	Kind string       `json:"kind"`
	// Level is dB re the drop: a knock's peak, or rubbing's rms in the band.
	Level  unit.Decibels `json:"level_db"`
	Length unit.Seconds  `json:"length_s,omitempty"`
}

func (st *Stream) addDisturbances(level, fs float64) {
	s := st.scene
	for _, h := range s.Hum {
		st.fillers = append(st.fillers, newHummer(h, level, fs))
	}
	if s.Bumps != nil && s.Bumps.PerMinute > 0 {
		st.sources = append(st.sources, newKnocker(*s.Bumps, level, fs, s.rng(drawBumps)))
	}
	rub := &rubber{fs: fs}
	if b := s.Bursts; b != nil && b.PerMinute > 0 && b.Length > 0 {
		rms := level * amplitudeOf(-b.SNR) / math.Sqrt2
		rng := s.rng(drawBursts)
		st.fillers = append(st.fillers, &rubber{
			fs: fs, noise: newNoiseMaker(orElse(b.Kind, Pink), rms, fs, rng),
			random: rng, mean: 60 / b.PerMinute, length: float64(b.Length),
		})
	}
	st.addEvents(rub, level, fs)
	for i, o := range s.Others {
		st.addOther(o, level, fs, uint64(i))
	}
}

// addEvents puts knocks and rubbing at their times, with those of turning
// the watch.
func (st *Stream) addEvents(rub *rubber, level, fs float64) {
	rng := st.scene.rng(drawHandling)
	events := append([]Event(nil), st.scene.Events...)
	if w := st.scene.Watch; w != nil {
		for _, t := range w.Turns {
			events = append(events, t.handling(rng)...)
		}
	}
	knocks := &knocks{pulse: newPulse(knockModes, 0.1, fs, level/peakEnvelope(inBand(knockModes), 0.1)), rng: rng, fs: fs}
	rub.noise = newNoiseMaker(Pink, level, fs, rng)
	for _, e := range events {
		if e.Kind == Rub {
			rub.spans = append(rub.spans, span{float64(e.At), float64(e.At + e.Length), amplitudeOf(e.Level)})
			continue
		}
		knocks.add(float64(e.At), amplitudeOf(e.Level))
	}
	if len(rub.spans) > 0 {
		st.fillers = append(st.fillers, rub)
	}
	if len(knocks.at) > 0 {
		st.sources = append(st.sources, knocks)
	}
}

// handling is what turning the watch sounds like: rubbing, and about six
// knocks a second (chosen).
func (t Turn) handling(rng *rand.Rand) []Event {
	if t.Handling <= 0 {
		return nil
	}
	level := orElse(t.HandlingLevel, -6)
	events := []Event{{At: t.At, Kind: Rub, Level: level - 12, Length: t.Handling}}
	for at := float64(t.At); ; {
		at += rng.ExpFloat64() / 6
		if at > float64(t.At+t.Handling) {
			return events
		}
		events = append(events, Event{At: unit.Seconds(at), Kind: Knock, Level: level + unit.Decibels(6*rng.NormFloat64())})
	}
}

// knockModes are those of a knock on the bench: low and dull, with a little
// of everything (chosen).
var knockModes = []Mode{
	{Frequency: 180, Decay: 18, Level: 10},
	{Frequency: 470, Decay: 9, Level: 6},
	{Frequency: 1300, Decay: 5, Level: 2},
	{Frequency: 3100, Decay: 2.5, Level: 0},
	{Frequency: 6400, Decay: 1.2, Level: -6},
}

// knocks are strikes at given times, in any order.
type knocks struct {
	pulse *pulse
	rng   *rand.Rand
	at    []float64
	gain  []float64
	fs    float64
}

func (k *knocks) add(at, gain float64) {
	i := len(k.at)
	for i > 0 && k.at[i-1] > at {
		i--
	}
	k.at = append(k.at[:i], append([]float64{at}, k.at[i:]...)...)
	k.gain = append(k.gain[:i], append([]float64{gain}, k.gain[i:]...)...)
}

func (k *knocks) tail() float64 { return float64(k.pulse.tail) / k.fs }

func (k *knocks) until(t float64, b *bus) {
	for len(k.at) > 0 && k.at[0] < t {
		b.strike(k.pulse, k.at[0], k.gain[0], randomPhase(k.rng))
		k.at, k.gain = k.at[1:], k.gain[1:]
	}
}

func randomPhase(rng *rand.Rand) func() float64 {
	return func() float64 { return 2 * math.Pi * rng.Float64() }
}

// knocker makes knocks at random times.
type knocker struct {
	b     Bumps
	pulse *pulse
	rng   *rand.Rand
	next  float64
	fs    float64
}

func newKnocker(b Bumps, level, fs float64, rng *rand.Rand) *knocker {
	gain := level * amplitudeOf(b.Level) / peakEnvelope(inBand(knockModes), 0.1)
	k := &knocker{b: b, rng: rng, fs: fs, pulse: newPulse(knockModes, 0.1, fs, gain)}
	k.next = rng.ExpFloat64() * 60 / b.PerMinute
	return k
}

func (k *knocker) tail() float64 { return float64(k.pulse.tail) / k.fs }

func (k *knocker) until(t float64, b *bus) {
	for k.next < t {
		gain := amplitudeOf(k.b.Spread * unit.Decibels(k.rng.NormFloat64()))
		b.strike(k.pulse, k.next, gain, randomPhase(k.rng))
		k.next += k.rng.ExpFloat64() * 60 / k.b.PerMinute
	}
}

// hummer adds mains hum.
type hummer struct {
	step, z []complex128
}

func newHummer(h Hum, level, fs float64) *hummer {
	f := float64(orElse(h.Frequency, 50))
	fall := orElse(h.Fall, 3)
	out := &hummer{}
	for n := range h.Harmonics + 1 {
		k := float64(n + 1)
		if k*f >= fs/2 {
			break
		}
		sin, cos := math.Sincos(2 * math.Pi * k * f / fs)
		out.step = append(out.step, complex(cos, sin))
		a := level * amplitudeOf(h.Level-unit.Decibels(n)*fall)
		sin, cos = math.Sincos(k*h.Phase + k*k)
		out.z = append(out.z, complex(a*cos, a*sin))
	}
	return out
}

func (h *hummer) fill(out []float64, _ int64) {
	for n := range h.z {
		z, step := h.z[n], h.step[n]
		for i := range out {
			out[i] += imag(z)
			z *= step
		}
		h.z[n] = z
	}
}

// span is a stretch of rubbing.
type span struct{ from, to, gain float64 }

// rubber adds noise in spans: given ones, or at random times.
type rubber struct {
	fs     float64
	noise  *noiseMaker
	spans  []span
	random *rand.Rand
	mean   float64
	length float64
	next   float64
	buf    []float64
}

// draw adds random spans that begin before t.
func (r *rubber) draw(t float64) {
	if r.random == nil {
		return
	}
	for r.next == 0 || r.next < t {
		if r.next > 0 {
			length := r.length * (0.5 + r.random.Float64())
			r.spans = append(r.spans, span{r.next, r.next + length, 1})
		}
		r.next += r.random.ExpFloat64() * r.mean
	}
}

func (r *rubber) fill(out []float64, frame int64) {
	from, to := float64(frame)/r.fs, float64(frame+int64(len(out)))/r.fs
	r.draw(to)
	keep := r.spans[:0]
	for _, s := range r.spans {
		if s.from < to && s.to > from {
			r.rub(out, from, s)
		}
		if s.to > to {
			keep = append(keep, s)
		}
	}
	r.spans = keep
}

// rub adds one span's part of the block, with soft ends.
func (r *rubber) rub(out []float64, from float64, s span) {
	if len(r.buf) < len(out) {
		r.buf = make([]float64, len(out))
	}
	buf := r.buf[:len(out)]
	clear(buf)
	r.noise.add(buf, s.gain)
	edge := math.Min(0.05, (s.to-s.from)/2)
	for i, x := range buf {
		t := from + float64(i)/r.fs
		w := math.Min(t-s.from, s.to-t) / edge
		if w > 0 {
			out[i] += x * math.Min(1, w)
		}
	}
}
