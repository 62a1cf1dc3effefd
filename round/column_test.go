package round

import (
	"slices"
	"testing"

	"beatwright/unit"

	"pgregory.net/rapid"
)

func seconds(xs ...int) []unit.Seconds {
	var out []unit.Seconds
	for _, x := range xs {
		out = append(out, unit.Seconds(x))
	}
	return out
}

func rates(xs ...int) []unit.SecondsPerDay {
	var out []unit.SecondsPerDay
	for _, x := range xs {
		out = append(out, unit.SecondsPerDay(x))
	}
	return out
}

// Kleinlein, Rules and Practice for Adjusting Watches (1920), the cards of
// figures 16 to 27; order dial up, dial down, pendant up, right, left. The
// variation of figure 27 is not printed there, the columns are.
func TestAdjustersColumns(t *testing.T) {
	for _, c := range []struct {
		figure    string
		first     []unit.Seconds
		second    []unit.SecondsPerDay
		variation unit.SecondsPerDay
	}{
		{"16 before", seconds(1, 0, 10), rates(1, -1, 10), 11},
		{"16 after", seconds(4, 7, 14), rates(4, 3, 7), 4},
		{"17 before", seconds(2, 2, 37), rates(2, 0, 35), 35},
		{"17 second", seconds(7, 14, 29), rates(7, 7, 15), 8},
		{"17 third", seconds(7, 14, 24), rates(7, 7, 10), 3},
		{"18 before", seconds(-9, -18, -46), rates(-9, -9, -28), 19},
		{"18 after", seconds(5, 8, 9), rates(5, 3, 1), 4},
		{"19 before", seconds(2, 4, -6), rates(2, 2, -10), 12},
		{"19 after", seconds(2, 6, 9), rates(2, 4, 3), 2},
		{"20 before", seconds(1, 2, 4, 22, 20), rates(1, 1, 2, 18, -2), 20},
		{"20 after", seconds(3, 7, 8, 12, 8), rates(3, 4, 1, 4, -4), 8},
		{"21 before", seconds(8, 16, 0, 4, -1), rates(8, 8, -16, 4, -5), 24},
		{"21 after", seconds(2, 3, 2, -1, -6), rates(2, 1, -1, -3, -5), 7},
		{"24 first", seconds(0, 0, 14, 4, 16), rates(0, 0, 14, -10, 12), 24},
		{"24 second", seconds(-2, -5, -21, -19, -25), rates(-2, -3, -16, 2, -6), 18},
		{"24 third", seconds(-1, -1, -4, -5, -3), rates(-1, 0, -3, -1, 2), 5},
		{"25 before", seconds(2, 5, -1, -8, -17), rates(2, 3, -6, -7, -9), 12},
		{"25 after", seconds(-4, -8, -14, -21, -25), rates(-4, -4, -6, -7, -4), 3},
		{"26 first", seconds(2, -3, 1, 7, 9), rates(2, -5, 4, 6, 2), 11},
		{"26 second", seconds(-5, -10, -6, 0, 2), rates(-5, -5, 4, 6, 2), 11},
		{"26 third", seconds(2, 4, 9, 10, 14), rates(2, 2, 5, 1, 4), 4},
		{"27 before", seconds(-3, -8, 4, 0, -6), rates(-3, -5, 12, -4, -6), 18},
		{"27 after", seconds(-1, -2, -6, -4, -7), rates(-1, -1, -4, 2, -3), 6},
	} {
		got := Daily(c.first)
		if !slices.Equal(got, c.second) || Variation(got) != c.variation {
			t.Errorf("figure %s: got %v, variation %v, want %v, %v", c.figure, got, Variation(got), c.second, c.variation)
		}
		if back := Accumulated(c.second); !slices.Equal(back, c.first) {
			t.Errorf("figure %s: back to %v, want %v", c.figure, back, c.first)
		}
	}
}

// Kleinlein's temperature cards, figures 3, 4 and 7; heat, normal, cold.
func TestTemperatureCards(t *testing.T) {
	for _, c := range []struct {
		card []unit.Seconds
		want unit.SecondsPerDay
	}{
		{seconds(4, 0, 16), -12},
		{seconds(2, 6, 8), 0},
		{seconds(8, 20, 19), 9},
		{seconds(-10, -6, 12), -28},
		{seconds(4, 5, 1), 8},
		{seconds(1, 4, 7), -2},
	} {
		if got, ok := HeatLessCold(c.card); !ok || got != c.want {
			t.Errorf("%v: got %v, want %v", c.card, got, c.want)
		}
	}
	if _, ok := HeatLessCold(seconds(1, 2)); ok {
		t.Error("two days are no temperature card")
	}
	if Variation(nil) != 0 || Daily(nil) != nil {
		t.Error("no days, no variation")
	}
}

func TestColumnsInvert(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := rapid.SliceOf(rapid.IntRange(-1000, 1000)).Draw(t, "days")
		if got := Daily(Accumulated(rates(in...))); !slices.Equal(got, rates(in...)) {
			t.Fatalf("got %v, want %v", got, in)
		}
	})
}
