// Package say puts readings into words and figures for a person: numbers
// whose digits follow their uncertainty, and sentences that say what was
// heard, what limits it and what to do about that.
//
// It measures and judges nothing, and knows neither terminal nor page: what
// it returns is plain text, for the command line, the page and the sheets
// alike.
//
// Sources: JCGM 100:2008 (GUM) clause 7.2.6 for digits; the SI Brochure
// (9th ed., 2019) clause 5.4 for the space before a unit and between groups
// of three digits; both cited from memory. The choices between what they
// allow are named in place.
package say

import (
	"math"
	"strconv"
	"strings"
)

// Signs of typesetting. The thin space does not break a line here, because
// Wrap breaks at plain spaces only.
const (
	Minus     = "−" // minus sign U+2212
	NoBreak   = "\u00a0"
	Thin      = "\u2009"
	PlusMinus = "±"
	Dash      = "–" // stands where no number can be given
)

// maxPlaces bounds the digits after the point: 1e-9 s is far below anything
// sound can tell.
const maxPlaces = 9

// Places gives how many digits after the decimal point a value with the
// uncertainty u deserves, and u rounded to them. It may be negative: −2 means
// that the hundreds are the last digit that says anything.
//
// Two digits of u are kept when the first is 1 or 2, else one (within GUM
// 7.2.6: at most two). Rounding goes to the nearest unless that would take
// more than a twentieth from u; then up, as the clause allows, so that
// nothing is claimed that was not heard (the twentieth is chosen).
//
// ok is false when u is not a positive finite number.
func Places(u float64) (places int, rounded float64, ok bool) {
	if !(u > 0) || math.IsInf(u, 1) {
		return 0, u, false
	}
	places = placesFor(u)
	rounded = roundUncertainty(u, places)
	// 0.296 becomes 0.30, which keeps its two digits by the rule; 2.96
	// becomes 3.0, which wants one.
	if p := placesFor(rounded); p < places {
		places, rounded = p, roundUncertainty(rounded, p)
	}
	return min(places, maxPlaces), rounded, true
}

func placesFor(u float64) int {
	exp := int(math.Floor(math.Log10(u) + 1e-12))
	if lead := u / math.Pow10(exp); lead < 3-1e-9 {
		return 1 - exp
	}
	return -exp
}

func roundUncertainty(u float64, places int) float64 {
	step := math.Pow10(-places)
	if n := math.Round(u / step); n*step >= u*0.95 {
		return n * step
	}
	return math.Ceil(u/step) * step
}

// Value prints v with the digits that u allows: Value(37.4981, 0.06) is
// "37.50". A v that is not finite is a dash; a u that is not a positive
// number leaves four digits of v.
func Value(v, u float64) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return Dash
	}
	places, _, ok := Places(u)
	if !ok {
		places = 3 - int(math.Floor(math.Log10(math.Max(math.Abs(v), 1e-3))))
	}
	return Fixed(v, places)
}

// Signed is Value with a plus before what is above zero, as rates are shown;
// what rounds to zero has no sign.
func Signed(v, u float64) string {
	s := Value(v, u)
	if v > 0 && strings.Trim(s, "0."+Thin) != "" && s != Dash {
		return "+" + s
	}
	return s
}

// Uncertainty prints u in its own digits, or a dash.
func Uncertainty(u float64) string {
	places, r, ok := Places(u)
	if !ok {
		return Dash
	}
	return Fixed(r, places)
}

// With prints value, uncertainty and unit: "1.24 ± 0.02 ms", all held together
// on one line. unit may be empty.
func With(v, u float64, unit string) string { return join(Value(v, u), u, unit) }

// SignedWith is With for a rate: "+38 ± 4 s/d".
func SignedWith(v, u float64, unit string) string { return join(Signed(v, u), u, unit) }

func join(value string, u float64, unit string) string {
	return value + NoBreak + Doubt(u, unit)
}

// Doubt prints an uncertainty alone: "± 0.02 ms".
func Doubt(u float64, unit string) string {
	return PlusMinus + NoBreak + Unit(Uncertainty(u), unit)
}

// Unit sets a no-break space between a printed number and its unit; the
// degree sign of an angle follows its number closely (SI Brochure 5.4).
func Unit(number, unit string) string {
	switch unit {
	case "":
		return number
	case "°":
		return number + unit
	}
	return number + NoBreak + unit
}

// Fixed prints v with so many digits after the point, a real minus, and thin
// spaces between thousands from five digits on. Negative places round to
// tens, hundreds and so on. Zero has no sign.
func Fixed(v float64, places int) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return Dash
	}
	if places < 0 {
		step := math.Pow10(-places)
		v = math.Round(v/step) * step
	}
	s := strconv.FormatFloat(v, 'f', max(0, min(places, maxPlaces)), 64)
	s, negative := strings.CutPrefix(s, "-")
	if strings.Trim(s, "0.") == "" {
		negative = false
	}
	s = group(s)
	if negative {
		return Minus + s
	}
	return s
}

// Count prints a whole number: "18 000", "4321".
func Count(n int) string { return Fixed(float64(n), 0) }

// group sets thin spaces into a whole part of five digits or more (the SI
// Brochure, 5.4, lets four digits stay together).
func group(s string) string {
	whole, frac, point := strings.Cut(s, ".")
	if len(whole) >= 5 {
		var b strings.Builder
		for i, r := range whole {
			if i > 0 && (len(whole)-i)%3 == 0 {
				b.WriteString(Thin)
			}
			b.WriteRune(r)
		}
		whole = b.String()
	}
	if point {
		return whole + "." + frac
	}
	return whole
}
