package intake_test

import (
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"beatwright/intake"
)

// bench is a watch in the hand, with what would harm it. Nothing is known of
// it before a check has made it so.
type bench struct {
	f                       intake.Features
	chronoStopped, alarmOff bool
	clearOfHours, crownFree bool
	crownPulls, grind       bool
}

// try tells what trying id with this outcome would harm; the rules are common
// practice of the trade.
func (b *bench) try(id string, good bool) string {
	calendar := b.f.Calendar()
	switch id {
	case "f.wind", "f.pull", "f.alarm_off":
		if b.f.ScrewCrown == intake.Yes && !b.f.Pocket && !b.crownFree {
			return "the crown is still screwed down"
		}
	case "f.hack", "f.zone":
		if b.f.Winding != intake.Key && !b.crownPulls {
			return "the stem was not seen to pull"
		}
	case "f.set", "f.set_back":
		if b.f.Alarm && !b.alarmOff {
			return "the alarm is set"
		}
		if id == "f.set_back" && calendar && !b.clearOfHours {
			return "set back in the calendar's hours"
		}
	case "f.date", "f.day":
		if !b.clearOfHours {
			return "quick change in the blocked hours"
		}
	case "f.chrono_reset", "f.flyback":
		if !b.chronoStopped {
			return "reset before it was seen to stop"
		}
	}
	b.after(id, good)
	return ""
}

// after is what holds once id was tried.
func (b *bench) after(id string, good bool) {
	switch id {
	case "f.unscrew":
		b.crownFree = good
	case "f.pull":
		b.crownPulls = good
	case "f.alarm_off":
		b.alarmOff = good
	case "f.set", "f.date_eve":
		b.clearOfHours = false
	case "f.clear_hours":
		b.clearOfHours = good
	case "f.chrono_start":
		b.chronoStopped = good
	case "f.alarm":
		b.alarmOff, b.clearOfHours = false, false
	}
}

// answer draws an outcome and perhaps a word for it.
func answer(t *rapid.T, fn intake.Function) intake.Given {
	// Mostly good, so that most watches are tried to the end.
	g := intake.Given{Outcome: intake.Works}
	if rapid.IntRange(0, 9).Draw(t, "spoilt") == 9 {
		g.Outcome = rapid.SampledFrom(intake.Outcomes()).Draw(t, fn.ID)
	}
	if len(fn.Answers) > 0 && rapid.IntRange(0, 9).Draw(t, "word") == 9 {
		a := rapid.SampledFrom(fn.Answers).Draw(t, "answer")
		g = intake.Given{Outcome: a.Outcome, Taps: []intake.Tap{{Answer: a.ID}}}
	}
	return g
}

// TestNoOrderHarms: whatever the watch, whatever is answered, and whichever of
// what may be tried is tried next, nothing is done that would harm it.
func TestNoOrderHarms(t *testing.T) {
	c := intake.Default()
	rapid.Check(t, func(t *rapid.T) {
		f := drawFeatures(t)
		switch rapid.IntRange(0, 2).Draw(t, "watch") {
		case 1: // much to go wrong
			f.Alarm, f.Date, f.Chronograph, f.Repeater, f.Perpetual = true, true, intake.Flyback, false, false
		case 2: // an alarm without a calendar, which guards it too
			f = intake.Features{Winding: f.Winding, Alarm: true, WorldTime: true}
		}
		order := c.Functions(f, intake.Reported{})
		done, b := intake.Answers{}, &bench{f: f}
		for {
			p := intake.Next(order, done)
			if len(p.May)+len(p.Barred)+len(done) != len(order) {
				t.Fatalf("%d may, %d barred, %d done of %d", len(p.May), len(p.Barred), len(done), len(order))
			}
			if len(p.May) == 0 {
				return
			}
			fn := rapid.SampledFrom(p.May).Draw(t, "next")
			if b.grind && !fn.Gentle {
				t.Fatalf("%s offered after something resisted", fn.ID)
			}
			g := answer(t, fn)
			done[fn.ID] = g
			if g.Outcome == intake.NotTried {
				continue
			}
			if harm := b.try(fn.ID, g.Outcome == intake.Works || g.Outcome == intake.Doubtful); harm != "" {
				t.Fatalf("%s: %s; done %v", fn.ID, harm, done)
			}
			for _, tap := range g.Taps {
				i := slices.IndexFunc(fn.Answers, func(a intake.Answer) bool { return a.ID == tap.Answer })
				b.grind = b.grind || fn.Answers[i].Resists
			}
		}
	})
}

// TestAfterHarm: after water or a hard fall look, listen, feel whether it
// runs; nothing more (common practice).
func TestAfterHarm(t *testing.T) {
	for _, r := range []intake.Reported{{Water: true}, {Fall: true}, {Water: true, Fall: true}, {Loose: true}} {
		var ids []string
		for _, fn := range intake.Default().Functions(everything, r) {
			ids = append(ids, fn.ID)
		}
		if got, want := strings.Join(ids, " "), "f.look f.listen f.run"; got != want {
			t.Errorf("%+v: %s, want %s", r, got, want)
		}
		if r.Why() == "" {
			t.Errorf("%+v gives no reason", r)
		}
	}
}

func ids(fs []intake.Function) string {
	var out []string
	for _, f := range fs {
		out = append(out, f.ID)
	}
	return strings.Join(out, " ")
}

