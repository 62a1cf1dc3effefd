package plot

import (
	"bytes"
	"math"
	"strings"
	"testing"

	"beatwright/unit"
)

// invented is a beat of a tired watch, 18 000, lift 50°, 120°, the first beats
// late by 3° of rest; its sounds rise at once and die away.
func inventedProfile(st Standing) Profile {
	f := Profile{Standing: st, Amplitude: 120, U95: 1, U95WithLift: 2, Lift: 50, BeatError: 3, Period: 0.4}
	half := unit.Seconds(0.4 / (2 * math.Pi) * math.Asin(25.0/120))
	zero := unit.Seconds(0)
	if st != Known {
		zero = -half
	}
	for s := range f.Sides {
		side := Side{From: -0.1 + zero, Cell: 0.0005, FromMiddle: st == Known, Drop: new(half + zero), Impulse: new(-half/3 + zero)}
		if st == Known {
			side.Unlocking = new(-half)
		}
		for i := range 400 {
			v := 1.0
			for k, at := range []unit.Seconds{-half, -half / 3, half} {
				if t := float64(side.at(i) - zero - at); t >= 0 && (k > 0 || st == Known) {
					v += []float64{4, 20, 100}[k] * math.Exp(-t/0.002)
				}
			}
			side.Power = append(side.Power, v)
		}
		f.Sides[s] = side
	}
	return f
}

// TestAngles holds the axis to the arithmetic of a balance that swings by 120°
// about rest: it turns at ±120°, and passes the line of centres, 3° from rest,
// in the middle of the beat. A lift is passed within its own 25° to either
// side, less by the cosine of asin(3/120), which is 0.08 %.
func TestAngles(t *testing.T) {
	f := inventedProfile(Known)
	omega := 2 * math.Pi / 0.4
	tests := []struct {
		name string
		side int
		at   float64 // s from the middle
		want float64
	}{
		{"first, middle", 0, 0, 3},
		{"second, middle", 1, 0, 3},
		{"first, rest", 0, -math.Asin(3.0/120) / omega, 0},
		{"second, rest", 1, math.Asin(3.0/120) / omega, 0},
		{"first, unlocking", 0, float64(*f.Sides[0].Unlocking), 3 - 25},
		{"first, drop", 0, float64(*f.Sides[0].Drop), 3 + 25},
		{"second, unlocking", 1, float64(*f.Sides[1].Unlocking), 3 + 25},
		{"second, drop", 1, float64(*f.Sides[1].Drop), 3 - 25},
		// A quarter of the swing after rest it turns.
		{"first, turning", 0, 0.1 - math.Asin(3.0/120)/omega - 1e-9, 120},
		{"second, turning", 1, 0.1 + math.Asin(3.0/120)/omega - 1e-9, -120},
	}
	for _, tt := range tests {
		got, ok := f.place(tt.side, unit.Seconds(tt.at))
		if !ok || math.Abs(got-tt.want) > 0.1 {
			t.Errorf("%s: %v (%v), want %v", tt.name, got, ok, tt.want)
		}
	}
	if _, ok := f.place(0, 0.1); ok {
		t.Error("a time beyond the turning point has an angle")
	}
}

// TestMiddleIsFoundFromTheDrop: the same sounds counted from the drop lie at
// the same angles, and at the bound its dashed unlocking at the lift's edge.
func TestMiddleIsFoundFromTheDrop(t *testing.T) {
	known, bound := inventedProfile(Known), inventedProfile(AtMost)
	for s := range known.Sides {
		want, _ := known.place(s, *known.Sides[s].Drop)
		got, _ := bound.place(s, *bound.Sides[s].Drop)
		if math.Abs(got-want) > 1e-9 {
			t.Errorf("side %d: drop at %v from the drop, %v from the middle", s, got, want)
		}
		m := bound.marks(s)[0]
		want, _ = known.place(s, *known.Sides[s].Unlocking)
		if got, _ := bound.place(s, m.at); m.sure || m.word != "unlocking: not heard" || math.Abs(got-want) > 1e-9 {
			t.Errorf("side %d: first mark %+v at %v, want one not heard at %v", s, m, got, want)
		}
	}
}

