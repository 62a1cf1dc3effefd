package synth

import (
	"math"
	"math/rand/v2"

	"beatwright/unit"
)

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
		EscapeTeeth:  pick(rng, 15, 15, 15, 16, 18, 20, 21),
	}
	w.ImpulseAt[1] = clamp(w.ImpulseAt[0]+within(rng, -0.06, 0.06), 0.2, 0.5)
	if chance(rng, 0.1) {
		w.Rate = within[unit.SecondsPerDay](rng, -700, 700)
	}
	w.Swing.Start = within[unit.Degrees](rng, 170, 315)
	w.Swing.SideDifference = within[unit.Degrees](rng, -2, 2)
	w.Jitter = anyJitter(rng, 0.010, 0.060)
	w.Sides = anySides(rng)
	return w
}

// anyJitter shares a scatter of the beat's date between centre and sounds.
func anyJitter(rng *rand.Rand, lo, hi unit.Milliseconds) Jitter {
	centre := within(rng, lo, hi)
	own := func() unit.Milliseconds { return centre * unit.Milliseconds(within(rng, 0.2, 0.8)) }
	return Jitter{Centre: centre, Unlocking: own(), Impulse: own(), Drop: own(), Swing: within[unit.Degrees](rng, 0, 0.6)}
}

// fair keeps the unlocking of every single beat above the noise.
func fair(rng *rand.Rand) Scene {
	s := anyScene(rng)
	s.Noise = []Noise{{SNR: max(within[unit.Decibels](rng, 30, 45), s.faintest()+10)}}
	return s
}

// anyScene is a watch on a microphone, without noise yet.
func anyScene(rng *rand.Rand) Scene {
	return Scene{
		Rate: pick[unit.Hertz](rng, 44100, 48000), Level: within[unit.Decibels](rng, -24, -10),
		Bits: pick(rng, 16, 16, 24), Watch: anyWatch(rng),
	}
}

// faintest is how far below the drop the fainter unlocking lies.
func (s Scene) faintest() unit.Decibels {
	sides := s.Watch.Sides
	return max(-sides[0].Unlocking.Level, -sides[1].Unlocking.Level)
}

func tired(rng *rand.Rand) Scene {
	s := fair(rng)
	w := s.Watch
	w.Swing.Start = within[unit.Degrees](rng, 60, 170)
	w.Rate = within[unit.SecondsPerDay](rng, -700, 300)
	w.BeatError = within[unit.Milliseconds](rng, -3, 3)
	w.Jitter = anyJitter(rng, 0.020, 0.150)
	if chance(rng, 0.3) {
		mess(rng, w)
	}
	return s
}

func messy(rng *rand.Rand) Scene {
	s := anyScene(rng)
	mess(rng, s.Watch)
	s.Level -= 6 // room for what falls together
	s.Watch.Jitter = anyJitter(rng, 0.010, 0.120)
	s.Noise = []Noise{{SNR: within[unit.Decibels](rng, 22, 40)}}
	return s
}

func buried(rng *rand.Rand) Scene {
	s := anyScene(rng)
	if chance(rng, 0.5) {
		mess(rng, s.Watch)
	}
	if chance(rng, 0.3) {
		s.Watch.Swing.Start = within[unit.Degrees](rng, 70, 170)
	}
	snr := max(s.faintest()+within[unit.Decibels](rng, -15, 8), 3)
	s.Noise = []Noise{{SNR: snr, Kind: pick(rng, White, White, Pink)}}
	return s
}

func hum(rng *rand.Rand) Scene {
	s := fair(rng)
	level := within[unit.Decibels](rng, 0, 30)
	s.Level = -8 - level - within[unit.Decibels](rng, 2, 12)
	s.Bits = 24
	s.Hum = []Hum{{
		Frequency: pick[unit.Hertz](rng, 50, 60) * unit.Hertz(within(rng, 0.998, 1.002)), Level: level,
		Harmonics: rng.IntN(40), Fall: within[unit.Decibels](rng, 1, 6), Phase: within(rng, 0, 2*math.Pi),
	}}
	return s
}

func bumps(rng *rand.Rand) Scene {
	s := fair(rng)
	s.Level -= 8
	s.Bumps = &Bumps{PerMinute: within(rng, 4.0, 60), Level: within[unit.Decibels](rng, -6, 14), Spread: 6}
	if chance(rng, 0.6) {
		s.Bursts = &Bursts{PerMinute: within(rng, 2.0, 15), Length: within[unit.Seconds](rng, 0.2, 2), SNR: within[unit.Decibels](rng, 6, 20)}
	}
	return s
}

func drift(rng *rand.Rand) Scene {
	s := fair(rng)
	sw := &s.Watch.Swing
	sw.Start = within[unit.Degrees](rng, 150, 310)
	sw.End = max(sw.Start+either[unit.Degrees](rng, 4, 20), 120)
	sw.Course, sw.Over = Linear, 30
	if chance(rng, 0.4) {
		sw.Course, sw.Over = Settling, within[unit.Seconds](rng, 14, 28)
	}
	return s
}

func soft(rng *rand.Rand) Scene {
	s := fair(rng)
	for i := range s.Watch.Sides {
		side := &s.Watch.Sides[i]
		for _, x := range []*Sound{&side.Unlocking, &side.Impulse, &side.Drop} {
			x.Attack = within[unit.Milliseconds](rng, 0.1, 0.5)
		}
	}
	return s
}

func loudUnlocking(rng *rand.Rand) Scene {
	s := fair(rng)
	for i := range s.Watch.Sides {
		side := &s.Watch.Sides[i]
		side.Unlocking.Level = within[unit.Decibels](rng, -10, 1)
		side.Impulse.Level = side.Unlocking.Level - within[unit.Decibels](rng, 3, 14)
	}
	if chance(rng, 0.2) {
		i := rng.IntN(2)
		s.Watch.Sides[i].Impulse.Absent = true
	}
	return s
}

