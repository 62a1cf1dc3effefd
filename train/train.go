// Package train reckons from numbers of teeth and leaves how long each wheel
// of a going train takes for a turn, and which wheels a fault that recurs in
// the beats can come from.
//
// A fault of a wheel returns with its turn, a fault of its depth with each of
// its teeth. Different wheels can share a period: then all are named, since the
// sound cannot tell them apart.
//
// Source: the arithmetic of trains (a wheel of Z teeth drives a pinion of z
// leaves Z/z times a turn), checked against a computed table of periods; W. J.
// Kleinlein, Rules and Practice for Adjusting Watches (1920) §74 for what
// returns when.
package train

import (
	"cmp"
	"math"
	"slices"

	"beatwright/unit"
)

// Train is what is known of a going train: teeth of wheels and leaves of
// pinions by the name of the arbor, escape teeth apart. What is 0 or missing
// is not known.
type Train struct {
	BeatsPerHour unit.BeatsPerHour
	EscapeTeeth  int
	Wheels       map[string]int
	Pinions      map[string]int
}

// Order is the going train from the escape wheel back to the barrel.
var Order = []string{"escape", "fourth", "third", "centre", "barrel"}

// Period is how often something of a wheel returns.
type Period struct {
	// Wheel is the arbor; Tooth says that it is the passing of one of its
	// teeth rather than its turn.
	Wheel string
	Tooth bool
	Every unit.Seconds
}

// String names the period as a reading does: "escape", "third tooth".
func (p Period) String() string {
	if p.Tooth {
		return p.Wheel + " tooth"
	}
	return p.Wheel
}

// Turns gives the time of a turn of each wheel that can be reckoned, s. The
// escape wheel moves by half a tooth a beat, so a turn takes 2·Z beats.
func (t Train) Turns() map[string]unit.Seconds {
	out := map[string]unit.Seconds{}
	if t.BeatsPerHour <= 0 || t.EscapeTeeth <= 0 {
		return out
	}
	turn := 2 * float64(t.EscapeTeeth) * float64(t.BeatsPerHour.Beat())
	out[Order[0]] = unit.Seconds(turn)
	for i := 1; i < len(Order); i++ {
		teeth, leaves := t.Wheels[Order[i]], t.Pinions[Order[i-1]]
		if teeth <= 0 || leaves <= 0 {
			break
		}
		turn *= float64(teeth) / float64(leaves)
		out[Order[i]] = unit.Seconds(turn)
	}
	return out
}

// Periods lists what can return, shortest first: turns of all wheels, and
// teeth of all but the escape wheel, whose tooth is a beat pair.
func (t Train) Periods() []Period {
	var out []Period
	for name, turn := range t.Turns() {
		out = append(out, Period{name, false, turn})
		if z := t.Wheels[name]; name != Order[0] && z > 0 {
			out = append(out, Period{name, true, turn / unit.Seconds(z)})
		}
	}
	slices.SortFunc(out, func(a, b Period) int {
		return cmp.Or(cmp.Compare(a.Every, b.Every), cmp.Compare(a.String(), b.String()))
	})
	return out
}

// Fitting names everything that returns within u of period, s: a fault of
// that period can come from any of these.
func (t Train) Fitting(period, u unit.Seconds) []string {
	var out []string
	for _, p := range t.Periods() {
		if math.Abs(float64(p.Every-period)) <= float64(u) {
			out = append(out, p.String())
		}
	}
	return out
}
