package plot

import (
	"math"

	"beatwright/balance"
	"beatwright/unit"
)

// Standing says what the axis of a profile may claim.
type Standing int

// The standings: the swing is known, it is at most Amplitude, or it cannot be
// told and the axis is time.
const (
	Known Standing = iota
	AtMost
	NotTold
)

// Side is the averaged beat of one side: power over the noise (1) on a grid.
// Times count from the middle of the beat (halfway from unlocking to drop)
// where FromMiddle, else from the drop. Marks that were not heard are nil.
type Side struct {
	From, Cell               unit.Seconds
	FromMiddle               bool
	Power                    []float64
	Unlocking, Impulse, Drop *unit.Seconds
	First                    *unit.Seconds // unlocking or impulse, not known which
}

// heard tells whether there is anything to draw.
func (s Side) heard() bool { return len(s.Power) > 1 && s.Cell > 0 }

// at is the time of cell i.
func (s Side) at(i int) unit.Seconds { return s.From + unit.Seconds(i)*s.Cell }

// Profile is the averaged beat of both sides over the angle of the balance.
type Profile struct {
	// Small draws it for the live page.
	Small     bool
	Sides     [2]Side
	Standing  Standing
	Amplitude unit.Degrees // or the bound
	// U95 is the amplitude's doubt by the sound, U95WithLift with the lift's.
	U95, U95WithLift unit.Degrees
	Lift             unit.Degrees
	Period           unit.Seconds // full
	// BeatError is how far the line of centres lies from rest, to the side the
	// first beat swings to if above 0; at the bound, where only that is known.
	BeatError unit.Degrees
}

// place is where the time t of side s falls on the axis: the balance's angle
// from rest in degrees, or milliseconds from the drop where the swing cannot
// be told. It is false beyond the turning points.
//
// A balance that swings by A about rest passes the line of centres, β from
// rest, at the phase φ0 = asin(β/A), so that t after that it stands at
//
//	θ = A·sin(2πt/T + φ0)                                       derived
//
// in the first beat, and in the second, which goes the other way, at
// A·sin(φ0 − 2πt/T): its time runs to the left.
func (f Profile) place(s int, t unit.Seconds) (float64, bool) {
	if f.Standing == NotTold {
		return float64(t-f.drop(s)) * 1e3, true
	}
	turn := 2 * math.Pi * float64(t-f.middle(s)) / float64(f.Period)
	if s == 1 {
		turn = -turn
	}
	phase := turn + math.Asin(math.Max(-1, math.Min(1, float64(f.BeatError/f.Amplitude))))
	return float64(f.Amplitude) * math.Sin(phase), math.Abs(phase) <= math.Pi/2
}

// middle is when side s passes the line of centres: half an interval before
// its drop, at the swing that the axis is drawn for.
func (f Profile) middle(s int) unit.Seconds {
	if f.Sides[s].FromMiddle {
		return 0
	}
	return -balance.Interval(f.Lift, f.Amplitude, f.Period) / 2
}

// drop is when side s drops.
func (f Profile) drop(s int) unit.Seconds {
	if d := f.Sides[s].Drop; f.Sides[s].FromMiddle && d != nil {
		return *d
	}
	return 0
}

// sound reports whether the axis can be drawn.
func (f Profile) sound() bool {
	return f.Standing == NotTold || f.Period > 0 && f.Lift > 0 && 2*f.Amplitude > f.Lift && f.Amplitude <= 360
}

// named is a mark with its word.
type named struct {
	word string
	at   unit.Seconds
	sure bool
}

// marks are the sounds of side s in order of time.
func (f Profile) marks(s int) (out []named) {
	d := f.Sides[s]
	add := func(word string, at *unit.Seconds, sure bool) {
		if at != nil {
			out = append(out, named{word, *at, sure})
		}
	}
	add("unlocking", d.Unlocking, true)
	switch {
	case f.Standing == NotTold:
		add("first sound", d.First, true)
	case d.First != nil:
		add("unlocking: not heard for certain", d.First, false)
	case d.Unlocking == nil && f.Standing == AtMost:
		at := f.middle(s) - balance.Interval(f.Lift, f.Amplitude, f.Period)/2
		add("unlocking: not heard", &at, false)
	}
	add("impulse", d.Impulse, true)
	add("drop", d.Drop, true)
	return out
}

// pool averages the power of side s over the px of an axis: where a px
// stands, and the mean power there. Beyond the turning points is nothing.
func (f Profile) pool(s int, x axis) (at, power []float64) {
	sum, n := make(map[int]float64), make(map[int]float64)
	for i, v := range f.Sides[s].Power {
		a, ok := f.place(s, f.Sides[s].at(i))
		if !ok || a < x.low || a > x.high || math.IsNaN(v) {
			continue
		}
		k := int(math.Floor(x.at(a)))
		sum[k] += v
		n[k]++
	}
	for k := int(math.Floor(x.from)); k <= int(math.Ceil(x.to)); k++ {
		if n[k] > 0 {
			at, power = append(at, float64(k)+0.5), append(power, sum[k]/n[k])
		}
	}
	return at, power
}

// over is a power over the noise in decibels, 0 at the noise and below.
func over(power float64) float64 { return 10 * math.Log10(math.Max(1, power)) }

// reach bounds the axis of angle, degrees: an even step of 30° beyond the
// turning points.
func (f Profile) reach() float64 {
	return 30 * math.Ceil((float64(f.Amplitude+f.U95WithLift)+6)/30)
}

// msBefore and msAfter bound the axis of time where no angle is known.
const (
	msBefore, msAfter = 45.0, 15.0
)

// span is the axis between two places.
func (f Profile) span(from, to float64) axis {
	if f.Standing == NotTold {
		return axis{-msBefore, msAfter, from, to}
	}
	return axis{-f.reach(), f.reach(), from, to}
}
