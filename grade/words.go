package grade

import (
	"encoding/json"
	"fmt"
	"math"

	"beatwright/internal/say"
)

// Words says the finding on one line: "M, mean daily rate: 8.2 s/d, 2.2 above
// its limit of 6 s/d".
func (f Finding) Words() string {
	head := f.Symbol + ", " + f.Name + ": "
	if f.Value == nil {
		return head + string(f.Standing) + note(f.Note)
	}
	v := f.figure(f.Value.Value)
	if u := f.Value.U95(); u > slack {
		v = say.With(f.Value.Value, u, f.Unit)
	}
	if f.Low != nil && f.Of != LeastAmplitude && f.Value.Value > 0 { // what may be negative shows its sign
		v = "+" + v
	}
	return head + v + ", " + f.against() + note(f.Note)
}

func note(s string) string {
	if s == "" {
		return ""
	}
	return " (" + s + ")"
}

// against says how the value stands to its nearest limit.
func (f Finding) against() string {
	limit, side := f.nearest()
	by := f.figure(math.Abs(*f.Over))
	switch f.Standing {
	case Outside:
		return fmt.Sprintf("%s %s its limit of %s", by, side, f.limit(limit))
	case NearLimit:
		return fmt.Sprintf("within its uncertainty of the limit of %s", f.limit(limit))
	case TooEarly:
		return "too early to say"
	}
	if math.Abs(*f.Over) <= slack {
		return "on its limit, which counts as within"
	}
	return fmt.Sprintf("within its limit of %s by %s", f.limit(limit), by)
}

// nearest is the limit the value is nearest to or beyond, and which side of it
// is outside.
func (f Finding) nearest() (limit float64, side string) {
	v := f.Value.Value
	if f.Low != nil && (f.High == nil || *f.Low-v > v-*f.High) {
		return *f.Low, "below"
	}
	return *f.High, "above"
}

// exactPlaces is how many places a figure without doubt is printed to: a
// hundredth of a second a day, as trial certificates do.
const exactPlaces = 2

// figure prints v with the digits that the value's doubt allows.
func (f Finding) figure(v float64) string {
	if u := f.Value.U95(); u > slack {
		return say.Unit(say.Value(v, u), f.Unit)
	}
	return say.Unit(say.Fixed(v, exactPlaces), f.Unit)
}

// limit prints a limit as it was set.
func (f Finding) limit(v float64) string {
	places := 0
	for places < exactPlaces && math.Abs(v-math.Round(v*math.Pow10(places))/math.Pow10(places)) > slack {
		places++
	}
	return say.Unit(say.Fixed(v, places), f.Unit)
}

// Words says the next step of a programme.
func (s Step) Words() string {
	w := fmt.Sprintf("day %d: %s, 24 h at %g °C", s.Day, s.Position, s.Temperature)
	if s.Remark != "" {
		w += ", " + s.Remark
	}
	return w
}

// MarshalJSON writes the finding flat, its value as {"value","u95"} or null.
func (f Finding) MarshalJSON() ([]byte, error) {
	type plain Finding // without this method
	type value struct {
		Value float64 `json:"value"`
		U95   float64 `json:"u95"`
	}
	out := struct {
		plain
		Value *value `json:"value"`
	}{plain: plain(f)}
	if f.Value != nil {
		out.Value = &value{f.Value.Value, f.Value.U95()}
	}
	return json.Marshal(out)
}
