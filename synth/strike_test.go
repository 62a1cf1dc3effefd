package synth

import (
	"math"
	"testing"

	"beatwright/unit"
)

// Past the band limit's reach a strike is its formula, at any fraction of a
// sample; the formula is the field's.
func TestStrikeIsItsFormula(t *testing.T) {
	const fs = 48000
	m := Mode{Frequency: 7300, Decay: 0.9, Level: -3, Phase: 0.7}
	p := newPulse([]Mode{m}, 0.05, fs, 1)
	for _, start := range []float64{40, 40.25, 40.713, 41.999} {
		acc := make([]float64, 600)
		p.add(acc, start, 1, nil)
		for n := 60; n < len(acc); n++ {
			d := (float64(n) - start) / fs * 1e3 // ms
			want := math.Pow(10, -3.0/20) * math.Exp(-d/0.9) * (1 - math.Exp(-d/0.05)) * math.Sin(2*math.Pi*7.3*d+0.7)
			if math.Abs(acc[n]-want) > 3e-3 {
				t.Fatalf("start %g, sample %d: got %.5f, want %.5f", start, n, acc[n], want)
			}
		}
	}
}

// The same scene is the same sound at every sampling rate: samples taken at
// one moment agree, for sounds that lie well within the band of the lowest.
func TestSameSoundAtAllRates(t *testing.T) {
	sound := Sound{Attack: 0.06, Modes: []Mode{{Frequency: 4100, Decay: 0.8}, {Frequency: 7000, Decay: 0.5, Phase: 1}}}
	side := Side{Unlocking: sound, Impulse: sound, Drop: sound}
	scene := func(rate unit.Hertz) Scene {
		return Scene{Rate: rate, Duration: 2, Seed: 3, Watch: &Watch{Sides: [2]Side{side}, Jitter: Jitter{Centre: 0.05}}}
	}
	low, _ := render(t, scene(48000))
	for _, times := range []int{2, 4} {
		high, _ := render(t, scene(unit.Hertz(48000*times)))
		var diff, sum float64
		for i, v := range low {
			d := float64(v - high[i*times])
			diff += d * d
			sum += float64(v) * float64(v)
		}
		if db := 10 * math.Log10(diff/sum); db > -35 {
			t.Errorf("at %d Hz the sound differs by %.1f dB, want below -35", 48000*times, db)
		}
	}
}

// A resonance above half the sampling rate does not fold back.
func TestNoAlias(t *testing.T) {
	in := newPulse([]Mode{{Frequency: 8000, Decay: 1}}, 0.05, 48000, 1)
	out := newPulse([]Mode{{Frequency: 30000, Decay: 1}}, 0.05, 48000, 1)
	energy := func(p *pulse) float64 {
		acc := make([]float64, 1000)
		p.add(acc, 100.3, 1, nil)
		sum := 0.0
		for _, v := range acc[120:] {
			sum += v * v
		}
		return sum
	}
	if db := 10 * math.Log10(energy(out)/energy(in)); db > -45 {
		t.Errorf("30 kHz sampled at 48 kHz lies at %.1f dB, want below -45", db)
	}
}

// Band-limited samples sum to the integral of the sound, wherever between
// two samples it begins: ∫ e^{−t/d}·cos(ωt) dt = d/(1 + ω²d²).
func TestStrikeSumsToItsIntegral(t *testing.T) {
	const fs = 48000
	p := newPulse([]Mode{{Frequency: 900, Decay: 0.4, Phase: math.Pi / 2}}, 0, fs, 1)
	d, w := 0.4e-3, 2*math.Pi*900
	want := d / (1 + w*w*d*d) * fs
	for _, start := range []float64{50, 50.3, 50.5, 50.97} {
		acc := make([]float64, 500)
		p.add(acc, start, 1, nil)
		sum := 0.0
		for _, v := range acc {
			sum += v
		}
		near(t, "sum of samples", sum, want, 0.003*want)
	}
}
