package plot

import (
	"math"
	"strings"
	"testing"
	"time"

	"beatwright/balance"
	"beatwright/estimate"
	"beatwright/poise"
	"beatwright/position"
	"beatwright/reading"
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

// TestGlyphCrown: the crown points where package position says, 30·(crown's
// hour − hour up) clockwise from up.
func TestGlyphCrown(t *testing.T) {
	for p := position.H12; p.Valid(); p++ {
		for _, crown := range []float64{3, 12, 4.5} {
			knob := Glyph(p, 58, crown).marks[0].points
			x, y := (knob[1].X+knob[2].X)/2-middle, middle-(knob[1].Y+knob[2].Y)/2
			got, want := math.Atan2(x, y)*180/math.Pi, float64(p.CrownDirection(crown))
			if d := math.Mod(got-want+540, 360) - 180; math.Abs(d) > 1e-6 {
				t.Errorf("%v, crown at %v: points to %v, want %v", p, crown, got, want)
			}
		}
	}
	up, down := Glyph(position.CH, 58), Glyph(position.FH, 58)
	if up.marks[1].points[8].Y >= middle || down.marks[1].points[8].Y <= middle {
		t.Error("the domed glass is not up in CH and down in FH")
	}
}

// TestRulerStandings: a needle for a value, posts when sure, a bracket and no
// needle for a bound, hatching all along for neither, hollow when stale.
func TestRulerStandings(t *testing.T) {
	has := func(p *Picture, kind string, pen Pen) (n int) {
		for _, m := range p.marks {
			if m.kind == kind && m.pen == pen {
				n++
			}
		}
		return n
	}
	tests := []struct {
		name                                           string
		needle, posts, bracket, solid, hollow, hatched int
	}{
		{"rate", 1, 0, 0, 1, 0, 0},
		{"sure", 1, 2, 0, 1, 0, 0},
		{"stale", 1, 0, 0, 0, 1, 0},
		{"at-most", 0, 0, 1, 0, 0, 1},
		{"nothing", 0, 0, 0, 0, 0, 1},
		{"beyond", 0, 0, 0, 1, 0, 0},
	}
	for _, tt := range tests {
		p := inventedRulers()[tt.name].Picture()
		got := [6]int{has(p, "line", Needle), has(p, "line", Post), has(p, "line", Bracket), has(p, "bar", Solid), has(p, "bar", Open), has(p, "hatch", Steel) + has(p, "hatch", Ink)}
		if want := [6]int{tt.needle, tt.posts, tt.bracket, tt.solid, tt.hollow, tt.hatched}; got != want {
			t.Errorf("%s: needle, posts, bracket, solid, hollow, hatched are %v, want %v", tt.name, got, want)
		}
	}
	// −27 of −60 to +60 on 580 px: 33/120 of them.
	for _, m := range inventedRulers()["rate"].Picture().marks {
		if m.pen == Needle && math.Abs(m.points[0].X-580*33.0/120) > 0.01 {
			t.Errorf("the needle stands at %v, want 159.5", m.points[0].X)
		}
	}
}

func TestScaleStepsOutward(t *testing.T) {
	tests := []struct {
		scale     Scale
		v         float64
		low, high float64
	}{
		{RateScale(), 59, -60, 60},
		{RateScale(), -61, -120, 120},
		{RateScale(), 1e6, -6000, 6000},
		{BeatScale("ms"), 7, 0, 10},
		{SwingScale(), 400, 0, 330},
		{RateScale().Reaching(100), 3, -120, 120}, // never back in
	}
	for _, tt := range tests {
		got := tt.scale.Reaching(tt.v)
		if got.Low != tt.low || got.High != tt.high {
			t.Errorf("reaching %v: %v to %v, want %v to %v", tt.v, got.Low, got.High, tt.low, tt.high)
		}
		if ticks, _ := got.ticks(); len(ticks) < 9 {
			t.Errorf("reaching %v: %d ticks", tt.v, len(ticks))
		}
	}
}

func TestDueWords(t *testing.T) {
	day, dues := inventedDay()
	for name, want := range map[string]string{
		"late": "Late by 3\u00a0h 52\u00a0min.", "window": "15:10 to 16:10.", "any": "Any time today.", "by": "By 17:00.", "yesterday": "Late by 3 days.",
	} {
		if got := day.Words(dues[name]).Sentence; got != want {
			t.Errorf("%s: %q, want %q", name, got, want)
		}
	}
	// 15:10 is 7 h 10 min into ten hours of 372 px from px 10.
	for _, m := range day.Row(dues["window"]).marks {
		if m.kind == "bar" && math.Abs(m.points[0].X-(10+372*(7+1.0/6)/10)) > 0.01 {
			t.Errorf("the window begins at %v", m.points[0].X)
		}
	}
	if !day.Late(Due{To: day.Now.Add(-time.Second)}) || day.Late(Due{To: day.Now}) || day.Late(Due{}) {
		t.Error("late is not: its time is past")
	}
}

// TestSeriesGaps: nothing is joined across a gap, a stop, or from a value to a
// bound.
func TestSeriesGaps(t *testing.T) {
	at := func(from unit.Seconds, bound bool) Window {
		return Window{From: from, To: from + 10, Value: 5, U95: 1, AtMost: bound}
	}
	nan := at(20, false)
	nan.Value = math.NaN()
	tests := []struct {
		name   string
		ws     []Window
		events []Event
		runs   int
	}{
		{"whole", []Window{at(0, false), at(10, false), at(20, false)}, nil, 1},
		{"missing", []Window{at(0, false), at(30, false)}, nil, 2},
		{"not told", []Window{at(0, false), at(10, false), nan, at(30, false)}, nil, 2},
		{"stopped", []Window{at(0, false), at(10, false)}, []Event{{At: 10, Breaks: true}}, 2},
		{"only told of", []Window{at(0, false), at(10, false)}, []Event{{At: 10}}, 1},
		{"bound", []Window{at(0, false), at(10, true)}, nil, 2},
	}
	for _, tt := range tests {
		if got := (Series{Events: tt.events}).runs(Quantity{Windows: tt.ws}); len(got) != tt.runs {
			t.Errorf("%s: %d runs, want %d", tt.name, len(got), tt.runs)
		}
	}
}

// TestLongSeriesAreMerged: a day of minutes becomes so many windows, with the
// same mean and no smaller doubt.
func TestLongSeriesAreMerged(t *testing.T) {
	var q Quantity
	for i := range 1440 {
		q.Windows = append(q.Windows, Window{From: unit.Seconds(60 * i), To: unit.Seconds(60*i + 60), Value: float64(i % 2), U95: 0.7})
	}
	runs := Series{}.runs(q)
	if len(runs) != 1 || len(runs[0]) != mostWindows {
		t.Fatalf("%d runs of %d windows, want 1 of %d", len(runs), len(runs[0]), mostWindows)
	}
	mean := 0.0
	for _, w := range runs[0] {
		mean += w.Value * float64(w.To-w.From) / 86400
		if math.Abs(w.U95-0.7) > 1e-9 {
			t.Fatalf("a doubt became %v", w.U95)
		}
	}
	if math.Abs(mean-0.5) > 0.01 {
		t.Errorf("the mean became %v, want 0.5", mean)
	}
}

// TestChangesOfRounds: bounds stay bounds, what is contradicted is not drawn,
// and what was not heard is a dash.
func TestChangesOfRounds(t *testing.T) {
	found, left := inventedFound(), inventedLeft()
	left.Readings = left.Readings[1:]
	found.Readings[1].Contradicted = "by the other side"
	swing := Changes(found, left)[1]
	rows := swing.Words().Rows
	for i, want := range [][]string{
		{"CH", "143\u00a0±\u00a03", "–"},
		{"FH", "–", "268\u00a0±\u00a03"},
		{"12H", "at most 124", "246\u00a0±\u00a03"},
	} {
		if strings.Join(rows[i], "|") != strings.Join(want, "|") {
			t.Errorf("row %d is %q, want %q", i, rows[i], want)
		}
	}
}

func TestWordsOfStandings(t *testing.T) {
	tests := map[string]string{
		"sure":    "Rate −26.4\u00a0±\u00a00.5\u00a0s/d, sure enough.",
		"stale":   "Rate −27.0\u00a0±\u00a01.9\u00a0s/d, as last heard.",
		"at-most": "Amplitude at most 121°; least, this workshop: 220°.",
		"nothing": "Amplitude cannot be told: no bound can be given.",
	}
	for name, want := range tests {
		if got := inventedRulers()[name].Words().Sentence; got != want {
			t.Errorf("%s: %q, want %q", name, got, want)
		}
	}
	if got := (Ruler{What: "rate", Standing: reading.Measured, Value: math.NaN()}).Words().Sentence; !strings.Contains(got, "cannot be told") {
		t.Errorf("no number says %q", got)
	}
}

// TestWrapped: lines keep to their width, and no word is lost.
func TestWrapped(t *testing.T) {
	words := []Span{{"Balance as found,", true}, {" seen from the back, at rest: 3 is on the left; rings 50 and 100 µg·mm.", false}}
	lines := wrapped(200, words...)
	var all []string
	for _, line := range lines {
		text := ""
		for _, s := range line {
			text += s.Words
		}
		if wide(text) > 200 {
			t.Errorf("%q is %v px wide", text, wide(text))
		}
		all = append(all, strings.TrimSpace(text))
	}
	if got, want := strings.Join(all, " "), words[0].Words+words[1].Words; got != want {
		t.Errorf("the words became %q, want %q", got, want)
	}
}
