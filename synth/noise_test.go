package synth

import (
	"math"
	"math/cmplx"
	"testing"

	"beatwright/unit"
)

// spectrum is the mean power in each of size/2 bins, over blocks with a sine
// window; the sum of all bins is the mean square.
func spectrum(x []float64, size int) []float64 {
	out := make([]float64, size/2)
	blocks := len(x) / size
	for b := range blocks {
		buf := make([]complex128, size)
		for i := range buf {
			w := math.Sqrt2 * math.Sin(math.Pi*(float64(i)+0.5)/float64(size))
			buf[i] = complex(w*x[b*size+i], 0)
		}
		fourier(buf)
		for i := range out {
			a := cmplx.Abs(buf[i])
			out[i] += 2 * a * a / float64(size) / float64(size) / float64(blocks)
		}
	}
	return out
}

// fourier is the plain radix-2 transform.
func fourier(x []complex128) {
	n := len(x)
	if n == 1 {
		return
	}
	even, odd := make([]complex128, n/2), make([]complex128, n/2)
	for i := range even {
		even[i], odd[i] = x[2*i], x[2*i+1]
	}
	fourier(even)
	fourier(odd)
	for i := range even {
		w := cmplx.Rect(1, -2*math.Pi*float64(i)/float64(n)) * odd[i]
		x[i], x[i+n/2] = even[i]+w, even[i]-w
	}
}

func doubles(x []float32) []float64 {
	out := make([]float64, len(x))
	for i, v := range x {
		out[i] = float64(v)
	}
	return out
}

// bandPower sums the bins between two frequencies.
func bandPower(spec []float64, fs, lo, hi float64) float64 {
	sum := 0.0
	for i, p := range spec {
		if f := float64(i) * fs / float64(2*len(spec)); f >= lo && f < hi {
			sum += p
		}
	}
	return sum
}

// The definition of SNR, measured: the drop's mean power over beats of random
// phase, at its greatest, over the mean square of the noise in the band.
func TestSNRIsAsDefined(t *testing.T) {
	const want = 17.0
	side := Side{
		Unlocking: Sound{Absent: true, Modes: []Mode{{Frequency: 5000, Decay: 1}}},
		Impulse:   Sound{Absent: true, Modes: []Mode{{Frequency: 5000, Decay: 1}}},
		Drop:      Sound{Attack: 0.05, Modes: []Mode{{Frequency: 5000, Decay: 1.5}, {Frequency: 9300, Decay: 1, Level: -2}}},
	}
	for _, rate := range []unit.Hertz{44100, 96000} {
		fs := float64(rate)
		watch := &Watch{BeatsPerHour: 36000, Sides: [2]Side{side}, PhaseSpread: math.Pi}
		x, truth := render(t, Scene{Rate: rate, Duration: 120, Watch: watch})
		power := make([]float64, int(fs*2e-3))
		for _, b := range truth.Beats[:len(truth.Beats)-1] {
			at := int(math.Round(float64(b.Drop) * fs))
			for i := range power {
				power[i] += float64(x[at+i]) * float64(x[at+i]) / float64(len(truth.Beats)-1)
			}
		}
		peak := 0.0
		for i := 4; i < len(power)-4; i++ { // smoothed over 0.2 ms and less
			sum := 0.0
			for _, p := range power[i-4 : i+5] {
				sum += p / 9
			}
			peak = max(peak, sum)
		}
		for _, kind := range []string{White, Pink} {
			n, _ := render(t, Scene{Rate: rate, Duration: 20, Noise: []Noise{{Kind: kind, SNR: want}}})
			noise := bandPower(spectrum(doubles(n), 4096), fs, 2500, 18000)
			got := 10 * math.Log10(peak/noise)
			near(t, kind+" SNR, dB", got, want, 0.5) // 1200 beats leave some 0.2 dB
		}
	}
}

// Pink noise falls 3.01 dB an octave.
func TestPinkFalls(t *testing.T) {
	f := newPinkFilter(48000)
	for freq := 40.0; freq < 8000; freq *= 1.3 {
		fall := 10 * math.Log10(f.power(freq, 48000)/f.power(2*freq, 48000))
		near(t, "fall over an octave, dB", fall, 3.01, 1)
	}
	slope := 10 * math.Log10(f.power(50, 48000)/f.power(12800, 48000)) / 8
	near(t, "fall over eight octaves, dB each", slope, 3.01, 0.2)
}

// Noise does not depend on the other sounds, channels have their own.
func TestNoiseIsItsOwn(t *testing.T) {
	s := Scene{Duration: 1, Channels: []Channel{{}, {}}, Noise: []Noise{{SNR: 10}}}
	x, _ := render(t, s)
	var both, one float64
	for i := 0; i < len(x); i += 2 {
		both += float64(x[i] * x[i+1])
		one += float64(x[i] * x[i])
	}
	if r := both / one; math.Abs(r) > 0.02 {
		t.Errorf("the channels' noises correlate by %g", r)
	}
}

func TestHum(t *testing.T) {
	x, _ := render(t, Scene{Rate: 48000, Duration: 4, Level: -20, Hum: []Hum{{Frequency: 60, Level: 6, Harmonics: 2, Fall: 10}}})
	spec := spectrum(doubles(x), 8192)
	// peak 10^(−14/20): mean square half its square; overtones 10 dB less each
	near(t, "fundamental, dB", 10*math.Log10(bandPower(spec, 48000, 30, 90)), -14-3.01, 0.2)
	near(t, "second overtone, dB", 10*math.Log10(bandPower(spec, 48000, 155, 205)), -34-3.01, 0.2)
}
