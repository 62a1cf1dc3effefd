package plot

import (
	"math"
	"strings"
	"testing"
	"time"

	"beatwright/position"
	"beatwright/reading"
	"beatwright/unit"
)

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
