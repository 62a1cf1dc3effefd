package plot

import (
	"bytes"
	"math"
	"strings"
	"testing"

	"beatwright/unit"
)

// invented is a beat of a tired watch, 18 000, lift 50°, 120°.
func inventedProfile(st Standing) Profile {
	f := Profile{Name: "invented", Standing: st, Amplitude: 120, U95: 2, Lift: 50, BeatError: 3, Period: 0.4}
	drop := unit.Seconds(0.4 / (2 * math.Pi) * math.Asin(25.0/120))
	zero := unit.Seconds(0)
	if st != Known {
		drop, zero = 0, -drop
	}
	for s := range f.Sides {
		side := Side{From: -0.1 + zero, Cell: 0.0005, Drop: &drop}
		for i := range 400 {
			v := 1.0
			if t := float64(i)*0.0005 - 0.1 + float64(zero) - float64(drop); t >= 0 && t < 0.005 {
				v = 100 * math.Exp(-t/0.001)
			}
			side.Power = append(side.Power, v)
		}
		f.Sides[s] = side
	}
	return f
}

// The drop of a centred lift falls at half the lift (A·sin(2πt/T) = λ/2),
// moved by the beat error; the second side is its mirror.
func TestProfileAngles(t *testing.T) {
	f := inventedProfile(Known)
	g := &profileGraph{f: f, p: &Picture{}}
	g.scale()
	first, ok1 := g.place(0, *f.Sides[0].Drop)
	second, ok2 := g.place(1, *f.Sides[1].Drop)
	if !ok1 || !ok2 || math.Abs(first-28) > 1e-9 || math.Abs(second+22) > 1e-9 {
		t.Errorf("drops at %v and %v, want 28 and −22", first, second)
	}
	if _, ok := g.place(0, 0.11); ok {
		t.Error("a time beyond the turning point has an angle")
	}
	f.Standing, f.BeatError = AtMost, 0
	g.f = f
	if a, _ := g.place(0, 0); math.Abs(a-25) > 1e-9 {
		t.Errorf("at the bound the drop lies at %v, want 25", a)
	}
}

func TestProfilePictures(t *testing.T) {
	for st, want := range map[Standing]string{
		Known: "Which beat swings right is of the drawing", AtMost: "at most at 120°", NotTold: "milliseconds from the drop",
	} {
		p, err := inventedProfile(st).Picture()
		if err != nil {
			t.Fatal(err)
		}
		var b bytes.Buffer
		if err := Stack(p, &Picture{Width: 960, Height: 10}).WriteSVG(&b); err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(b.String(), want) || strings.Contains(b.String(), "NaN") {
			t.Errorf("standing %d: no %q, or a place that is no number", st, want)
		}
	}
	if _, err := (Profile{}).Picture(); err == nil {
		t.Error("nothing was drawn without an error")
	}
}
