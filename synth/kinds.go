package synth

import (
	"fmt"
	"hash/fnv"
	"math/rand/v2"
	"strings"

	"beatwright/unit"
)

// Kind draws scenes of one sort, broad and physically plausible.
type Kind struct {
	Name string
	// About says what is peculiar to it.
	About string
	Draw  func(rng *rand.Rand) Scene
}

// Kinds are the sorts of watch scene, in a fixed order.
func Kinds() []Kind {
	return []Kind{
		{"fair", "a healthy watch on a fair pickup", fair},
		{"tired", "amplitude 60 to 170°, large errors", tired},
		{"messy", "double strikes, ringing case, unlike sides, after-sounds, echo", messy},
		{"buried", "noise near or above the first sound", buried},
	}
}

// ParseKind finds a kind by its name.
func ParseKind(name string) (Kind, error) {
	var names []string
	for _, k := range Kinds() {
		if k.Name == name {
			return k, nil
		}
		names = append(names, k.Name)
	}
	return Kind{}, fmt.Errorf("kind %q is none of %s", name, strings.Join(names, ", "))
}

// Scene draws the kind's scene of a seed.
func (k Kind) Scene(seed uint64) Scene {
	h := fnv.New64a()
	h.Write([]byte(k.Name)) // never fails
	s := k.Draw(rand.New(rand.NewPCG(seed, h.Sum64())))
	s.Name, s.Seed = k.Name, seed
	return s
}

// commonRates are the beat rates in use.
var commonRates = []unit.BeatsPerHour{14400, 16200, 17280, 18000, 19800, 21600, 25200, 28800, 36000}

// within draws evenly from lo to hi.
func within[T ~float64](rng *rand.Rand, lo, hi T) T {
	return lo + (hi-lo)*T(rng.Float64())
}

func pick[T any](rng *rand.Rand, of ...T) T { return of[rng.IntN(len(of))] }

func chance(rng *rand.Rand, p float64) bool { return rng.Float64() < p }

// anyWatch is what all kinds begin with: any common beat rate and lift, a
// swing of 170 to 315°, mostly within a minute a day.
func anyWatch(rng *rand.Rand) *Watch {
	w := &Watch{
		BeatsPerHour: pick(rng, commonRates...),
		Lift:         within[unit.Degrees](rng, 38, 58),
		Rate:         within[unit.SecondsPerDay](rng, -60, 60),
		BeatError:    within[unit.Milliseconds](rng, -1, 1),
		FirstAt:      within[unit.Seconds](rng, 0.05, 0.5),
		ImpulseAt:    [2]float64{within(rng, 0.2, 0.5), 0},
		LevelJitter:  within[unit.Decibels](rng, 0.3, 2),
		SpeedPower:   within(rng, 0.0, 1.5),
	}
	w.ImpulseAt[1] = clamp(w.ImpulseAt[0]+within(rng, -0.06, 0.06), 0.2, 0.5)
	if chance(rng, 0.1) {
		w.Rate = within[unit.SecondsPerDay](rng, -700, 700)
	}
	w.Swing.Start = within[unit.Degrees](rng, 170, 315)
	w.Swing.SideDifference = within[unit.Degrees](rng, -2, 2)
	centre := within[unit.Milliseconds](rng, 0.010, 0.060)
	w.Jitter = Jitter{Centre: centre, Unlocking: centre / 2, Impulse: centre / 2, Drop: centre / 2}
	w.Sides = anySides(rng)
	return w
}

func clamp[T ~float64](x, lo, hi T) T { return max(lo, min(hi, x)) }

func fair(rng *rand.Rand) Scene {
	return Scene{
		Rate: pick[unit.Hertz](rng, 44100, 48000), Level: within[unit.Decibels](rng, -20, -6), Bits: 16,
		Watch: anyWatch(rng), Noise: []Noise{{SNR: within[unit.Decibels](rng, 30, 45)}},
	}
}

func tired(rng *rand.Rand) Scene {
	s := fair(rng)
	s.Watch.Swing.Start = within[unit.Degrees](rng, 60, 170)
	s.Watch.Rate = within[unit.SecondsPerDay](rng, -700, 300)
	s.Watch.BeatError = within[unit.Milliseconds](rng, -3, 3)
	return s
}

func messy(rng *rand.Rand) Scene {
	s := fair(rng)
	mess(rng, s.Watch)
	s.Noise = []Noise{{SNR: within[unit.Decibels](rng, 22, 40)}}
	return s
}

func buried(rng *rand.Rand) Scene {
	s := fair(rng)
	if chance(rng, 0.5) {
		mess(rng, s.Watch)
	}
	faint := -s.Watch.Sides[0].Unlocking.Level
	s.Noise = []Noise{{SNR: faint + within[unit.Decibels](rng, -15, 8)}}
	return s
}
