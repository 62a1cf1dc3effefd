package plot

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"beatwright/measure"
	"beatwright/reading"
	"beatwright/unit"
)

// inventedTurn is a fourth wheel under which the swing falls by 4° and rises again.
func inventedTurn() SwingTurn {
	w := reading.AmplitudeWave{
		Period: 60.1, PeriodU95: 0.8, PeakDeg: 4.1, U95: 0.4, Chance: 1e-9, Turns: 3.2, Wheels: []string{"fourth"}, HighestAt: 21,
	}
	for i := range 12 {
		at := 2.5 + 5*float64(i)
		w.Turn = append(w.Turn, reading.AmplitudePoint{
			At: unit.Seconds(at), Deg: 4.1*math.Cos(2*math.Pi*(at-21)/60.1) + 0.3*math.Sin(float64(7*i)), U95: 0.5,
		})
	}
	return SwingTurn{w}
}

func TestSwingTurnWords(t *testing.T) {
	w := inventedTurn().Words()
	for _, want := range []string{"rises and falls by 4.1", "fourth wheel", "3.2"} {
		if !strings.Contains(w.Sentence, want) {
			t.Errorf("%q, want %q in it", w.Sentence, want)
		}
	}
	if len(w.Rows) != 12 {
		t.Errorf("%d rows, want one a place", len(w.Rows))
	}
}

func TestSwingTurnsOfNone(t *testing.T) {
	none := reading.AmplitudeWave{Period: 60}
	for _, r := range []measure.Result{{}, {Reading: reading.Reading{Watch: &reading.Watch{AmplitudePeriodic: []reading.AmplitudeWave{none}}}}} {
		if got := SwingTurnsOf(r); len(got) != 0 {
			t.Errorf("%d turns of %+v, want none", len(got), r)
		}
	}
}

func TestSwingTurnStaysWithin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		// A swing is no more than a turn.
		part := func(v float64) float64 { return math.Max(-360, math.Min(360, v)) }
		period := rapid.Float64Range(0.1, 90000).Draw(t, "period")
		x := SwingTurn{reading.AmplitudeWave{
			Period: unit.Seconds(period), PeriodU95: unit.Seconds(period / 50), Turns: 3,
			PeakDeg: math.Abs(part(anyValue(5).Draw(t, "peak"))), U95: math.Abs(part(anyValue(1).Draw(t, "u"))),
			HighestAt: unit.Seconds(period * rapid.Float64Range(0, 1).Draw(t, "highest")),
		}}
		for range rapid.IntRange(1, 12).Draw(t, "places") {
			x.Turn = append(x.Turn, reading.AmplitudePoint{
				At:  unit.Seconds(period * rapid.Float64Range(0, 1).Draw(t, "at")),
				Deg: part(anyValue(5).Draw(t, "deg")), U95: math.Abs(part(anyValue(1).Draw(t, "bar"))),
			})
		}
		wellFormed(t, x.Picture())
	})
}
