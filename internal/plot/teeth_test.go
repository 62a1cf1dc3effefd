package plot

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"beatwright/reading"
)

// inventedTeeth are fifteen teeth of which the fourth is late on both sides.
func inventedTeeth() Teeth {
	var t Teeth
	for i := range 15 {
		l := reading.ToothLag{Ms: 0.03 * math.Sin(float64(i)), U95: 0.025, Chance: 0.4}
		x := reading.Tooth{Tooth: i + 1, First: l, Second: l}
		if i == 3 {
			x.First, x.Second = reading.ToothLag{Ms: 0.41, U95: 0.025, Chance: 1e-9}, reading.ToothLag{Ms: 0.36, U95: 0.03, Chance: 1e-7}
		}
		t.Teeth = append(t.Teeth, x)
	}
	return t
}

func TestTeethWords(t *testing.T) {
	even := inventedTeeth()
	even.Teeth[3] = even.Teeth[2]
	for name, c := range map[string]struct {
		teeth Teeth
		want  string
	}{
		"one":     {inventedTeeth(), "tooth 4, first beat 0.410 ms late; tooth 4, second beat 0.36 ms late"},
		"none":    {even, "No single tooth of the escape wheel stands out."},
		"by pair": {Teeth{Teeth: even.Teeth, ByPair: true}, "each stands with the first beat before it"},
	} {
		if got := c.teeth.Words().Sentence; !strings.Contains(got, c.want) {
			t.Errorf("%s: %q, want %q in it", name, got, c.want)
		}
	}
	if rows := inventedTeeth().Words().Rows; len(rows) != 15 {
		t.Errorf("%d rows, want one a tooth", len(rows))
	}
}

func TestTeethStayWithin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var x Teeth
		for i := range rapid.IntRange(1, 90).Draw(t, "teeth") {
			// A beat comes late by less than a beat.
			lag := func(name string) reading.ToothLag {
				part := func(v float64) float64 { return math.Max(-500, math.Min(500, v)) }
				return reading.ToothLag{Ms: part(anyValue(20).Draw(t, name)), U95: math.Abs(part(anyValue(5).Draw(t, name+" u")))}
			}
			x.Teeth = append(x.Teeth, reading.Tooth{Tooth: i + 1, First: lag("first"), Second: lag("second")})
		}
		wellFormed(t, x.Picture())
	})
}
