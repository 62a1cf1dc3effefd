package movement

import "beatwright/unit"

// Doubt of a lift angle whose source says nothing of it (chosen): a stated
// lift is a whole degree, and copies of it differ by one; an assumed one is
// as far off as lifts of common movements spread.
const (
	StatedLiftU95  unit.Degrees = 1
	AssumedLiftU95 unit.Degrees = 4
)

// KnownLift gives the lift angle with its 95 % doubt and standing; ok is
// false where the lift is not known, or m is nil.
func (m *Movement) KnownLift() (lift, u95 unit.Degrees, standing Standing, ok bool) {
	if m == nil || m.Lift == nil {
		return 0, 0, "", false
	}
	standing, u95 = Given, StatedLiftU95
	if m.LiftStanding != "" {
		standing = m.LiftStanding
	}
	if standing == Assumed {
		u95 = AssumedLiftU95
	}
	if m.LiftU95 != nil {
		u95 = *m.LiftU95
	}
	return *m.Lift, u95, standing, true
}