// TestNotTold: without a swing the axis is milliseconds from the drop,
// whatever the profile's own zero.
func TestNotTold(t *testing.T) {
	f := inventedProfile(Known)
	f.Standing = NotTold
	for s := range f.Sides {
		if at, ok := f.place(s, *f.Sides[s].Drop-0.01); !ok || math.Abs(at+10) > 1e-9 {
			t.Errorf("side %d: 10 ms before the drop is at %v (%v), want −10", s, at, ok)
		}
	}
}

// TestPool: what falls on one px is averaged, and onsets stay where they are.
func TestPool(t *testing.T) {
	f := inventedProfile(Known)
	x := f.span(0, 60)
	at, power := f.pool(0, x)
	edge := x.at(28)
	for i := range at {
		if at[i] > edge+1 {
			break
		}
		if at[i] < edge-2 && power[i] > 25 {
			t.Errorf("the drop's sound shows at %v px, before its onset at %v", at[i], edge)
		}
	}
	if len(at) == 0 || len(at) > 60 {
		t.Errorf("%d px of 60 are drawn", len(at))
	}
}

func TestProfilePictures(t *testing.T) {
	either := inventedProfile(AtMost)
	for s := range either.Sides {
		either.Sides[s].First = new(unit.Seconds(-0.026))
	}
	single := inventedProfile(NotTold)
	single.Sides[1] = Side{}
	nonsense := inventedProfile(Known)
	nonsense.Amplitude = unit.Degrees(math.NaN())
	tests := []struct {
		name, golden string
		f            Profile
		want, not    []string
	}{
		{
			"known", "profile-known.svg", inventedProfile(Known),
			[]string{"±120.0°", ">unlocking<", ">impulse<", ">drop<", "is of the drawing", `class="area solid"`, "swinging left"},
			[]string{"hatch", "not heard"},
		},
		{
			"at most", "profile-at-most.svg", inventedProfile(AtMost),
			[]string{"axis drawn for 120°, the most it can be", ">unlocking: not heard<", `class="hatch steel"`, "over the noise"},
			[]string{`class="area solid"`},
		},
		{"either", "", either, []string{">unlocking: not heard for certain<"}, []string{">unlocking<"}},
		{
			"not told", "profile-not-told.svg", inventedProfile(NotTold),
			[]string{"milliseconds from the drop", "the swing cannot be told", ">first beat<"},
			[]string{"°", "swinging", `class="hatch steel"`, "wash\""},
		},
		{"one side", "", single, []string{"second beat: not heard", ">first beat<"}, nil},
		{"no side", "", Profile{Standing: NotTold}, []string{"Not drawn: the sounds lie below the noise."}, nil},
		{"no numbers", "", nonsense, []string{"Not drawn"}, nil},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got := drawn(t, tt.f.Picture())
			if tt.golden != "" {
				golden(t, tt.golden, got)
			}
			_, body, _ := strings.Cut(got, "</style>")
			for _, want := range tt.want {
				if !strings.Contains(body, want) {
					t.Errorf("no %q", want)
				}
			}
			for _, not := range append(tt.not, "NaN", "Inf") {
				if strings.Contains(body, not) {
					t.Errorf("there is %q", not)
				}
			}
		})
	}
}

func TestStack(t *testing.T) {
	got := drawn(t, Stack("two & more", Head("heard", Span{"Sure.", true}, Span{" Not sure.", false}), &Picture{Width: 10, Height: 20}))
	for _, want := range []string{"<title>two &amp; more</title>", `height="104"`, `<tspan class="strong">Sure.</tspan> Not sure.`} {
		if !strings.Contains(got, want) {
			t.Errorf("no %q in\n%s", want, got)
		}
	}
}

func drawn(t *testing.T, p *Picture) string {
	t.Helper()
	var b bytes.Buffer
	if err := p.WriteSVG(&b); err != nil {
		t.Fatal(err)
	}
	return b.String()
}
