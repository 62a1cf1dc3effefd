package intake_test

import (
	"testing"

	"beatwright/intake"
)

// TestFits: three-valued logic after Kleene (from memory): what hangs on
// something unknown is unknown, unless the rest decides.
func TestFits(t *testing.T) {
	alarm := intake.Features{Winding: intake.Automatic, Alarm: true, Date: true}
	pocket := intake.Features{Winding: intake.Key, Pocket: true}
	nothing := intake.Features{}
	for _, tc := range []struct {
		fits intake.Fits
		f    intake.Features
		want intake.Known
	}{
		{"", nothing, intake.Yes},
		{"alarm", alarm, intake.Yes},
		{"alarm", nothing, intake.No},
		{"not alarm", nothing, intake.Yes},
		{"automatic", nothing, intake.Unknown},
		{"automatic", pocket, intake.No},
		{"automatic", intake.Features{Pocket: true}, intake.No}, // none was seen; common practice
		{"not automatic", nothing, intake.Unknown},
		{"automatic and alarm", nothing, intake.No},
		{"automatic or wrist", nothing, intake.Yes},
		{"automatic or alarm", nothing, intake.Unknown},
		{"alarm or date and pocket", alarm, intake.Yes}, // and binds before or
		{"(alarm or date) and pocket", alarm, intake.No},
		{"not alarm or date", alarm, intake.Yes}, // not binds closest
		{"not (alarm or date)", alarm, intake.No},
		{"not not alarm", alarm, intake.Yes},
		{"calendar", alarm, intake.Yes},
		{"hand_only", alarm, intake.No},
		{"hand", alarm, intake.Yes}, // most automatics wind by the crown too
		{"hand", pocket, intake.No},
		{"stop_seconds and alarm", alarm, intake.Unknown},
		{"broken (", alarm, intake.Unknown},
	} {
		if got := tc.fits.Match(tc.f); got != tc.want {
			t.Errorf("%q on %v: %v, want %v", tc.fits, tc.f, got, tc.want)
		}
	}
}

func TestFitsCheck(t *testing.T) {
	for _, bad := range []intake.Fits{"and", "alarm date", "(alarm", "alarm)", "not", "quartz", "alarm or or date", "()"} {
		if bad.Check() == nil {
			t.Errorf("%q passes", bad)
		}
	}
}

func FuzzFits(f *testing.F) {
	f.Add("alarm and (not pocket or key)")
	f.Add("((((((((not not alarm")
	f.Add("alarm))")
	f.Fuzz(func(t *testing.T, s string) {
		e := intake.Fits(s)
		got := e.Match(everything)
		if e.Check() != nil {
			if got != intake.Unknown {
				t.Errorf("%q is broken, yet answers %v", s, got)
			}
			return
		}
		// De Morgan: not (e) is the opposite, unknown staying unknown.
		opposite := map[intake.Known]intake.Known{intake.Yes: intake.No, intake.No: intake.Yes, intake.Unknown: intake.Unknown}
		if n := "not ( " + e + " )"; e != "" && n.Check() == nil && n.Match(everything) != opposite[got] {
			t.Errorf("%q is %v and its opposite %v", s, got, n.Match(everything))
		}
	})
}
