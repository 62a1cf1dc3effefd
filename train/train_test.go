package train

import (
	"math"
	"slices"
	"testing"

	"beatwright/unit"
)

// Turns of the escape wheel, s: 2·Z·3600/vph, exact.
func TestEscapeTurn(t *testing.T) {
	for _, tc := range []struct {
		teeth int
		vph   unit.BeatsPerHour
		want  float64
	}{
		{15, 14400, 7.5},
		{15, 18000, 6},
		{15, 21600, 5},
		{15, 28800, 3.75},
		{20, 28800, 5},
		{21, 36000, 4.2},
		{16, 19800, 5.8182},
		{14, 25200, 4},
		{18, 16200, 8},
	} {
		got := Train{BeatsPerHour: tc.vph, EscapeTeeth: tc.teeth}.Turns()["escape"]
		if math.Abs(float64(got)-tc.want) > 5e-5 {
			t.Errorf("%d teeth at %v: %v s, want %v", tc.teeth, tc.vph, got, tc.want)
		}
	}
}

// common is an 18 000 train whose fourth wheel carries the seconds hand:
// 78/12, 80/10, 75/10, 70/7, 15.
func common() Train {
	return Train{18000, 15, map[string]int{"barrel": 78, "centre": 80, "third": 75, "fourth": 70}, map[string]int{"centre": 12, "third": 10, "fourth": 10, "escape": 7}}
}

// Fourth 60 s, third 450 s with 80/10 and 75/10, centre an hour, barrel 78/12
// h; teeth: fourth 60/70 s, third 6 s, centre 45 s, barrel 300 s.
func TestTurnsOfATrain(t *testing.T) {
	for name, want := range map[string]float64{"escape": 6, "fourth": 60, "third": 450, "centre": 3600, "barrel": 78.0 / 12 * 3600} {
		if got := float64(common().Turns()[name]); math.Abs(got-want) > 1e-9*want {
			t.Errorf("%s turns in %v s, want %v", name, got, want)
		}
	}
	teeth := map[string]float64{"fourth tooth": 60.0 / 70, "third tooth": 6, "centre tooth": 45, "barrel tooth": 300}
	for _, p := range common().Periods() {
		if want, ok := teeth[p.String()]; ok {
			if math.Abs(float64(p.Every)-want) > 1e-9*want {
				t.Errorf("%s every %v s, want %v", p, p.Every, want)
			}
			delete(teeth, p.String())
		}
	}
	if len(teeth) > 0 {
		t.Errorf("not listed: %v", teeth)
	}
}

// At 18 000 with 15 teeth the escape wheel's turn and the third wheel's tooth
// both take 6 s: neither may be named alone.
func TestEqualPeriodsAreNamedTogether(t *testing.T) {
	if got, want := common().Fitting(6.0005, 0.002), []string{"escape", "third tooth"}; !slices.Equal(got, want) {
		t.Errorf("6 s can come from %v, want %v", got, want)
	}
	if got := common().Fitting(7, 0.1); len(got) != 0 {
		t.Errorf("7 s can come from %v, want nothing", got)
	}
}

func TestWhatIsNotKnownIsNotReckoned(t *testing.T) {
	for name, tr := range map[string]Train{
		"nothing":  {},
		"no beats": {EscapeTeeth: 15},
		"no teeth": {BeatsPerHour: 18000},
	} {
		if got := tr.Turns(); len(got) != 0 {
			t.Errorf("%s: %v", name, got)
		}
	}
	gap := common()
	delete(gap.Pinions, "fourth")
	if got := gap.Turns(); len(got) != 2 {
		t.Errorf("with the third wheel's way unknown: %v, want escape and fourth", got)
	}
}
