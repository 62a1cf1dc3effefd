package plot

import (
	"math"
	"strings"
	"testing"

	"beatwright/balance"
	"beatwright/estimate"
	"beatwright/poise"
	"beatwright/position"
	"beatwright/round"
	"beatwright/unit"
)

// spots are the large dots of a picture.
func spots(p *Picture, pen Pen) []Point {
	var out []Point
	for _, m := range p.marks {
		if m.kind == "dots" && m.pen == pen && m.size == spotSize {
			out = append(out, m.points...)
		}
	}
	return out
}

func near(t *testing.T, what string, got, want Point) {
	t.Helper()
	if math.Hypot(got.X-want.X, got.Y-want.Y) > 0.01 {
		t.Errorf("%s is at %v, want %v", what, got, want)
	}
}

// TestCurvePlaces: hours stand evenly from 12 to 12, the 12 at both ends, level
// positions apart, and a rate of 0 on the line of 0.
func TestCurvePlaces(t *testing.T) {
	c := Curve{States: []State{{Left: true, Points: []Rate{
		{position.H12, estimate.New(0, 1)},
		{position.Vertical(1.5), estimate.New(10, 1)},
		{position.H6, estimate.New(-10, 1)},
		{position.CH, estimate.New(0, 1)},
	}}}}
	got := spots(c.Picture(), Ink)
	if len(got) != 5 {
		t.Fatalf("%d points, want 5", len(got))
	}
	zero := c.scale(curveFoot, curveTop).at(0)
	near(t, "12H at the left", got[0], Point{hoursFrom, zero})
	near(t, "12H at the right", got[1], Point{hoursTo, zero})
	if want := hoursFrom + (hoursTo-hoursFrom)/8; math.Abs(got[2].X-want) > 0.01 || got[2].Y >= zero {
		t.Errorf("1H30, fast, is at %v, want above %v at %v", got[2], zero, want)
	}
	if want := (hoursFrom + hoursTo) / 2; math.Abs(got[3].X-want) > 0.01 || got[3].Y <= zero {
		t.Errorf("6H, slow, is at %v, want below %v at %v", got[3], zero, want)
	}
	if got[4].X <= hoursTo {
		t.Errorf("CH stands among the hours, at %v", got[4])
	}
}

// TestWaveGoesThroughItsPoints: four rates on a pure wave of ±8 about 3 s/d,
// fastest with 3 up, lie on the drawn wave.
func TestWaveGoesThroughItsPoints(t *testing.T) {
	var r round.Round
	for _, p := range []position.Position{position.H12, position.H3, position.H6, position.H9} {
		e := estimate.New(3+8*math.Cos((p.HourUp()-3)*math.Pi/6), 1)
		r.Readings = append(r.Readings, round.Reading{Position: p, Rate: &e})
	}
	s := StateOf("", true, r)
	if !strings.Contains(s.waveWords(), "top at 3 up") {
		t.Errorf("the wave says %q", s.waveWords())
	}
	p := Curve{States: []State{s}}.Picture()
	var line []Point
	for _, m := range p.marks {
		if m.kind == "line" && len(m.points) > 50 {
			line = m.points
		}
	}
	for _, q := range spots(p, Ink) {
		best := math.Inf(1)
		for _, v := range line {
			if math.Abs(v.X-q.X) <= curveStep/2+0.01 {
				best = math.Min(best, math.Abs(v.Y-q.Y))
			}
		}
		if best > 2 {
			t.Errorf("the point %v lies %v px off the wave", q, best)
		}
	}
}

// TestSharedDoubtIsNotInTheBars: a clock's ± 4 s/d moves all alike, so bars are
// the sound's alone, and the clock is drawn once.
func TestSharedDoubtIsNotInTheBars(t *testing.T) {
	c := oneAndAHalf()
	y := c.scale(curveFoot, curveTop)
	perRate := y.at(0) - y.at(1)
	var bars []float64
	for _, m := range c.Picture().marks {
		if m.kind == "line" && m.pen == Thin && len(m.points) == 2 && m.points[0].X == m.points[1].X {
			bars = append(bars, math.Abs(m.points[0].Y-m.points[1].Y)/perRate)
		}
	}
	if len(bars) != 8 {
		t.Fatalf("%d bars, want 8: seven positions, the 12 twice", len(bars))
	}
	for _, b := range bars {
		if math.Abs(b-3) > 0.01 {
			t.Errorf("a bar is %v s/d high, want 2·1.5", b)
		}
	}
	if got := c.Words().Sentence; !strings.Contains(got, "all may be off alike by ±\u00a04\u00a0s/d") {
		t.Errorf("the shared doubt is not said: %q", got)
	}
}

