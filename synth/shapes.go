package synth

import (
	"math"
	"math/rand/v2"

	"beatwright/unit"
)

// anySides draws the sounds of two beats, like each other but not the same.
func anySides(rng *rand.Rand) [2]Side {
	first := Side{
		Unlocking: anySound(rng, within[unit.Decibels](rng, -30, -6), 2600, 13000),
		Impulse:   anySound(rng, within[unit.Decibels](rng, -18, -3), 2600, 14000),
		Drop:      anySound(rng, 0, 3000, 16500),
	}
	unlike := within(rng, 0.02, 0.2)
	second := Side{
		Unlocking: alike(rng, first.Unlocking, 3, unlike),
		Impulse:   alike(rng, first.Impulse, 3, unlike),
		Drop:      alike(rng, first.Drop, 1.5, unlike),
	}
	return [2]Side{first, second}
}

// anySound has two to four resonances, the first and strongest from lo to
// hi, the others from 2 to 20 kHz, spread evenly in pitch.
func anySound(rng *rand.Rand, level unit.Decibels, lo, hi float64) Sound {
	s := Sound{Level: level, Attack: within[unit.Milliseconds](rng, 0.005, 0.06)}
	for i := range 2 + rng.IntN(3) {
		if i == 1 {
			lo, hi = 2000, 20000
		}
		s.Modes = append(s.Modes, Mode{
			Frequency: unit.Hertz(lo * math.Pow(hi/lo, rng.Float64())),
			Decay:     unit.Milliseconds(0.2 * math.Pow(7, rng.Float64())),
			Level:     unit.Decibels(-9 * rng.Float64() * float64(min(i, 1))),
			Phase:     within(rng, -math.Pi, math.Pi),
		})
	}
	return s
}

// alike is a sound with level, resonances and strikes somewhat changed:
// levels by ± db, frequencies and decays by ± share.
func alike(rng *rand.Rand, s Sound, db unit.Decibels, share float64) Sound {
	s.Level += within(rng, -db, db)
	s.Attack *= unit.Milliseconds(1 + within(rng, -share, share))
	s.Modes = append([]Mode(nil), s.Modes...)
	for i := range s.Modes {
		m := &s.Modes[i]
		m.Frequency *= unit.Hertz(1 + within(rng, -share, share))
		m.Decay *= unit.Milliseconds(1 + within(rng, -share, share))
		m.Level += within(rng, -db, db)
		m.Phase += within(rng, -1.0, 1.0)
	}
	s.Strikes = append([]Strike(nil), s.Strikes...)
	for i := range s.Strikes {
		s.Strikes[i].After *= unit.Milliseconds(1 + within(rng, -share, share))
	}
	return s
}

// mess makes a watch as real ones are.
func mess(rng *rand.Rand, w *Watch) {
	for i := range w.Sides {
		s := &w.Sides[i]
		for _, x := range []*Sound{&s.Unlocking, &s.Impulse, &s.Drop} {
			*x = alike(rng, *x, 3, 0.25)
			x.Strikes = anyStrikes(rng)
		}
		s.Drop.Level = within[unit.Decibels](rng, -3, 1)
	}
	for range 1 + rng.IntN(3) {
		w.Case = append(w.Case, Mode{
			Frequency: unit.Hertz(1500 * math.Pow(7, rng.Float64())),
			Decay:     within[unit.Milliseconds](rng, 5/2.3, 15/2.3),
			Level:     within[unit.Decibels](rng, -26, -10),
			Phase:     within(rng, -math.Pi, math.Pi),
		})
	}
	for range rng.IntN(4) {
		w.After = append(w.After, Strike{within[unit.Milliseconds](rng, 8, 20), within[unit.Decibels](rng, -30, -10)})
	}
	if chance(rng, 0.5) {
		w.Echoes = append(w.Echoes, anyEcho(rng))
	}
	w.PhaseSpread = pick(rng, 0, 0.5, 1.5, math.Pi)
}

// anyStrikes are one to three blows within 2 ms.
func anyStrikes(rng *rand.Rand) []Strike {
	out := []Strike{{}}
	for range rng.IntN(3) {
		out = append(out, Strike{within[unit.Milliseconds](rng, 0.3, 2), within[unit.Decibels](rng, -10, 2)})
	}
	return out
}
