package position

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// ISO 3158:1976: λ by the hour that is up; crown words derived, and as in the
// trade's tables for a crown at 3 and a pendant at 12.
func TestSymbols(t *testing.T) {
	for _, c := range []struct {
		p       Position
		symbol  string
		λ, hour float64
		crown3  string
		pocket  string
	}{
		{H12, "12H", 0, 12, "crown right", "pendant up"},
		{H3, "3H", 90, 3, "crown up", "pendant left"},
		{H6, "6H", 180, 6, "crown left", "pendant down"},
		{H9, "9H", 270, 9, "crown down", "pendant right"},
		{H1x, "1H30", 45, 1.5, "crown upper right", "pendant upper left"},
		{H4x, "4H30", 135, 4.5, "crown upper left", "pendant lower left"},
		{H7x, "7H30", 225, 7.5, "crown lower left", "pendant lower right"},
		{H10x, "10H30", 315, 10.5, "crown lower right", "pendant upper right"},
	} {
		if c.p.String() != c.symbol || float64(c.p.Lambda()) != c.λ || c.p.HourUp() != c.hour {
			t.Errorf("%s: got %s, λ %v, hour %v", c.symbol, c.p, c.p.Lambda(), c.p.HourUp())
		}
		if got := c.p.Words(3); got != c.crown3 {
			t.Errorf("%s, crown at 3: got %q, want %q", c.symbol, got, c.crown3)
		}
		if got := c.p.PendantWords(12); got != c.pocket {
			t.Errorf("%s, pendant at 12: got %q, want %q", c.symbol, got, c.pocket)
		}
		if got, err := Parse(strings.ToLower(c.symbol)); err != nil || got != c.p {
			t.Errorf("parse %s: %v, %v", c.symbol, got, err)
		}
		if !c.p.Upright() || c.p.Flat() {
			t.Errorf("%s is upright", c.symbol)
		}
	}
	for p, w := range map[Position]string{CH: "dial up", FH: "dial down"} {
		if p.Words(3) != w || p.PendantWords(12) != w || !p.Flat() || !math.IsNaN(float64(p.Lambda())) {
			t.Errorf("%s: %q, flat %v, λ %v", p, p.Words(3), p.Flat(), p.Lambda())
		}
	}
}

// Derived: 30·(c − h).
func TestCrownDirection(t *testing.T) {
	for _, c := range []struct {
		crown float64
		up    Position
		want  float64
	}{
		{3, H6, -90},
		{3, H3, 0},
		{3, H9, 180},
		{3, H12, 90},
		{12, H9, 90},
		{4, H6, -60},
	} {
		if got := float64(c.up.CrownDirection(c.crown)); got != c.want {
			t.Errorf("crown at %v, %s: got %v, want %v", c.crown, c.up, got, c.want)
		}
	}
	if got := H6.Words(4); got != "crown upper left" {
		t.Errorf("crown at 4, 6 up: got %q", got)
	}
}

// The direction agrees with turning a dial on paper: the crown's angle on the
// dial, and the watch turned counter-clockwise by λ.
func TestCrownDirectionByTurning(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := Vertical(float64(rapid.IntRange(0, 23).Draw(t, "half hours")) / 2)
		crown := rapid.Float64Range(0, 12).Draw(t, "crown")
		a := (90 - 30*crown) * math.Pi / 180 // on the dial, counter-clockwise from the right
		λ := p.Lambda().Radians()
		x, y := math.Cos(a+λ), math.Sin(a+λ)
		d := p.CrownDirection(crown).Radians()
		if math.Hypot(math.Sin(d)-x, math.Cos(d)-y) > 1e-9 {
			t.Fatalf("%s, crown at %v: got %v° clockwise from up, turning gives (%v, %v)", p, crown, p.CrownDirection(crown), x, y)
		}
		if q := WithCrown(crown, p.CrownDirection(crown)); q != p {
			t.Fatalf("back from the crown: got %s, want %s", q, p)
		}
	})
}

func TestParseRoundTripsAndRefuses(t *testing.T) {
	seen := map[string]bool{}
	for p := CH; p.Valid(); p++ {
		b, err := json.Marshal(p)
		var q Position
		if err != nil || json.Unmarshal(b, &q) != nil || q != p || seen[p.String()] {
			t.Errorf("%s does not come back: %s, %v, %v", p, b, q, err)
		}
		seen[p.String()] = true
	}
	if len(seen) != 26 {
		t.Errorf("got %d positions, want 26", len(seen))
	}
	for in, want := range map[string]string{
		"DU": "write CH", "dial down": "write FH", "PU": "where the crown is",
		"13H": "unknown position", "0H": "unknown position", "3H45": "unknown position",
		"": "unknown position", "H": "unknown position", "none": "unknown position",
	} {
		if p, err := Parse(in); err == nil || p != None || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: got %v, %v, want an error with %q", in, p, err, want)
		}
	}
	if _, err := json.Marshal(None); err == nil {
		t.Error("no position must not be written")
	}
	if Vertical(math.NaN()) != None || Vertical(-3) != H9 || Vertical(24) != H12 || Vertical(1.6) != H1x {
		t.Error("Vertical counts round the dial")
	}
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{"CH", "1h30", "12H", "PU", "\xff", "99999999H"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		if p, err := Parse(s); (err == nil) != p.Valid() {
			t.Errorf("%q: %v, %v", s, p, err)
		}
	})
}
