package grade

import (
	"fmt"
	"math"
	"strings"

	"beatwright/estimate"
	"beatwright/position"
)

// Quantity names what a criterion judges.
type Quantity string

// Quantities of a trial of days, by ISO 3159; Ri is the rate of day i.
const (
	MeanDaily              Quantity = "mean_daily"               // (R1+…+R10)/10
	MeanVariation          Quantity = "mean_variation"           // mean of |R2−R1|, |R4−R3| … |R10−R9|
	GreatestVariation      Quantity = "greatest_variation"       // the largest of those
	VerticalLessHorizontal Quantity = "vertical_less_horizontal" // (R1+R2)/2 − (R9+R10)/2
	GreatestDeviation      Quantity = "greatest_deviation"       // max |Ri − M|, i to 10
	Thermal                Quantity = "thermal"                  // (R13−R11)/30
	Resumption             Quantity = "resumption"               // R15 − (R1+R2)/2
)

// Quantities of positions heard in one state. Each takes the places named, or
// all that were heard.
const (
	MeanRate        Quantity = "mean_rate"         // s/d
	FastestRate     Quantity = "fastest_rate"      // s/d
	SlowestRate     Quantity = "slowest_rate"      // s/d
	Spread          Quantity = "spread"            // fastest less slowest, s/d
	FlatLessUpright Quantity = "flat_less_upright" // rate, s/d
	LeastAmplitude  Quantity = "least_amplitude"   // °
	MostAmplitude   Quantity = "most_amplitude"    // °
	MostBeatError   Quantity = "most_beat_error"   // ms
)

// value is a quantity formed as far as the evidence goes. A partial one can
// only still grow, so that it can already be outside but not yet within.
type value struct {
	value   *estimate.Estimate
	partial bool
	note    string
}

var quantities = map[Quantity]func(Evidence, []string) value{
	MeanDaily:              meanDaily,
	MeanVariation:          meanVariation,
	GreatestVariation:      greatestVariation,
	VerticalLessHorizontal: verticalLessHorizontal,
	GreatestDeviation:      greatestDeviation,
	Thermal:                thermal,
	Resumption:             resumption,
	MeanRate:               ofRates(func(m chosen) value { return exactly(estimate.Mean(m.values...), "") }),
	FastestRate:            ofRates(chosen.most),
	SlowestRate:            ofRates(chosen.least),
	Spread:                 ofRates(chosen.spread),
	FlatLessUpright:        ofRates(chosen.flatLessUpright),
	LeastAmplitude: of(func(e Evidence) map[position.Position]estimate.Estimate { return e.Amplitudes },
		"amplitude", chosen.least),
	MostAmplitude: of(func(e Evidence) map[position.Position]estimate.Estimate { return e.Amplitudes },
		"amplitude", chosen.most),
	MostBeatError: of(func(e Evidence) map[position.Position]estimate.Estimate { return e.BeatErrors },
		"beat error", chosen.most),
}

func exactly(e estimate.Estimate, note string) value { return value{value: &e, note: note} }

func early(days, have int) value {
	return value{note: fmt.Sprintf("needs %d days, %d are there", days, have)}
}

func mean(days []Day) estimate.Estimate {
	var es []estimate.Estimate
	for _, d := range days {
		es = append(es, d.Rate)
	}
	return estimate.Mean(es...)
}

func abs(e estimate.Estimate) estimate.Estimate {
	if e.Value < 0 {
		return e.Scale(-1)
	}
	return e
}

// judgedDays are those that M, V, Vmax and P look at.
const judgedDays = 10

func meanDaily(e Evidence, _ []string) value {
	if len(e.Days) < judgedDays {
		return early(judgedDays, len(e.Days))
	}
	return exactly(mean(e.Days[:judgedDays]), "")
}

// variations are |R2−R1|, |R4−R3| … of the pairs that are complete.
func variations(e Evidence) []estimate.Estimate {
	var out []estimate.Estimate
	for i := 0; i+1 < min(len(e.Days), judgedDays); i += 2 {
		out = append(out, abs(e.Days[i+1].Rate.Sub(e.Days[i].Rate)))
	}
	return out
}

// meanVariation of fewer than five pairs is what it would be if the rest
// varied not at all.
func meanVariation(e Evidence, _ []string) value {
	vs := variations(e)
	if len(vs) == 0 {
		return early(judgedDays, len(e.Days))
	}
	pairs := float64(judgedDays) / 2
	m := estimate.Mean(vs...).Scale(float64(len(vs)) / pairs)
	if float64(len(vs)) < pairs {
		return value{&m, true, fmt.Sprintf("at least, from %d of 5 pairs of days", len(vs))}
	}
	return exactly(m, "")
}

func greatestVariation(e Evidence, _ []string) value {
	vs := variations(e)
	if len(vs) == 0 {
		return early(judgedDays, len(e.Days))
	}
	most := 0
	for i := range vs {
		if vs[i].Value > vs[most].Value {
			most = i
		}
	}
	note := fmt.Sprintf("days %d and %d", 2*most+1, 2*most+2)
	return value{&vs[most], len(vs) < judgedDays/2, note}
}

