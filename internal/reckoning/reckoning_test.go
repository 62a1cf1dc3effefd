package reckoning

import (
	"bytes"
	"encoding/json"
	"errors"
	"math"
	"strings"
	"testing"
)

func run(t *testing.T, args string, asJSON bool) (string, error) {
	t.Helper()
	words := strings.Fields(args)
	var b bytes.Buffer
	err := Run(&b, words[0], words[1:], asJSON)
	if err != nil && b.Len() > 0 {
		t.Errorf("%s: something was written before the error", args)
	}
	return b.String(), err
}

// answers gives one field of the JSON object: a number, or a value and u95.
func answer(t *testing.T, args, field string) (value, u95 float64) {
	t.Helper()
	out, err := run(t, args, true)
	if err != nil {
		t.Fatalf("%s: %v", args, err)
	}
	var o map[string]any
	if err := json.Unmarshal([]byte(out), &o); err != nil {
		t.Fatalf("%s: %v", out, err)
	}
	switch v := o[field].(type) {
	case float64:
		return v, math.NaN()
	case map[string]any:
		return v["value"].(float64), v["u95"].(float64)
	}
	t.Fatalf("%s: no %s in %s", args, field, out)
	return 0, 0
}

// The expected numbers are those of the packages called, with their sources
// there: derived for balance and hairspring, by hand for hand check and nudge.
func TestAnswers(t *testing.T) {
	bare := math.NaN()
	for _, c := range []struct {
		args, field     string
		value, tol, u95 float64
	}{
		{"beat --beat-error-ms 1 --amplitude 270 --beats-per-hour 28800", "degrees", 3.3928, 1e-4, bare},
		{"beat --beat-error-ms=0.5 --amplitude=270 --beats-per-hour=28800", "degrees", 1.6964, 1e-4, bare},
		{"beat --beat-error-ms 1 --amplitude 270 --beats-per-hour 28800 --beat-error-u95 0.1 --amplitude-u95 27", "degrees", 3.3928, 1e-4, 0.4798},
		{"amplitude --lift 52 --interval-ms 6.9 --beats-per-hour 28800", "amplitude_deg", 300.2332, 1e-4, bare},
		{"amplitude --lift 52 --interval-ms 6.9 --beats-per-hour 28800 --lift-u95 4", "amplitude_deg", 300.2332, 1e-4, 23.0949},
		{"amplitude --lift 52 --amplitude 270 --beats-per-hour 28800", "interval_ms", 7.6749, 1e-4, bare},
		{"hand-check --change +40s --over 9h --read-to 1s", "rate_s_per_day", 106.66667, 1e-5, 3.77124},
		{"hand-check --change -40s --over 9h --read-to 1s", "rate_s_per_day", -106.66667, 1e-5, 3.77124},
		{"poise --unbalance-ug-mm 5 --inertia-mg-cm2 12 --beats-per-hour 28800 --amplitude 270", "rate_s_per_day", -0.33406, 1e-5, bare},
		{"hairspring --length-mm 100 --longer-mm -0.1", "rate_s_per_day", 43.2324, 1e-4, bare},
		{"hairspring --length-mm 100 --rate 43.2324", "longer_mm", -0.1, 1e-6, bare},
		{"screws --inertia-mg-cm2 12 --screw-mg 0.5 --radius-mm 4 --out-mm 0.05", "rate_s_per_day", -14.486, 1e-3, bare},
		{"screws --inertia-mg-cm2 12 --screw-mg 0.5 --radius-mm 4 --rate -14.486", "out_mm", 0.05, 1e-5, bare},
		{"washers --inertia-mg-cm2 500 --radius-mm 8.7 --washer-mg 1", "rate_s_per_day", -130.50, 1e-2, bare},
		{"washers --inertia-mg-cm2 500 --radius-mm 8.7 --rate -130.50", "washer_mg", 1, 1e-4, bare},
		{"nudge --before 30 --after 12 --moved 0.5 --wanted 4 --u95 0.3 --shared-u95 4.1", "effect_per_unit", -36, 1e-9, 0.84853},
		{"nudge --before 30 --after 12 --moved 0.5 --wanted 4 --u95 0.3", "left_units", 0.22222, 1e-5, 0.01259}, // 0.3·√(0.2222² + 0.7222²)/18,
	} {
		v, u := answer(t, c.args, c.field)
		if math.Abs(v-c.value) > c.tol || math.IsNaN(u) != math.IsNaN(c.u95) || math.Abs(u-c.u95) > 1e-4 {
			t.Errorf("%s: got %.8g ± %.6g, want %g ± %g", c.args, v, u, c.value, c.u95)
		}
	}
}

