package grade

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"beatwright/estimate"
	"beatwright/position"
	"beatwright/unit"
)

var (
	trialA = []unit.SecondsPerDay{3.1, 2.4, 1.0, 2.2, -1.5, -0.6, 4.4, 3.9, 4.8, 5.0, 6.2, 4.6, 2.9, 2.0, 1.6}
	trialB = []unit.SecondsPerDay{8.0, 5.5, -1.0, 2.5, 13.0, 7.0, 1.0, 4.0, -0.5, 1.5, 14.0, 4.0, -5.5, 9.0, 12.5}
)

func finding(t *testing.T, v Verdict, symbol string) Finding {
	t.Helper()
	for _, f := range v.Findings {
		if f.Symbol == symbol {
			return f
		}
	}
	t.Fatalf("no criterion %s in %s", symbol, v.Grade)
	return Finding{}
}

// Worked by the definitions of ISO 3159:2009; a category-1 pass, and one that
// fails category 1 and passes category 2 with V exactly on its limit.
func TestISO3159Examples(t *testing.T) {
	for _, c := range []struct {
		name     string
		days     []unit.SecondsPerDay
		category int
		want     map[string]float64
		out      string
	}{
		{"A", trialA, 1, map[string]float64{"M": 2.47, "V": 0.70, "Vmax": 1.2, "D": -2.15, "P": 3.97, "C": -0.11, "R": -1.15}, ""},
		{"B", trialB, 1, map[string]float64{"M": 4.10, "V": 3.40, "Vmax": 6.0, "D": 6.25, "P": 8.90, "C": -0.65, "R": 5.75}, "V Vmax C R"},
		{"B", trialB, 2, map[string]float64{"V": 3.40}, ""},
	} {
		v := ISO3159(c.category).Judge(Evidence{Days: Rates(c.days...)})
		var out []string
		for _, f := range v.Findings {
			if f.Standing == Outside {
				out = append(out, f.Symbol)
			} else if f.Standing != Within {
				t.Errorf("%s, category %d: %s is %s", c.name, c.category, f.Symbol, f.Standing)
			}
		}
		for symbol, want := range c.want {
			if got := finding(t, v, symbol).Value.Value; math.Abs(got-want) > 1e-9 {
				t.Errorf("%s: %s got %.12g, want %g", c.name, symbol, got, want)
			}
		}
		if strings.Join(out, " ") != c.out || (v.Standing == Within) != (c.out == "") || v.Next != nil {
			t.Errorf("%s, category %d: %s, outside %q, next %v", c.name, c.category, v.Standing, out, v.Next)
		}
	}
	a := ISO3159(1).Judge(Evidence{Days: Rates(trialA...)})
	if p := finding(t, a, "P"); p.Note != "day 5" {
		t.Errorf("greatest deviation on %q, want day 5", p.Note)
	}
	b := ISO3159(1).Judge(Evidence{Days: Rates(trialB...)})
	if got, want := finding(t, b, "Vmax").Words(), "Vmax, greatest variation in rates: 6.00\u00a0s/d, 1.00\u00a0s/d above its limit of 5\u00a0s/d (days 5 and 6)"; got != want {
		t.Errorf("got  %q\nwant %q", got, want)
	}
	if got := *finding(t, b, "R").Over; math.Abs(got-0.75) > 1e-9 {
		t.Errorf("R over by %v, want 0.75", got)
	}
}

