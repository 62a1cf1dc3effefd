package plot

import (
	"math"
	"testing"
	"time"

	"beatwright/estimate"
	"beatwright/poise"
	"beatwright/position"
	"beatwright/reading"
	"beatwright/round"
	"beatwright/unit"
)

// The invented watch of these pictures: weak and heavy towards 4 o'clock as
// found, sound as left.

func heard(p position.Position, rate, own, swing float64) round.Reading {
	r := estimate.New(rate, own).With("clock", 0.3)
	a := estimate.New(swing, 3)
	e := estimate.New(1.4, 0.06)
	if swing > 200 {
		e = estimate.New(0.3, 0.2)
	}
	return round.Reading{Position: p, Rate: &r, Amplitude: &a, BeatError: &e, Standing: round.Measured}
}

func inventedFound() round.Round {
	r := round.Round{Readings: []round.Reading{
		heard(position.CH, 14.2, 0.4, 143), heard(position.FH, 9.3, 0.5, 138),
		heard(position.H12, 44, 1.6, 124), heard(position.H3, -26.4, 0.5, 109),
		heard(position.H6, -9.1, 0.9, 112), heard(position.H9, 62.6, 0.8, 118),
	}}
	r.Readings[2].Standing, r.Readings[5].Standing = round.AtMost, round.AtMost
	return r
}

func inventedLeft() round.Round {
	return round.Round{Readings: []round.Reading{
		heard(position.CH, 6.1, 0.3, 271), heard(position.FH, 5.2, 0.3, 268),
		heard(position.H12, 3.8, 0.4, 246), heard(position.H3, 6.9, 0.4, 243),
		heard(position.H6, 5.6, 0.4, 244), heard(position.H9, 2.7, 0.4, 247),
	}}
}

func inventedCurve() Curve {
	return Curve{
		States: []State{StateOf("as found", false, inventedFound()), StateOf("as left", true, inventedLeft())},
		Limits: []Limit{{Low: -15, High: 15, Whose: "this workshop"}},
	}
}

// oneAndAHalf is a round of eight at every hour and a half, one missing, by an
// unchecked clock.
func oneAndAHalf() Curve {
	var r round.Round
	for i, p := range position.EightVertical {
		if p == position.H6 {
			continue
		}
		rd := heard(p, 3+8*math.Cos(float64(i)*math.Pi/4), 1.5, 250)
		e := estimate.New(rd.Rate.Value, 1.5).With("clock", 4.1)
		rd.Rate = &e
		r.Readings = append(r.Readings, rd)
	}
	return Curve{States: []State{StateOf("", true, r)}}
}

func inventedBalances() []Balance {
	return []Balance{
		{
			Name: "as found", Told: true, Toward: estimate.New(120, 8), Size: estimate.New(78, 11), Unit: "µg·mm",
			Swing: 115, FastHour: 10,
		},
		{Name: "as left", Left: true, Toward: estimate.New(120, 180), Size: estimate.New(24, 27), Unit: "µg·mm"},
		{Name: "as found", Why: poise.ErrTooFew.Error()},
		{Name: "by an assumed lift", Told: true, Toward: estimate.New(285, 12), Size: estimate.New(60, 8).With("lift angle", 70), Unit: "µg·mm"},
	}
}

func inventedRulers() map[string]Ruler {
	past := []Interval{{From: -38, To: -6}, {From: -38.5, To: -21.5}, {From: -30.5, To: -20.5}, {From: -30.6, To: -24.6}}
	bounds := []Interval{{To: 168, AtMost: true}, {To: 147, AtMost: true}, {To: 133, AtMost: true}, {To: 125, AtMost: true}}
	least := &Bound{220, "least, this workshop: 220°"}
	return map[string]Ruler{
		"rate":    {What: "rate", Scale: RateScale(), Standing: reading.Measured, Value: -27, U95: 1.9, Before: past},
		"sure":    {What: "rate", Scale: RateScale(), Standing: reading.Measured, Value: -26.4, U95: 0.5, Sure: true, Before: past},
		"stale":   {What: "rate", Scale: RateScale(), Standing: reading.Measured, Value: -27, U95: 1.9, Sure: true, Stale: true, Before: past},
		"beyond":  {What: "rate", Scale: RateScale(), Standing: reading.Measured, Value: 70, U95: 15},
		"beat":    {What: "beat error", Scale: BeatScale("ms"), Standing: reading.Measured, Value: 1.63, U95: 0.09, Sure: true},
		"at-most": {What: "amplitude", Scale: SwingScale(), Standing: reading.AtMost, Value: 121, Before: bounds, Least: least},
		"nothing": {What: "amplitude", Scale: SwingScale(), Standing: reading.NotResolved},
	}
}

