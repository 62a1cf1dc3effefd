package round

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"beatwright/estimate"
	"beatwright/position"

	"pgregory.net/rapid"
)

func near(t *testing.T, what string, got *estimate.Estimate, want, u95 float64) {
	t.Helper()
	if got == nil {
		t.Errorf("%s: got nothing, want %g ± %g", what, want, u95)
		return
	}
	if math.Abs(got.Value-want) > 1e-9 || math.Abs(got.U95()-u95) > 1e-9 {
		t.Errorf("%s: got %.8g ± %.8g, want %g ± %g", what, got.Value, got.U95(), want, u95)
	}
}

func ptr[T any](v T) *T { return &v }

const clock95 = 4.104 // ± 47.5 ppm in s/d

// heard is a reading on an uncalibrated device (clock ± 4.1 s/d) with an
// assumed lift of 52 ± 4°.
func heard(p position.Position, rate, own, swing float64) Reading {
	return Reading{
		Position:  p,
		State:     State{Hours: ptr(0.0), Chronograph: Off},
		Rate:      ptr(estimate.New(rate, own).With("clock", clock95)),
		Amplitude: ptr(estimate.New(swing, 3).With("lift", swing*4/52)),
		Standing:  Measured,
	}
}

func at(r Reading, hours float64, c Chronograph) Reading {
	r.State.Hours, r.State.Chronograph = ptr(hours), c
	return r
}

func sixPositions() []Reading {
	return []Reading{
		heard(position.CH, 6, 0.3, 280), heard(position.FH, 5, 0.3, 276),
		heard(position.H12, 4, 0.3, 250), heard(position.H3, 7, 0.3, 254),
		heard(position.H6, 6, 0.3, 252), heard(position.H9, 3, 0.3, 248),
	}
}

// Worked by hand: doubt of a mean of n is own/√n and the clock once; of a
// difference the clock not at all, the lift by the difference alone.
func TestSummary(t *testing.T) {
	tab := NewTable(sixPositions())
	if len(tab.Rounds) != 1 || len(tab.Warnings) != 0 {
		t.Fatalf("got %d rounds, %q", len(tab.Rounds), tab.Warnings)
	}
	s := tab.Main().Summary()
	near(t, "mean", s.MeanRate, 31.0/6, math.Hypot(0.3/math.Sqrt(6), clock95))
	near(t, "mean amplitude", s.MeanAmplitude, 260, math.Hypot(3/math.Sqrt(6), 20))
	near(t, "flat less upright", s.FlatLessUprightRate, 0.5, math.Sqrt(0.09/2+0.09/4))
	near(t, "drop", s.FlatLessUprightAmplitude, 27, math.Sqrt(9.0/2+9.0/4+math.Pow(27*4.0/52, 2)))
	near(t, "dial up less dial down", s.UpLessDownRate, 1, 0.3*math.Sqrt2)
	near(t, "its swing", s.UpLessDownAmplitude, 4, math.Sqrt(18+math.Pow(4*4.0/52, 2)))
	if s.Positions != 6 || s.Spread.Fastest != position.H3 || s.Spread.Slowest != position.H9 {
		t.Errorf("got %+v", s)
	}
}

// Two seconds a day between positions are told on a card whose clock is in
// doubt by four.
func TestSmallSpreadOnUncalibratedCard(t *testing.T) {
	rs := []Reading{heard(position.CH, 11, 0.3, 280), heard(position.FH, 12, 0.3, 280), heard(position.H6, 13, 0.3, 250)}
	s := NewTable(rs).Main().Summary()
	near(t, "spread", &s.Spread.Estimate, 2, 0.3*math.Sqrt2)
	if !s.Spread.Clear() || s.MeanRate.U95() < clock95 {
		t.Errorf("spread clear %v, mean ± %v", s.Spread.Clear(), s.MeanRate.U95())
	}
}

// Positions that do not differ are called different in one round of twenty.
func TestSpreadByChance(t *testing.T) {
	r, clear, n := rand.New(rand.NewPCG(9, 9)), 0, 2000
	for range n {
		var rs []Reading
		for _, p := range position.Six {
			rs = append(rs, heard(p, 5+r.NormFloat64()*0.5/1.96, 0.5, 270))
		}
		if NewTable(rs).Main().Summary().Spread.Clear() {
			clear++
		}
	}
	if clear < n*35/1000 || clear > n*65/1000 {
		t.Errorf("a spread was claimed in %d of %d rounds of alike positions", clear, n)
	}
}