func TestNext(t *testing.T) {
	c := intake.Default()
	alarm, _ := intake.ParseKind("automatic alarm with date, no screw-down crown, no stop seconds")
	chrono, _ := intake.ParseKind("hand-wound chronograph, no screw-down crown, no stop seconds")
	works := intake.Given{Outcome: intake.Works}
	for name, tc := range map[string]struct {
		f    intake.Features
		done intake.Answers
		may  string
		stop string
	}{
		"at the start": {alarm, nil, "f.look f.listen f.wind f.rotor f.run f.alarm_off f.pull", ""},
		"winding grinds": {
			alarm,
			intake.Answers{"f.look": works, "f.wind": {Outcome: intake.Fails, Taps: []intake.Tap{{Answer: "rough"}}}},
			"f.listen f.run", "f.wind",
		},
		"fails, not said how": {alarm, intake.Answers{"f.wind": {Outcome: intake.Fails}}, "f.look f.listen f.run", "f.wind"},
		"chronograph does not stop": {
			chrono,
			intake.Answers{
				"f.look": works, "f.listen": works, "f.wind": works, "f.run": works, "f.pull": works, "f.set": works,
				"f.set_back": works, "f.lids": works, "f.hear": works,
				"f.chrono_start": {Outcome: intake.Fails, Taps: []intake.Tap{{Answer: "runs_on"}}},
			},
			"", "",
		},
		"chronograph stops doubtfully": {
			chrono,
			intake.Answers{
				"f.look": works, "f.listen": works, "f.wind": works, "f.run": works, "f.pull": works, "f.set": works,
				"f.set_back": works, "f.lids": works, "f.hear": works, "f.chrono_start": {Outcome: intake.Doubtful},
			},
			"f.chrono_reset", "",
		},
		"the words say worse than the cell": {
			chrono,
			intake.Answers{
				"f.look": works, "f.listen": works, "f.wind": works, "f.run": works, "f.pull": works, "f.set": works,
				"f.set_back": works, "f.lids": works, "f.hear": works,
				"f.chrono_start": {Outcome: intake.Doubtful, Taps: []intake.Tap{{Answer: "runs_on"}}},
			},
			"", "",
		},
		"midnight watched before the quick change": {
			alarm,
			intake.Answers{
				"f.look": works, "f.listen": works, "f.wind": works, "f.rotor": works, "f.run": works, "f.alarm_off": works,
				"f.pull": works, "f.set": works, "f.clear_hours": works, "f.date_eve": works,
			},
			"f.alarm f.hear", "",
		},
		"chronograph hand off zero is not started": {
			chrono,
			intake.Answers{
				"f.look":   {Outcome: intake.Doubtful, Taps: []intake.Tap{{Answer: "zero"}}},
				"f.listen": works, "f.wind": works, "f.run": works, "f.pull": works, "f.set": works, "f.set_back": works,
				"f.lids": works, "f.hear": works,
			},
			"", "",
		},
		"winds stiffly, so not to the full": {
			alarm,
			intake.Answers{
				"f.look": works, "f.listen": works, "f.rotor": works, "f.run": works, "f.alarm_off": works, "f.pull": works,
				"f.wind": {Outcome: intake.Doubtful, Taps: []intake.Tap{{Answer: "stiff"}}},
			},
			"f.set", "",
		},
		"stem left alone": {chrono, intake.Answers{
			"f.look": works, "f.listen": works, "f.wind": works, "f.run": works, "f.hear": works, "f.lids": works,
			"f.pull": {Outcome: intake.NotTried},
		}, "f.chrono_start", ""},
	} {
		t.Run(name, func(t *testing.T) {
			p := intake.Next(c.Functions(tc.f, intake.Reported{}), tc.done)
			if got := ids(p.May); got != tc.may || p.Stopped != tc.stop {
				t.Errorf("may %q, stopped %q; want %q, %q", got, p.Stopped, tc.may, tc.stop)
			}
			for _, b := range p.Barred {
				if b.Why == "" {
					t.Errorf("%s is barred without a reason", b.Function.ID)
				}
			}
		})
	}
}

// TestOrderIsAsTaught: the order in which the trade tries functions (common
// practice), checked on a watch that has nearly all of them.
func TestOrderIsAsTaught(t *testing.T) {
	got := ids(intake.Default().Functions(everything, intake.Reported{}))
	at := -1
	for _, id := range strings.Fields("f.look f.listen f.unscrew f.wind f.rotor f.run f.alarm_off f.pull f.set f.date f.day " +
		"f.chrono_start f.chrono_reset f.chrono_run f.alarm f.lids f.date_eve f.hear") {
		i := slices.Index(strings.Fields(got), id)
		if i <= at {
			t.Errorf("%s stands at %d, want after %d", id, i, at)
		}
		at = i
	}
}

// TestAfterTheAlarm: once the alarm was set to ring, the hands are neither set
// back nor the date quick-set (common practice: alarm unset before setting
// back, hands out of the blocked hours).
func TestAfterTheAlarm(t *testing.T) {
	f, _ := intake.ParseKind("automatic alarm with date")
	order := intake.Default().Functions(f, intake.Reported{})
	done := intake.Answers{}
	for _, fn := range order {
		switch fn.ID {
		case "f.set_back", "f.date":
		default:
			done[fn.ID] = intake.Given{Outcome: intake.Works}
		}
	}
	if p := intake.Next(order, done); len(p.May) != 0 || len(p.Barred) != 2 {
		t.Errorf("may %s, want nothing", ids(p.May))
	}
	delete(done, "f.alarm")
	delete(done, "f.date_eve")
	if got, want := ids(intake.Next(order, done).May), "f.set_back f.date f.alarm f.date_eve"; got != want {
		t.Errorf("before the alarm may %s, want %s", got, want)
	}
}
