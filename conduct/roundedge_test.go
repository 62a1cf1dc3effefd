package conduct_test

import (
	"strings"
	"testing"

	"beatwright/conduct"
	"beatwright/ear"
	"beatwright/position"
	"beatwright/reading"
	"beatwright/unit"
)

// sureEnough is a reading of which nothing more is wanted; soFar one that is not
// there yet.
func sureEnough() reading.Reading {
	v, u := 250.0, 1.0
	return reading.Reading{Watch: &reading.Watch{
		Rate: &reading.Clocked{Value: 5, U95: 4, U95Statistical: 0.3}, BeatError: &reading.BeatError{Value: 0.2, U95: 0.05},
		Amplitude: reading.Amplitude{Value: &v, U95: &u, Standing: reading.Measured},
	}}
}

func soFar() reading.Reading {
	r := sureEnough()
	r.Watch.Rate.U95Statistical = 9
	return r
}

func lies(at unit.Seconds, lying int) ear.Now {
	return ear.Now{At: at, Follows: true, Lying: ear.Lying{Number: lying}}
}

func twoPlaces() *conduct.Round {
	return conduct.NewRound([]conduct.Place{{Position: position.CH}, {Position: position.FH}}, conduct.Quick(), 3)
}

// mayNot holds that nothing can be kept now.
func mayNot(t *testing.T, r *conduct.Round) {
	t.Helper()
	if es, err := r.Do(conduct.Accept, position.None); err == nil {
		t.Errorf("what was heard before is kept: %+v", es)
	}
}

// More of a sound that was read as a watch shows that it is none: nothing of the
// earlier reading can be kept.
func TestNoWatchAfterAll(t *testing.T) {
	t.Parallel()
	r := twoPlaces()
	r.Hear(lies(3, 1), anyRate)
	r.Read(1, 5, soFar())
	if r.Phase() != conduct.Settling && r.Phase() != conduct.Listening {
		t.Fatalf("phase %s", r.Phase())
	}
	r.Read(1, 6, reading.Reading{Refusal: &reading.Refusal{Code: reading.TooShort, Why: "too few"}})
	if es, err := r.Do(conduct.Accept, position.None); err != nil || len(es) == 0 {
		t.Fatalf("a knock took the reading away: %+v, %v", es, err)
	}
	r = twoPlaces()
	r.Hear(lies(3, 1), anyRate)
	r.Read(1, 5, soFar())
	r.Read(1, 20, reading.Reading{Refusal: &reading.Refusal{Code: reading.Periodic, Why: "a hum"}})
	mayNot(t, r)
	r.Hear(lies(24, 1), anyRate)
	if d := r.Doing(); !strings.Contains(d.Rest, "hum") {
		t.Errorf("told %+v", d)
	}
}

// Told to hear it from anew, a reading of what was heard before is kept neither
// by itself nor by hand, and no blow is told of.
func TestFromAnew(t *testing.T) {
	t.Parallel()
	r := twoPlaces()
	r.Hear(lies(3, 1), anyRate)
	r.Read(1, 5, soFar())
	if es, err := r.Do(conduct.Repeat, position.None); err != nil || len(es) != 1 || es[0].Do != conduct.Lay {
		t.Fatalf("%+v, %v", es, err)
	}
	// It was being made when the key was pressed.
	if es := r.Read(1, 30, sureEnough()); es != nil {
		t.Errorf("the reading of before does %+v", es)
	}
	mayNot(t, r)
	r.Hear(lies(6, 2), anyRate)
	if d := r.Doing(); strings.Contains(d.Rest, "blow") {
		t.Errorf("told %q", d.Rest)
	}
	if es := r.Read(2, 12, sureEnough()); len(es) == 0 || es[0].Do != conduct.Keep {
		t.Errorf("the new reading does %+v", es)
	}
}

// After an interruption another ear hears: its time begins anew, and what was
// heard before cannot be kept with its sound.
func TestInterrupted(t *testing.T) {
	t.Parallel()
	r := twoPlaces()
	r.Hear(lies(30, 1), anyRate)
	r.Read(1, 9, soFar())
	r.Hear(ear.Now{At: 0.1}, anyRate)
	mayNot(t, r)
	if d := r.Doing(); !strings.HasPrefix(d.Rest, "The sound was interrupted; heard anew.") || d.Part != 0 {
		t.Errorf("told %+v", d)
	}
	r.Hear(ear.Now{At: 3, Follows: true, Lying: ear.Lying{Number: 2}, Breaks: []ear.Break{{What: ear.Found, From: 2, To: 2}}}, anyRate)
	if es := r.Read(2, 12, sureEnough()); len(es) == 0 || es[0].Do != conduct.Keep || es[0].Place != 0 {
		t.Errorf("heard anew it does %+v", es)
	}
}

// To listen longer is asked of one position, not of those after it.
func TestLongerIsOfOnePosition(t *testing.T) {
	t.Parallel()
	r := twoPlaces()
	r.Hear(lies(3, 1), anyRate)
	for _, act := range []conduct.Act{conduct.Longer, conduct.Skip} {
		if _, err := r.Do(act, position.None); err != nil {
			t.Fatal(err)
		}
	}
	r.Hear(lies(9, 2), anyRate)
	if es := r.Read(2, 12, sureEnough()); len(es) == 0 || es[0].Do != conduct.Keep {
		t.Errorf("sure enough, it is not kept: %+v", es)
	}
}

// A round of which all was heard, and which was stopped before its end was
// written, is over.
func TestAllHeardBefore(t *testing.T) {
	t.Parallel()
	heard := conduct.Place{Position: position.CH, State: conduct.Heard, Reading: sureEnough().Watch}
	r := conduct.NewRound([]conduct.Place{heard}, conduct.Quick(), 3)
	if d := r.Doing(); r.Phase() != conduct.Ended || d.Rest != "One position is kept." {
		t.Errorf("phase %s, %+v", r.Phase(), d)
	}
	// With three the check at the end is still to come.
	heard2, heard3 := heard, heard
	heard2.Position, heard3.Position = position.FH, position.H3
	if r := conduct.NewRound([]conduct.Place{heard, heard2, heard3}, conduct.Quick(), 3); r.Phase() != conduct.Turn || r.At() != 3 {
		t.Errorf("phase %s, place %d", r.Phase(), r.At())
	}
}

// What could not be written is asked for again, and nothing more is said of it.
func TestReopened(t *testing.T) {
	t.Parallel()
	r := twoPlaces()
	r.Hear(lies(3, 1), anyRate)
	r.Read(1, 12, sureEnough())
	r.Reopen(0)
	for _, c := range r.Doing().Acts {
		if c.Act == conduct.Repeat || c.Act == conduct.Longer {
			t.Errorf("%s is offered of what is not kept", c.Name)
		}
	}
	r.Hear(lies(20, 2), anyRate)
	r.Read(2, 12, sureEnough())
	if r.At() != 0 || r.Phase() != conduct.Turn {
		t.Errorf("then place %d, phase %s", r.At(), r.Phase())
	}
}