func TestRoundsAndChanges(t *testing.T) {
	var rs []Reading
	for _, r := range sixPositions() {
		late, running := r, r
		late.Rate, late.Amplitude = ptr(r.Rate.Add(estimate.New(-4, 0))), ptr(r.Amplitude.Add(estimate.New(-40, 0)))
		running.Rate, running.Amplitude = ptr(r.Rate.Add(estimate.New(2, 0))), ptr(r.Amplitude.Add(estimate.New(-30, 0)))
		rs = append(rs, r, at(late, 24, Off), at(running, 0.5, On))
	}
	tab := NewTable(rs)
	if len(tab.Rounds) != 3 || hours(tab.Main().State) != 0 || tab.Main().State.Chronograph == On {
		t.Fatalf("got %d rounds, main %+v", len(tab.Rounds), tab.Main().State)
	}
	down := tab.RunDown("")
	near(t, "run down", down.Rate, -4, 0.3*math.Sqrt2/math.Sqrt(6))
	near(t, "level", down.Flat, -4, 0.3)
	if down.Amplitude.Value != -40 || len(down.Positions) != 6 || len(down.Unlike) != 1 || !strings.Contains(down.Unlike[0], "24 h") {
		t.Errorf("run down: %+v", down)
	}
	run := tab.Running("")
	near(t, "running", run.Rate, 2, 0.3*math.Sqrt2/math.Sqrt(6))
	if run.Amplitude.Value != -30 || !slices.Equal(run.Unlike, []string{"chronograph off against on"}) {
		t.Errorf("running: %+v", run)
	}
	if one := NewTable(sixPositions()); one.RunDown("") != nil || one.Running("") != nil {
		t.Error("one round shows no change")
	}
}

// The last stage is the one summed up; others stay rounds of their own.
func TestStages(t *testing.T) {
	var rs []Reading
	for _, stage := range []string{"as found", "as left"} {
		for _, r := range sixPositions() {
			r.State.Stage = stage
			if stage == "as left" {
				r.Rate = ptr(r.Rate.Add(estimate.New(-3, 0)))
			}
			rs = append(rs, r)
		}
	}
	tab := NewTable(rs)
	if tab.Main().State.Stage != "as left" || len(tab.Rounds) != 2 {
		t.Fatalf("main is %q of %d", tab.Main().State.Stage, len(tab.Rounds))
	}
	d := Compare(rs[6], rs[0])
	if len(d.Unlike) != 1 || d.Unlike[0] != "as left against as found" {
		t.Errorf("unlike: %q", d.Unlike)
	}
	near(t, "as left less as found", d.Rate, -3, 0.3*math.Sqrt2)
}

func TestUnlike(t *testing.T) {
	a := State{Hours: ptr(0.0), Chronograph: On, Stage: "as found", Cased: ptr(true), Temperature: ptr(23.0)}
	b := State{Hours: ptr(24.0), Chronograph: Bare, Stage: "as left", Cased: ptr(false), Temperature: ptr(8.0)}
	want := []string{"as found against as left", "0 h after full wind against 24 h", "chronograph on against none", "cased against out of its case", "23 °C against 8 °C"}
	if got := Unlike(a, b); !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
	if got := Unlike(a, State{}); got != nil {
		t.Errorf("what is not stated does not differ: %q", got)
	}
	if got := Unlike(State{Chronograph: Off}, State{Chronograph: Bare}); got != nil {
		t.Errorf("idle is idle: %q", got)
	}
}