// ISO 3159:2009, positions and temperatures of the fifteen days.
func TestISO3159Programme(t *testing.T) {
	want := []struct {
		p position.Position
		c float64
	}{
		{position.H6, 23},
		{position.H6, 23},
		{position.H3, 23},
		{position.H3, 23},
		{position.H9, 23},
		{position.H9, 23},
		{position.FH, 23},
		{position.FH, 23},
		{position.CH, 23},
		{position.CH, 23},
		{position.CH, 8},
		{position.CH, 23},
		{position.CH, 38},
		{position.H6, 23},
		{position.H6, 23},
	}
	g := ISO3159(1)
	if len(g.Programme) != len(want) {
		t.Fatalf("got %d days", len(g.Programme))
	}
	for i, s := range g.Programme {
		if s.Day != i+1 || s.Position != want[i].p || s.Temperature != want[i].c {
			t.Errorf("day %d: got %+v, want %v", i+1, s, want[i])
		}
		v := g.Judge(Evidence{Days: Rates(trialA[:i]...)})
		if v.Next == nil || v.Next.Day != i+1 || v.Standing != TooEarly {
			t.Errorf("after %d good days: next %+v, %s", i, v.Next, v.Standing)
		}
	}
	if !strings.Contains(g.Programme[9].Words(), "chronograph") {
		t.Errorf("day 10: %q", g.Programme[9].Words())
	}
}

func TestPartialTrials(t *testing.T) {
	g := ISO3159(1)
	after := func(n int, days []unit.SecondsPerDay) Verdict { return g.Judge(Evidence{Days: Rates(days[:n]...)}) }
	v := after(6, trialB) // Vmax is already 6 on days 5 and 6
	if f := finding(t, v, "Vmax"); f.Standing != Outside || v.Standing != Outside {
		t.Errorf("Vmax broken on day 6: %s, whole %s", f.Standing, v.Standing)
	}
	if f := finding(t, v, "V"); f.Standing != Outside || math.Abs(f.Value.Value-2.4) > 1e-9 { // (2.5+3.5+6)/5
		t.Errorf("V: at least 2.4 of 2: %s %v", f.Standing, f.Value)
	}
	v = after(6, trialA)
	for _, s := range []string{"M", "V", "Vmax", "D", "P", "C", "R"} {
		if f := finding(t, v, s); f.Standing != TooEarly {
			t.Errorf("%s after 6 days of A: %s", s, f.Standing)
		}
	}
	if f := finding(t, v, "M"); !strings.Contains(f.Words(), "too early to say (needs 10 days, 6 are there)") {
		t.Errorf("got %q", f.Words())
	}
	v = after(13, trialA)
	if finding(t, v, "C").Standing != Within || finding(t, v, "R").Standing != TooEarly || v.Standing != TooEarly {
		t.Errorf("after 13 days: %+v", v)
	}
}

func TestProgrammeNotKept(t *testing.T) {
	days := Rates(trialA...)
	days[2].Position = position.H9
	v := ISO3159(1).Judge(Evidence{Days: days})
	if v.Next == nil || v.Next.Day != 3 || !strings.Contains(v.Warnings[0], "day 3 lay 9H, the programme wants 3H") {
		t.Errorf("wrong position: next %v, %q", v.Next, v.Warnings)
	}
	days = Rates(trialA...)
	hot, warm := 27.0, 24.0
	days[0].Temperature, days[1].Temperature = &warm, &hot
	v = ISO3159(1).Judge(Evidence{Days: days})
	if v.Next == nil || v.Next.Day != 2 || !strings.Contains(v.Warnings[0], "27 °C") {
		t.Errorf("wrong temperature: next %v, %q", v.Next, v.Warnings)
	}
	v = ISO3159(1).Judge(Evidence{Days: Rates(append(trialA, 99)...)})
	if v.Standing != Within || len(v.Warnings) != 1 {
		t.Errorf("a sixteenth day: %s, %q", v.Standing, v.Warnings)
	}
}

// The doubt of a value that holds its limit makes it neither within nor out;
// what all days share enters M and no difference.
func TestNearLimit(t *testing.T) {
	var days []Day
	for _, r := range trialA {
		days = append(days, Day{Rate: estimate.New(float64(r), 0.1).With("clock", 4.1)})
	}
	v := ISO3159(1).Judge(Evidence{Days: days})
	if f := finding(t, v, "M"); f.Standing != NearLimit { // 2.47 ± 4.1 against +6
		t.Errorf("M: %s", f.Standing)
	}
	for _, s := range []string{"V", "Vmax", "D", "P", "C", "R"} {
		if f := finding(t, v, s); f.Standing != Within || f.Value.U95() > 0.2 {
			t.Errorf("%s: %s, ± %v", s, f.Standing, f.Value.U95())
		}
	}
	if v.Standing != NearLimit || !strings.Contains(finding(t, v, "M").Words(), "within its uncertainty of the limit") {
		t.Errorf("whole: %s, %q", v.Standing, finding(t, v, "M").Words())
	}
}

