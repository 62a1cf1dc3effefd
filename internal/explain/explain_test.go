package explain

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"beatwright/balance"
	"beatwright/movement"
	"beatwright/position"
	"beatwright/unit"
)

const header = "position,hours_since_full_wind,chronograph,rate_s_per_day,beat_error_ms,amplitude_deg\n"

// answer is the part of the JSON object that the tests look at.
type answer struct {
	Table []struct {
		Position  string
		Hours     *float64 `json:"hours_since_full_wind"`
		Rate      *num     `json:"rate_s_per_day"`
		Amplitude *num     `json:"amplitude_deg"`
		Beat      *num     `json:"beat_error_ms"`
	}
	Summary struct {
		Mean   *num `json:"mean_rate_s_per_day"`
		Spread *num `json:"spread_s_per_day"`
		Flat   *num `json:"horizontal_minus_vertical_rate_s_per_day"`
		Drop   *num `json:"horizontal_minus_vertical_amplitude_deg"`
		Chrono *num `json:"chronograph_amplitude_drop_deg"`
	}
	Poise struct {
		Standing string
		Heavy    *num `json:"heavy_point_deg"`
		Ratio    *num `json:"moment_ratio"`
		Size     *num `json:"unbalance_ug_mm"`
		Why      string
	}
	Grades   []struct{ Name, Source, Standing string }
	Warnings []string
}

type num struct {
	Value       float64
	U95         float64
	Statistical float64 `json:"u95_statistical"`
	WithLift    float64 `json:"u95_with_lift"`
	Clear       bool
	Degrees     *num
	Standing    string
}

func explained(t *testing.T, csv string, o Options) answer {
	t.Helper()
	o.JSON, o.Name = true, "r.csv"
	var b bytes.Buffer
	if err := Run(&b, strings.NewReader(csv), o); err != nil {
		t.Fatal(err)
	}
	var a answer
	if err := json.Unmarshal(b.Bytes(), &a); err != nil {
		t.Fatal(err)
	}
	if strings.Count(b.String(), "\n") != 1 {
		t.Error("one object on one line")
	}
	return a
}

