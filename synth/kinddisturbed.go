package synth

import (
	"math"
	"math/rand/v2"

	"beatwright/unit"
)

func turned(rng *rand.Rand) Scene {
	s := fair(rng)
	s.Duration = 60
	at := within[unit.Seconds](rng, 15, 25)
	for range 1 + rng.IntN(2) {
		t := Turn{
			At: at, Handling: within[unit.Seconds](rng, 0.5, 4), HandlingLevel: within[unit.Decibels](rng, -12, 10),
			Amplitude: within[unit.Degrees](rng, 170, 300), Settling: within[unit.Seconds](rng, 14, 28),
			Rate:      s.Watch.Rate + within[unit.SecondsPerDay](rng, -25, 25),
			BeatError: s.Watch.BeatError + within[unit.Milliseconds](rng, -0.2, 0.2),
		}
		if chance(rng, 0.6) {
			t.Phase = either[unit.Milliseconds](rng, 1, 40)
		}
		s.Watch.Turns = append(s.Watch.Turns, t)
		at += within[unit.Seconds](rng, 14, 20)
	}
	return s
}

func phaseStep(rng *rand.Rand) Scene {
	s := fair(rng)
	w := s.Watch
	w.Turns = []Turn{{
		At: within[unit.Seconds](rng, 8, 22), Rate: w.Rate, BeatError: w.BeatError,
		Phase: either[unit.Milliseconds](rng, 0.5, 60),
	}}
	return s
}

func rateStep(rng *rand.Rand) Scene {
	s := fair(rng)
	s.Duration = 60
	s.Watch.RateSteps = []RateStep{{At: within[unit.Seconds](rng, 20, 40), Rate: s.Watch.Rate + either[unit.SecondsPerDay](rng, 5, 200)}}
	return s
}

func stopped(rng *rand.Rand) Scene {
	s := fair(rng)
	s.Watch.Stop = within[unit.Seconds](rng, 10, 25)
	if chance(rng, 0.5) {
		s.Watch.Fade = within[unit.Seconds](rng, 1, 20)
	}
	return s
}

// started builds the swing up from rest; until it reaches through the lift
// the watch is not heard.
func started(rng *rand.Rand) Scene {
	s := fair(rng)
	at := within[unit.Seconds](rng, 2, 10)
	full := s.Watch.Swing.Start
	s.Watch.FirstAt = at
	s.Watch.Swing.Course = Points
	tau := within[unit.Seconds](rng, 3, 20)
	for t := unit.Seconds(0); t < 60; t += tau / 8 {
		rise := unit.Degrees(1 - 0.75*math.Exp(-float64(t/tau)))
		s.Watch.Swing.Points = append(s.Watch.Swing.Points, SwingPoint{At: at + t, Amplitude: full * rise})
	}
	return s
}

func gap(rng *rand.Rand) Scene {
	s := fair(rng)
	s.Edits = []Edit{{At: within[unit.Seconds](rng, 8, 22), Gap: pick(rng, 0.01, within[unit.Seconds](rng, 0.003, 0.1), within[unit.Seconds](rng, 0.1, 2))}}
	return s
}

func insertion(rng *rand.Rand) Scene {
	s := fair(rng)
	s.Edits = []Edit{{At: within[unit.Seconds](rng, 8, 22), Zeros: within[unit.Seconds](rng, 0.003, 0.5)}}
	if chance(rng, 0.5) { // lost sound filled with zeros
		s.Edits[0].Gap = s.Edits[0].Zeros
	}
	return s
}

func second(rng *rand.Rand) Scene {
	s := fair(rng)
	other := *anyWatch(rng)
	if chance(rng, 0.5) {
		other.BeatsPerHour = s.Watch.BeatsPerHour
	}
	s.Second = &Neighbour{Level: within[unit.Decibels](rng, -30, -3), Watch: other}
	return s
}

// neighbour puts a second watch beside a fair one: of its beat rate and going
// up to a minute a day otherwise in two of three, of another in the third.
func neighbour(rng *rand.Rand) Scene {
	s := fair(rng)
	other := *anyWatch(rng)
	if chance(rng, 2.0/3) {
		other.BeatsPerHour = s.Watch.BeatsPerHour
		other.Rate = s.Watch.Rate + either[unit.SecondsPerDay](rng, 0, 60)
	}
	s.Second = &Neighbour{Level: pick[unit.Decibels](rng, -6, -12, -20), Watch: other}
	return s
}
