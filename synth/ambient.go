package synth

import (
	"math"

	"beatwright/unit"
)

// rain: some three hundred drops a second on unlike things, most of them
// faint.
func rain(k *kit) func(*bus, float64) float64 {
	drops := make([]*pulse, 8)
	for i := range drops {
		f := 1500 * math.Pow(7, k.rng.Float64())
		drops[i] = k.pulse(0.05,
			Mode{Frequency: unit.Hertz(f), Decay: unit.Milliseconds(0.4 + 1.5*k.rng.Float64())},
			Mode{Frequency: unit.Hertz(1.7 * f), Decay: 0.5, Level: -5})
	}
	return func(b *bus, at float64) float64 {
		gain := amplitudeOf(-18 + unit.Decibels(8*k.rng.NormFloat64()))
		b.strike(drops[k.rng.IntN(len(drops))], at, math.Min(gain, 1), k.phase)
		return at + k.rng.ExpFloat64()/300
	}
}

// crackle: eight cracks a second on average, in flurries.
func crackle(k *kit) func(*bus, float64) float64 {
	cracks := make([]*pulse, 6)
	for i := range cracks {
		f := 800 * math.Pow(12, k.rng.Float64())
		cracks[i] = k.pulse(0.02,
			Mode{Frequency: unit.Hertz(f), Decay: unit.Milliseconds(0.3 + 3*k.rng.Float64())},
			Mode{Frequency: unit.Hertz(min(2.3*f, 19000)), Decay: 0.4, Level: -3})
	}
	return func(b *bus, at float64) float64 {
		gain := math.Min(1, 0.05/math.Pow(1-k.rng.Float64(), 0.8)) // heavy tail
		b.strike(cracks[k.rng.IntN(len(cracks))], at, gain, k.phase)
		if k.rng.Float64() < 0.4 {
			return at + k.rng.ExpFloat64()*0.01
		}
		return at + k.rng.ExpFloat64()*0.2
	}
}

// vowels are first three formants, Hz (from memory, rounded: only meant to
// sound like talk).
var vowels = [][3]unit.Hertz{{730, 1090, 2440}, {270, 2290, 3010}, {300, 870, 2240}, {530, 1840, 2480}, {570, 840, 2410}, {490, 1350, 1690}}

// talker speaks syllables: runs of glottal pulses through one vowel, with a
// rise and fall, and pauses.
func talker(k *kit) func(*bus, float64) float64 {
	vs := make([]*pulse, len(vowels))
	for i, f := range vowels {
		vs[i] = k.pulse(0.15,
			Mode{Frequency: f[0], Decay: 5}, Mode{Frequency: f[1], Decay: 3.5, Level: -6},
			Mode{Frequency: f[2], Decay: 2.5, Level: -12}, Mode{Frequency: 3600, Decay: 1.5, Level: -18})
	}
	voice := 90 + 130*k.rng.Float64()
	var vowel *pulse
	var begin, length, pitch float64
	return func(b *bus, at float64) float64 {
		x := (at - begin) / length
		if vowel == nil || x >= 1 {
			vowel, begin, length = vs[k.rng.IntN(len(vs))], at, 0.1+0.2*k.rng.Float64()
			pitch = voice * (0.85 + 0.3*k.rng.Float64())
			if k.rng.Float64() < 0.2 {
				begin += 0.2 + 0.8*k.rng.Float64()
			}
			return begin + 0.01
		}
		s := math.Sin(math.Pi * x)
		b.strike(vowel, at, 0.5*s*s, nil)
		return at + (1+0.01*k.rng.NormFloat64())/(pitch*(1.1-0.2*x))
	}
}

// music strikes chords of three notes on each beat and single notes between.
func music(k *kit, beat float64) func(*bus, float64) float64 {
	notes := make([]*pulse, 10)
	scale := []float64{0, 2, 4, 7, 9, 12, 14, 16, 19, 21} // half-tones
	for i := range notes {
		notes[i] = k.note(196 * math.Pow(2, scale[i]/12))
	}
	quarter := 0
	return func(b *bus, at float64) float64 {
		count := 0
		switch {
		case quarter%4 == 0:
			count = 3
		case k.rng.Float64() < 0.4:
			count = 1
		}
		for range count {
			b.strike(notes[k.rng.IntN(len(notes))], at, 0.4, nil)
		}
		quarter++
		return at + beat/4
	}
}

// note is a plucked tone of eight partials.
func (k *kit) note(f float64) *pulse {
	var modes []Mode
	for n := 1.0; n <= 8; n++ {
		modes = append(modes, Mode{
			Frequency: unit.Hertz(n * f), Decay: unit.Milliseconds(260 / math.Sqrt(n)),
			Level: unit.Decibels(-5 * (n - 1)), Phase: n * n,
		})
	}
	return k.pulse(4, modes...)
}