func text(t *testing.T, csv string, o Options) string {
	t.Helper()
	var b bytes.Buffer
	if err := Run(&b, strings.NewReader(csv), o); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func is(t *testing.T, what string, got *num, value, u95 float64) {
	t.Helper()
	if got == nil || math.Abs(got.Value-value) > 1e-6 || math.Abs(got.U95-u95) > 1e-3 {
		t.Errorf("%s: got %+v, want %g ± %g", what, got, value, u95)
	}
}

func movementFile(t *testing.T, s string) *movement.Movement {
	t.Helper()
	m, _, err := movement.Read(strings.NewReader(s))
	if err != nil {
		t.Fatal(err)
	}
	return &m
}

// Worked by hand. 4.104 s/d is a sound card's 47.5 ppm; it is in the mean, not
// in the differences.
func TestSmallSpreadResolvedOnUncalibratedCard(t *testing.T) {
	a := explained(t, "position,rate_s_per_day,amplitude_deg,rate_u95\nCH,5,280,0.3\nFH,5,280,0.3\n6H,7,250,0.3\n3H,6,250,0.3\n", Options{})
	is(t, "mean", a.Summary.Mean, 5.75, math.Hypot(0.15, 4.104))
	is(t, "spread", a.Summary.Spread, 2, 0.3*math.Sqrt2)
	is(t, "level less upright", a.Summary.Flat, -1.5, 0.3)
	is(t, "drop", a.Summary.Drop, 30, 3)
	if !a.Summary.Spread.Clear || a.Summary.Mean.Statistical != 0.15 {
		t.Errorf("spread %+v, mean %+v", a.Summary.Spread, a.Summary.Mean)
	}
	ppm := unit.PPM(1)
	is(t, "mean, calibrated", explained(t, "position,rate_s_per_day,rate_u95\nCH,5,0.3\nFH,5,0.3\n", Options{ClockU95: &ppm}).Summary.Mean,
		5, math.Hypot(0.3/math.Sqrt2, 0.0864))
}

// wavy makes a round from the formula that package balance holds against the
// equation of motion.
func wavy(heavy, ratio, hours float64, swing float64) string {
	var b strings.Builder
	for _, p := range append([]position.Position{position.CH, position.FH}, position.EightVertical...) {
		rate := 5.0
		if p.Upright() {
			rate += float64(balance.PoiseRate(balance.MomentRatio(ratio), unit.Degrees(heavy)-p.Lambda()-180, unit.Degrees(swing)))
		}
		fmt.Fprintf(&b, "%s,%g,none,%.4f,0.3,%g\n", p, hours, rate, swing)
	}
	return b.String()
}

const knownMovement = `{"beats_per_hour":28800,"lift_deg":52,"lift_u95_deg":0.5,"lift_standing":"published","inertia_mg_cm2":12,"crown_hour":3}`

func TestHeavyPoint(t *testing.T) {
	ratio := float64(balance.Unbalance(40).MomentRatio(balance.MilligramsSquareCentimetre(12), 28800))
	for _, swing := range []float64{150, 285} {
		a := explained(t, header+wavy(200, ratio, 0, swing), Options{Movement: movementFile(t, knownMovement)})
		p := a.Poise
		if p.Standing != "measured" || math.Abs(p.Heavy.Value-200) > 0.1 || math.Abs(p.Ratio.Value/ratio-1) > 1e-3 || math.Abs(p.Size.Value-40) > 0.1 || p.Size.U95 <= 0 {
			t.Errorf("at %v°: %s %+v %+v %+v", swing, p.Standing, p.Heavy, p.Ratio, p.Size)
		}
	}
	words := text(t, header+wavy(200, ratio, 0, 285)+wavy(200, ratio, 24, 150), Options{Movement: movementFile(t, knownMovement)})
	for _, want := range []string{"Heavy towards 6:30 o'clock", "towards 5:30 o'clock from the balance-cock side, 6:30 o'clock from the roller side", "µg·mm", "No pull of the hairspring's own"} {
		if !strings.Contains(words, want) {
			t.Errorf("no %q in:\n%s", want, words)
		}
	}
}

func TestChronographAndBeatAngle(t *testing.T) {
	a := explained(t, header+"CH,0,off,5,1.0,270\nFH,0,off,5,1.0,270\nCH,0,on,6,1.0,240\nFH,0,on,6,1.0,244\n",
		Options{Movement: movementFile(t, `{"beats_per_hour":18000,"lift_deg":50,"lift_u95_deg":1}`)})
	// Own doubt 3·√2/√2; the lift's 2 % of 28° is in u95_with_lift.
	is(t, "drop", a.Summary.Chrono, 28, 3)
	if w := a.Summary.Chrono.WithLift; math.Abs(w-math.Hypot(3, 0.56)) > 1e-6 {
		t.Errorf("with lift: %v", w)
	}
	// 1 ms at 18 000 and 270° is 2.1206° (derived); its doubt 0.1 of it and
	// the swing's (3² + 5.4²)^½/270 of it.
	is(t, "degrees", a.Table[0].Beat.Degrees, 2.120553, 2.120553*math.Sqrt(0.01+(9+5.4*5.4)/270/270))
	if explained(t, header+"CH,0,off,5,1.0,270\n", Options{}).Table[0].Beat.Degrees != nil {
		t.Error("no degrees without a beat rate")
	}
}

// Each bad row is named by line and column.
func TestBadRows(t *testing.T) {
	for _, c := range []struct {
		name, in     string
		line, column int
		want         string
	}{
		{"unknown position", header + "CH,0,off,1,1,270\n13H,0,off,1,1,270\n", 3, 1, `unknown position "13H"`},
		{"trade word", header + "DU,0,off,1,1,270\n", 2, 1, "for dial up write CH"},
		{"rate of 10⁹", header + "CH,0,off,1e9,1,270\n", 2, 4, "out of reach"},
		{"rate not a number", header + "CH,0,off,fast,1,270\n", 2, 4, `"fast" is not a number`},
		{"NaN", header + "CH,0,off,NaN,1,270\n", 2, 4, "not a number"},
		{"infinite", header + "CH,0,off,1e999,1,270\n", 2, 4, "not a number"},
		{"amplitude", header + "CH,0,off,1,1,999\n", 2, 6, "out of reach"},
		{"negative beat error", header + "CH,0,off,1,-1,270\n", 2, 5, "out of reach"},
		{"chronograph", header + "CH,0,maybe,1,1,270\n", 2, 3, "none of on, off, none"},
		{"no position", header + ",0,off,1,1,270\n", 2, 1, "no position"},
		{"too many cells", header + "CH,0,off,1,5,1,270\n", 2, 7, "decimal comma"},
		{"cased", "position,cased\nCH,perhaps\n", 2, 2, "neither yes nor no"},
		{"zero doubt", "position,rate_s_per_day,rate_u95\nCH,1,0\n", 2, 3, "out of reach"},
		{"quoted", "position,stage\n\"CH\"x,a\n", 2, 4, "quote"},
		{"no position column", "rate_s_per_day\n5\n", 1, 0, `no column "position"`},
		{"column twice", "position,stage,stage\nCH,a,b\n", 1, 3, "twice"},
		{"empty", "", 1, 0, "empty"},
		{"only names", header, 2, 0, "no readings"},
		{"control character", "position,stage\nCH,a\x1b[2J\n", 2, 2, "plain text"},
	} {
		var b bytes.Buffer
		err := Run(&b, strings.NewReader(c.in), Options{Name: "r.csv"})
		var bad *BadInput
		if !errors.As(err, &bad) || bad.Line != c.line || bad.Column != c.column || !strings.Contains(err.Error(), c.want) || b.Len() > 0 {
			t.Errorf("%s: got %v, want line %d, column %d, %q", c.name, err, c.line, c.column, c.want)
		}
	}
	err := Run(&bytes.Buffer{}, strings.NewReader(header+"CH,0,off,1e9,1,270\n"), Options{Name: "r.csv"})
	if got := err.Error(); !strings.HasPrefix(got, "r.csv, line 2, column 4 (rate_s_per_day): 1e9 is out of reach") {
		t.Errorf("got %q", got)
	}
}

func TestWaysToWriteATable(t *testing.T) {
	want := explained(t, "position,rate_s_per_day,amplitude_deg\nCH,-5.5,280\n6H,7,250\n", Options{})
	for name, in := range map[string]string{
		"semicolons and decimal commas": "position;rate_s_per_day;amplitude_deg\nCH;-5,5;280\n6H;7;250\n",
		"tabs, CRLF and a mark":         "\ufeffPosition\tRATE_S_PER_DAY\tamplitude_deg\r\nch\t−5.5\t280\r\n6h\t7\t250\r\n",
		"short rows, blank lines":       "position,rate_s_per_day,amplitude_deg,stage\n\nCH, -5.5,280\n,,,\n6H,+7,250\n",
	} {
		got := explained(t, in, Options{})
		if len(got.Table) != 2 || *got.Table[0].Rate != *want.Table[0].Rate || *got.Table[1].Amplitude != *want.Table[1].Amplitude {
			t.Errorf("%s: got %+v", name, got.Table)
		}
	}
	a := explained(t, "position,colour\nCH,red\n", Options{})
	if a.Table[0].Rate != nil || a.Table[0].Amplitude != nil || !strings.Contains(strings.Join(a.Warnings, "\n"), `column 2 ("colour") is not known`) {
		t.Errorf("missing cells are allowed: %+v, %q", a.Table[0], a.Warnings)
	}
}

func TestSmallAndOddTables(t *testing.T) {
	for _, c := range []struct{ name, in, want string }{
		{"two positions", header + "CH,0,off,5,1,280\n6H,0,off,9,1,250\n", "four or eight for certainty; there are 1."},
		{"two positions, note", header + "CH,0,off,5,1,280\n6H,0,off,9,1,250\n", "2 positions with a rate: little is told"},
		{"duplicate", header + "CH,0,off,5,1,280\nCH,0,off,5.2,1,281\n", "CH was heard 2 times (full wind, chronograph idle): taken together"},
		{"no amplitudes", header + "CH,0,off,5,1,\n6H,0,off,9,1,\n3H,0,off,9,1,\n9H,0,off,9,1,\n", "no measured amplitude of 4 positions out of 4"},
		{"contradiction", header + "CH,0,off,5,1,210\nCH,0,off,5,1,290\n", "another reading says 290°"},
		{"defaults", header + "CH,0,off,5,1,280\n", "no rate_u95 for 1 of 1 readings: ± 1 s/d is taken"},
		{"none", header + "CH,0,off,5,1,280\nFH,0,off,5.5,1,280\n", "none (−0.5 ± 1.4"},
		{"spread by chance", header + "CH,0,off,5,1,280\nFH,0,off,5.5,1,280\n", "no more than their doubt alone"},
		{"a bound", "position,rate_s_per_day,amplitude_deg,amplitude_standing\nCH,5,124,at_most\n", "at most 124°"},
		{"stages", "position,rate_s_per_day,stage\nCH,5,as found\nFH,5,as found\nCH,2,as left\nFH,2,as left\n", "From as found to as left"},
		{"unlike", header + "CH,0,off,5,1,280\nCH,24,on,5,1,240\n", "More than one thing differs"},
	} {
		got := strings.ReplaceAll(text(t, c.in, Options{Name: "r.csv"}), "\u00a0", " ")
		if !strings.Contains(got, c.want) {
			t.Errorf("%s: no %q in:\n%s", c.name, c.want, got)
		}
	}
	a := explained(t, header+"CH,0,off,5,1,280\n6H,0,off,9,1,250\n", Options{})
	if a.Poise.Standing != "not_resolved" || a.Poise.Heavy != nil || a.Poise.Why == "" || len(a.Grades) != 4 || a.Grades[0].Source == "" {
		t.Errorf("two positions: %+v, %+v", a.Poise, a.Grades)
	}
}

// Whatever is read, the answer is an object or an error with a place, never a
// panic nor a number that JSON cannot hold.
func FuzzRun(f *testing.F) {
	f.Add(header + "CH,0,off,5,1,280\n6H,0,off,9,1,250\n3H,0,off,9,1,220\n9H,24,on,2,0,219.54\n")
	f.Add(header + wavy(200, 1e-3, 0, 150) + wavy(200, 1e-3, 24, 285))
	f.Add("position;rate_s_per_day;rate_u95\n12H;-86400;1e-6\n3H;86400;1e-6\n6H;0;86400\n9H;1;1\n")
	f.Add("position,amplitude_deg,rate_s_per_day,amplitude_u95\n12H,1,0,360\n3H,360,5,360\n6H,1,1,360\n")
	f.Add("\"")
	m := &movement.Movement{}
	f.Fuzz(func(t *testing.T, in string) {
		for _, asJSON := range []bool{true, false} {
			err := Run(&bytes.Buffer{}, strings.NewReader(in), Options{JSON: asJSON, Movement: m})
			var bad *BadInput
			if err != nil && !errors.As(err, &bad) {
				t.Errorf("%q: %v", in, err)
			}
		}
	})
}
