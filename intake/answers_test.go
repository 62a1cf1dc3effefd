package intake_test

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"beatwright/intake"
)

// TestFitting: what a watch does not have is not asked; what it has, is.
func TestFitting(t *testing.T) {
	c := intake.Default()
	for kind, tc := range map[string]struct{ asked, not []string }{
		"automatic alarm with date": {
			[]string{"cb.gong", "cc.cam", "cb.rotor", "ca.date", "ca.lugs", "to.off_wrist", "f.alarm", "f.alarm_off", "f.date", "f.rotor"},
			[]string{"cb.levers", "cc.heart", "ca.bow", "cb.stop", "f.chrono_reset", "f.day", "f.repeater"},
		},
		"pocket watch, hand-wound": {
			[]string{"ca.bow", "cb.stop", "cc.safety", "f.lids"},
			[]string{"ca.lugs", "ca.strap", "cb.rotor", "f.unscrew", "f.rotor", "ca.date", "cb.gong"},
		},
		"hand-wound chronograph": {
			[]string{"ca.pushers", "cb.levers", "cc.depth", "cc.friction", "f.chrono_start", "f.chrono_run"},
			[]string{"f.flyback", "f.split", "cb.rotor", "cb.gong"},
		},
		"fly-back chronograph": {[]string{"f.flyback", "cb.rotor"}, []string{"f.split", "cc.split"}},
		"world time, automatic": {
			[]string{"f.zone", "cc.zone", "f.hack", "f.unscrew"}, []string{"f.date", "f.clear_hours"},
		},
		"automatic with stop seconds": {[]string{"f.hack", "cc.stop_lever"}, nil},
		"automatic, no stop seconds":  {nil, []string{"f.hack"}},
		"perpetual calendar":          {[]string{"f.day", "f.clear_hours", "ca.date"}, []string{"f.set_back"}},
		"key-wound pocket watch":      {[]string{"f.wind"}, []string{"f.pull"}},
	} {
		f, unknown := intake.ParseKind(kind)
		if unknown != nil {
			t.Errorf("%q: unknown %v", kind, unknown)
		}
		have := asked(c, f)
		for _, id := range tc.asked {
			if !slices.Contains(have, id) {
				t.Errorf("%q is not asked of %s", kind, id)
			}
		}
		for _, id := range tc.not {
			if slices.Contains(have, id) {
				t.Errorf("%q is asked of %s", kind, id)
			}
		}
	}
}

func asked(c *intake.Catalogue, f intake.Features) []string {
	var out []string
	for _, g := range intake.Groups() {
		for _, q := range c.Questions(f, g) {
			out = append(out, q.ID)
		}
	}
	for _, fn := range c.Functions(f, intake.Reported{}) {
		out = append(out, fn.ID)
	}
	return out
}

// TestFittedAnswers: a hand winder may wind on and on without end, which in an
// automatic is normal (common practice).
func TestFittedAnswers(t *testing.T) {
	for winding, want := range map[intake.Winding]bool{intake.Hand: true, intake.Automatic: false, intake.WindingUnknown: true} {
		for _, fn := range intake.Default().Functions(intake.Features{Winding: winding}, intake.Reported{}) {
			if fn.ID != "f.wind" {
				continue
			}
			got := slices.ContainsFunc(fn.Answers, func(a intake.Answer) bool { return a.Sign == "winds_endless" })
			if got != want {
				t.Errorf("winding %q: winds_endless offered %v, want %v", winding, got, want)
			}
		}
	}
}

func TestUnsure(t *testing.T) {
	for _, q := range intake.Default().Questions(intake.Features{}, intake.BackOff) {
		if want := q.ID == "cb.rotor"; q.Unsure != want {
			t.Errorf("%s: unsure %v, want %v", q.ID, q.Unsure, want)
		}
	}
}

// TestClearAndOpen: "nothing to note" answers what is open and nothing else;
// the deciding ones are shown first, the rest once something is wrong.
func TestClearAndOpen(t *testing.T) {
	c, f := intake.Default(), intake.Features{}
	all := c.Questions(f, intake.BackOff)
	open := c.Open(f, intake.BackOff, nil)
	if len(open) != 3 || open[0].ID != "cb.rust" || !open[2].Decides {
		t.Errorf("%d shown at first, want the three that decide", len(open))
	}
	rust := intake.Answers{"cb.rust": {Taps: []intake.Tap{{Answer: "crown"}}}}
	if got := len(c.Open(f, intake.BackOff, rust)); got != len(all) {
		t.Errorf("%d shown after rust, want all %d", got, len(all))
	}
	none := intake.Answers{"cb.rust": {None: true}}
	if got := len(c.Open(f, intake.BackOff, none)); got != 3 {
		t.Errorf("%d shown after nothing to note, want 3", got)
	}
	// The compass wants a needle and stays open.
	cleared, ids := c.Clear(f, intake.BackOff, rust)
	if len(rust) != 1 || cleared["cb.rust"].None || len(ids) != len(all)-2 {
		t.Errorf("clearing changed what was answered, or %d of %d were cleared", len(ids), len(all)-2)
	}
	if got, want := c.Tally(f, intake.BackOff, cleared), (intake.Tally{Noted: 1, None: len(all) - 2, Open: 1}); got != want {
		t.Errorf("tally %+v, want %+v", got, want)
	}
	if got := c.Tally(f, intake.Closed, cleared); got.Open != len(c.Questions(f, intake.Closed)) {
		t.Errorf("clearing one group touched another: %+v", got)
	}
}

