package plot

import "math"

// Scale is what a ruler is divided into. It stays while it is read, and steps
// outward when what is said leaves it.
type Scale struct {
	Low, High  float64
	Step       float64 // between ticks; each second one has its figure
	Signed     bool    // figures carry their sign
	Unit       string
	steps      []float64 // further ends, each wider
	fixedStart bool      // only the upper end moves
}

// RateScale is a ruler of rates. Where it, and the others, end and how they
// widen is chosen: sound watches stay on the first of each.
func RateScale() Scale {
	return Scale{Low: -60, High: 60, Step: 10, Signed: true, Unit: perDay, steps: []float64{120, 300, 600, 1200, 3000, 6000}}
}

// BeatScale is a ruler of beat errors, in ms or °.
func BeatScale(unit string) Scale {
	return Scale{High: 5, Step: 0.5, Unit: unit, fixedStart: true, steps: []float64{10, 20, 50, 100}}
}

// SwingScale is a ruler of amplitudes: no balance with a banking swings 330°.
func SwingScale() Scale { return Scale{High: 330, Step: 30, Unit: "°", fixedStart: true} }

// Reaching is the scale itself where it holds v, else the next one outward
// that does, or the widest.
func (s Scale) Reaching(v float64) Scale {
	for len(s.steps) > 0 && finite(v) && (v < s.Low || v > s.High) {
		grown := s.steps[0] / s.High
		s.High, s.steps = s.steps[0], s.steps[1:]
		s.Step *= grown
		if !s.fixedStart {
			s.Low *= grown
		}
	}
	return s
}

// ticks are the divisions, and how many digits their figures need.
func (s Scale) ticks() (at []float64, places int) {
	n := int(math.Round((s.High - s.Low) / s.Step))
	if !(s.Step > 0) || n < 1 || n > 100 {
		return nil, 0
	}
	for i := range n + 1 {
		at = append(at, s.Low+float64(i)*s.Step)
	}
	for p := 0; p < 6; p++ {
		if v := 2 * s.Step * math.Pow10(p); math.Abs(v-math.Round(v)) < 1e-6 {
			return at, p
		}
	}
	return at, 6
}
