package movement

import (
	"bytes"
	"encoding/json"
	"reflect"
	"strings"
	"testing"

	"beatwright/unit"

	"pgregory.net/rapid"
)

// What is written as a table or as a list is read as the same movements.
func TestTableRoundTrip(t *testing.T) {
	text := rapid.StringMatching(`[A-Za-z0-9é][A-Za-z0-9 ,"=é-]{0,12}[A-Za-z0-9]`)
	rapid.Check(t, func(t *rapid.T) {
		var all []Movement
		for range rapid.IntRange(1, 4).Draw(t, "rows") {
			m := Movement{Name: text.Draw(t, "name")}
			if rapid.Bool().Draw(t, "known") {
				b, l, u, n, c := unit.BeatsPerHour(18000), unit.Degrees(rapid.IntRange(38, 60).Draw(t, "lift")), unit.Degrees(1.5), 15, 4.5
				m.BeatsPerHour, m.Lift, m.LiftU95, m.LiftStanding, m.LiftSource = &b, &l, &u, Published, text.Draw(t, "source")
				m.Escapement, m.EscapeTeeth, m.CrownHour, m.Winding = Lever, &n, &c, Hand
				m.Wheels, m.Pinions = map[string]int{"barrel": 78, "fourth": 70}, map[string]int{"escape": 7}
				m.Complications = []string{"alarm", "date"}
			}
			all = append(all, m)
		}
		var table bytes.Buffer
		if err := WriteTable(&table, all); err != nil {
			t.Fatal(err)
		}
		got, bad, err := ReadTable(&table)
		if err != nil || len(bad) > 0 || !reflect.DeepEqual(got, all) {
			t.Fatalf("read %+v, bad %v, %v; wrote %+v", got, bad, err, all)
		}
		list, err := json.Marshal(all)
		if err != nil {
			t.Fatal(err)
		}
		if got, bad, err := ReadList(bytes.NewReader(list)); err != nil || len(bad) > 0 || !reflect.DeepEqual(got, all) {
			t.Fatalf("list: read %+v, bad %v, %v; wrote %+v", got, bad, err, all)
		}
	})
}

// Bad rows are named by line, the good ones kept.
func TestBadRowsAreNamed(t *testing.T) {
	good, bad, err := ReadTable(strings.NewReader("name;beats_per_hour;lift_deg\nNorrim hand;18000;48\n;18000;\nPellworth;fast;50\nKestrin;21600;400\nTessagne;28800;51,5\n"))
	if err != nil || len(good) != 2 || good[1].Name != "Tessagne" || *good[1].Lift != 51.5 {
		t.Fatalf("%v, %v", good, err)
	}
	wants := []string{"line 3: name", "line 4: beats_per_hour", "line 5: lift_deg"}
	if len(bad) != len(wants) {
		t.Fatalf("bad rows %v, want %d", bad, len(wants))
	}
	for i, want := range wants {
		if !strings.HasPrefix(bad[i].Error(), want) {
			t.Errorf("told as %q, want it to begin %q", bad[i].Error(), want)
		}
	}
	for _, none := range []string{"", "a,b\n1,2\n", "beats_per_hour\n18000\n"} {
		if _, _, err := ReadTable(strings.NewReader(none)); err == nil {
			t.Errorf("%q is taken for a table", none)
		}
	}
	if _, bad, err := ReadList(strings.NewReader(`[{"name":"x","lift_deg":400},{"lift_deg":48},{"name":"y"}]`)); err != nil || len(bad) != 2 || bad[1].Entry != 2 {
		t.Errorf("list: bad %v, %v", bad, err)
	}
}

func FuzzReadTable(f *testing.F) {
	f.Add([]byte("name,wheels\nx,barrel=78 centre=80\n"))
	f.Add([]byte("name\tlift_deg\n\"a\n\t4"))
	f.Fuzz(func(t *testing.T, b []byte) {
		good, _, err := ReadTable(bytes.NewReader(b))
		if err == nil && len(good) > 0 {
			var out bytes.Buffer
			if err := WriteTable(&out, good); err != nil {
				t.Fatal(err)
			}
		}
	})
}
