package conduct_test

import (
	"math"
	"strings"
	"testing"

	"beatwright/conduct"
	"beatwright/ear"
	"beatwright/unit"
)

// adjust plays sound to a session, and asks at after every reading.
func adjust(t *testing.T, a *conduct.Adjusting, x []float32, rate unit.Hertz) (said []string) {
	t.Helper()
	e := ear.New(rate)
	var last int64
	e.Push(x, func(n ear.Now) {
		began := a.Hear(n, rate)
		from, lying := a.From()
		if lying > 0 && n.Follows && (began || e.Done()-last >= int64(rate)) {
			last = e.Done()
			y, _ := e.From(from)
			r, span := read(t, y, rate)
			a.Read(from, span, r)
		}
		if s := a.Doing().Rest; len(said) == 0 || said[len(said)-1] != s {
			said = append(said, s)
		}
	})
	return said
}

// Beat error is brought down in touches of 0.8 ms, one of them too far; every
// touch is told with what it did, within its doubt.
func TestAdjustingBeatError(t *testing.T) {
	t.Parallel()
	truth := []float64{3.0, 2.2, 1.4, 0.6, -0.25, 0.05}
	var ps []laid
	for _, e := range truth {
		ps = append(ps, laid{5, 250, unit.Milliseconds(e), 13})
	}
	x, rate := sitting(t, 6, ps)
	a := conduct.NewAdjusting(conduct.BeatError, 0)
	said := adjust(t, a, x, rate)
	got := a.Touches()
	if len(got) != 5 {
		t.Fatalf("%d touches: %+v; said %q", len(got), got, said)
	}
	for i, touch := range got {
		want := math.Abs(truth[i+1]) - math.Abs(truth[i])
		if math.Abs(touch.Change-want) > math.Max(0.1, touch.ChangeU95) {
			t.Errorf("touch %d did %.2f ± %.2f ms, in truth %.2f", i+1, touch.Change, touch.ChangeU95, want)
		}
	}
	all := strings.Join(said, "\n")
	for _, want := range []string{"About 2.8 such touches more, the same way", "about 0.3 of one, the other way"} {
		if !strings.Contains(all, want) {
			t.Errorf("never said %q, but:\n%s", want, all)
		}
	}
	if !a.Done() {
		t.Errorf("not done at 0.05 ms: %s", a.Says())
	}
}

// Rate has a sign: going past is told, and the other way advised.
func TestAdjustingRate(t *testing.T) {
	t.Parallel()
	truth := []float64{40, 25, -12, 0}
	var ps []laid
	for _, r := range truth {
		ps = append(ps, laid{unit.SecondsPerDay(r), 250, 0.4, 15})
	}
	x, rate := sitting(t, 7, ps)
	a := conduct.NewAdjusting(conduct.Rate, 0)
	said := strings.Join(adjust(t, a, x, rate), "\n")
	if len(a.Touches()) != 3 || !a.Done() {
		t.Fatalf("%+v; said %s", a.Touches(), said)
	}
	// 25 s/d left at −15 a touch are 1.7; −12 after −37 is a third of one back.
	for _, want := range []string{"About 1.7 such touches more, the same way", "about 0.3 of one, the other way"} {
		if !strings.Contains(said, want) {
			t.Errorf("never said %q, but:\n%s", want, said)
		}
	}
}

// A touch that changed nothing is no lesson.
func TestTouchOfNothing(t *testing.T) {
	t.Parallel()
	x, rate := sitting(t, 8, []laid{{5, 250, 1, 14}, {5, 250, 1, 14}})
	a := conduct.NewAdjusting(conduct.BeatError, 0)
	said := strings.Join(adjust(t, a, x, rate), "\n")
	if len(a.Touches()) != 0 || !strings.Contains(said, "No change told") {
		t.Errorf("%+v; said %s", a.Touches(), said)
	}
}

func TestAdjustingActs(t *testing.T) {
	t.Parallel()
	a := conduct.NewAdjusting(conduct.Rate, 0)
	if err := a.Do(conduct.Skip); err == nil {
		t.Error("there is nothing to skip while adjusting")
	}
	if err := a.Do(conduct.Wait); err != nil || a.Phase() != conduct.Waiting {
		t.Errorf("%v, %s", err, a.Phase())
	}
	if err := a.Do(conduct.Accept); err != nil || a.Waits() {
		t.Errorf("%v, still waits", err)
	}
	if err := a.Do(conduct.Stop); err != nil || !a.Ended() || a.Do(conduct.Stop) == nil {
		t.Errorf("%v, ended %v", err, a.Ended())
	}
}