func TestCategory(t *testing.T) {
	for d, want := range map[float64]int{25.6: 1, 20.5: 1, 19.5: 2, 15: 2} {
		if got, ok := Category(d); !ok || got != want {
			t.Errorf("%v mm: got %d, %v", d, got, ok)
		}
		if got, ok := CategoryByArea(math.Pi / 4 * d * d); !ok || got != want {
			t.Errorf("area of %v mm: got %d, %v", d, got, ok)
		}
	}
	for _, d := range []float64{20, 0, -1, math.NaN()} {
		if _, ok := Category(d); ok {
			t.Errorf("%v mm: sources do not say", d)
		}
	}
}

func cards(rates ...float64) Evidence {
	e := Evidence{CrownHour: 12, Rates: map[position.Position]estimate.Estimate{}}
	for i, p := range []position.Position{position.CH, position.FH, position.H12, position.H9, position.H3} { // PU, PR, PL
		if i < len(rates) {
			e.Rates[p] = estimate.New(rates[i], 0)
		}
	}
	return e
}

// Kleinlein 1920 §66 set against the cards of his figures 16, 20, 21 and 25.
func TestKleinlein(t *testing.T) {
	for _, c := range []struct {
		name string
		e    Evidence
		want [4]Standing // three positions, finest, medium, loose
	}{
		{"16 before", cards(1, -1, 10), [4]Standing{Outside, Outside, Outside, Outside}},
		{"16 after", cards(4, 3, 7), [4]Standing{Within, TooEarly, TooEarly, TooEarly}},
		{"20 after", cards(3, 4, 1, 4, -4), [4]Standing{Within, Outside, Within, Within}},
		{"21 after", cards(2, 1, -1, -3, -5), [4]Standing{Within, Outside, Within, Within}},
		{"25 after", cards(-4, -4, -6, -7, -4), [4]Standing{Within, Within, Within, Within}},
		{"21 before", cards(8, 8, -16, 4, -5), [4]Standing{Outside, Outside, Outside, Outside}},
	} {
		for i, g := range Kleinlein() {
			if v := g.Judge(c.e); v.Standing != c.want[i] {
				t.Errorf("figure %s, %s: got %s, want %s: %+v", c.name, g.Name, v.Standing, c.want[i], v.Findings)
			}
		}
	}
	v := Kleinlein()[1].Judge(cards(4, 3, 7))
	if f := v.Findings[2]; f.Note != "no rate of 9H, 3H" {
		t.Errorf("got %q", f.Note)
	}
}

// A pendant at 3, as a wristwatch's crown: pendant up is 3 up.
func TestPlacesFollowTheCrown(t *testing.T) {
	got, err := resolve([]string{"PU", "PR", "PD", "PL", "CH"}, 3)
	want := []position.Position{position.H3, position.H12, position.H9, position.H6, position.CH}
	for i := range want {
		if err != nil || got[i] != want[i] {
			t.Fatalf("got %v, %v, want %v", got, err, want)
		}
	}
}

const own = `{"name":"this workshop","source":"our own, 2026 (invented)","criteria":[
 {"symbol":"mean","name":"mean rate","unit":"s/d","low":-2,"high":8,"of":"mean_rate"},
 {"symbol":"each","name":"fastest position","unit":"s/d","high":15,"of":"fastest_rate"},
 {"symbol":"each","name":"slowest position","unit":"s/d","low":-15,"of":"slowest_rate"},
 {"symbol":"swing","name":"least amplitude level","unit":"°","low":250,"of":"least_amplitude","places":["CH","FH"]},
 {"symbol":"swing","name":"greatest amplitude","unit":"°","high":320,"of":"most_amplitude"},
 {"symbol":"beat","name":"greatest beat error","unit":"ms","high":0.6,"of":"most_beat_error"},
 {"symbol":"fall","name":"level less upright","unit":"s/d","low":-10,"high":10,"of":"flat_less_upright"}]}`

