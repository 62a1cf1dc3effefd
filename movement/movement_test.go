package movement_test

import (
	"encoding/json"
	"math"
	"reflect"
	"strings"
	"testing"

	"beatwright/movement"
	"beatwright/unit"

	"pgregory.net/rapid"
)

// whole is an invented movement with every field.
const whole = `{"name":"invented","beats_per_hour":18000,"lift_deg":48,"lift_u95_deg":1,"lift_standing":"published",
 "lift_source":"an invented sheet","escapement":"lever","escape_teeth":15,
 "wheels":{"barrel":78,"centre":80,"third":75,"fourth":70},"pinions":{"centre":12,"third":10,"fourth":10,"escape":7},
 "inertia_mg_cm2":null,"crown_hour":3,"winding":"hand","complications":["alarm","date"]}`

func TestReadWhole(t *testing.T) {
	got, warnings, err := movement.Read(strings.NewReader(whole))
	if err != nil || len(warnings) != 0 {
		t.Fatalf("Read: warnings %q, error %v", warnings, err)
	}
	want := movement.Movement{
		Name: "invented", BeatsPerHour: new(unit.BeatsPerHour(18000)),
		Lift: new(unit.Degrees(48)), LiftU95: new(unit.Degrees(1)), LiftStanding: movement.Published,
		LiftSource: "an invented sheet", Escapement: movement.Lever, EscapeTeeth: new(15),
		Wheels:    map[string]int{"barrel": 78, "centre": 80, "third": 75, "fourth": 70},
		Pinions:   map[string]int{"centre": 12, "third": 10, "fourth": 10, "escape": 7},
		CrownHour: new(3.0), Winding: movement.Hand, Complications: []string{"alarm", "date"},
	}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("Read = %+v, want %+v", got, want)
	}
}

func TestEveryFieldMayBeAbsent(t *testing.T) {
	for _, s := range []string{`{}`, "\xef\xbb\xbf{}", `{"lift_deg":null,"wheels":null,"name":null,"complications":null}`} {
		m, warnings, err := movement.Read(strings.NewReader(s))
		if err != nil || len(warnings) != 0 || !reflect.DeepEqual(m, movement.Movement{}) {
			t.Errorf("Read(%q) = %+v, %q, %v; want nothing known", s, m, warnings, err)
		}
	}
}

func TestRefusals(t *testing.T) {
	tests := []struct{ name, file, want string }{
		{"empty", ``, "empty"},
		{"not JSON", `lift = 48`, "line 1"},
		{"breaks on line 2", "{\"lift_deg\":48,\n\"name\":}", "line 2"},
		{"list", `[48]`, "want one JSON object"},
		{"null", `null`, "holds null"},
		{"two objects", `{} {}`, "not JSON"},
		{"lift of nothing", `{"lift_deg":0}`, "lift_deg is 0; want 10 to 90"},
		{"lift of a turn", `{"lift_deg":400}`, "lift_deg is 400"},
		{"lift in words", `{"lift_deg":"48"}`, `lift_deg is "48"; want a number`},
		{"negative doubt", `{"lift_u95_deg":-1}`, "lift_u95_deg is -1"},
		{"too large for a number", `{"beats_per_hour":1e999}`, "beats_per_hour is 1e999; want a number"},
		{"beats of a clock", `{"beats_per_hour":3600}`, "want 7000 to 40000"},
		{"half a tooth", `{"escape_teeth":15.5}`, "escape_teeth is 15.5; want a whole number"},
		{"no teeth", `{"wheels":{"fourth":0}}`, "wheels: fourth has 0 teeth"},
		{"too many leaves", `{"pinions":{"escape":700}}`, "pinions: escape has 700 leaves"},
		{"escapement", `{"escapement":"tuning fork"}`, "want one of lever, cylinder, verge, duplex, detent, driven"},
		{"standing", `{"lift_standing":"sure"}`, "want one of given, published, measured, assumed"},
		{"winding", `{"winding":"wind"}`, "want one of hand, automatic, key"},
		{"crown at 13", `{"crown_hour":13}`, "crown_hour is 13"},
		{"crown at a third", `{"crown_hour":3.3}`, "crown_hour is 3.3"},
		{"dead balance", `{"inertia_mg_cm2":0}`, "inertia_mg_cm2 is 0"},
		{"complications as text", `{"complications":"date"}`, "want a list of texts"},
		{"too large", `{"name":"` + strings.Repeat("x", 2<<20) + `"}`, "larger than"},
		{"long name", `{"name":"` + strings.Repeat("x", 501) + `"}`, "at most 500"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, _, err := movement.Read(strings.NewReader(tt.file))
			if err == nil || !strings.Contains(err.Error(), tt.want) {
				t.Errorf("Read: error %v, want one with %q", err, tt.want)
			}
		})
	}
}

