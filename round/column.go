package round

import (
	"slices"

	"beatwright/unit"
)

// The adjuster's two columns (Kleinlein, Rules and Practice for Adjusting
// Watches, 1920, ch. III): the watch is set once and turned each day; the
// first column holds the error accumulated since, the second what each day
// added.

// Daily is the second column from the first: differences, the first entry
// carried over.
func Daily(accumulated []unit.Seconds) []unit.SecondsPerDay {
	var out []unit.SecondsPerDay
	before := unit.Seconds(0)
	for _, a := range accumulated {
		out = append(out, unit.SecondsPerDay(a-before))
		before = a
	}
	return out
}

// Accumulated is the first column from the second.
func Accumulated(daily []unit.SecondsPerDay) []unit.Seconds {
	var out []unit.Seconds
	sum := unit.Seconds(0)
	for _, d := range daily {
		sum += unit.Seconds(d)
		out = append(out, sum)
	}
	return out
}

// Variation is the greatest daily rate less the least; zero of none.
func Variation(daily []unit.SecondsPerDay) unit.SecondsPerDay {
	if len(daily) == 0 {
		return 0
	}
	return slices.Max(daily) - slices.Min(daily)
}

// HeatLessCold is the error of a temperature card, days in the order heat,
// normal, cold: + is fast in heat. The day at normal temperature does not
// count. ok is false unless there are three days.
func HeatLessCold(accumulated []unit.Seconds) (unit.SecondsPerDay, bool) {
	d := Daily(accumulated)
	if len(d) != 3 {
		return 0, false
	}
	return d[0] - d[2], true
}