func TestWorkshopsOwn(t *testing.T) {
	g, err := Parse(strings.NewReader(own))
	if err != nil {
		t.Fatal(err)
	}
	e := cards(3, 4, 1, 4, -4)
	e.Amplitudes = map[position.Position]estimate.Estimate{position.CH: estimate.New(240, 3), position.FH: estimate.New(262, 3), position.H3: estimate.New(200, 3)}
	e.BeatErrors = map[position.Position]estimate.Estimate{position.CH: estimate.New(0.58, 0.05)}
	v := g.Judge(e)
	want := []Standing{Within, Within, Within, Outside, Within, NearLimit, Within}
	for i, f := range v.Findings {
		if f.Standing != want[i] {
			t.Errorf("%s: got %s, want %s", f.Words(), f.Standing, want[i])
		}
	}
	if w := v.Findings[3].Words(); !strings.Contains(w, "10° below its limit of 250° (CH)") {
		t.Errorf("got %q", w)
	}
	b, err := json.Marshal(v)
	if err != nil || !strings.Contains(string(b), `"standing":"outside","over":10,"note":"CH","value":{"value":240,"u95":3}`) {
		t.Errorf("%s, %v", b, err)
	}
}

func TestParseRefuses(t *testing.T) {
	one := func(s string) string {
		return `{"name":"n","source":"s","criteria":[{"symbol":"x","name":"x","unit":"s/d",` + s + `}]}`
	}
	for in, want := range map[string]string{
		``:                                    "read grade",
		`{"name":"n"}`:                        "source",
		`{"name":"n","source":"s"}`:           "no criteria",
		`{"limits":3}`:                        "unknown field",
		one(`"of":"wishes","low":1`):          "no such quantity",
		one(`"of":"spread"`):                  "no limit",
		one(`"of":"spread","low":5,"high":1`): "above the high",
		one(`"of":"spread","high":1,"places":["XX"]`): "unknown position",
	} {
		if _, err := Parse(strings.NewReader(in)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: got %v, want %q", in, err, want)
		}
	}
	for _, g := range append(Kleinlein(), ISO3159(1), ISO3159(2)) {
		if err := g.Check(); err != nil {
			t.Errorf("%s: %v", g.Name, err)
		}
	}
}

func FuzzParse(f *testing.F) {
	f.Add(own)
	f.Fuzz(func(t *testing.T, s string) {
		if g, err := Parse(strings.NewReader(s)); err == nil {
			g.Judge(cards(1, 2, 3, 4, 5))
			g.Judge(Evidence{Days: Rates(trialA...)})
		}
	})
}

// ISO 3159:2009: category 1 from four independent secondary sources, category
// 2 from one.
func TestISO3159Limits(t *testing.T) {
	none := math.Inf(1)
	for category, want := range map[int][]float64{ // low, high of M, V, Vmax, D, P, C, R
		1: {-4, 6, -none, 2, -none, 5, -6, 8, -none, 10, -0.6, 0.6, -5, 5},
		2: {-5, 8, -none, 3.4, -none, 7, -8, 10, -none, 15, -0.7, 0.7, -6, 6},
	} {
		for i, c := range ISO3159(category).Criteria {
			low, high := -none, none
			if c.Low != nil {
				low = *c.Low
			}
			if c.High != nil {
				high = *c.High
			}
			if low != want[2*i] || high != want[2*i+1] {
				t.Errorf("category %d, %s: got %v to %v, want %v to %v", category, c.Symbol, low, high, want[2*i], want[2*i+1])
			}
		}
	}
}