func TestWords(t *testing.T) {
	for args, want := range map[string]string{
		"beat --beat-error-ms 1 --amplitude 270 --beats-per-hour 28800":                  "Rest is off the line of centres by: 3.3928°\n",
		"hand-check --change +40s --over 9h --read-to 1s":                                "The hands gain: 107 ± 4 s/d\n",
		"hand-check --change -10m --over 1d --read-to 1s --sound-rate 4 --sound-u95 4.1": "Beside the sound: the hands lose while the sound is good\n",
		"hand-check --change +4s --over 1d --read-to 1s --sound-rate 4 --sound-u95 4.1":  "Beside the sound: same rate\n",
		"nudge --before 30 --after 30.1 --moved 0.5 --wanted 4 --u95 0.3":                "What is left cannot be told: the touch changed no more",
		"washers --inertia-mg-cm2 500 --radius-mm 8.7 --rate 20":                         "Each of the two (negative: take off): −0.15",
	} {
		got, err := run(t, args, false)
		if got = strings.ReplaceAll(got, "\u00a0", " "); err != nil || !strings.Contains(got, want) {
			t.Errorf("%s: got %q, %v, want %q", args, got, err, want)
		}
	}
}

func TestWrongUse(t *testing.T) {
	for args, want := range map[string]string{
		"nothing":              "there are beat, amplitude, hand-check",
		"beat":                 "--beat-error-ms is missing",
		"beat 5":               "is not an input",
		"beat --colour red":    "no input --colour: it takes --beat-error-ms",
		"beat --beat-error-ms": "needs a value",
		"beat --beat-error-ms x --amplitude 270 --beats-per-hour 28800":             "is not a number",
		"beat --beat-error-ms NaN --amplitude 270 --beats-per-hour 28800":           "is not a number",
		"beat --beat-error-ms 1 --amplitude 0 --beats-per-hour 28800":               "must be above 0",
		"beat --beat-error-ms 1 --amplitude 9 --amplitude 8 --beats-per-hour 28800": "given twice",
		"beat --beat-error-ms 500 --amplitude 270 --beats-per-hour 28800":           "no watch has them together",
		"amplitude --lift 52 --beats-per-hour 28800":                                "either --interval-ms or --amplitude",
		"amplitude --lift 52 --amplitude 20 --beats-per-hour 28800":                 "these inputs give no interval ms",
		"hand-check --change 40 --over 9h --read-to 1s":                             "write it with its units",
		"hand-check --change +40s --over 0h --read-to 1s":                           "must be above zero",
		"hand-check --change +40s --over 9h --read-to 0s":                           "no reading is exact",
		"hand-check --change +40s --over 9h --read-to 1s --sound-rate 4":            "--sound-u95",
		"hairspring --length-mm 100":                                                "either --rate or --longer-mm",
		"hairspring --length-mm 100 --longer-mm -100":                               "give no rate",
		"screws --inertia-mg-cm2 12 --screw-mg 0.5 --radius-mm 4":                   "either --rate or --out-mm",
		"washers --inertia-mg-cm2 12 --radius-mm 4":                                 "either --rate or --washer-mg",
		"nudge --before 1 --after 2 --moved 0 --wanted 0 --u95 1":                   "nothing was moved",
	} {
		_, err := run(t, args, true)
		if !errors.Is(err, ErrUsage) || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: got %v, want %q", args, err, want)
		}
	}
}

func TestTable(t *testing.T) {
	seen := map[string]bool{}
	for _, c := range Table() {
		if c.Summary == "" || c.Reckon == nil || seen[c.Name] {
			t.Errorf("%q is not complete or not alone", c.Name)
		}
		seen[c.Name] = true
		for _, in := range c.Inputs {
			if in.Name == "" || in.Help == "" {
				t.Errorf("%s: input %+v says nothing", c.Name, in)
			}
		}
	}
}

func FuzzRun(f *testing.F) {
	f.Add("beat", "--beat-error-ms 1 --amplitude 270 --beats-per-hour 28800")
	f.Add("hand-check", "--change +40s --over 9h --read-to 1s")
	f.Add("nudge", "--before 30 --after 12 --moved 1e-300 --wanted 4 --u95 1e300")
	f.Fuzz(func(t *testing.T, name, args string) {
		for _, asJSON := range []bool{true, false} {
			var b bytes.Buffer
			err := Run(&b, name, strings.Fields(args), asJSON)
			if err != nil && !errors.Is(err, ErrUsage) {
				t.Errorf("%s %s: %v", name, args, err)
			}
			if err == nil && asJSON && !json.Valid(b.Bytes()) {
				t.Errorf("%s %s: %q", name, args, b.String())
			}
		}
	})
}
