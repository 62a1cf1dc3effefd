package reckoning

import (
	"errors"
	"math"

	"beatwright/balance"
	"beatwright/estimate"
	"beatwright/hairspring"
	"beatwright/handcheck"
	"beatwright/nudge"
	"beatwright/unit"
)

// Bounds and inputs that several calculators share.
var (
	zero = 0.0

	beatsPerHour = Input{Name: "beats-per-hour", Help: "beats an hour, as 28800", Above: &zero}
	swingInput   = Input{Name: "amplitude", Help: "degrees, from rest to one side", Above: &zero}
	inertia      = Input{Name: "inertia-mg-cm2", Help: "of the balance, mg·cm²", Above: &zero}
	wantedRate   = Input{Name: "rate", Help: "wanted change of the rate, s/d, + gains"}
	radius       = Input{Name: "radius-mm", Help: "from the staff, mm", Above: &zero}
)

func optional(in Input) Input { in.Optional = true; return in }

func doubt(name, help string) Input {
	return Input{Name: name, Help: help + ", its 95 % doubt", Above: &zero, Optional: true}
}

var beat = Calculator{
	Name: "beat", Summary: "beat error as an angle of the balance",
	Inputs: []Input{
		{Name: "beat-error-ms", Help: "half the difference of alternate beats, ms"},
		swingInput, beatsPerHour, doubt("beat-error-u95", "ms"), doubt("amplitude-u95", "degrees"),
	},
	Reckon: func(in Inputs) ([]Field, error) {
		p := unit.BeatsPerHour(in["beats-per-hour"]).Period()
		angle := func(ms, a float64) float64 {
			return float64(balance.BeatErrorAngle(unit.Milliseconds(ms).Seconds(), unit.Degrees(a), p))
		}
		return []Field{{"degrees", combine(in, angle, "beat-error-ms", "beat-error-u95", "amplitude", "amplitude-u95"), "Rest is off the line of centres by", "°"}}, nil
	},
}

var amplitude = Calculator{
	Name: "amplitude", Summary: "amplitude from lift angle and interval, or the interval from the amplitude",
	Inputs: []Input{
		{Name: "lift", Help: "lift angle, degrees", Above: &zero},
		beatsPerHour,
		{Name: "interval-ms", Help: "unlocking to drop, ms", Above: &zero, Optional: true},
		optional(swingInput),
		doubt("interval-u95", "ms"), doubt("lift-u95", "degrees"),
	},
	Reckon: func(in Inputs) ([]Field, error) {
		p := unit.BeatsPerHour(in["beats-per-hour"]).Period()
		switch {
		case in.Has("interval-ms") == in.Has("amplitude"):
			return nil, errors.New("give either --interval-ms or --amplitude")
		case in.Has("amplitude"):
			t := balance.Interval(unit.Degrees(in["lift"]), unit.Degrees(in["amplitude"]), p)
			return []Field{{"interval_ms", float64(t.Milliseconds()), "Unlocking to drop", "ms"}}, nil
		}
		swing := func(ms, lift float64) float64 {
			return float64(balance.Amplitude(unit.Degrees(lift), unit.Milliseconds(ms).Seconds(), p))
		}
		return []Field{{"amplitude_deg", combine(in, swing, "interval-ms", "interval-u95", "lift", "lift-u95"), "Amplitude", "°"}}, nil
	},
}

// combine gives f of two inputs: bare, or with its doubt to first order when
// either has one.
func combine(in Inputs, f func(a, b float64) float64, a, ua, b, ub string) any {
	v := f(in[a], in[b])
	if !in.Has(ua) && !in.Has(ub) {
		return v
	}
	slope := func(g func(h float64) float64, at float64) float64 {
		h := 1e-5 * math.Max(math.Abs(at), 1e-3)
		return (g(h) - g(-h)) / (2 * h)
	}
	da := slope(func(h float64) float64 { return f(in[a]+h, in[b]) }, in[a])
	db := slope(func(h float64) float64 { return f(in[a], in[b]+h) }, in[b])
	return estimate.New(v, math.Hypot(da*in[ua], db*in[ub]))
}

var handCheck = Calculator{
	Name: "hand-check", Summary: "rate from what the hands did against a clock",
	Inputs: []Input{
		{Name: "change", Help: "what the hands gained, as +40s or -1m30s", Kind: Span},
		{Name: "over", Help: "true time between the readings, as 9h", Kind: Span},
		{Name: "read-to", Help: "how finely each reading was taken, as 1s", Kind: Span},
		{Name: "sound-rate", Help: "rate by the sound, s/d", Optional: true},
		doubt("sound-u95", "rate by the sound, s/d, clock included"),
	},
	Reckon: func(in Inputs) ([]Field, error) {
		r, err := handcheck.Check{Change: unit.Seconds(in["change"]), Over: unit.Seconds(in["over"]), ReadTo: unit.Seconds(in["read-to"])}.Rate()
		if err != nil {
			return nil, err
		}
		out := []Field{{"rate_s_per_day", r, "The hands gain", "s/d"}}
		if !in.Has("sound-rate") {
			return out, nil
		}
		if !in.Has("sound-u95") {
			return nil, errors.New("--sound-rate needs its doubt, --sound-u95")
		}
		a := handcheck.Compare(r, estimate.New(in["sound-rate"], in["sound-u95"]))
		return append(out,
			Field{"verdict", string(a.Verdict), "Beside the sound", ""},
			Field{"difference_s_per_day", a.Difference, "Hands less sound", "s/d"},
			Field{"sure", a.Sure, "Probability that they differ that way", ""},
		), nil
	},
}

