package measure

import (
	"cmp"
	"math"
	"slices"

	"beatwright/dsp"
	"beatwright/reading"
	"beatwright/train"
	"beatwright/unit"
	"beatwright/wave"
)

const (
	// shortestSwingWave: the swing follows its drive with a time constant of
	// 16–25 s (settle.go), so that of what recurs within less than this hardly a
	// twentieth is left in it (chosen).
	shortestSwingWave = 4.0 // s
	// leastSwingTurns is how often a wave must have been heard to be told: a
	// swing that settles or wanders makes one turn or two of anything (chosen).
	leastSwingTurns = 2.5
	// swingChance is the chance below which a wave counts: a third of that of the
	// beats' waves, since short series show what is none more often than it says.
	swingChance = 0.001
	// leastSwingWave is how large one must be at least: a swing that follows its
	// baseline not quite leaves a third of that, and less harms no watch (chosen).
	leastSwingWave = 0.3 // °
	// mostSwingWaves is how many are looked for.
	mostSwingWaves = 4
)

// swingWaves are the waves in the swing of a stretch.
type swingWaves struct {
	swingSeries
	waves []wave.Wave // °, periods in steps
	rest  []float64   // ° by step, without baseline and waves
	floor float64     // °
}

// swingWaves looks for the waves in a measured swing; nil where none can be told.
func (c *course) swingWaves(from, to unit.Seconds, sw swing, period unit.Seconds, lift unit.Degrees) *swingWaves {
	if sw.standing != reading.Measured {
		return nil
	}
	s, ok := c.series(from, to, sw.interval, period, lift)
	if !ok {
		return nil
	}
	f, _ := s.joint(nil)
	o := wave.Options{Shortest: shortestSwingWave / s.step, Longest: float64(len(s.x)) / leastSwingTurns, Chance: swingChance, Most: mostSwingWaves}
	found := slices.DeleteFunc(wave.Find(f.rest, o), func(w wave.Wave) bool { return w.Peak < leastSwingWave })
	out := &swingWaves{swingSeries: s, waves: found}
	out.sharpen()
	if f, ok = out.joint(out.waves); !ok {
		return nil
	}
	out.rest = f.rest
	none, ok := wave.NoiseOf(out.rest)
	if !ok {
		return nil
	}
	out.doubt(none)
	out.floor = out.least(none, o)
	out.take(f)
	return out
}

// sharpen seeks the periods of slow waves again, together with the baseline.
func (s *swingWaves) sharpen() {
	span := float64(len(s.x))
	for j := range s.waves {
		w := &s.waves[j]
		first := w.Period
		if span > fewTurns*first {
			continue
		}
		best, at := math.Inf(1), first
		for step := -12; step <= 12; step++ {
			w.Period = first * (1 + float64(step)/100)
			if f, ok := s.joint(s.waves); ok && f.rss < best {
				best, at = f.rss, w.Period
			}
		}
		w.Period = at
	}
}

// doubt gives the waves their uncertainties by what is left without any: while
// they were in it, slow ones looked like noise beside them.
func (s *swingWaves) doubt(none wave.Noise) {
	span := float64(len(s.x))
	for j := range s.waves {
		w := &s.waves[j]
		*w = none.Doubt(*w)
		if span <= fewTurns*w.Period {
			// As for the waves in the beats (recurring.go).
			w.PeriodU95 = math.Hypot(w.PeriodU95, 0.1*w.Period*w.Period/span)
		}
	}
}

// take gives the waves their sizes by the joint fit, and undoes what the mean over
// a step took off.
func (s *swingWaves) take(f jointFit) {
	for j := range s.waves {
		w := &s.waves[j]
		up := averagedOff(w.Period)
		w.Sin, w.Cos = up*f.sin[j], up*f.cos[j]
		w.Peak, w.U95 = math.Hypot(w.Sin, w.Cos), up*f.wider[j]*w.U95
	}
}

// averagedOff is by how much a sine of so many steps is larger than its means over
// single steps: the mean over the part p of a turn is sin(πp)/(πp).
func averagedOff(period float64) float64 {
	x := math.Pi / period
	return x / math.Sin(x)
}