func TestWarnings(t *testing.T) {
	tests := []struct{ name, file, want string }{
		{"later field", `{"jewels":17}`, `field "jewels" is not known`},
		{"other case", `{"Lift_deg":48}`, `field "Lift_deg" is not known`},
		{"odd wheel", `{"wheels":{"great":96}}`, `wheel "great"`},
		{"standing of nothing", `{"lift_standing":"published"}`, "not lift_deg itself"},
		{"escape twice", `{"escape_teeth":15,"wheels":{"escape":16}}`, "15 is used"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, warnings, err := movement.Read(strings.NewReader(tt.file))
			if err != nil || len(warnings) != 1 || !strings.Contains(warnings[0], tt.want) {
				t.Errorf("Read: warnings %q, error %v; want one with %q", warnings, err, tt.want)
			}
		})
	}
}

func TestCheckRefusesNaN(t *testing.T) {
	nan := math.NaN()
	for _, m := range []movement.Movement{
		{Lift: new(unit.Degrees(nan))},
		{BeatsPerHour: new(unit.BeatsPerHour(nan))},
		{CrownHour: &nan},
		{Inertia: &nan},
	} {
		if err := m.Check(); err == nil {
			t.Errorf("Check(%+v) is content with NaN", m)
		}
	}
}

// TestWrittenIsReadBack: what MarshalJSON writes, Read reads as the same.
func TestWrittenIsReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := draw(t)
		data, err := json.Marshal(m)
		if err != nil {
			t.Fatal(err)
		}
		got, _, err := movement.Read(strings.NewReader(string(data)))
		if err != nil {
			t.Fatalf("Read(%s): %v", data, err)
		}
		if !reflect.DeepEqual(got, m) {
			t.Fatalf("Read(%s) = %+v, want %+v", data, got, m)
		}
	})
}

func draw(t *rapid.T) movement.Movement {
	maybe := func(name string) bool { return rapid.Bool().Draw(t, name) }
	var m movement.Movement
	if maybe("name") {
		m.Name = rapid.StringN(1, 20, 80).Draw(t, "name text")
	}
	if maybe("beats") {
		m.BeatsPerHour = new(unit.BeatsPerHour(rapid.Float64Range(7000, 40000).Draw(t, "beats value")))
	}
	if maybe("lift") {
		m.Lift = new(unit.Degrees(rapid.Float64Range(10, 90).Draw(t, "lift value")))
		m.LiftStanding = rapid.SampledFrom([]movement.Standing{"", movement.Given, movement.Measured}).Draw(t, "standing")
	}
	if maybe("wheels") {
		m.Wheels = rapid.MapOfN(rapid.SampledFrom([]string{"barrel", "third", "fourth"}), rapid.IntRange(5, 400), 1, 3).Draw(t, "teeth")
	}
	if maybe("escape") {
		m.EscapeTeeth = new(rapid.IntRange(5, 60).Draw(t, "escape teeth"))
	}
	if maybe("crown") {
		m.CrownHour = new(float64(rapid.IntRange(1, 24).Draw(t, "half hours")) / 2)
	}
	return m
}

// FuzzRead: whatever comes, Read ends without a panic, and what it accepts
// passes its own check and can be written.
func FuzzRead(f *testing.F) {
	f.Add([]byte(whole))
	f.Add([]byte(`{"lift_deg":48e0,"wheels":{"":5},"crown_hour":12}`))
	f.Add([]byte("\xef\xbb\xbf{\"name\":\"\\ud800\"}"))
	f.Fuzz(func(t *testing.T, data []byte) {
		m, _, err := movement.Read(strings.NewReader(string(data)))
		if err != nil {
			return
		}
		if err := m.Check(); err != nil {
			t.Errorf("accepted, but %v", err)
		}
		if _, err := json.Marshal(m); err != nil {
			t.Errorf("accepted, but cannot be written: %v", err)
		}
	})
}
