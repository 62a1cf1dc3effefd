package synth

import (
	"io"
	"math"
	"math/rand/v2"

	"beatwright/unit"
)

// block is how many frames are made at a time. It is fixed: the sound does
// not depend on how it is read.
const block = 8192

// Stream makes a scene's sound block by block, in memory that does not grow
// with its length (but for the beats, if they are kept).
type Stream struct {
	// KeepBeats gathers the beats for Truth.
	KeepBeats bool
	// OnBeat, if set, is told of each sounding beat, in order, some time
	// before its sound is read.
	OnBeat func(Beat)

	scene    Scene
	bus      bus
	sources  []source
	fillers  []filler
	channels []channel
	tape     tape
	out      []float32 // made, not yet read
	chunk    []float32 // what out was cut from
	world    int64     // frames of the world made
	left     int64     // frames of the file not yet made
	book     *book
}

// filler is sound that goes on: it is added to out, which begins at frame.
type filler interface {
	fill(out []float64, frame int64)
}

// channel is one channel's way from the bus to the file.
type channel struct {
	Channel
	gain  float64
	noise []*noiseMaker
	buf   []float64
}

// Streams of random numbers: each purpose draws from its own, so that adding
// noise to a scene does not move its beats.
const (
	drawProcess = iota + 1
	drawShape
	drawSecond
	drawSecondShape
	drawBumps
	drawBursts
	drawHandling
	drawOthers
	drawNoise = 1000
)

func (s Scene) rng(purpose uint64) *rand.Rand {
	return rand.New(rand.NewPCG(s.Seed, purpose*0x9e3779b97f4a7c15))
}

// NewStream prepares a scene.
func NewStream(s Scene) (*Stream, error) {
	if err := s.Validate(); err != nil {
		return nil, err
	}
	s = s.withDefaults()
	fs := float64(s.Rate) * clockFactor(s.ClockPPM)
	st := &Stream{scene: s, left: int64(math.Round(float64(s.Duration * unit.Seconds(s.Rate))))}
	st.tape = newTape(s)
	st.book = newBook(s, &st.tape)
	level := amplitudeOf(s.Level)
	st.addWatches(level, fs)
	st.addDisturbances(level, fs)
	st.addChannels(level, fs)
	tail := 0.0
	for _, src := range st.sources {
		tail = math.Max(tail, src.tail())
	}
	st.bus = bus{acc: make([]float64, block+int(tail*fs)+2*reach), fs: fs}
	st.chunk = make([]float32, 0, block*len(s.Channels))
	return st, nil
}

func (st *Stream) addWatches(level, fs float64) {
	s := st.scene
	if s.Watch != nil {
		v := newVoice(*s.Watch, level, fs, s.rng(drawProcess), s.rng(drawShape))
		v.heard = st.heard
		st.sources = append(st.sources, v)
	}
	if s.Second != nil {
		v := newVoice(s.Second.Watch, level*amplitudeOf(s.Second.Level), fs, s.rng(drawSecond), s.rng(drawSecondShape))
		st.sources = append(st.sources, v)
	}
}

func (st *Stream) addChannels(level, fs float64) {
	for c, ch := range st.scene.Channels {
		out := channel{Channel: ch, gain: amplitudeOf(ch.Level), buf: make([]float64, block)}
		if ch.Inverted {
			out.gain = -out.gain
		}
		for i, n := range st.scene.Noise {
			rms := level * amplitudeOf(-n.SNR) / math.Sqrt2
			rng := st.scene.rng(drawNoise + uint64(64*c+i))
			out.noise = append(out.noise, newNoiseMaker(n.Kind, rms, fs, rng))
		}
		st.channels = append(st.channels, out)
	}
}

// heard dates a beat on the file and passes it on.
func (st *Stream) heard(b Beat) {
	b = st.tape.date(b)
	if !b.Lost && (b.Unlocking < 0 || b.Drop > st.scene.Duration) {
		return
	}
	st.book.add(b)
	if st.KeepBeats {
		st.book.beats = append(st.book.beats, b)
	}
	if st.OnBeat != nil {
		st.OnBeat(b)
	}
}

// Rate is the sampling rate written in the file.
func (st *Stream) Rate() unit.Hertz { return st.scene.Rate }

// Channels is how many samples make a frame.
func (st *Stream) Channels() int { return len(st.channels) }

// Frames is the length of the whole file.
func (st *Stream) Frames() int64 {
	return int64(math.Round(float64(st.scene.Duration * unit.Seconds(st.scene.Rate))))
}

// Read fills p with interleaved samples and says how many; io.EOF at the end.
func (st *Stream) Read(p []float32) (int, error) {
	n := 0
	for n < len(p) {
		if len(st.out) == 0 && !st.make() {
			break
		}
		k := copy(p[n:], st.out)
		st.out = st.out[k:]
		n += k
	}
	if n == 0 && len(p) > 0 {
		return 0, io.EOF
	}
	return n, nil
}

// make fills out with the next block; false at the end.
func (st *Stream) make() bool {
	for st.left > 0 {
		st.out = st.chunk[:0]
		if zeros := st.tape.zeros(block); zeros > 0 {
			zeros = min(zeros, st.left)
			st.out = st.out[:zeros*int64(len(st.channels))]
			clear(st.out)
			st.left -= zeros
			return true
		}
		st.render()
		from, to := st.tape.take(block)
		to = min(to, from+st.left)
		st.advance(from, to)
		if to > from {
			st.left -= to - from
			return true
		}
	}
	return false
}

// render brings the bus up to date for the block that begins at world.
func (st *Stream) render() {
	if st.tape.partial() {
		return // the block in hand is not used up
	}
	end := (float64(st.world) + block + reach) / st.bus.fs
	for _, s := range st.sources {
		s.until(end, &st.bus)
	}
	for _, f := range st.fillers {
		f.fill(st.bus.acc[:block], st.world)
	}
	for i := range st.channels {
		st.channels[i].mix(st.bus.acc[:block])
	}
}

// mix is what the channel carries of the bus, with its own noise.
func (c *channel) mix(in []float64) {
	for i, x := range in {
		c.buf[i] = x * c.gain
	}
	if c.Dead || c.Deaf {
		clear(c.buf)
	}
	if c.Dead {
		return
	}
	for _, n := range c.noise {
		n.add(c.buf, 1)
	}
}

// advance writes frames from to to of the block, and moves on once the block
// is used up.
func (st *Stream) advance(from, to int64) {
	for i := from; i < to; i++ {
		for c := range st.channels {
			st.out = append(st.out, st.finish(st.channels[c].buf[i]))
		}
	}
	if st.tape.partial() {
		return
	}
	st.world += block
	acc := st.bus.acc
	copy(acc, acc[block:])
	clear(acc[len(acc)-block:])
	st.bus.base = float64(st.world)
}

// finish clips and quantises a sample.
func (st *Stream) finish(x float64) float32 {
	clip := st.scene.ClipAt
	x = math.Max(-clip, math.Min(clip, x))
	if st.scene.Bits > 0 {
		step := math.Ldexp(1, st.scene.Bits-1)
		x = math.Min(math.Round(x*step), step-1) / step
	}
	return float32(x)
}

// Truth is what is known of the scene; of the beats, up to what was read.
func (st *Stream) Truth() Truth { return st.book.truth() }
