package say

import (
	"fmt"
	"math"

	"beatwright/reading"
	"beatwright/unit"
)

// Bounds from which something is said to limit a reading (chosen).
const (
	// noticeable is the statistical uncertainty of a rate, s/d, from which
	// more listening is advised: the target for fair sound is 0.2.
	noticeable = 0.5
	// faint is the height of the beats over the noise, dB, below which the
	// noise is named.
	faint = 12
)

// Limits says what limits a reading, each with what to do about it. What is
// amiss with the sound itself (clipped, lossy) is among the reading's own
// warnings already.
func Limits(w *reading.Watch) []string {
	var out []string
	for _, f := range []func(*reading.Watch) string{limitClock, limitSound, limitNoise, limitLift} {
		if s := f(w); s != "" {
			out = append(out, s)
		}
	}
	return out
}

// limitClock names the device's clock where it outweighs the sound.
func limitClock(w *reading.Watch) string {
	u, alone := w.BeatTime.U95, w.BeatTime.U95Statistical
	if w.Rate != nil {
		u, alone = w.Rate.U95, w.Rate.U95Statistical
	}
	clock := math.Sqrt(math.Max(0, u*u-alone*alone))
	if !(clock > alone) {
		return ""
	}
	known := "never checked"
	if w.Clock.Standing == reading.Calibrated {
		known = "checked"
	}
	s := fmt.Sprintf("The sound card's clock, %s: %s is %s.", known,
		PlusMinus+NoBreak+Unit(Plain(w.Clock.U95PPM), "ppm"), Doubt(float64(unit.PPM(w.Clock.U95PPM).PerDay()), "s/d"))
	if w.Rate != nil {
		s += " It is the same in every reading of this device: compare those by the sound alone, " + Doubt(alone, "s/d") + "."
	}
	return s
}

func limitSound(w *reading.Watch) string {
	if w.Rate == nil || !(w.Rate.U95Statistical > noticeable) {
		return ""
	}
	return "The beats themselves: they scatter too much, or were heard too briefly, for better than " +
		Doubt(w.Rate.U95Statistical, "s/d") + ". Listen longer."
}

func limitNoise(w *reading.Watch) string {
	if !(w.Signal.SNR < faint) {
		return ""
	}
	return "The noise: the beats stand only " + Unit(Fixed(float64(w.Signal.SNR), 0), "dB") +
		" above it. Bring the pickup to the watch, or quieten the room."
}

func limitLift(w *reading.Watch) string {
	a := w.Amplitude
	if a.Standing != reading.Measured || a.U95 == nil || a.U95WithLift == nil ||
		w.Lift.Standing != reading.Assumed || !(*a.U95WithLift > 1.5**a.U95) {
		return ""
	}
	return "The lift angle: " + Unit(Plain(w.Lift.Value), "°") + " is assumed. Give the movement's own for a surer swing."
}

// Shared says, for a table, what the doubts of its rows have in common: the
// clock's in all rates, and an assumed lift angle's in all amplitudes.
func Shared(w *reading.Watch) []string {
	var out []string
	if w.Rate != nil && limitClock(w) != "" {
		out = append(out, "All rates heard by one device share its clock's doubt, "+
			Doubt(float64(unit.PPM(w.Clock.U95PPM).PerDay()), "s/d")+"; compare rows by the sound alone")
	}
	if l := w.Lift; w.Amplitude.Value != nil && l.Standing == reading.Assumed && l.Value > 0 {
		out = append(out, "All amplitudes take the lift angle as "+Unit(Plain(l.Value), "°")+", assumed "+
			PlusMinus+NoBreak+Unit(Plain(l.U95), "°")+": that is "+Doubt(100*l.U95/l.Value, "%")+" of each")
	}
	return out
}