func TestPanelsShareOneScale(t *testing.T) {
	ticks := func(p *Picture) (out []string) {
		for _, m := range p.marks {
			if m.kind == "text" && m.anchor == "end" {
				out = append(out, m.words[0].Words)
			}
		}
		return out
	}
	p := inventedCurve().Panels()
	if a, b := strings.Join(ticks(p[0]), " "), strings.Join(ticks(p[1]), " "); a != b || a == "" {
		t.Errorf("scales differ: %s and %s", a, b)
	}
}

// TestBalanceFromTheBack: seen from the back the clock runs the other way, so
// 3 is on the left, and 4 o'clock to the left and below (sin 120° = 0.866,
// cos 120° = −0.5).
func TestBalanceFromTheBack(t *testing.T) {
	b := inventedBalances()[0]
	got := spots(b.Picture(), Open)[0]
	scale := mostReach / 100 // out to the second ring, 100 µg·mm
	near(t, "the heavy point", got, Point{staff - 78*scale*math.Sin(2*math.Pi/3), staff + 78*scale*0.5})
	for _, m := range b.Picture().marks {
		if m.kind == "text" && m.words[0].Words == "3" && m.points[0].X >= staff {
			t.Errorf("3 stands at %v, want it on the left", m.points[0])
		}
	}
}

// TestPatchAndStanding: an arc only where it is told, words where not, and the
// patch of what is not told holds the staff.
func TestPatchAndStanding(t *testing.T) {
	arcs := func(p *Picture) (n int) {
		for _, m := range p.marks {
			if m.kind == "area" && m.pen == Ink {
				n++
			}
		}
		return n
	}
	bs := inventedBalances()
	if told, not := arcs(bs[0].Picture()), arcs(bs[1].Picture()); told != 1 || not != 0 {
		t.Errorf("%d arcs where it is told and %d where not, want 1 and 0", told, not)
	}
	if text := string(bs[1].Picture().Inline("b")); !strings.Contains(text, "No heavy side") {
		t.Error("it is not said that no heavy side can be told")
	}
	if r := bs[1].Size.Value - bs[1].along(); r > 0 {
		t.Errorf("the patch of what is not told clears the staff by %v", r)
	}
	for _, b := range []Balance{bs[0], bs[3]} {
		if r := b.Size.Value - b.along(); r <= 0 {
			t.Errorf("the patch of what is told covers the staff by %v", -r)
		}
	}
	// 1.2488 is the square root of 5.9915 over 1.9600.
	if got, want := bs[0].along()/11, 1.2488; math.Abs(got-want) > 1e-4 {
		t.Errorf("the patch is %v as wide as one direction's doubt, want %v", got, want)
	}
}

// TestBalanceOfReckoning: a wave made by a known unbalance is drawn where it is.
func TestBalanceOfReckoning(t *testing.T) {
	var rs []poise.Reading
	for _, p := range position.EightVertical {
		// Heavy towards 4: that far from straight down with this hour up.
		φ := unit.Degrees(120 - 30*p.HourUp() - 180)
		rate := 5 + float64(balance.PoiseEffect(150))*2e-3*math.Cos(φ.Radians())
		rs = append(rs, poise.Reading{Position: p, Rate: estimate.New(rate, 0.5), Amplitude: estimate.New(150, 1)})
	}
	r, err := poise.Reckon(rs)
	if err != nil {
		t.Fatal(err)
	}
	b := BalanceOf("", false, &r, nil, "")
	if !b.Told || math.Abs(b.Toward.Value-120) > 0.5 || math.Abs(b.Size.Value-2000) > 10 || b.Unit != "µrad" {
		t.Errorf("drawn towards %v°, %v %s, told %v; want 120°, 2000 µrad, told", b.Toward.Value, b.Size.Value, b.Unit, b.Told)
	}
	if !strings.HasPrefix(b.Words().Sentence, "Heavy towards 4 o’clock") {
		t.Errorf("it says %q", b.Words().Sentence)
	}
}

func TestWordsOfBeats(t *testing.T) {
	for standing, want := range map[Standing]string{
		Known: "turns at ±120", AtMost: "120° at most", NotTold: "cannot be told",
	} {
		if got := inventedProfile(standing).Words().Sentence; !strings.Contains(got, want) {
			t.Errorf("%v: %q, want %q", standing, got, want)
		}
	}
	if got := invented().Words().Sentence; !strings.Contains(got, "+20.0\u00a0±\u00a02.0\u00a0s/d by the sound alone") || !strings.Contains(got, "1 of 60") {
		t.Errorf("the drift says %q", got)
	}
}
