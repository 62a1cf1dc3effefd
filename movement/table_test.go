package movement

import (
	"bytes"
	"reflect"
	"strings"
	"testing"

	"beatwright/unit"

	"pgregory.net/rapid"
)

var ours = []string{"source", "standing", "note"}

// rows draws movements with any texts. A carriage return is not drawn: CSV
// does not keep it apart from a line's end (RFC 4180, 2.1 and 2.6).
func rows(t *rapid.T) []Row {
	text := rapid.StringOfN(rapid.RuneFrom([]rune("ab é,;=\"'\n\t§ 1−")), 0, 12, -1)
	name := rapid.Map(text, func(s string) string { return "x" + strings.TrimSpace(s) + "y" })
	counts := func(lo, hi int) *rapid.Generator[map[string]int] {
		return rapid.MapOfN(text, rapid.IntRange(lo, hi), 1, 4)
	}
	some := func(label string) bool { return rapid.Bool().Draw(t, label) }
	var all []Row
	for i := range rapid.IntRange(1, 4).Draw(t, "rows") {
		m := Movement{Name: name.Draw(t, "name")}
		if some("numbers") {
			b, l := unit.BeatsPerHour(rapid.Float64Range(minBeats, maxBeats).Draw(t, "beats")), unit.Degrees(rapid.Float64Range(minLift, maxLift).Draw(t, "lift"))
			u, n := unit.Degrees(rapid.Float64Range(0, maxLiftU95).Draw(t, "u95")), rapid.IntRange(minEscape, maxEscape).Draw(t, "teeth")
			in, c := rapid.Float64Range(minInertia, maxInertia).Draw(t, "inertia"), float64(rapid.IntRange(1, 24).Draw(t, "crown"))/2
			m.BeatsPerHour, m.Lift, m.LiftU95, m.EscapeTeeth, m.Inertia, m.CrownHour = &b, &l, &u, &n, &in, &c
			m.LiftStanding, m.Escapement, m.Winding = Published, Detent, Key
		}
		if source := text.Draw(t, "source"); strings.TrimSpace(source) != "" {
			m.LiftSource = source
		}
		if some("train") {
			m.Wheels, m.Pinions = counts(minTeeth, maxTeeth).Draw(t, "wheels"), counts(minLeaves, maxLeaves).Draw(t, "pinions")
			m.Complications = rapid.SliceOfN(text, 1, 3).Draw(t, "complications")
		}
		r := Row{Movement: m, Line: i}
		if note := text.Draw(t, "note"); note != "" {
			r.Extra = map[string]string{"note": note}
		}
		all = append(all, r)
	}
	return all
}

// What is written as a table or as a list is read as the same movements.
func TestTableAndListRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		all := rows(t)
		var table, list bytes.Buffer
		if err := WriteTable(&table, all, ours...); err != nil {
			t.Fatal(err)
		}
		got, bad, passed, err := ReadTable(bytes.NewReader(table.Bytes()), ours...)
		if err != nil || len(bad)+len(passed) > 0 || !same(got, all) {
			t.Fatalf("table: read %+v, bad %v, %v, %v; wrote\n%s", got, bad, passed, err, &table)
		}
		if err := WriteList(&list, all); err != nil {
			t.Fatal(err)
		}
		got, bad, err = ReadList(bytes.NewReader(list.Bytes()), ours...)
		if err != nil || len(bad) > 0 || !same(got, all) {
			t.Fatalf("list: read %+v, bad %v, %v; wrote\n%s", got, bad, err, &list)
		}
	})
}

// same compares rows but for where they stood.
func same(a, b []Row) bool {
	at := func(rows []Row) []Row {
		out := append([]Row{}, rows...)
		for i := range out {
			out[i].Line = 0
		}
		return out
	}
	return reflect.DeepEqual(at(a), at(b))
}

// Bad rows are named by line and column, and the good ones kept.
func TestBadRowsAreNamed(t *testing.T) {
	const table = "\xef\xbb\xbfName;beats_per_hour;lift_deg;wheels;colour\nNorrim hand;18 000;48;barrel=78;\n;18000;;;\n\"Pell\nworth\";fast;400;;\n;;;;\n" +
		"Kestrin;21600;52;78 barrel;\nAr\"vendal;;;;\nTessagne;28800;51,5;;blue\nToo;1;2;3;4;5\n"
	good, bad, passed, err := ReadTable(strings.NewReader(table))
	if err != nil {
		t.Fatal(err)
	}
	if len(good) != 2 || *good[0].Movement.BeatsPerHour != 18000 || good[1].Movement.Name != "Tessagne" || *good[1].Movement.Lift != 51.5 || good[1].Line != 9 {
		t.Errorf("good rows %+v", good)
	}
	if len(passed) != 1 || passed[0] != "colour" {
		t.Errorf("passed over %q", passed)
	}
	wants := []string{
		"line 3, name: is empty", `line 4, beats_per_hour: is "fast"; want a number`, "line 4, lift_deg: is 400; want 10 to 90",
		"line 7, wheels: reads", "line 8: a quote at line 8", "line 10: 6 cells; want at most 5",
	}
	if len(bad) != len(wants) {
		t.Fatalf("bad rows %v, want %d", bad, len(wants))
	}
	for i, want := range wants {
		if !strings.HasPrefix(bad[i].Error(), want) {
			t.Errorf("told as %q, want it to begin %q", bad[i].Error(), want)
		}
	}
}