func TestContradictedAmplitudes(t *testing.T) {
	bound := heard(position.H3, 7, 0.3, 160)
	bound.Standing = AtMost
	for _, c := range []struct {
		name    string
		rs      []Reading
		marked  []bool
		because string
	}{
		{"twice, far apart", []Reading{heard(position.H3, 7, 0.3, 205), heard(position.H3, 7, 0.3, 290)}, []bool{true, true}, "another reading says"},
		{"twice, alike", []Reading{heard(position.H3, 7, 0.3, 250), heard(position.H3, 7, 0.3, 252)}, []bool{false, false}, ""},
		{"above a bound", []Reading{heard(position.H3, 7, 0.3, 290), bound}, []bool{true, false}, "at most 160°"},
		{"below a bound", []Reading{heard(position.H3, 7, 0.3, 150), bound}, []bool{false, false}, ""},
		{"more when run down", []Reading{heard(position.H3, 7, 0.3, 200), at(heard(position.H3, 7, 0.3, 290), 24, Off)}, []bool{false, true}, "with more power"},
		{"less when run down", []Reading{heard(position.H3, 7, 0.3, 290), at(heard(position.H3, 7, 0.3, 200), 24, Off)}, []bool{false, false}, ""},
		{"more when running", []Reading{at(heard(position.H3, 7, 0.3, 290), 0, On), heard(position.H3, 7, 0.3, 200)}, []bool{true, false}, "with more power"},
		{"other position", []Reading{heard(position.H3, 7, 0.3, 200), heard(position.H6, 7, 0.3, 290)}, []bool{false, false}, ""},
	} {
		tab := NewTable(c.rs)
		for i, r := range tab.Readings {
			if (r.Contradicted != "") != c.marked[i] || c.marked[i] && (!strings.Contains(r.Contradicted, c.because) || r.Swing() != nil) {
				t.Errorf("%s: reading %d contradicted %q, swing %v", c.name, i, r.Contradicted, r.Swing())
			}
		}
	}
	tab := NewTable([]Reading{heard(position.CH, 5, 1, 280), heard(position.H3, 7, 0.3, 205), heard(position.H3, 7, 0.3, 290)})
	near(t, "mean without them", tab.Main().Summary().MeanAmplitude, 280, math.Hypot(3, 280*4.0/52))
}

func TestHoursTheWrongWayRound(t *testing.T) {
	var rs []Reading
	for _, r := range sixPositions() {
		more := r
		more.Amplitude = ptr(r.Amplitude.Add(estimate.New(60, 0)))
		rs = append(rs, r, at(more, 24, Off))
	}
	tab := NewTable(rs)
	if len(tab.Warnings) != 1 || !strings.Contains(tab.Warnings[0], "are the hours since full wind right?") || tab.Readings[1].Contradicted != "" {
		t.Errorf("got %q, %q", tab.Warnings, tab.Readings[1].Contradicted)
	}
}

func TestRepeatedReadings(t *testing.T) {
	tab := NewTable([]Reading{heard(position.H3, 6, 0.3, 250), heard(position.H3, 6.2, 0.3, 252), heard(position.CH, 5, 0.3, 280)})
	r := tab.Main().At(position.H3)
	near(t, "rate of two", r.Rate, 6.1, math.Hypot(0.3/math.Sqrt2, clock95))
	if len(tab.Main().Readings) != 2 || !strings.Contains(tab.Warnings[0], "heard 2 times") || strings.Contains(tab.Warnings[0], "did not repeat") {
		t.Errorf("got %q", tab.Warnings)
	}
	tab = NewTable([]Reading{heard(position.H3, 6, 0.3, 250), heard(position.H3, 16, 0.3, 252)})
	if r := tab.Main().At(position.H3); r.Rate.Own < 5 || !strings.Contains(tab.Warnings[0], "did not repeat") {
		t.Errorf("10 s/d apart: %+v, %q", r.Rate, tab.Warnings)
	}
}

func TestLittleIsKnown(t *testing.T) {
	if tab := NewTable(nil); tab.Main() != nil || tab.RunDown("") != nil {
		t.Error("no readings, no rounds")
	}
	s := NewTable([]Reading{{Position: position.CH}, {Position: position.H6, Rate: ptr(estimate.New(3, 1))}}).Main().Summary()
	if s.Spread != nil || s.MeanAmplitude != nil || s.FlatLessUprightRate != nil || s.UpLessDownRate != nil || s.Positions != 1 {
		t.Errorf("got %+v", s)
	}
	near(t, "mean of one", s.MeanRate, 3, 1)
}

// Moving all rates alike moves the mean and no difference; the order of the
// readings does not matter.
func TestSummaryInvariants(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		shift := rapid.Float64Range(-50, 50).Draw(t, "shift")
		rs := sixPositions()
		for i := range rs {
			rs[i].Rate = ptr(estimate.New(rapid.Float64Range(-60, 60).Draw(t, "rate"), 0.3))
		}
		moved := rapid.Permutation(rs).Draw(t, "order")
		for i := range moved {
			moved[i].Rate = ptr(moved[i].Rate.Add(estimate.New(shift, 0)))
		}
		a, b := NewTable(rs).Main().Summary(), NewTable(moved).Main().Summary()
		for what, d := range map[string]float64{
			"mean":   b.MeanRate.Value - a.MeanRate.Value - shift,
			"spread": b.Spread.Value - a.Spread.Value,
			"flat":   b.FlatLessUprightRate.Value - a.FlatLessUprightRate.Value,
		} {
			if math.Abs(d) > 1e-9 {
				t.Fatalf("%s changed by %v", what, d)
			}
		}
	})
}
