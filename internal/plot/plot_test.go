package plot

import (
	"encoding/xml"
	"errors"
	"flag"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"beatwright/unit"
)

var update = flag.Bool("update", false, "write the golden pictures anew")

// invented is a drift of +20 s/d, a beat every half second.
func invented() Drift {
	d := Drift{Rate: 20, U95: 2, Known: true, BeatError: 1}
	for i := range 60 {
		d.Beats = append(d.Beats, Beat{
			At: unit.Seconds(i) / 2, First: i%2 == 0,
			Late: unit.Milliseconds(0.2 * math.Sin(float64(i))), LeftOut: i == 20,
		})
	}
	return d
}

func svg(t *testing.T, d Drift) string {
	t.Helper()
	p, err := d.Picture()
	if err != nil {
		t.Fatal(err)
	}
	return drawn(t, p)
}

func TestDriftPicture(t *testing.T) { golden(t, "drift.svg", svg(t, invented())) }

// golden holds a picture to the one in testdata, and to XML.
func golden(t *testing.T, name, got string) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if got != string(want) {
		t.Errorf("the picture differs from %s; look at it, then go test ./internal/plot -update", path)
	}
	for d := xml.NewDecoder(strings.NewReader(got)); ; {
		if _, err := d.Token(); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			t.Fatalf("the picture is no XML: %v", err)
		}
	}
}

// TestDriftSides: the sides' lines lie the beat error apart, the late one lower.
func TestDriftSides(t *testing.T) {
	for _, e := range []unit.Milliseconds{2, -2} {
		g, err := (Drift{BeatError: e, Beats: []Beat{{At: 0, First: true}, {At: 1}, {At: 2, First: true}}}).graph()
		if err != nil {
			t.Fatal(err)
		}
		if late := g.second[0].Y - g.first[0].Y; math.Abs(late-float64(e)) > 1e-9 {
			t.Errorf("first beats lie %v ms below the second, want %v", late, e)
		}
	}
}

// TestDriftSlope: 86.4 s/d are a millisecond a second (86 400 s in a day), and
// a late beat lies lower.
func TestDriftSlope(t *testing.T) {
	d := Drift{Rate: 86.4, Known: true, Beats: []Beat{
		{At: 0, First: true},
		{At: 10, First: true},
		{At: 20, First: true, Late: 3},
	}}
	g, err := d.graph()
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []Point{{0, 0}, {10, 10}, {20, 17}} {
		if q := g.first[i]; math.Abs(q.X-want.X) > 1e-9 || math.Abs(q.Y-want.Y) > 1e-9 {
			t.Errorf("point %d is %v, want %v", i, q, want)
		}
	}
}

func TestDriftOfNothing(t *testing.T) {
	for _, beats := range [][]Beat{nil, {{At: 1}}, {{At: unit.Seconds(math.NaN())}, {At: 1, LeftOut: true}, {At: 2}}} {
		if _, err := (Drift{Beats: beats}).Picture(); !errors.Is(err, ErrNothing) {
			t.Errorf("Picture of %v: error %v, want ErrNothing", beats, err)
		}
	}
}

func TestLongDriftsAreThinned(t *testing.T) {
	d := invented()
	for i := range 50000 {
		d.Beats = append(d.Beats, Beat{At: unit.Seconds(30 + i), First: i%2 == 0})
	}
	if n := len(svg(t, d)); n > 400000 {
		t.Errorf("picture of a long drift is %d bytes", n)
	}
}

func TestNamesAreEscaped(t *testing.T) {
	if got := drawn(t, Head("<script>&.wav")); strings.Contains(got, "<script>") {
		t.Error("the name came through as markup")
	}
}

func TestSteps(t *testing.T) {
	tests := []struct {
		low, high float64
		first     float64
		n, places int
	}{
		{0, 30, 0, 7, 0},
		{-0.31, 0.29, -0.3, 6, 1},
		{0.4, 3600, 500, 7, 0},
		{5, 5, 0, 0, 0},
	}
	for _, tt := range tests {
		got, places := axis{low: tt.low, high: tt.high}.steps(8)
		if len(got) != tt.n || places != tt.places || tt.n > 0 && math.Abs(got[0]-tt.first) > 1e-9 {
			t.Errorf("steps from %v to %v are %v with %d places; want %d from %v with %d", tt.low, tt.high, got, places, tt.n, tt.first, tt.places)
		}
	}
}