func inventedDay() (Day, map[string]Due) {
	at := func(h, m int) time.Time { return time.Date(2026, 11, 17, h, m, 0, 0, time.UTC) }
	return Day{From: at(8, 0), To: at(18, 0), Now: at(14, 52)}, map[string]Due{
		"late":      {From: at(10, 0), To: at(11, 0)},
		"window":    {From: at(15, 10), To: at(16, 10)},
		"evening":   {From: at(16, 30), To: at(17, 30)},
		"any":       {},
		"by":        {To: at(17, 0)},
		"open":      {From: at(14, 0), To: at(16, 0)},
		"yesterday": {To: at(8, 0).AddDate(0, 0, -3)},
	}
}

func inventedSeries() Series {
	s := Series{
		Quantities: []Quantity{{What: "rate", Unit: "s/d", Signed: true}, {What: "swing", Unit: "°"}, {What: "beat error", Unit: "ms"}},
		Events: []Event{
			{At: 3600 * 3, Words: "the watch was turned", Breaks: true},
			{At: 3600 * 3.4, Words: "sound is missing, 40 s", Breaks: true},
			{At: 3600 * 21.7, Words: "the watch stopped", Breaks: true},
		},
	}
	for i := range 130 {
		from := unit.Seconds(600 * i)
		h := float64(i) / 6
		w := Window{From: from, To: from + 600}
		if h > 21.7 || h > 9 && h < 9.6 {
			continue
		}
		noise := math.Sin(float64(i)*1.7) * 0.4
		w.Value, w.U95 = 5-h*0.6+noise, 0.8+h*0.05
		s.Quantities[0].Windows = append(s.Quantities[0].Windows, w)
		w.Value, w.U95 = 270-2.4*h+noise*3, 4
		if h > 19 {
			w.AtMost, w.Value = true, 235
		}
		s.Quantities[1].Windows = append(s.Quantities[1].Windows, w)
		w.AtMost, w.Value, w.U95 = false, 0.4+0.01*h+noise/20, 0.05
		s.Quantities[2].Windows = append(s.Quantities[2].Windows, w)
	}
	return s
}

// gallery is every drawing by its name.
func gallery(t *testing.T) map[string]*Picture {
	t.Helper()
	out := map[string]*Picture{
		"curve-both":   inventedCurve().Picture(),
		"curve-eight":  oneAndAHalf().Picture(),
		"curve-one":    Curve{States: []State{{Name: "as found", Points: []Rate{{position.CH, estimate.New(4, 1)}}}}}.Picture(),
		"curve-none":   Curve{}.Picture(),
		"found-left":   FoundAndLeft(Changes(inventedFound(), inventedLeft())),
		"series":       inventedSeries().Picture(),
		"series-none":  Series{}.Picture(),
		"teeth":        inventedTeeth().Picture(),
		"swing-turn":   inventedTurn().Picture(),
		"glyph-CH":     Glyph(position.CH, 58),
		"glyph-FH":     Glyph(position.FH, 96),
		"glyph-3H":     Glyph(position.H3, 58, 3, 2),
		"glyph-1H30":   Glyph(position.H1x, 42),
		"glyph-pocket": Glyph(position.H12, 96, 12),
	}
	for i, p := range inventedCurve().Panels() {
		out["curve-"+[]string{"found", "left"}[i]] = p
	}
	for i, p := range Balances(inventedBalances()...) {
		out["balance-"+[]string{"told", "not-told", "unknown", "shared"}[i]] = p
	}
	for name, r := range inventedRulers() {
		out["ruler-"+name] = r.Picture()
	}
	day, dues := inventedDay()
	out["due-head"] = day.Head()
	for name, d := range dues {
		out["due-"+name] = day.Row(d)
	}
	return out
}
