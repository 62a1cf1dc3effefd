package conduct_test

import (
	"context"
	"fmt"
	"math"
	"regexp"
	"strings"
	"testing"

	"beatwright/conduct"
	"beatwright/ear"
	"beatwright/measure"
	"beatwright/position"
	"beatwright/reading"
	"beatwright/sound"
	"beatwright/synth"
	"beatwright/unit"
)

// laid is one position of a simulated sitting: what the watch does there, and
// how long it lies.
type laid struct {
	rate  unit.SecondsPerDay
	swing unit.Degrees
	beat  unit.Milliseconds
	lies  unit.Seconds
}

// sitting renders a watch that is turned from one position to the next, with
// two seconds of hands between.
func sitting(t *testing.T, seed uint64, ps []laid, events ...synth.Event) ([]float32, unit.Hertz) {
	t.Helper()
	const hands = 2
	w := &synth.Watch{
		BeatsPerHour: 21600, Lift: 52, Rate: ps[0].rate, BeatError: ps[0].beat, Swing: synth.Swing{Start: ps[0].swing},
		Jitter: synth.Jitter{Centre: 0.03, Unlocking: 0.015, Impulse: 0.015, Drop: 0.015}, FirstAt: 0.2, LevelJitter: 1,
	}
	s := synth.Scene{Seed: seed, Rate: 44100, Level: -14, Bits: 16, Watch: w, Noise: []synth.Noise{{SNR: 38}}, Events: events}
	at := ps[0].lies
	for i, p := range ps[1:] {
		w.Turns = append(w.Turns, synth.Turn{
			At: at, Handling: hands, Amplitude: p.swing, Settling: 1, Rate: p.rate, BeatError: p.beat,
			Phase: unit.Milliseconds(23 + 31*float64(i%3)),
		})
		at += hands + p.lies
	}
	s.Duration = at
	x, _, err := synth.Render(s)
	if err != nil {
		t.Fatal(err)
	}
	return x, s.Rate
}

// kept is what a sitting had kept.
type kept struct {
	place    int
	position position.Position
	repeat   bool
	note     string
	from, to unit.Seconds
	reading  *reading.Watch
}

// desk does for the tests what the bench does: it joins ear, engine and round.
type desk struct {
	*testing.T
	ear    *ear.Ear
	round  *conduct.Round
	kept   []kept
	forgot []int
	said   []string
	ended  bool
	read   int64
	lying  int
	// at is asked after every tenth of a second.
	at func(unit.Seconds)
}

func (d *desk) apply(es []conduct.Effect) {
	for _, e := range es {
		switch e.Do {
		case conduct.Lay:
			d.ear.Lay()
		case conduct.Keep:
			p := d.round.Places()[e.Place]
			_, from := d.ear.Since()
			rate := float64(d.ear.Rate())
			d.kept = append(d.kept, kept{e.Place, p.Position, p.Repeat, e.Note, unit.Seconds(float64(from) / rate), unit.Seconds(float64(d.ear.Done()) / rate), p.Reading})
		case conduct.Forget:
			d.forgot = append(d.forgot, e.Place)
		case conduct.Speak:
			if e.Say != "" {
				d.said = append(d.said, e.Say)
			}
		case conduct.Finish:
			d.ended = true
		}
	}
}

func (d *desk) do(a conduct.Act, p position.Position) {
	d.Helper()
	es, err := d.round.Do(a, p)
	if err != nil {
		d.Errorf("%s: %v", a, err)
	}
	d.apply(es)
}

// measured is the reading of what lies now.
func (d *desk) measured() (reading.Reading, unit.Seconds) {
	d.Helper()
	x, _ := d.ear.Since()
	return read(d.T, x, d.ear.Rate())
}

