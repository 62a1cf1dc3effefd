package movement

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"beatwright/unit"
)

// Bounds of what is taken for possible (chosen; see the package comment).
const (
	minBeats, maxBeats       = 7000, 40000 // per hour
	minLift, maxLift         = 10, 90      // °
	maxLiftU95               = 45          // °
	minEscape, maxEscape     = 5, 60       // teeth
	minTeeth, maxTeeth       = 5, 400
	minLeaves, maxLeaves     = 4, 60
	minInertia, maxInertia   = 0.01, 10000 // mg·cm²
	maxName, maxComplication = 500, 100    // bytes, entries
)

// Check tells what in m cannot be, all of it, naming each field as the
// movement file does; nil when everything given is possible.
func (m Movement) Check() error {
	return errors.Join(
		m.checkNumbers(),
		oneOf("lift_standing", m.LiftStanding, Given, Published, Measured, Assumed),
		oneOf("escapement", m.Escapement, Lever, Cylinder, Verge, Duplex, Detent, Driven),
		oneOf("winding", m.Winding, Hand, Automatic, Key),
		checkCounts("wheels", "teeth", m.Wheels, minTeeth, maxTeeth),
		checkCounts("pinions", "leaves", m.Pinions, minLeaves, maxLeaves),
		m.checkWords(),
	)
}

func (m Movement) checkNumbers() error {
	errs := []error{
		within("beats_per_hour", m.BeatsPerHour, minBeats, maxBeats),
		within("lift_deg", m.Lift, minLift, maxLift),
		within("lift_u95_deg", m.LiftU95, 0, maxLiftU95),
		within("escape_teeth", m.EscapeTeeth, minEscape, maxEscape),
		within("inertia_mg_cm2", m.Inertia, minInertia, maxInertia),
	}
	if h := m.CrownHour; h != nil && (!(*h >= 0.5 && *h <= 12) || *h*2 != math.Trunc(*h*2)) {
		errs = append(errs, fmt.Errorf("crown_hour is %v; want an hour from 0.5 to 12, or a half hour between", *h))
	}
	return errors.Join(errs...)
}

// CheckLift tells whether lift can be the lift angle of a balance.
func CheckLift(lift unit.Degrees) error { return within("lift angle", &lift, minLift, maxLift) }

// CheckBeats tells whether b can be the beat rate of a watch.
func CheckBeats(b unit.BeatsPerHour) error {
	return within("beats per hour", &b, minBeats, maxBeats)
}

// within also catches NaN, which is within nothing.
func within[T ~float64 | ~int](field string, v *T, lo, hi T) error {
	if v == nil || (*v >= lo && *v <= hi) {
		return nil
	}
	return fmt.Errorf("%s is %v; want %v to %v", field, *v, lo, hi)
}

func oneOf[T ~string](field string, v T, allowed ...T) error {
	if v == "" || slices.Contains(allowed, v) {
		return nil
	}
	words := make([]string, len(allowed))
	for i, a := range allowed {
		words[i] = string(a)
	}
	return fmt.Errorf("%s is %q; want one of %s", field, clip(string(v)), strings.Join(words, ", "))
}

func checkCounts(field, what string, counts map[string]int, lo, hi int) error {
	var errs []error
	for _, name := range sortedKeys(counts) {
		if n := counts[name]; n < lo || n > hi {
			errs = append(errs, fmt.Errorf("%s: %s has %d %s; want %d to %d", field, clip(name), n, what, lo, hi))
		}
	}
	return errors.Join(errs...)
}

func (m Movement) checkWords() error {
	var errs []error
	for field, s := range map[string]string{"name": m.Name, "lift_source": m.LiftSource} {
		if len(s) > maxName {
			errs = append(errs, fmt.Errorf("%s is %d bytes long; want at most %d", field, len(s), maxName))
		}
	}
	if len(m.Complications) > maxComplication {
		errs = append(errs, fmt.Errorf("complications has %d entries; want at most %d", len(m.Complications), maxComplication))
	}
	return errors.Join(errs...)
}

func sortedKeys[V any](m map[string]V) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}

// clip keeps what a stranger wrote from flooding an error.
func clip(s string) string {
	if r := []rune(s); len(r) > 40 {
		return string(r[:40]) + "…"
	}
	return s
}
