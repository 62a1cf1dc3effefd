package measure_test

import (
	"math"
	"testing"

	"beatwright/reading"
	"beatwright/synth"
	"beatwright/unit"
)

// teethOf are the teeth of the escape wheel in a reading.
func teethOf(w reading.Watch) (teeth []reading.Tooth, by string) {
	for _, p := range w.Periodic {
		if p.Teeth != nil {
			return p.Teeth, p.SecondBy
		}
	}
	return nil, ""
}

// A bad tooth is found at its place on both sides, by its size and sign: the
// exit pallet meets it five beats after the entry pallet (Playtner 1910: the
// pallets span two spaces and a half). The numbering begins with the first beat of
// the stretch, so only where they stand to each other is compared.
func TestToothMap(t *testing.T) {
	for _, late := range []unit.Milliseconds{0.4, -0.3} {
		bad := make([]unit.Milliseconds, 9)
		bad[2], bad[8] = late, late/2
		w := wavy(t, 60, nil, bad)
		teeth, by := teethOf(w)
		if len(teeth) != 15 || by != reading.ByTooth {
			t.Fatalf("%g ms: %d teeth by %q of %+v, want 15 by tooth", float64(late), len(teeth), by, w.Periodic)
		}
		worst := worstOf(teeth)
		for j, x := range teeth {
			want := 0.0
			switch (j - worst + 15) % 15 {
			case 0:
				want += float64(late)
			case 6:
				want += float64(late) / 2
			}
			for name, l := range map[string]reading.ToothLag{"first": x.First, "second": x.Second} {
				// Thirty lags with 95 % bounds: twice the bound holds all.
				if math.Abs(l.Ms-want) > 2*l.U95 {
					t.Errorf("tooth %d, %s beat: %.3f ± %.3f ms, want %.3f", x.Tooth, name, l.Ms, l.U95, want)
				}
				if big := want != 0; big != (l.Chance < 0.01) {
					t.Errorf("tooth %d, %s beat: chance %g of %.3f ms", x.Tooth, name, l.Chance, l.Ms)
				}
			}
		}
	}
}

func worstOf(teeth []reading.Tooth) int {
	worst := 0
	for j, x := range teeth {
		if math.Abs(x.First.Ms) > math.Abs(teeth[worst].First.Ms) {
			worst = j
		}
	}
	return worst
}

// Teeth are not told before four turns, nor of a wheel without a fault, nor of
// another wheel's wave.
func TestNoToothMap(t *testing.T) {
	bad := make([]unit.Milliseconds, 3)
	bad[2] = 0.5
	for name, w := range map[string]reading.Watch{
		"three turns":  wavy(t, 20, nil, bad),
		"no fault":     wavy(t, 60, nil, nil),
		"another wave": wavy(t, 60, []synth.Wave{{Period: 60.0 / 7, Peak: 0.3}}, nil),
	} {
		if teeth, _ := teethOf(w); teeth != nil {
			t.Errorf("%s: %+v", name, teeth)
		}
	}
}
