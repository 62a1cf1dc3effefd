// Package unit gives the quantities of the trade as types, so that a rate is
// never taken for an angle nor a millisecond for a second.
//
// Each type is a float64 in the one unit its name says; conversion from and
// to other units is by the functions here. The package holds no physics:
// what relates one quantity to another is in package balance and its
// neighbours. Sign of a rate everywhere: + gains, − loses (Kleinlein 1920
// §14). Amplitude everywhere: the swing from rest to one turning point.
package unit

import "math"

type (
	// Seconds is a time or a span of time, in s.
	Seconds float64
	// Milliseconds is a short span of time, in ms.
	Milliseconds float64
	// SecondsPerDay is a rate, in s/d; + gains, − loses.
	SecondsPerDay float64
	// Degrees is an angle: an amplitude, a lift angle, a beat error, in °.
	Degrees float64
	// BeatsPerHour is a beat rate: vibrations of the balance in an hour.
	BeatsPerHour float64
	// Hertz is a frequency or a sampling rate, in 1/s.
	Hertz float64
	// PPM is a relative deviation in parts per million.
	PPM float64
	// Decibels is a ratio of powers, 10·log10.
	Decibels float64
)

// Day is the length of the day that rates are counted in, in s.
const Day Seconds = 86400

// Seconds converts to s.
func (ms Milliseconds) Seconds() Seconds { return Seconds(ms / 1e3) }

// Milliseconds converts to ms.
func (s Seconds) Milliseconds() Milliseconds { return Milliseconds(s * 1e3) }

// Radians gives the angle in radians.
func (d Degrees) Radians() float64 { return float64(d) * math.Pi / 180 }

// FromRadians gives an angle of r radians in degrees.
func FromRadians(r float64) Degrees { return Degrees(r * 180 / math.Pi) }

// Beat is the time of one vibration, 3600/vph: 200 ms at 18 000.
// A beat rate of zero or below gives +Inf.
func (b BeatsPerHour) Beat() Seconds {
	if b <= 0 {
		return Seconds(math.Inf(1))
	}
	return Seconds(3600 / float64(b))
}

// Period is the time of one full oscillation of the balance, two beats.
func (b BeatsPerHour) Period() Seconds { return 2 * b.Beat() }

// PerDay is the rate that a relative deviation of the clock fakes: 1 ppm is
// 0.0864 s/d.
func (p PPM) PerDay() SecondsPerDay { return SecondsPerDay(float64(p) * 1e-6 * float64(Day)) }

// Ratio gives the power ratio of d decibels.
func (d Decibels) Ratio() float64 { return math.Pow(10, float64(d)/10) }

// DB gives 10·log10 of a power ratio; zero or below gives −Inf.
func DB(ratio float64) Decibels {
	if ratio <= 0 {
		return Decibels(math.Inf(-1))
	}
	return Decibels(10 * math.Log10(ratio))
}
