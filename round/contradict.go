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
// Where most positions swing more with less power, not the sound but what was
// stated of the wind is doubted.
func (t *Table) contradict() {
	why := make([]string, len(t.Readings))
	power := make([]string, len(t.Readings))
	pairs, more := 0, 0
	for i, a := range t.Readings {
		for j, b := range t.Readings {
			if i == j || a.Position != b.Position || a.Amplitude == nil || b.Amplitude == nil || a.Standing != Measured {
				continue
			}
			if w := against(a, b); w != "" && why[i] == "" {
				why[i] = w
			}
			if lessPower(a.State, b.State) && b.Standing == Measured {
				pairs++
				if w := morePowerLess(a, b); w != "" {
					more++
					power[i] = w
				}
			}
		}
	}
	if wrongWay := pairs > 1 && 2*more > pairs; wrongWay {
		t.Warnings = append(t.Warnings, "most positions swing more with less power: are the hours since full wind right?")
	} else {
		for i, w := range power {
			if why[i] == "" {
				why[i] = w
			}
		}
	}
	for i, w := range why {
		if w != "" {
			t.mark(i, w)
		}
	}
}

func (t *Table) mark(i int, why string) {
	r := &t.Readings[i]
	if r.Contradicted != "" {
		return
	}
	r.Contradicted = why
	t.Warnings = append(t.Warnings, fmt.Sprintf("amplitude of %s (%s) is contradicted: %s; it enters no mean", r.Position, r.State.Words(), why))
}

// against says why b, heard in a's state, makes a's amplitude doubtful, or
// nothing.
func against(a, b Reading) string {
	if len(Unlike(a.State, b.State)) > 0 {
		return ""
	}
	switch d := a.Amplitude.Sub(*b.Amplitude); {
	case b.Standing == AtMost && beyond(d):
		return fmt.Sprintf("another reading says at most %.0f°", b.Amplitude.Value)
	case b.Standing == Measured && d.Clear():
		return fmt.Sprintf("another reading says %.0f°, %.0f° apart", b.Amplitude.Value, math.Abs(d.Value))
	}
	return ""
}

// morePowerLess says by how much b swings less than a though it had more
// power, or nothing.
func morePowerLess(a, b Reading) string {
	if d := a.Amplitude.Sub(*b.Amplitude); d.Value > moreThanPower && d.Clear() {
		return fmt.Sprintf("with more power (%s) it swings %.0f° less", b.State.Words(), d.Value)
	}
	return ""
}

// beyond tells whether a difference is above none by more than its doubt.
func beyond(d estimate.Estimate) bool { return d.Value > 0 && d.Clear() }

// lessPower tells whether the balance had less power in a than in b, nothing
// else being different.
func lessPower(a, b State) bool {
	if len(Unlike(a, b)) != 1 {
		return false
	}
	if differ(a.Hours, b.Hours, sameWind) {
		return *a.Hours > *b.Hours
	}
	return a.Chronograph == On && b.Chronograph != On && b.Chronograph != ""
}