func TestBadEntriesAreNamed(t *testing.T) {
	const list = "[{\"name\":\"x\",\"lift_deg\":400},\n {\"lift_deg\":48},\n {\"name\":\"y\", \"note\":7},\n 5,\n {\"name\":\"z\",\"note\":\"n\"}]"
	good, bad, err := ReadList(strings.NewReader(list), ours...)
	if err != nil || len(good) != 1 || good[0].Line != 5 || good[0].Extra["note"] != "n" {
		t.Errorf("good %+v, %v", good, err)
	}
	wants := []string{"entry 1, line 1, lift_deg: is 400", "entry 2, line 2, name: is empty", "entry 3, line 3, note: is 7; want a text", "entry 4, line 4: want one JSON object"}
	if len(bad) != len(wants) {
		t.Fatalf("bad %v", bad)
	}
	for i, want := range wants {
		if !strings.HasPrefix(bad[i].Error(), want) {
			t.Errorf("told as %q, want it to begin %q", bad[i].Error(), want)
		}
	}
}

func TestNeitherTableNorList(t *testing.T) {
	for _, none := range []string{"", "a,b\n1,2\n", "beats_per_hour\n18000\n", "name,name\nx,y\n"} {
		if _, _, _, err := ReadTable(strings.NewReader(none)); err == nil {
			t.Errorf("%q is taken for a table", none)
		}
	}
	for _, none := range []string{"", "[", "[{}", `[{"name":"x"}] {}`, "name,lift_deg\n"} {
		if _, _, err := ReadList(strings.NewReader(none)); err == nil {
			t.Errorf("%q is taken for a list", none)
		}
	}
}

// TestWith: what a row does not say stays.
func TestWith(t *testing.T) {
	old, bad := FromCells(map[string]string{"name": "x", "beats_per_hour": "18000", "lift_deg": "52", "lift_standing": "assumed", "wheels": "fourth=70", "winding": "hand"})
	row, more := FromCells(map[string]string{"name": "X", "lift_deg": "48"})
	if len(bad)+len(more) > 0 {
		t.Fatal(bad, more)
	}
	got := old.With(row).Cells()
	for field, want := range map[string]string{"name": "X", "beats_per_hour": "18000", "lift_deg": "48", "lift_standing": "", "wheels": "fourth=70", "winding": "hand"} {
		if got[field] != want {
			t.Errorf("%s is %q, want %q", field, got[field], want)
		}
	}
}

// FuzzReadTable: whatever comes, nothing breaks, and what was read can be
// written and read again.
func FuzzReadTable(f *testing.F) {
	f.Add([]byte("name,wheels\nx,barrel=78 centre=80\n"))
	f.Add([]byte("name\tlift_deg\n\"a\n\t4"))
	f.Add([]byte("name;complications\nx;alarm; \"a;b\" ;\n"))
	f.Fuzz(func(t *testing.T, b []byte) {
		good, _, _, err := ReadTable(bytes.NewReader(b), ours...)
		if err != nil {
			return
		}
		var out bytes.Buffer
		if err := WriteTable(&out, good, ours...); err != nil {
			t.Fatal(err)
		}
		again, bad, _, err := ReadTable(&out, ours...)
		if err != nil || len(bad) > 0 || len(again) != len(good) {
			t.Fatalf("%d rows were written, %d read again: %v, %v", len(good), len(again), bad, err)
		}
	})
}

func FuzzReadList(f *testing.F) {
	f.Add([]byte(`[{"name":"x","wheels":{"barrel":78}}]`))
	f.Add([]byte(`{"name":"x","note":"n"}`))
	f.Fuzz(func(t *testing.T, b []byte) {
		good, _, err := ReadList(bytes.NewReader(b), ours...)
		if err != nil {
			return
		}
		var out bytes.Buffer
		if err := WriteList(&out, good); err != nil {
			t.Fatal(err)
		}
		if again, bad, err := ReadList(&out, ours...); err != nil || len(bad) > 0 || len(again) != len(good) {
			t.Fatalf("%d entries were written, %d read again: %v, %v", len(good), len(again), bad, err)
		}
	})
}
