package round

import (
	"fmt"
	"math"

	"beatwright/estimate"
)

// moreThanPower is by how many degrees a swing may grow although there is less
// power for it, before one of the two readings must be wrong (judgement).
const moreThanPower = 20.0

// contradict marks the amplitudes that other readings contradict. Two that
// differ in the same position and state are both marked, for nothing tells
// which is right; against a bound, and against one heard with more power, the
// higher is, because a swing is misread too high far more often than too low.
func (t *Table) contradict() {
	why := make([]string, len(t.Readings))
	for i, a := range t.Readings {
		for j, b := range t.Readings {
			if i != j && a.Position == b.Position && a.Amplitude != nil && b.Amplitude != nil && why[i] == "" {
				why[i] = against(a, b)
			}
		}
	}
	for i, w := range why {
		if w != "" && t.Readings[i].Contradicted == "" {
			t.Readings[i].Contradicted = w
			t.Warnings = append(t.Warnings, fmt.Sprintf("amplitude of %s (%s) is contradicted: %s; it enters no mean",
				t.Readings[i].Position, t.Readings[i].State.Words(), w))
		}
	}
}

// against says why b makes a's amplitude doubtful, or nothing.
func against(a, b Reading) string {
	if a.Standing == AtMost || a.Standing == NotResolved || b.Standing == NotResolved {
		return ""
	}
	more := a.Amplitude.Sub(*b.Amplitude)
	unlike := Unlike(a.State, b.State)
	switch {
	case b.Standing == AtMost:
		if len(unlike) == 0 && beyond(more) {
			return fmt.Sprintf("another reading says at most %.0f°", b.Amplitude.Value)
		}
	case len(unlike) == 0:
		if more.Clear() {
			return fmt.Sprintf("another reading says %.0f°, %.0f° apart", b.Amplitude.Value, math.Abs(more.Value))
		}
	case len(unlike) == 1 && lessPower(a.State, b.State) && more.Value > moreThanPower && more.Clear():
		return fmt.Sprintf("with more power (%s) it swings %.0f° less", b.State.Words(), more.Value)
	}
	return ""
}

// beyond tells whether a is above b by more than the doubt of both.
func beyond(d estimate.Estimate) bool { return d.Value > 0 && d.Clear() }

// lessPower tells whether the balance had less power in a than in b.
func lessPower(a, b State) bool {
	if differ(a.Hours, b.Hours, sameWind) {
		return *a.Hours > *b.Hours
	}
	return a.Chronograph == On && b.Chronograph != On
}