func read(t *testing.T, x []float32, rate unit.Hertz) (reading.Reading, unit.Seconds) {
	t.Helper()
	var out reading.Reading
	r := &sound.Samples{Of: sound.Format{Rate: rate, Channels: 1, Bits: 24, Kind: "test", Frames: int64(len(x))}, Data: x}
	err := measure.Sound(context.Background(), "live", r, measure.Options{}, func(res measure.Result) error {
		out = res.Reading
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return out, unit.Seconds(float64(len(x)) / float64(rate))
}

func (d *desk) hear(x []float32) {
	d.Helper()
	d.ear.Push(x, func(n ear.Now) {
		d.apply(d.round.Hear(n, d.ear.Rate()))
		if l := d.round.Lying(); l > 0 && (l != d.lying || d.ear.Done()-d.read >= int64(d.ear.Rate())) {
			d.lying, d.read = l, d.ear.Done()
			res, span := d.measured()
			d.apply(d.round.Read(l, span, res))
		}
		if d.at != nil {
			d.at(n.At)
		}
	})
}

func newDesk(t *testing.T, rate unit.Hertz, want conduct.Want, plan ...position.Position) *desk {
	var places []conduct.Place
	for _, p := range plan {
		places = append(places, conduct.Place{Position: p})
	}
	return &desk{T: t, ear: ear.New(rate), round: conduct.NewRound(places, want, 3)}
}

// near holds a kept reading against what the watch did.
func (d *desk) near(k kept, p laid) {
	d.Helper()
	w := k.reading
	if w == nil || w.Rate == nil || w.BeatError == nil || w.Amplitude.Value == nil {
		d.Errorf("%s: kept without rate, beat error or swing", k.position)
		return
	}
	if e := w.Rate.Value - float64(p.rate); math.Abs(e) > math.Max(0.5, w.Rate.U95Statistical) {
		d.Errorf("%s: %.2f s/d, the watch did %.2f", k.position, w.Rate.Value, p.rate)
	}
	if e := w.BeatError.Value - math.Abs(float64(p.beat)); math.Abs(e) > math.Max(0.1, w.BeatError.U95) {
		d.Errorf("%s: beat error %.2f ms, the watch has %.2f", k.position, w.BeatError.Value, p.beat)
	}
	if e := *w.Amplitude.Value - float64(p.swing); math.Abs(e) > 5 {
		d.Errorf("%s: swings %.1f°, the watch does %.1f°", k.position, *w.Amplitude.Value, p.swing)
	}
}

var six = []laid{{12, 270, 0.5, 22}, {8, 265, 0.5, 20}, {-6, 240, 0.6, 20}, {3, 244, 0.4, 20}, {14, 238, 0.5, 20}, {5, 241, 0.5, 20}}

// A round of six positions by the sound alone: each reading is of its position
// and says what the watch did there; one is offered again at the end.
func TestRoundBySoundAlone(t *testing.T) {
	t.Parallel()
	ps := append(append([]laid{}, six...), six[0])
	x, rate := sitting(t, 1, ps)
	d := newDesk(t, rate, conduct.Quick(), position.Six...)
	d.hear(x)
	if len(d.kept) != 7 || !d.ended {
		t.Fatalf("%d kept, ended %v: %+v; doing %+v", len(d.kept), d.ended, d.kept, d.round.Doing())
	}
	for i, k := range d.kept {
		want := append(append([]position.Position{}, position.Six...), position.CH)[i]
		if k.position != want || k.repeat != (i == 6) {
			t.Errorf("kept %d is %s, repeat %v; want %s", i, k.position, k.repeat, want)
		}
		d.near(k, ps[i])
		if q := d.round.Places()[k.place].Query; q != "" {
			t.Errorf("%s is doubted: %s", k.position, q)
		}
	}
	if len(d.said) != 6 || d.said[0] != "Now dial down." || d.said[1] != "Turn to crown right, 12 up." {
		t.Errorf("said %q", d.said)
	}
	if got := d.round.Doing(); got.Lead != "That is all." || got.Rest != "7 readings are kept. CH came out the same again." {
		t.Errorf("at the end: %+v", got)
	}
}

// A blow while listening and one while the turn is awaited are no turns.
func TestBumpIsNoTurn(t *testing.T) {
	t.Parallel()
	x, rate := sitting(t, 2, []laid{{12, 270, 0.5, 30}, {8, 265, 0.5, 20}},
		synth.Event{At: 5, Kind: synth.Knock, Level: 14}, synth.Event{At: 22, Kind: synth.Knock, Level: 14}, synth.Event{At: 24, Kind: synth.Rub, Length: 1})
	d := newDesk(t, rate, conduct.Quick(), position.CH, position.FH)
	d.hear(x)
	if len(d.kept) != 2 {
		t.Fatalf("kept %+v, want two", d.kept)
	}
	if d.kept[0].from > 1 || d.kept[1].from < 30 {
		t.Errorf("heard from %.1f and %.1f s; a blow began a position", d.kept[0].from, d.kept[1].from)
	}
	d.near(d.kept[0], laid{12, 270, 0.5, 0})
	d.near(d.kept[1], laid{8, 265, 0.5, 0})
}

// A position that was turned to wrongly contradicts the other three upright
// ones; it is queried, and heard again when asked.
func TestWrongTurn(t *testing.T) {
	t.Parallel()
	// The fourth upright position should be −30 and is, for the watch was laid
	// as before: +30.
	ps := []laid{{0, 240, 0.5, 20}, {30, 240, 0.5, 20}, {0, 240, 0.5, 20}, {30, 240, 0.5, 15}, {-30, 240, 0.5, 20}}
	x, rate := sitting(t, 3, ps)
	d := newDesk(t, rate, conduct.Quick(), position.H12, position.H3, position.H6, position.H9)
	asked := false
	d.at = func(unit.Seconds) {
		if !asked && d.round.Phase() == conduct.Asking {
			asked = true
			// Of an even wave the fourth is the sum of the neighbours less the
			// third: 0 + 0 − 30.
			if doing := d.round.Doing(); !minusThirty.MatchString(doing.Rest) {
				t.Errorf("asked %+v", doing)
			}
			d.do(conduct.Repeat, position.None)
		}
	}
	d.hear(x)
	if !asked || len(d.forgot) != 1 || d.forgot[0] != 3 {
		t.Fatalf("asked %v, forgot %v", asked, d.forgot)
	}
	// Told to hear it again, it begins at once; turned rightly it is heard anew.
	if len(d.kept) != 5 || d.kept[4].position != position.H9 {
		t.Fatalf("kept %+v", d.kept)
	}
	d.near(d.kept[4], ps[4])
}

var minusThirty = regexp.MustCompile(`^9H is doubtful: the other upright positions together say −(29|30)\.\d.±.`)

// Turned before it was sure, a watch lies no one knows how: nothing is taken for
// the position that was asked for until it is said, or turned again.
func TestTurnedTooEarly(t *testing.T) {
	t.Parallel()
	x, rate := sitting(t, 10, []laid{{12, 270, 0.5, 7}, {30, 240, 0.5, 16}, {12, 270, 0.5, 16}})
	d := newDesk(t, rate, conduct.Quick(), position.CH)
	said := ""
	d.at = func(at unit.Seconds) {
		if at > 20 && at < 20.15 {
			said = d.round.Doing().Lead + " " + d.round.Doing().Rest
		}
	}
	d.hear(x)
	if !strings.HasPrefix(said, "Lay it dial up, CH. It was turned after") {
		t.Errorf("said %q", said)
	}
	if len(d.kept) != 1 || d.kept[0].from < 24 {
		t.Fatalf("kept %+v", d.kept)
	}
	d.near(d.kept[0], laid{12, 270, 0.5, 0})
}

// A watch that stops is told, and what was heard may be kept.
func TestStop(t *testing.T) {
	t.Parallel()
	x, rate := sitting(t, 4, []laid{{12, 270, 0.5, 9}})
	x = append(x, noise(10*int(rate))...)
	d := newDesk(t, rate, conduct.Record(60), position.CH)
	told := false
	d.at = func(unit.Seconds) {
		if doing := d.round.Doing(); !told && doing.Stop {
			told = true
			d.do(conduct.Accept, position.None)
		}
	}
	d.hear(x)
	if !told || len(d.kept) != 1 || d.kept[0].reading == nil {
		t.Fatalf("told %v, kept %+v", told, d.kept)
	}
	d.near(d.kept[0], laid{12, 270, 0.5, 0})
}

func noise(n int) []float32 {
	x := make([]float32, n)
	s := uint32(1)
	for i := range x {
		s = s*1664525 + 1013904223
		x[i] = (float32(s>>8)/(1<<24) - 0.5) * 1e-3
	}
	return x
}

// Keys: it lies so, another position, skip, wait, from anew, longer, stop.
func TestActs(t *testing.T) {
	t.Parallel()
	x, rate := sitting(t, 5, []laid{{12, 270, 0.5, 80}})
	d := newDesk(t, rate, conduct.Quick(), position.Six...)
	var log []string
	done := map[string]bool{}
	once := func(name string, when bool, do func()) bool {
		if done[name] || !when {
			return false
		}
		done[name] = true
		log = append(log, fmt.Sprint(name, " ", d.round.Phase()))
		do()
		return true
	}
	d.at = func(at unit.Seconds) {
		n := len(d.kept)
		_ = once("lies in 3H", at > 4, func() { d.do(conduct.Lies, position.H3) }) ||
			once("it lies so", n == 1, func() { d.do(conduct.Accept, position.None) }) ||
			once("from anew", done["it lies so"] && d.round.Span() > 5, func() { d.do(conduct.Repeat, position.None) }) ||
			once("skip", n == 2 && d.round.Phase() == conduct.Turn, func() { d.do(conduct.Skip, position.None) }) ||
			once("wait", done["skip"], func() { d.do(conduct.Wait, position.None) }) ||
			once("go on", done["wait"] && at > 45, func() { d.do(conduct.Accept, position.None) }) ||
			once("longer", done["go on"] && d.round.Span() > 3, func() { d.do(conduct.Longer, position.None) }) ||
			once("stop", done["longer"] && d.round.Span() > 16, func() { d.do(conduct.Stop, position.None) })
	}
	d.hear(x)
	var got []string
	for _, k := range d.kept {
		got = append(got, k.position.String())
	}
	// 3H as said; then in order from there, 9H skipped, round about.
	if fmt.Sprint(got) != "[3H 6H CH]" {
		t.Fatalf("kept %v after %v", got, log)
	}
	if !d.ended || d.kept[2].to-d.kept[2].from < 16 {
		t.Errorf("ended %v, last of %.1f s after %v", d.ended, d.kept[2].to-d.kept[2].from, log)
	}
	if d.kept[1].to-d.kept[1].from > 13 {
		t.Errorf("from anew did not begin anew: %+v", d.kept[1])
	}
}
