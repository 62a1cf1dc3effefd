package plot

import (
	"math"
	"testing"
	"time"

	"beatwright/estimate"
	"beatwright/poise"
	"beatwright/position"
	"beatwright/reading"
	"beatwright/unit"

	"pgregory.net/rapid"
)

// anyValue is a number as they come, and now and then one as they should not.
func anyValue(scale float64) *rapid.Generator[float64] {
	return rapid.Custom(func(t *rapid.T) float64 {
		if rapid.IntRange(0, 19).Draw(t, "odd") == 0 {
			return rapid.SampledFrom([]float64{math.NaN(), math.Inf(1), math.Inf(-1), 0, 1e9, -1e9, 1e-12}).Draw(t, "value")
		}
		return rapid.Float64Range(-scale, scale).Draw(t, "value")
	})
}

func anyEstimate(scale float64) *rapid.Generator[estimate.Estimate] {
	return rapid.Custom(func(t *rapid.T) estimate.Estimate {
		e := estimate.New(anyValue(scale).Draw(t, "of"), math.Abs(anyValue(scale/5).Draw(t, "own")))
		if rapid.Bool().Draw(t, "shares") {
			e = e.With("clock", rapid.Float64Range(0, scale/2).Draw(t, "clock"))
		}
		return e
	})
}

func anyState(left bool) *rapid.Generator[State] {
	return rapid.Custom(func(t *rapid.T) State {
		s := State{Name: rapid.SampledFrom([]string{"", "as found", "as <left>"}).Draw(t, "name"), Left: left}
		var rs []poise.Reading
		for range rapid.IntRange(0, 9).Draw(t, "positions") {
			e := anyEstimate(100).Draw(t, "rate")
			s.Points = append(s.Points, Rate{position.Position(rapid.IntRange(0, 28).Draw(t, "position")), e})
			rs = append(rs, poise.Reading{Position: s.Points[len(s.Points)-1].Position, Rate: e})
		}
		if w, err := poise.FitWave(rs); err == nil {
			s.Wave = &w
		}
		return s
	})
}

func TestCurvesStayWithin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := Curve{}
		for i := range rapid.IntRange(0, 2).Draw(t, "states") {
			c.States = append(c.States, anyState(i == 1).Draw(t, "state"))
		}
		if rapid.Bool().Draw(t, "limited") {
			c.Limits = []Limit{{unit.SecondsPerDay(anyValue(50).Draw(t, "low")), unit.SecondsPerDay(anyValue(50).Draw(t, "high")), "us"}}
		}
		wellFormed(t, c.Picture())
		for _, p := range c.Panels() {
			wellFormed(t, p)
		}
	})
}

func TestBalancesStayWithin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var bs []Balance
		for range rapid.IntRange(1, 2).Draw(t, "balances") {
			bs = append(bs, Balance{
				Told: rapid.Bool().Draw(t, "told"), Unit: "µg·mm", Left: rapid.Bool().Draw(t, "left"),
				Size: anyEstimate(200).Draw(t, "size"), Toward: anyEstimate(360).Draw(t, "toward"),
				Swing: anyValue(300).Draw(t, "swing"), FastHour: anyValue(12).Draw(t, "hour"),
			})
		}
		for _, p := range Balances(bs...) {
			wellFormed(t, p)
		}
	})
}

func TestRulersStayWithin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := Ruler{
			What: "rate", Scale: rapid.SampledFrom([]Scale{RateScale(), BeatScale("ms"), SwingScale(), {}}).Draw(t, "scale"),
			Standing: rapid.SampledFrom([]reading.Standing{reading.Measured, reading.AtMost, reading.NotResolved, ""}).Draw(t, "standing"),
			Value:    anyValue(300).Draw(t, "value"), U95: anyValue(100).Draw(t, "u95"),
			Sure: rapid.Bool().Draw(t, "sure"), Stale: rapid.Bool().Draw(t, "stale"),
		}
		for range rapid.IntRange(0, 6).Draw(t, "before") {
			r.Before = append(r.Before, Interval{anyValue(300).Draw(t, "from"), anyValue(300).Draw(t, "to"), rapid.Bool().Draw(t, "at most")})
		}
		if rapid.Bool().Draw(t, "reaching") {
			r.Scale = r.Scale.Reaching(r.Value)
		}
		if rapid.Bool().Draw(t, "limited") {
			r.Least = &Bound{anyValue(300).Draw(t, "least"), "least: 220°"}
		}
		wellFormed(t, r.Picture())
	})
}

func TestDaysStayWithin(t *testing.T) {
	moment := rapid.Custom(func(t *rapid.T) time.Time {
		if rapid.IntRange(0, 4).Draw(t, "none") == 0 {
			return time.Time{}
		}
		return time.Date(2026, 3, 1, 0, rapid.IntRange(-5000, 5000).Draw(t, "minute"), 0, 0, time.UTC)
	})
	rapid.Check(t, func(t *rapid.T) {
		d := Day{From: moment.Draw(t, "day from"), To: moment.Draw(t, "day to"), Now: moment.Draw(t, "now")}
		if d.To.Sub(d.From) < 48*time.Hour {
			wellFormed(t, d.Head())
		}
		wellFormed(t, d.Row(Due{moment.Draw(t, "from"), moment.Draw(t, "to")}))
	})
}

func TestSeriesStayWithin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := Series{}
		for k := range rapid.IntRange(0, 3).Draw(t, "quantities") {
			q := Quantity{What: "rate", Unit: "s/d", Signed: k == 0}
			for i := range rapid.IntRange(0, 12).Draw(t, "windows") {
				q.Windows = append(q.Windows, Window{
					unit.Seconds(i), unit.Seconds(i + 1), anyValue(50).Draw(t, "value"), anyValue(9).Draw(t, "u"), rapid.Bool().Draw(t, "at most"),
				})
			}
			for i := range rapid.IntRange(0, 900).Draw(t, "further windows") {
				q.Windows = append(q.Windows, Window{From: unit.Seconds(12 + i), To: unit.Seconds(13 + i), Value: float64(i % 13), U95: 1, AtMost: i%99 > 70})
			}
			s.Quantities = append(s.Quantities, q)
		}
		for range rapid.IntRange(0, 8).Draw(t, "events") {
			s.Events = append(s.Events, Event{unit.Seconds(anyValue(800).Draw(t, "at")), "the watch was turned", true})
		}
		wellFormed(t, s.Picture())
	})
}

func TestPairsStayWithin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := Change{What: "rate", Unit: "s/d", Signed: rapid.Bool().Draw(t, "signed")}
		figure := func() *Figure {
			if rapid.IntRange(0, 3).Draw(t, "none") == 0 {
				return nil
			}
			f := &Figure{Value: anyValue(200).Draw(t, "value"), U95: anyValue(9).Draw(t, "u")}
			f.AtMost = f.Value >= 0 && f.Value < 360 && rapid.Bool().Draw(t, "at most") // only swings have bounds
			return f
		}
		for range rapid.IntRange(0, 6).Draw(t, "rows") {
			c.Rows = append(c.Rows, ChangeRow{position.H3, figure(), figure()})
			wellFormed(t, c.Cell(c.Rows[0]))
		}
		wellFormed(t, c.Axis())
		wellFormed(t, FoundAndLeft([]Change{c}))
	})
}
