package intake_test

import (
	"slices"
	"testing"

	"beatwright/intake"
)

func TestCompare(t *testing.T) {
	c := intake.Default()
	tap := func(answer string) intake.Given { return intake.Given{Taps: []intake.Tap{{Answer: answer}}} }
	none := intake.Given{None: true}
	for name, tc := range map[string]struct {
		claim    string
		answers  intake.Answers
		readings map[string]bool
		want     intake.Standing
		against  string
	}{
		"nothing looked at":          {"cl.serviced", nil, nil, intake.NotLookedAt, ""},
		"serviced, oil dry":          {"cl.serviced", intake.Answers{"cb.oil": tap("dry"), "cb.rust": none}, nil, intake.Contradicted, "oil dry or brown in the sinks"},
		"serviced, never oiled":      {"cl.serviced", intake.Answers{"cb.oil": tap("none")}, nil, intake.Contradicted, "clean, but never oiled"},
		"serviced, all good":         {"cl.serviced", intake.Answers{"cb.oil": none, "cb.rust": none, "cb.gasket": none}, nil, intake.BorneOut, ""},
		"serviced, half looked":      {"cl.serviced", intake.Answers{"cb.oil": none}, nil, intake.SoFar, ""},
		"runs, heard and tried":      {"cl.runs", intake.Answers{"f.run": {Outcome: intake.Works}}, map[string]bool{"amp_good": true}, intake.BorneOut, ""},
		"runs, swing low":            {"cl.runs", intake.Answers{"f.run": {Outcome: intake.Works}}, map[string]bool{"amp_low": true}, intake.Contradicted, "swing low at full wind"},
		"runs, not tried":            {"cl.runs", intake.Answers{"f.run": {Outcome: intake.NotTried}}, nil, intake.NotLookedAt, ""},
		"original never proved":      {"cl.original", intake.Answers{"ca.dial": none, "ca.hands": none, "cb.screws": none}, nil, intake.SoFar, ""},
		"original, foreign screw":    {"cl.original", intake.Answers{"cb.screws": tap("foreign")}, nil, intake.Contradicted, "a screw not its own, or torn"},
		"waterproof never proved":    {"cl.waterproof", intake.Answers{"cb.gasket": none, "ca.damp": none, "ca.glass": none, "ca.crown": none}, nil, intake.SoFar, ""},
		"new glass, scratched":       {"cl.glass", intake.Answers{"ca.glass": tap("scratched")}, nil, intake.Contradicted, "glass scratched, chipped, cracked, loose or misted"},
		"new glass, clean":           {"cl.glass", intake.Answers{"ca.glass": none}, nil, intake.BorneOut, ""},
		"alarm doubtful":             {"cl.alarm", intake.Answers{"f.alarm": {Outcome: intake.Doubtful, Taps: []intake.Tap{{Answer: "weak"}}}}, nil, intake.Contradicted, "rings weakly"},
		"alarm works":                {"cl.alarm", intake.Answers{"f.alarm": {Outcome: intake.Works}}, nil, intake.BorneOut, ""},
		"alarm fails, not said how":  {"cl.alarm", intake.Answers{"f.alarm": {Outcome: intake.Fails}}, nil, intake.Contradicted, "did not ring as it should when tried"},
		"swing neither good nor low": {"cl.runs", intake.Answers{"f.run": {Outcome: intake.Works}}, map[string]bool{"amp_good": false}, intake.SoFar, ""},
		"run fails, not said how":    {"cl.runs", intake.Answers{"f.run": {Outcome: intake.Fails}}, nil, intake.Contradicted, "did not start and go as it should when tried"},
		"date not tried":             {"cl.calendar", intake.Answers{"f.date": {Outcome: intake.NotTried}}, nil, intake.NotLookedAt, ""},
	} {
		t.Run(name, func(t *testing.T) {
			v := c.Compare([]string{tc.claim, "cl.no_such"}, everything, tc.answers, tc.readings)
			if len(v) != 1 || v[0].Standing != tc.want {
				t.Fatalf("%+v, want %s", v, tc.want)
			}
			if tc.against != "" && !slices.Contains(v[0].Against, tc.against) {
				t.Errorf("against %v, want %q", v[0].Against, tc.against)
			}
		})
	}
}

// TestEveryClaimCanFail: no claim is empty, and each can be contradicted.
func TestEveryClaimCanFail(t *testing.T) {
	for _, cl := range intake.Default().Claims(everything) {
		if len(cl.Against) == 0 || len(cl.For) == 0 && cl.Never == "" {
			t.Errorf("%s cannot be judged", cl.ID)
		}
	}
	hand := intake.Default().Claims(intake.Features{Winding: intake.Hand})
	if slices.ContainsFunc(hand, func(cl intake.Claim) bool { return cl.ID == "cl.automatic" || cl.ID == "cl.alarm" }) {
		t.Error("a plain hand winder is offered claims of what it does not have")
	}
}