// least is how large a wave must be, °, to be told in 95 of 100 hearings whatever
// its period. A baseline takes from slow ones.
func (s *swingWaves) least(none wave.Noise, o wave.Options) (floor float64) {
	floor = leastSwingWave
	for p := o.Shortest; p <= o.Longest; p *= 1.2 {
		size := averagedOff(p) * none.Least(p, o)
		if float64(len(s.x)) < fewTurns*p {
			if f, ok := s.joint([]wave.Wave{{Period: p}}); ok {
				size *= f.wider[0]
			}
		}
		floor = math.Max(floor, size)
	}
	return floor
}

// unsmear takes from the swing what a wave within its segments makes it too low:
// the edge of a strike that moves to and fro while it is averaged is near its
// earliest place. A strike that has come by q of its beats has moved by cos πq of
// the wave (derived: quantile of a sine); how much of that shows in an edge, lead
// says, and as in sharpen (middle.go) half of it stays in doubt.
func (s *swingWaves) unsmear(sw swing, v view, period unit.Seconds) swing {
	cell, q := v.m[0].s.cell, math.Max(v.m[0].q, v.m[1].q)
	segment := s.step * float64(len(s.x))
	if len(v.parts) > 0 {
		segment = dsp.Mean(lengths(v.parts))
	}
	deg := slope(sw.value, sw.interval, period)
	for _, w := range s.waves {
		within := math.Min(1, segment/(w.Period*s.step))
		range_ := 2 * w.Peak / deg / cell * within * within
		longer := (lead(range_*s.byFirst) - lead(range_*(1-s.byFirst))) / 2 * math.Cos(math.Pi*math.Min(q, 0.5)) * cell
		more := deg * longer
		sw.value, sw.interval = sw.value+more, sw.interval-longer
		for i := range sw.side {
			sw.side[i] += more
		}
		sw.u95 = math.Hypot(sw.u95, more/2*1.96)
	}
	s.scale(slope(sw.value, sw.interval, period) / deg)
	return sw
}

// scale has k times as many degrees to the interval.
func (s *swingWaves) scale(k float64) {
	s.floor *= k
	for j := range s.waves {
		w := &s.waves[j]
		w.Sin, w.Cos, w.Peak, w.U95 = k*w.Sin, k*w.Cos, k*w.Peak, k*w.U95
	}
	for i := range s.rest {
		s.rest[i] *= k
	}
}

// lengths are how long the parts are, s.
func lengths(ps []part) []float64 {
	out := make([]float64, len(ps))
	for i, p := range ps {
		out[i] = p.last
	}
	return out
}

// drawn is how much of a wave's size may be lost (95 %) because noise draws a
// strike that moves towards where it was before: on messy simulated sound up to a
// tenth was, and little on any other (chosen).
const drawn = 0.06

// set puts the waves into a reading, shortest first. Their sizes go as the square
// of the swing, so that its doubt is twice in theirs.
func (s *swingWaves) set(w *reading.Watch, sw swing, tr train.Train) {
	w.AmplitudePeriodic, w.AmplitudeFloor = []reading.AmplitudeWave{}, &s.floor
	for j, x := range s.waves {
		sec, u := x.Period*s.step, x.PeriodU95*s.step
		// As for the waves in the beats (periodicities).
		wheels := tr.Fitting(unit.Seconds(sec), unit.Seconds(math.Max(u, 0.004*sec)))
		if wheels == nil {
			wheels = []string{}
		}
		w.AmplitudePeriodic = append(w.AmplitudePeriodic, reading.AmplitudeWave{
			Period: unit.Seconds(sec), PeriodU95: unit.Seconds(u), PeakDeg: x.Peak, U95: math.Hypot(x.U95, x.Peak*math.Hypot(drawn, 2*sw.u95/sw.value)),
			Chance: x.Chance, Turns: float64(len(s.x)) / x.Period, Wheels: wheels,
			HighestAt: unit.Seconds(s.highest(x)), Turn: s.turn(j),
		})
	}
	slices.SortFunc(w.AmplitudePeriodic, func(a, b reading.AmplitudeWave) int { return cmp.Compare(a.Period, b.Period) })
}

// highest is when in its turn a wave is highest, s from the beginning of the
// stretch.
func (s *swingWaves) highest(w wave.Wave) float64 {
	turn := math.Atan2(w.Sin, w.Cos)/(2*math.Pi) + s.begin/s.step/w.Period
	return (turn - math.Floor(turn)) * w.Period * s.step
}
