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

// Limits says what limits a reading, the strongest first, each with what to
// do about it.
func Limits(w *reading.Watch) []string {
	var out []string
	for _, f := range []func(*reading.Watch) string{limitClock, limitSound, limitNoise, limitClipped, limitLossy, limitLift} {
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

func limitClipped(w *reading.Watch) string {
	if !w.Signal.Clipped {
		return ""
	}
	return "The level: the loudest beats are cut off. Turn the input down and listen again."
}

func limitLossy(w *reading.Watch) string {
	if !w.Signal.Lossy {
		return ""
	}
	return "The recording: it was stored with loss, which blurs the faint unlocking. Record WAV or FLAC."
}

func limitLift(w *reading.Watch) string {
	a := w.Amplitude
	if a.Standing != reading.Measured || a.U95 == nil || a.U95WithLift == nil ||
		w.Lift.Standing != reading.Assumed || !(*a.U95WithLift > 1.5**a.U95) {
		return ""
	}
	return "The lift angle: " + Unit(Plain(w.Lift.Value), "°") + " is assumed. Give the movement's own for a surer swing."
}

// SharedClock says, for a table, what its rows share of the clock's doubt.
func SharedClock(w *reading.Watch) string {
	if w.Rate == nil || limitClock(w) == "" {
		return ""
	}
	return "All rates of this device share its clock's doubt, " + Doubt(float64(unit.PPM(w.Clock.U95PPM).PerDay()), "s/d") +
		"; compare rows by the sound alone"
}