var poiseCalc = Calculator{
	Name: "poise", Summary: "what an unpoised balance does to the rate",
	Inputs: []Input{
		{Name: "unbalance-ug-mm", Help: "mass times radius, µg·mm"},
		inertia, beatsPerHour, swingInput,
		{Name: "from-down", Help: "heavy point from straight down at rest, degrees", Optional: true},
	},
	Reckon: func(in Inputs) ([]Field, error) {
		q := balance.Unbalance(in["unbalance-ug-mm"]).MomentRatio(balance.MilligramsSquareCentimetre(in["inertia-mg-cm2"]), unit.BeatsPerHour(in["beats-per-hour"]))
		r := balance.PoiseRate(q, unit.Degrees(in["from-down"]), unit.Degrees(in["amplitude"]))
		return []Field{
			{"rate_s_per_day", float64(r), "Rate from want of poise", "s/d"},
			{"moment_ratio", float64(q), "Moment over stiffness", "rad"},
			{"no_effect_at_deg", float64(balance.PoiseReversal), "No effect at a swing of", "°"},
		}, nil
	},
}

var hairspringCalc = Calculator{
	Name: "hairspring", Summary: "length of hairspring to change for a wanted rate, or the rate from a change",
	Inputs: []Input{
		{Name: "length-mm", Help: "of the working hairspring, mm", Above: &zero},
		optional(wantedRate),
		{Name: "longer-mm", Help: "change of length, mm, negative is shorter", Optional: true},
	},
	Reckon: func(in Inputs) ([]Field, error) {
		l := in["length-mm"]
		switch {
		case in.Has("rate") == in.Has("longer-mm"):
			return nil, errors.New("give either --rate or --longer-mm")
		case in.Has("rate"):
			return []Field{{"longer_mm", l * float64(hairspring.LengthForRate(unit.SecondsPerDay(in["rate"]))), "Make it longer by (negative: shorter)", "mm"}}, nil
		}
		return []Field{{"rate_s_per_day", float64(hairspring.RateFromLength(hairspring.Stretch(in["longer-mm"] / l))), "Change of the rate", "s/d"}}, nil
	},
}

var screws = Calculator{
	Name: "screws", Summary: "how far to move a pair of timing screws for a wanted rate, or the rate from a move",
	Inputs: []Input{
		inertia,
		{Name: "screw-mg", Help: "mass of each of the two, mg", Above: &zero},
		radius,
		optional(wantedRate),
		{Name: "out-mm", Help: "moved out, mm, negative is in", Optional: true},
	},
	Reckon: func(in Inputs) ([]Field, error) {
		i, p := balance.MilligramsSquareCentimetre(in["inertia-mg-cm2"]), balance.MilligramsMillimetres(in["screw-mg"], in["radius-mm"])
		switch {
		case in.Has("rate") == in.Has("out-mm"):
			return nil, errors.New("give either --rate or --out-mm")
		case in.Has("rate"):
			return []Field{{"out_mm", balance.OutForRate(i, p, unit.SecondsPerDay(in["rate"])), "Move both out by (negative: in)", "mm"}}, nil
		}
		return []Field{{"rate_s_per_day", float64(balance.MovePair(i, p, in["out-mm"])), "Change of the rate", "s/d"}}, nil
	},
}

var washers = Calculator{
	Name: "washers", Summary: "mass of a pair of washers for a wanted rate, or the rate from a pair",
	Inputs: []Input{
		inertia, radius, optional(wantedRate),
		{Name: "washer-mg", Help: "mass of each of the two, mg, negative is taken off", Optional: true},
	},
	Reckon: func(in Inputs) ([]Field, error) {
		i := balance.MilligramsSquareCentimetre(in["inertia-mg-cm2"])
		switch {
		case in.Has("rate") == in.Has("washer-mg"):
			return nil, errors.New("give either --rate or --washer-mg")
		case in.Has("rate"):
			return []Field{{"washer_mg", balance.WasherForRate(i, in["radius-mm"], unit.SecondsPerDay(in["rate"])), "Each of the two (negative: take off)", "mg"}}, nil
		}
		return []Field{{"rate_s_per_day", float64(balance.AddPair(i, balance.MilligramsMillimetres(in["washer-mg"], in["radius-mm"]))), "Change of the rate", "s/d"}}, nil
	},
}

var touch = Calculator{
	Name: "nudge", Summary: "what one unit of a touch is worth, and how much is left",
	Inputs: []Input{
		{Name: "before", Help: "reading before, s/d or ms"},
		{Name: "after", Help: "reading after, in the same unit"},
		{Name: "moved", Help: "by how many units it was moved, with a sign"},
		{Name: "wanted", Help: "wanted reading, in the same unit"},
		{Name: "u95", Help: "95 % doubt of each reading alone, what both share left out", Above: &zero},
		{Name: "shared-u95", Help: "95 % doubt that both share, as the clock's", Optional: true, Above: &zero},
	},
	Reckon: func(in Inputs) ([]Field, error) {
		heard := func(name string) estimate.Estimate {
			return estimate.New(in[name], in["u95"]).With("shared", in["shared-u95"])
		}
		l, err := nudge.Learn(nudge.Touch{Before: heard("before"), After: heard("after"), Moved: in["moved"]}, in["wanted"])
		if err != nil {
			return nil, err
		}
		out := []Field{
			{"effect_per_unit", l.Effect, "One unit changes the reading by", ""},
			{"off", l.Off, "Still off by", ""},
			{"done", l.Done, "Within the doubt", ""},
		}
		if l.Left == nil {
			return append(out, Field{"left_units", nil, "", ""},
				Field{"why", "the touch changed no more than the readings are in doubt: move further", "What is left cannot be told", ""}), nil
		}
		return append(out, Field{"left_units", *l.Left, "Units still to move, same sense as before", ""}), nil
	},
}