// TestLumeIsAlwaysAsked: old paint is asked about even when nothing seems
// wrong, since it can hurt.
func TestLumeIsAlwaysAsked(t *testing.T) {
	for _, q := range intake.Default().Open(intake.Features{}, intake.Closed, nil) {
		if q.ID == "ca.lume" && slices.Contains(q.Cautions, "p.radium") {
			return
		}
	}
	t.Error("ca.lume with its caution is not among the first shown")
}

func TestEvidence(t *testing.T) {
	c := intake.Default()
	a := intake.Answers{
		"cb.screws":  {Taps: []intake.Tap{{Answer: "bright_slot", Where: []string{"cock"}}}},
		"cb.rust":    {None: true},
		"cb.compass": {}, // there, not said how; both its answers show one sign
		"cb.oil":     {}, // there, not said how: dry or crept, so no sign
		"cb.marks":   {}, // there, not said how: two signs, so neither
		"f.wind":     {Outcome: intake.Works},
		"f.set":      {Outcome: intake.Doubtful},
		"f.run":      {Outcome: intake.NotTried},
	}
	seen, absent := c.Evidence(intake.Features{Winding: intake.Hand}, a)
	if want := []string{"compass", "odd_screw"}; !slices.Equal(seen, want) {
		t.Errorf("seen %v, want %v", seen, want)
	}
	want := []string{"rust", "winds_back", "winds_rough", "winds_stiff"} // ten turns do not rule out the rest
	if !slices.Equal(absent, want) {
		t.Errorf("absent %v, want %v", absent, want)
	}
}

// TestEvidenceAgrees: no sign is both seen and absent, and only known ones
// are given.
func TestEvidenceAgrees(t *testing.T) {
	c := intake.Default()
	rapid.Check(t, func(t *rapid.T) {
		f, a := drawFeatures(t), intake.Answers{}
		for _, g := range intake.Groups() {
			for _, q := range c.Questions(f, g) {
				switch rapid.IntRange(0, 3).Draw(t, q.ID) {
				case 0:
					a[q.ID] = intake.Given{None: true}
				case 1:
					tap := rapid.SampledFrom(q.Answers).Draw(t, "answer")
					a[q.ID] = intake.Given{Taps: []intake.Tap{{Answer: tap.ID}}}
				}
			}
		}
		seen, absent := c.Evidence(f, a)
		for _, s := range append(seen, absent...) {
			if _, ok := c.Sign(s); !ok {
				t.Fatalf("sign %q is not known", s)
			}
		}
		for _, s := range seen {
			if slices.Contains(absent, s) {
				t.Fatalf("%s is both seen and absent", s)
			}
		}
	})
}

func TestReported(t *testing.T) {
	c := intake.Default()
	tap := func(id, answer string) intake.Answers {
		return intake.Answers{id: {Taps: []intake.Tap{{Answer: answer}}}}
	}
	for name, tc := range map[string]struct {
		a    intake.Answers
		want intake.Reported
	}{
		"nothing":       {nil, intake.Reported{}},
		"fell hard":     {tap("to.knock", "hard"), intake.Reported{Fall: true}},
		"light knock":   {tap("to.knock", "light"), intake.Reported{}},
		"not said how":  {intake.Answers{"to.knock": {}}, intake.Reported{Fall: true}},
		"cleared":       {intake.Answers{"to.knock": {None: true}}, intake.Reported{}},
		"wet":           {tap("to.water", "now"), intake.Reported{Water: true}},
		"part loose":    {tap("ca.noise", "part"), intake.Reported{Loose: true}},
		"mist now":      {tap("ca.damp", "now"), intake.Reported{Water: true}},
		"tide mark dry": {tap("ca.damp", "mark"), intake.Reported{}},
	} {
		if got := c.Reported(tc.a); got != tc.want {
			t.Errorf("%s: %+v, want %+v", name, got, tc.want)
		}
	}
}