func verticalLessHorizontal(e Evidence, _ []string) value {
	if len(e.Days) < judgedDays {
		return early(judgedDays, len(e.Days))
	}
	return exactly(mean(e.Days[:2]).Sub(mean(e.Days[8:10])), "")
}

func greatestDeviation(e Evidence, _ []string) value {
	if len(e.Days) < judgedDays {
		return early(judgedDays, len(e.Days))
	}
	m := mean(e.Days[:judgedDays])
	most, day := estimate.Estimate{}, 0
	for i, d := range e.Days[:judgedDays] {
		if a := abs(d.Rate.Sub(m)); day == 0 || a.Value > most.Value {
			most, day = a, i+1
		}
	}
	return exactly(most, fmt.Sprintf("day %d", day))
}

// The days and the temperatures between which thermal variation is taken.
const (
	coldDay, warmDay = 11, 13
	coldToWarm       = 38.0 - 8.0 // °C
	resumptionDay    = 15
)

func thermal(e Evidence, _ []string) value {
	if len(e.Days) < warmDay {
		return early(warmDay, len(e.Days))
	}
	return exactly(e.Days[warmDay-1].Rate.Sub(e.Days[coldDay-1].Rate).Scale(1/coldToWarm), "")
}

func resumption(e Evidence, _ []string) value {
	if len(e.Days) < resumptionDay {
		return early(resumptionDay, len(e.Days))
	}
	return exactly(e.Days[resumptionDay-1].Rate.Sub(mean(e.Days[:2])), "")
}

// chosen are the values of the places a criterion looks at.
type chosen struct {
	places []position.Position
	values []estimate.Estimate
}

func ofRates(f func(chosen) value) func(Evidence, []string) value {
	return of(func(e Evidence) map[position.Position]estimate.Estimate { return e.Rates }, "rate", f)
}

// of makes a quantity of the places named, all of which must be there, or of
// all that are there.
func of(pick func(Evidence) map[position.Position]estimate.Estimate, what string, f func(chosen) value) func(Evidence, []string) value {
	return func(e Evidence, places []string) value {
		m := pick(e)
		want, err := resolve(places, e.CrownHour)
		if err != nil {
			return value{note: err.Error()}
		}
		if len(places) == 0 {
			for p := position.CH; p.Valid(); p++ {
				if _, ok := m[p]; ok {
					want = append(want, p)
				}
			}
		}
		var c chosen
		var missing []string
		for _, p := range want {
			v, ok := m[p]
			if !ok || math.IsNaN(v.Value) {
				missing = append(missing, p.String())
				continue
			}
			c.places, c.values = append(c.places, p), append(c.values, v)
		}
		switch {
		case len(missing) > 0:
			return value{note: "no " + what + " of " + strings.Join(missing, ", ")}
		case len(c.values) == 0:
			return value{note: "no " + what}
		}
		return f(c)
	}
}

// pendantTurns are the directions the pendant or crown points, in degrees
// clockwise from up as one faces the dial.
var pendantTurns = map[string]float64{"PU": 0, "PR": 90, "PD": 180, "PL": -90}

// resolve turns places into positions, pendant ones by where the crown is.
func resolve(places []string, crownHour float64) ([]position.Position, error) {
	var out []position.Position
	for _, s := range places {
		if turned, ok := pendantTurns[s]; ok {
			out = append(out, position.Vertical(crownHour-turned/30))
			continue
		}
		p, err := position.Parse(s)
		if err != nil {
			return nil, err
		}
		out = append(out, p)
	}
	return out, nil
}

func (c chosen) extreme(better func(a, b float64) bool) int {
	n := 0
	for i := range c.values {
		if better(c.values[i].Value, c.values[n].Value) {
			n = i
		}
	}
	return n
}

func more(a, b float64) bool { return a > b }
func less(a, b float64) bool { return a < b }

func (c chosen) most() value {
	n := c.extreme(more)
	return exactly(c.values[n], c.places[n].String())
}

func (c chosen) least() value {
	n := c.extreme(less)
	return exactly(c.values[n], c.places[n].String())
}

func (c chosen) spread() value {
	hi, lo := c.extreme(more), c.extreme(less)
	if len(c.values) < 2 {
		return value{note: "one position has no spread"}
	}
	return exactly(c.values[hi].Sub(c.values[lo]), fmt.Sprintf("%s to %s", c.places[lo], c.places[hi]))
}

func (c chosen) flatLessUpright() value {
	var flat, upright []estimate.Estimate
	for i, p := range c.places {
		if p.Flat() {
			flat = append(flat, c.values[i])
		} else {
			upright = append(upright, c.values[i])
		}
	}
	if len(flat) == 0 || len(upright) == 0 {
		return value{note: "needs level and upright positions"}
	}
	return exactly(estimate.Mean(flat...).Sub(estimate.Mean(upright...)), "")
}