func sides(rng *rand.Rand) Scene {
	s := fair(rng)
	s.Watch.Swing.SideDifference = either[unit.Degrees](rng, 3, 10)
	s.Watch.Sides[1] = anySides(rng)[1]
	s.Watch.Sides[1].Drop.Level = within[unit.Decibels](rng, -8, 3)
	return s
}

func fast(rng *rand.Rand) Scene {
	s := pick(rng, fair, messy)(rng)
	s.Rate = pick[unit.Hertz](rng, 88200, 96000, 96000, 176400, 192000)
	s.Bits = 24
	return s
}

func slow(rng *rand.Rand) Scene {
	s := fair(rng)
	s.Rate = pick[unit.Hertz](rng, 22050, 24000, 32000)
	for i := range s.Watch.Sides { // the strongest resonance stays within the band
		for _, x := range s.Watch.Sides[i].all() {
			x.Modes[0].Frequency = min(x.Modes[0].Frequency, within[unit.Hertz](rng, 3000, 8500))
		}
	}
	return s
}

func echo(rng *rand.Rand) Scene {
	s := fair(rng)
	for range 1 + rng.IntN(3) {
		s.Watch.Echoes = append(s.Watch.Echoes, anyEcho(rng))
	}
	return s
}

// anyEcho is weaker the later: 1 ms (the case, the bench) at most −4 dB,
// 40 ms (a wall 7 m off) at most −26, as a spreading wave's pressure falls
// with its path and a little more; 14 dB below that at least. Chosen.
func anyEcho(rng *rand.Rand) Strike {
	late := 0.4 * math.Pow(100, rng.Float64())
	most := unit.Decibels(-4 - 14*math.Log10(math.Max(late, 1)))
	return Strike{After: unit.Milliseconds(late), Level: most - within[unit.Decibels](rng, 0, 14)}
}

func clipped(rng *rand.Rand) Scene {
	s := fair(rng)
	s.Level = within[unit.Decibels](rng, 2, 16)
	s.ClipAt = pick(rng, 1, 1, within(rng, 0.4, 1.0))
	return s
}

func pink(rng *rand.Rand) Scene {
	s := anyScene(rng)
	s.Level = within[unit.Decibels](rng, -40, -24)
	s.Bits = 24
	s.Noise = []Noise{{Kind: Pink, SNR: within[unit.Decibels](rng, 18, 40)}, {SNR: within[unit.Decibels](rng, 35, 50)}}
	return s
}

func rundown(rng *rand.Rand) Scene {
	s := fair(rng)
	sw := &s.Watch.Swing
	sw.Start, sw.End = within[unit.Degrees](rng, 200, 240), within[unit.Degrees](rng, 70, 100)
	sw.Course, sw.Over = pick(rng, Linear, RunDown), within[unit.Seconds](rng, 25, 90)
	if chance(rng, 0.3) { // free, the drive gone: time constant Q·T/π
		sw.Course, sw.End, sw.Over = Settling, 60, within[unit.Seconds](rng, 16, 25)
	}
	s.Watch.SpeedPower = within(rng, 0.5, 1.5)
	return s
}

func wheel(rng *rand.Rand) Scene {
	s := fair(rng)
	w := s.Watch
	s.Duration = pick[unit.Seconds](rng, 30, 60, 130)
	turn := 2 * unit.Seconds(w.EscapeTeeth) * w.BeatsPerHour.Beat()
	for range 1 + rng.IntN(2) {
		// escape wheel, fourth wheel, one of its teeth, a third-wheel tooth
		period := pick(rng, turn, 60, 60.0/70, 6, turn)
		w.Waves = append(w.Waves, Wave{
			Period: period, Peak: within[unit.Milliseconds](rng, 0.03, 0.4), Swing: within[unit.Degrees](rng, 0, 4),
			Phase: within(rng, 0, 2*math.Pi), Shape: pick(rng, Sine, Sine, Pulse), Width: within(rng, 0.05, 0.3),
		})
	}
	if chance(rng, 0.4) {
		w.ToothErrors = make([]unit.Milliseconds, 1+rng.IntN(w.EscapeTeeth))
		w.ToothErrors[len(w.ToothErrors)-1] = either[unit.Milliseconds](rng, 0.1, 0.5)
	}
	return s
}

func oneDead(rng *rand.Rand) Scene {
	s := fair(rng)
	s.Channels = []Channel{{}, pick(rng, Channel{Dead: true}, Channel{Deaf: true}, Channel{Inverted: true}, Channel{Level: -20})}
	if chance(rng, 0.5) {
		s.Channels[0], s.Channels[1] = s.Channels[1], s.Channels[0]
	}
	return s
}

func outOfBeat(rng *rand.Rand) Scene {
	s := fair(rng)
	s.Watch.BeatError = either[unit.Milliseconds](rng, 1, 4)
	s.Watch.Swing.Start = within[unit.Degrees](rng, 90, 300)
	return s
}

func free(rng *rand.Rand) Scene {
	s := fair(rng)
	s.Watch.BeatsPerHour = unit.BeatsPerHour(math.Round(7500 * math.Pow(39000.0/7500, rng.Float64())))
	return s
}

func wander(rng *rand.Rand) Scene {
	s := fair(rng)
	s.Watch.Jitter.Slow = within[unit.Milliseconds](rng, 0.01, 0.1)
	s.Watch.Jitter.Memory = within(rng, 0.4, 0.95)
	return s
}

func lopsided(rng *rand.Rand) Scene {
	s := fair(rng)
	s.Watch.LiftShift = either[unit.Degrees](rng, 0.5, 4)
	return s
}
