package say

import (
	"strings"

	"beatwright/reading"
)

// Change says what broke the steady running, without its moment.
func Change(c reading.Change) string {
	switch c.What {
	case reading.PhaseStep:
		return "the beats stepped" + size(c.Ms, "ms", " by ", true)
	case reading.RateStep:
		return "the rate stepped" + size(c.PerDay, "s/d", " by ", true)
	case reading.Turned:
		return "the watch was turned"
	case reading.Stopped:
		return stopped(c)
	case reading.Gap:
		return "sound is missing" + size(c.Ms, "ms", ", ", false)
	case reading.Insertion:
		return "silence was put in" + size(c.Ms, "ms", ", ", false)
	case reading.SecondWatch:
		return "a second watch is heard"
	}
	return c.What
}

// stopped says how a watch stopped, and from what swing.
func stopped(c reading.Change) string {
	s, last := "the watch stopped", ", having swung "
	switch c.How {
	case reading.Faded:
		s, last = "the watch faded and stopped", ", last swinging "
	case reading.Dead:
		s = "the watch stopped dead"
	}
	if c.Amplitude != nil && c.AmplitudeU95 != nil {
		s += last + With(*c.Amplitude, *c.AmplitudeU95, "°")
	}
	return s
}

// size prints how large a change was, to a tenth: its uncertainty is not
// known, and it is only told to find the place.
func size(v *float64, unit, before string, signed bool) string {
	if v == nil {
		return ""
	}
	n := Fixed(*v, 1)
	if signed && *v > 0 {
		n = "+" + n
	}
	return before + Unit(n, unit)
}

// Wave says a periodic error: size, period, and the wheels it fits.
func Wave(p reading.Periodicity) string {
	s := "waves of " + PlusMinus + NoBreak + Unit(Value(p.PeakMs, p.U95), "ms") + " every " + Unit(Fixed(float64(p.Period), 2), "s")
	return s + wheels(p.Wheels)
}

// SwingWave says a wave of the amplitude: size, period, and the wheels it fits.
func SwingWave(w reading.AmplitudeWave) string {
	s := "the swing rises and falls by " + With(w.PeakDeg, w.U95, "°")
	return s + " every " + With(float64(w.Period), float64(w.PeriodU95), "s") + wheels(w.Wheels)
}

// wheels says which wheels would give what recurs; nothing of none.
func wheels(names []string) string {
	if len(names) == 0 {
		return ""
	}
	return ", as the " + strings.Join(names, " or ") + " wheel would give"
}
