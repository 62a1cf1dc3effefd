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
	// Refuse lists, for a scene without a watch, the reasons any of which
	// is a right answer; empty where a watch is to be heard.
	Refuse []string
}

// Kinds are the sorts of scene in which one watch runs steadily, in a fixed
// order.
func Kinds() []Kind {
	return []Kind{
		{"fair", "a healthy watch on a fair pickup", fair, nil},
		{"tired", "amplitude 60 to 170°, large errors", tired, nil},
		{"messy", "double strikes, ringing case, unlike sides, after-sounds, echo", messy, nil},
		{"buried", "noise near or above the first sound", buried, nil},
		{"hum", "mains hum far above the drop", hum, nil},
		{"bumps", "knocks and bursts of room noise", bumps, nil},
		{"drift", "the amplitude changes by up to 20°, the rate stays", drift, nil},
		{"soft", "sounds that rise slowly", soft, nil},
		{"unlocking", "the unlocking is louder than the impulse", loudUnlocking, nil},
		{"sides", "the two sides differ by up to 10° and in sound", sides, nil},
		{"fast", "sampled at 88.2 to 192 kHz", fast, nil},
		{"slow", "sampled at 22.05 to 32 kHz", slow, nil},
		{"echo", "one to three echoes", echo, nil},
		{"clipped", "louder than the card can take", clipped, nil},
		{"pink", "noise that is strongest below", pink, nil},
		{"rundown", "the amplitude falls from some 220 to some 80°", rundown, nil},
		{"wheel", "periodic errors of train and escape wheel", wheel, nil},
		{"onedead", "two channels, one of them dead, deaf or turned", oneDead, nil},
		{"beaterror", "out of beat by 1 to 4 ms", outOfBeat, nil},
		{"free", "a beat rate between the common ones", free, nil},
		{"wander", "jitter that remembers itself", wander, nil},
		{"lopsided", "the lift is not centred on the line of centres", lopsided, nil},
	}
}

// Disturbed are the sorts of scene in which something changes on the way.
func Disturbed() []Kind {
	return []Kind{
		{"turned", "one or two changes of position, with handling", turned, nil},
		{"phasestep", "the beat jumps", phaseStep, nil},
		{"ratestep", "the rate changes", rateStep, nil},
		{"stopped", "the watch stops, dead or fading", stopped, nil},
		{"started", "the watch starts late and builds up its swing", started, nil},
		{"gap", "some of the sound is missing", gap, nil},
		{"insertion", "exact zeros were put in", insertion, nil},
		{"second", "another watch is in the room", second, nil},
		{"neighbour", "another watch lies on the bench, 6, 12 or 20 dB down", neighbour, nil},
	}
}

// ParseKind finds a kind of any list by its name.
func ParseKind(name string) (Kind, error) {
	var names []string
	for _, list := range [][]Kind{Kinds(), Disturbed(), Refusals()} {
		for _, k := range list {
			if k.Name == name {
				return k, nil
			}
			names = append(names, k.Name)
		}
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

// either draws from lo to hi, with either sign.
func either[T ~float64](rng *rand.Rand, lo, hi T) T {
	x := within(rng, lo, hi)
	if chance(rng, 0.5) {
		return -x
	}
	return x
}

func pick[T any](rng *rand.Rand, of ...T) T { return of[rng.IntN(len(of))] }

func chance(rng *rand.Rand, p float64) bool { return rng.Float64() < p }

func clamp[T ~float64](x, lo, hi T) T { return max(lo, min(hi, x)) }
