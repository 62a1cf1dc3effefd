package synth

import (
	"math/rand/v2"

	"beatwright/unit"
)

// Refusals are the sorts of scene in which no watch is to be heard.
func Refusals() []Kind {
	list := []Kind{
		{"zeros", "exact silence", zeros, []string{"silence"}},
		{"faint", "the card's own noise", faint, []string{"silence", "noise"}},
		{"noise", "loud steady noise", loudNoise, []string{"noise"}},
		{"mains", "mains hum alone", mains, []string{"noise", "periodic", "silence"}},
		{"knocks", "knocks and bursts alone", knocksOnly, []string{"noise"}},
	}
	why := map[string][]string{
		Stepping: {"stepping"}, Metronome: {"periodic", "noise"}, Percussion: {"periodic", "noise"},
		Music: {"noise", "periodic"}, Babble: {"noise"}, Rain: {"noise"}, Crackle: {"noise"}, Thump: {"noise", "periodic"},
	}
	for _, name := range otherKinds {
		list = append(list, Kind{name, "no watch", other(name), why[name]})
	}
	return list
}

func zeros(rng *rand.Rand) Scene {
	return Scene{Rate: pick[unit.Hertz](rng, 44100, 48000, 96000)}
}

func faint(rng *rand.Rand) Scene {
	return Scene{Level: within[unit.Decibels](rng, -60, -40), Bits: pick(rng, 16, 24), Noise: []Noise{{SNR: 30}}}
}

func loudNoise(rng *rand.Rand) Scene {
	return Scene{Bits: 16, Noise: []Noise{{Kind: pick(rng, White, Pink), SNR: within[unit.Decibels](rng, 0, 30)}}}
}

func mains(rng *rand.Rand) Scene {
	s := Scene{Level: -30, Bits: 16, Noise: []Noise{{SNR: within[unit.Decibels](rng, 10, 40)}}}
	s.Hum = []Hum{{Frequency: pick[unit.Hertz](rng, 50, 60), Level: within[unit.Decibels](rng, 0, 20), Harmonics: rng.IntN(60), Fall: within[unit.Decibels](rng, 0.5, 4)}}
	return s
}

func knocksOnly(rng *rand.Rand) Scene {
	return Scene{
		Bits: 16, Noise: []Noise{{SNR: within[unit.Decibels](rng, 20, 45)}},
		Bumps:  &Bumps{PerMinute: within(rng, 10.0, 400), Spread: 6},
		Bursts: &Bursts{PerMinute: within(rng, 1.0, 20), Length: 1, SNR: 10},
	}
}

// other is one sound that is no watch, with its usual spread of tempo.
func other(name string) func(*rand.Rand) Scene {
	return func(rng *rand.Rand) Scene {
		o := Other{Kind: name}
		switch name {
		case Metronome:
			o.Tempo = within(rng, 40.0, 110)
		case Percussion, Music:
			o.Tempo = pick(rng, 120, within(rng, 70.0, 180))
		case Thump:
			o.Tempo = within(rng, 600.0, 1100)
		}
		return Scene{
			Rate: pick[unit.Hertz](rng, 44100, 48000), Bits: 16, Others: []Other{o},
			Noise: []Noise{{Kind: pick(rng, White, Pink), SNR: within[unit.Decibels](rng, 25, 50)}},
		}
	}
}
