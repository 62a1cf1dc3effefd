package synth

import (
	"encoding/json"
	"math"
	"reflect"
	"testing"

	"beatwright/unit"
)

func allKinds() []Kind {
	return append(append(Kinds(), Disturbed()...), Refusals()...)
}

// Every kind draws scenes that are sound, that survive JSON, and of which a
// watch is heard exactly where one is meant to be.
func TestKinds(t *testing.T) {
	seen := map[string]bool{}
	for _, k := range allKinds() {
		if seen[k.Name] {
			t.Errorf("%s: name used twice", k.Name)
		}
		seen[k.Name] = true
		if got, err := ParseKind(k.Name); err != nil || got.Name != k.Name {
			t.Errorf("%s: not found by name: %v", k.Name, err)
		}
		for seed := range uint64(20) {
			s := k.Scene(seed)
			if err := s.Validate(); err != nil {
				t.Errorf("%s %d: %v", k.Name, seed, err)
			}
			if (s.Watch == nil) != (len(k.Refuse) > 0) {
				t.Errorf("%s %d: a watch and a refusal, or neither", k.Name, seed)
			}
			roundTrip(t, s)
		}
	}
	if _, err := ParseKind("fayr"); err == nil {
		t.Error("an unknown kind was found")
	}
}

func roundTrip(t *testing.T, s Scene) {
	t.Helper()
	b, err := json.Marshal(s)
	if err != nil {
		t.Fatal(err)
	}
	var back Scene
	if err := json.Unmarshal(b, &back); err != nil {
		t.Fatal(err)
	}
	again, _ := json.Marshal(back)
	if !reflect.DeepEqual(b, again) {
		t.Errorf("%s %d changes in JSON", s.Name, s.Seed)
	}
}

// Sounds of all kinds are finite, and loud enough to be one.
func TestKindsSound(t *testing.T) {
	for _, k := range allKinds() {
		s := k.Scene(11)
		s.Duration = 3
		x, truth := render(t, s)
		sum := 0.0
		for _, v := range x {
			if math.IsNaN(float64(v)) || v > 1 || v < -1 {
				t.Fatalf("%s: a sample of %g", k.Name, v)
			}
			sum += math.Abs(float64(v))
		}
		if (sum == 0) != (k.Name == "zeros") {
			t.Errorf("%s: sum of samples %g", k.Name, sum)
		}
		if _, err := json.Marshal(truth); err != nil {
			t.Errorf("%s: truth: %v", k.Name, err)
		}
	}
}

// The kinds keep to what they promise, and fill it.
func TestKindsAreBroad(t *testing.T) {
	type bound struct{ lo, hi float64 }
	for _, c := range []struct {
		kind  string
		what  func(Scene) float64
		limit bound // never beyond
		reach bound // beyond these at least once in 400
	}{
		{"fair", func(s Scene) float64 { return float64(s.Watch.BeatsPerHour) }, bound{14400, 36000}, bound{14401, 35999}},
		{"fair", func(s Scene) float64 { return float64(s.Watch.Lift) }, bound{38, 58}, bound{39, 57}},
		{"fair", func(s Scene) float64 { return float64(s.Watch.Swing.Start) }, bound{170, 315}, bound{175, 310}},
		{"fair", func(s Scene) float64 { return float64(s.Watch.Rate) }, bound{-700, 700}, bound{-300, 300}},
		{"fair", func(s Scene) float64 { return float64(s.Watch.Sides[0].Unlocking.Level) }, bound{-30, -6}, bound{-29, -7}},
		{"fair", func(s Scene) float64 { return float64(s.Noise[0].SNR) + float64(s.Watch.Sides[0].Unlocking.Level) }, bound{9.99, 39}, bound{11, 35}},
		{"tired", func(s Scene) float64 { return float64(s.Watch.Swing.Start) }, bound{60, 170}, bound{63, 167}},
		{"tired", func(s Scene) float64 { return float64(s.Watch.Jitter.Centre) }, bound{0.02, 0.15}, bound{0.03, 0.14}},
		{"beaterror", func(s Scene) float64 { return math.Abs(float64(s.Watch.BeatError)) }, bound{1, 4}, bound{1.1, 3.9}},
		{"drift", func(s Scene) float64 { return float64(s.Watch.Swing.End - s.Watch.Swing.Start) }, bound{-20, 20}, bound{-18, 18}},
		{"sides", func(s Scene) float64 { return float64(s.Watch.Swing.SideDifference) }, bound{-10, 10}, bound{-9, 9}},
		{"fast", func(s Scene) float64 { return float64(s.Rate) }, bound{88200, 192000}, bound{88201, 191999}},
		{"free", func(s Scene) float64 { return float64(s.Watch.BeatsPerHour) }, bound{7500, 39000}, bound{8000, 37000}},
	} {
		k, err := ParseKind(c.kind)
		if err != nil {
			t.Fatal(err)
		}
		lo, hi := math.Inf(1), math.Inf(-1)
		for seed := range uint64(400) {
			x := c.what(k.Scene(seed))
			lo, hi = min(lo, x), max(hi, x)
		}
		if lo < c.limit.lo || hi > c.limit.hi || lo > c.reach.lo || hi < c.reach.hi {
			t.Errorf("%s: %g to %g, want within %v and beyond %v", c.kind, lo, hi, c.limit, c.reach)
		}
	}
}

// In every watch the swing of the start reaches through the lift, with room
// for the beat error: else nothing would sound.
func TestKindsReachThroughTheLift(t *testing.T) {
	for _, k := range Kinds() {
		for seed := range uint64(200) {
			w := k.Scene(seed).Watch.withDefaults()
			least := w.Lift/2 + unit.Degrees(math.Abs(float64(w.LiftShift))) + 4
			if w.Swing.At(0) < least || w.Swing.At(30) < least {
				t.Errorf("%s %d: swings %.0f° to %.0f°, needs %.0f°", k.Name, seed, float64(w.Swing.At(0)), float64(w.Swing.At(30)), float64(least))
			}
		}
	}
}
