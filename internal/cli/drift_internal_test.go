package cli

import (
	"math"
	"testing"

	"beatwright/internal/plot"
	"beatwright/measure"
	"beatwright/reading"
	"beatwright/unit"
)

// beatsOf are beats of 200 ms whose first sides come late by off.
func beatsOf(off unit.Seconds) (out []Beat) {
	for i := range 20 {
		b := Beat{At: unit.Seconds(i) * 0.2, Side: 1 + i%2}
		if b.Side == 1 {
			b.At += off
		}
		out = append(out, b)
	}
	// What is left out must not turn the sign.
	out[4].At, out[4].Rejected = out[4].At-50*off, true
	return out
}

func result(off unit.Seconds, a reading.Amplitude) Result {
	return Result{
		Reading: reading.Reading{Watch: &reading.Watch{
			To: 4, BeatTime: reading.Clocked{Value: 200}, Lift: reading.Lift{Value: 50},
			BeatError: &reading.BeatError{Value: 1.5}, Amplitude: a,
		}},
		Beats:    beatsOf(off),
		Profiles: []measure.Profile{{Side: 1, Cell: 1, Power: []float64{1, 2}}, {Side: 2, Cell: 1, Power: []float64{1, 2}}},
	}
}

// TestDrawnShift: the line of centres lies A·sin(π·e/T) from rest (derived in
// package balance), towards where the first beat swings if it comes late; and
// both drawings agree which comes late. A side whose middle lies later after
// its date has its profile begin earlier.
func TestDrawnShift(t *testing.T) {
	measured := reading.Amplitude{Standing: reading.Measured, Value: new(120.0), U95: new(1.0), U95WithLift: new(2.0)}
	atMost := reading.Amplitude{Standing: reading.AtMost, Value: new(130.0)}
	tests := []struct {
		name     string
		off      unit.Seconds // of the first beats' middles
		dated    unit.Seconds // of that, how much the dates say
		a        reading.Amplitude
		standing plot.Standing
		want     float64
	}{
		{"first late", 0.0015, 0.0015, measured, plot.Known, 120 * math.Sin(math.Pi*1.5/400)},
		{"first early", -0.0015, -0.0015, measured, plot.Known, -120 * math.Sin(math.Pi*1.5/400)},
		{"at the bound", 0.0015, 0.0005, atMost, plot.AtMost, 130 * math.Sin(math.Pi*1.5/400)},
		{"dated the other way", 0.0015, -0.001, measured, plot.Known, 120 * math.Sin(math.Pi*1.5/400)},
		{"not told", 0.0015, 0.0015, reading.Amplitude{Standing: reading.NotResolved}, plot.NotTold, 0},
	}
	for _, tt := range tests {
		r := result(tt.dated, tt.a)
		r.Profiles[0].From -= tt.off - tt.dated
		f, d := plot.ProfileOf(r), plot.DriftOf(r)
		if f.Standing != tt.standing || math.Abs(float64(f.BeatError)-tt.want) > 1e-9 {
			t.Errorf("%s: standing %v, line of centres at %v; want %v, %v", tt.name, f.Standing, f.BeatError, tt.standing, tt.want)
		}
		if want := math.Copysign(1.5, float64(tt.off)); math.Abs(float64(d.BeatError)-want) > 1e-9 {
			t.Errorf("%s: drift is drawn for a beat error of %v ms, want %v", tt.name, d.BeatError, want)
		}
	}
}

// TestSoundsRow: sounds that were not heard are dashes, and without an
// unlocking all counts from the drop.
func TestSoundsRow(t *testing.T) {
	mark := func(ms float64) *measure.Mark { return &measure.Mark{At: unit.Seconds(ms / 1e3), U95: 6e-5} }
	r := Result{Profiles: []measure.Profile{
		{FromMiddle: true, Unlocking: mark(-6.63), Impulse: mark(-2.01), Drop: mark(6.63)},
		{FromMiddle: true, Unlocking: mark(-6.63), Drop: mark(6.63)},
	}}
	want := [][2]string{
		{"Sounds, ms from the middle", "first beats −6.63 / −2.01 / +6.63, ±\u00a00.06"},
		{"(unlocking / impulse / drop)", "second beats −6.63 / – / +6.63, ±\u00a00.06"},
	}
	for i, got := range soundsOf(r) {
		if got != want[i] {
			t.Errorf("row %d is %q, want %q", i, got, want[i])
		}
	}
	r.Profiles = []measure.Profile{{First: mark(-8.11), Drop: mark(0)}}
	if got := soundsOf(r); len(got) != 2 || got[1][0] != "(first sound / impulse / drop)" || got[0] != [2]string{"Sounds, ms from the drop", "first beats −8.11 / – / 0, ±\u00a00.06"} {
		t.Errorf("from the drop: %q", got)
	}
}
