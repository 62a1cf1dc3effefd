package measure

import (
	"fmt"

	"beatwright/reading"
	"beatwright/unit"
)

// silenceRMS is −80 dB of full scale: quieter than any pickup's own noise at
// a usable gain.
const silenceRMS = 1e-4

// refusal says what was heard instead of a watch.
func (h *hearing) refusal(some bool, span unit.Seconds) reading.Refusal {
	f := h.engine.Refused()
	switch {
	case f.Stepping > 0:
		s := f.Stepping
		return reading.Refusal{Code: reading.Stepping, Step: &s, Why: fmt.Sprintf("one sound every %.3f s: the step of a clock that steps by the second, not the beat of a watch", float64(s))}
	case h.level.rms() < silenceRMS && h.level.peak < 0.003:
		return reading.Refusal{Code: reading.Silence, Why: "silence: nothing reaches the pickup; check that it is plugged in, chosen and turned up"}
	case span < 4:
		return reading.Refusal{Code: reading.TooShort, Why: fmt.Sprintf("%.1f s of sound holds too few beats: at least 8 of one steady stretch are needed, better 30 s", float64(span))}
	case some:
		return reading.Refusal{Code: reading.TooShort, Why: "what may be beats, but never 8 of them in one steady stretch: keep the watch still and the room quiet, and listen for 30 s"}
	case f.Periodic:
		return reading.Refusal{Code: reading.Periodic, Why: "a sound that comes again and again, but not as the beats of a watch do: each time different, or not evenly enough"}
	}
	return reading.Refusal{Code: reading.Noise, Why: "sound, but no steady beat in it: press the pickup to the case, away from other noise, and try again"}
}
