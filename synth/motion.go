package synth

import (
	"fmt"
	"math"
	"sort"

	"beatwright/unit"
)

// Courses of the amplitude.
const (
	Constant = "constant"
	Linear   = "linear"
	Settling = "settling"
	RunDown  = "rundown"
	Points   = "points"
)

// Swing is the amplitude over time.
type Swing struct {
	// Start is the amplitude at time 0; 0 is 270.
	Start unit.Degrees `json:"start_deg,omitempty"`
	// Course is Constant (also when empty); Linear, from Start to End in
	// Over, then End; Settling, to End with the time constant Over; RunDown,
	// End + (Start − End)·(1 − (t/Over)²), then End; Points, straight lines
	// between points.
	Course string       `json:"course,omitempty"`
	End    unit.Degrees `json:"end_deg,omitempty"`
	Over   unit.Seconds `json:"over_s,omitempty"`
	Points []SwingPoint `json:"points,omitempty"`
	// SideDifference is by how much the first side's amplitude exceeds the
	// second's.
	SideDifference unit.Degrees `json:"side_difference_deg,omitempty"`
}

// SwingPoint is the amplitude at a time.
type SwingPoint struct {
	At        unit.Seconds `json:"at_s"`
	Amplitude unit.Degrees `json:"amplitude_deg"`
}

func (s Swing) validate() error {
	switch s.Course {
	case "", Constant:
		return nil
	case Linear, Settling, RunDown:
		if !(s.Over > 0) {
			return fmt.Errorf("course %q of the amplitude needs a time over which it runs", s.Course)
		}
		return nil
	case Points:
		if len(s.Points) == 0 {
			return fmt.Errorf("course %q of the amplitude without points", s.Course)
		}
		return nil
	default:
		return fmt.Errorf("course %q of the amplitude is none of constant, linear, settling, rundown, points", s.Course)
	}
}

// At is the amplitude at time t, without waves, jitter and side difference.
func (s Swing) At(t unit.Seconds) unit.Degrees {
	x := 0.0
	if s.Over > 0 {
		x = math.Max(0, float64(t/s.Over))
	}
	fall := s.Start - s.End
	switch s.Course {
	case Linear:
		return s.Start - fall*unit.Degrees(math.Min(x, 1))
	case Settling:
		return s.End + fall*unit.Degrees(math.Exp(-x))
	case RunDown:
		x = math.Min(x, 1)
		return s.End + fall*unit.Degrees(1-x*x)
	case Points:
		return between(s.Points, t)
	default:
		return s.Start
	}
}

func between(ps []SwingPoint, t unit.Seconds) unit.Degrees {
	i := sort.Search(len(ps), func(i int) bool { return ps[i].At > t })
	switch {
	case i == 0:
		return ps[0].Amplitude
	case i == len(ps):
		return ps[i-1].Amplitude
	}
	a, b := ps[i-1], ps[i]
	return a.Amplitude + (b.Amplitude-a.Amplitude)*unit.Degrees((t-a.At)/(b.At-a.At))
}

// at gives the wave's share, −1 to 1, at time t.
func (v Wave) at(t unit.Seconds) float64 {
	turn := float64(t/v.Period) + v.Phase/(2*math.Pi)
	if v.Shape != Pulse {
		return math.Sin(2 * math.Pi * turn)
	}
	width := orElse(v.Width, 0.1)
	x := (turn - math.Floor(turn)) / width
	if x >= 1 {
		return 0
	}
	return 0.5 - 0.5*math.Cos(2*math.Pi*x)
}

// motion is one half swing of the balance.
type motion struct {
	period    float64 // T, s
	amplitude float64 // A, °
	beta      float64 // line of centres from rest, along the first side, °
	side      int
}

// after is the time from the balance's crossing of rest to the moment it is
// x degrees beyond the line of centres, on its way; NaN if it does not come
// there.
//
//	t = T/2π · asin((x ± β)/A),   + on the first side
func (m motion) after(x float64) float64 {
	b := m.beta
	if m.side == 1 {
		b = -b
	}
	return m.period / (2 * math.Pi) * math.Asin((x+b)/m.amplitude)
}

// speed is that of the balance there, °/s.
func (m motion) speed(x float64) float64 {
	b := m.beta
	if m.side == 1 {
		b = -b
	}
	return 2 * math.Pi / m.period * math.Sqrt(math.Max(0, m.amplitude*m.amplitude-(x+b)*(x+b)))
}

// Interval is the time from unlocking to drop for a lift centred on rest:
//
//	t = T/π · asin(λ/(2A)),   T = 7200/vph s
//
// NaN where the amplitude does not reach the end of the lift.
func Interval(lift, amplitude unit.Degrees, period unit.Seconds) unit.Seconds {
	return period / math.Pi * unit.Seconds(math.Asin(float64(lift/(2*amplitude))))
}

// BeatAngle is how far rest lies off the line of centres at a beat error of
// e, half the difference of alternate beats:
//
//	β = A·sin(π·e/T)
func BeatAngle(e unit.Milliseconds, amplitude unit.Degrees, period unit.Seconds) unit.Degrees {
	return amplitude * unit.Degrees(math.Sin(math.Pi*float64(e.Seconds()/period)))
}

// Period is that of the balance, T, at a beat rate and rate:
//
//	T = 7200/vph / (1 + rate/86400)
func Period(vph unit.BeatsPerHour, rate unit.SecondsPerDay) unit.Seconds {
	return vph.Period() / unit.Seconds(1+float64(rate)/float64(unit.Day))
}

// RateOf is the rate of a beat: 86 400·(nominal/beat − 1), + gains.
func RateOf(vph unit.BeatsPerHour, beat unit.Seconds) unit.SecondsPerDay {
	return unit.SecondsPerDay(float64(unit.Day) * float64(vph.Beat()/beat-1))
}
