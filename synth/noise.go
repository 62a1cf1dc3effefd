package synth

import (
	"fmt"
	"math"
	"math/rand/v2"

	"beatwright/unit"
)

// Kinds of noise.
const (
	White = "white"
	Pink  = "pink"
)

// Noise is steady noise.
type Noise struct {
	// Kind is White (also when empty) or Pink.
	Kind string `json:"kind,omitempty"`
	// SNR is how far the noise lies below the drop:
	//
	//	SNR = 10·log10(P_drop / P_noise)
	//
	// P_drop = E²/2 is the power of the drop at the peak of its envelope E,
	// mean of both sides, resonances within 2.5–18 kHz, case included,
	// taken as out of step, by one strike of level 0 dB. P_noise is the mean
	// square of this noise within 2.5–18 kHz (or up to half the sampling
	// rate). So the noise's density does not depend on the sampling rate.
	// In a scene without a watch the scene's level stands for the drop.
	SNR unit.Decibels `json:"snr_db"`
}

func (n Noise) validate() error {
	switch n.Kind {
	case "", White, Pink:
		return nil
	}
	return fmt.Errorf("noise %q is neither %q nor %q", n.Kind, White, Pink)
}

// noiseMaker gives one channel's noise of one kind.
type noiseMaker struct {
	rng  *rand.Rand
	gain float64
	pink *pinkFilter
}

// newNoiseMaker makes noise of the mean square level² within the band.
func newNoiseMaker(kind string, level, fs float64, rng *rand.Rand) *noiseMaker {
	n := &noiseMaker{rng: rng}
	var f *pinkFilter
	if kind == Pink {
		f = newPinkFilter(fs)
	}
	n.pink = f
	n.gain = level / math.Sqrt(f.bandPower(fs))
	return n
}

func (n *noiseMaker) add(out []float64, gain float64) {
	g := n.gain * gain
	if n.pink == nil {
		for i := range out {
			out[i] += g * n.rng.NormFloat64()
		}
		return
	}
	for i := range out {
		out[i] += g * n.pink.next(n.rng.NormFloat64())
	}
}

// pinkFilter makes pink noise of white: a sum of one-pole low-passes with
// corners two octaves apart, each weighted so that the sum falls by 3 dB an
// octave (within 1 dB from 40 Hz to a third of the sampling rate). Below 5 Hz
// it is flat. Chosen.
type pinkFilter struct {
	a, g, y []float64
}

func newPinkFilter(fs float64) *pinkFilter {
	f := &pinkFilter{}
	for corner := 5.0; corner < 2*fs; corner *= 4 {
		w := 1 - math.Exp(-2*math.Pi*corner/fs)
		f.a = append(f.a, 1-w)
		f.g = append(f.g, w/math.Sqrt(corner))
	}
	f.y = make([]float64, len(f.a))
	return f
}

func (f *pinkFilter) next(x float64) float64 {
	sum := 0.0
	for i := range f.y {
		f.y[i] = f.a[i]*f.y[i] + f.g[i]*x
		sum += f.y[i]
	}
	return sum
}

// power is |H|² at a frequency; a nil filter passes all.
func (f *pinkFilter) power(freq, fs float64) float64 {
	if f == nil {
		return 1
	}
	sin, cos := math.Sincos(2 * math.Pi * freq / fs)
	var h complex128
	for i := range f.a {
		h += complex(f.g[i], 0) / complex(1-f.a[i]*cos, f.a[i]*sin)
	}
	return real(h)*real(h) + imag(h)*imag(h)
}

// bandPower is the mean square within the band of filtered unit white noise.
func (f *pinkFilter) bandPower(fs float64) float64 {
	lo, hi := float64(BandLow), math.Min(float64(BandHigh), fs/2)
	const steps = 2000
	sum := 0.0
	for i := range steps {
		sum += f.power(lo+(hi-lo)*(float64(i)+0.5)/steps, fs)
	}
	return sum / steps * (hi - lo) / (fs / 2)
}
