package intake_test

import (
	"encoding/json"
	"reflect"
	"testing"

	"pgregory.net/rapid"

	"beatwright/intake"
	"beatwright/movement"
)

func TestParseKind(t *testing.T) {
	for in, want := range map[string]intake.Features{
		"":                               {},
		"automatic alarm with date":      {Winding: intake.Automatic, Alarm: true, Date: true},
		"alarm watch, self-winding":      {Winding: intake.Automatic, Alarm: true},
		"Hand-wound chronograph":         {Winding: intake.Hand, Chronograph: intake.TwoPusher},
		"pocket watch, hunter":           {Pocket: true, Hunter: true},
		"hunter":                         {Pocket: true, Hunter: true},
		"day-date automatic":             {Winding: intake.Automatic, Day: true, Date: true},
		"automatic, also hand winding":   {Winding: intake.Both},
		"chronograph, fly-back":          {Chronograph: intake.Flyback},
		"fly back chronograph":           {Chronograph: intake.Flyback},
		"split-seconds chronograph":      {Chronograph: intake.Rattrapante},
		"one-pusher chronograph":         {Chronograph: intake.OnePusher},
		"triple calendar with moonphase": {Date: true, Day: true, Month: true, Moon: true},
		"automatic without date":         {Winding: intake.Automatic},
		"date, no date":                  {},
		"hacking, no screw-down crown":   {StopSeconds: intake.Yes, ScrewCrown: intake.No},
		"not waterproof":                 {Sealed: intake.No},
		"diver":                          {TurningBezel: true, Sealed: intake.Yes},
		"key-wound fob watch":            {Winding: intake.Key, Pocket: true},
		"world timer":                    {WorldTime: true},
		"24-hour hand":                   {SecondZone: true},
		"eight-day alarm":                {Alarm: true},
		"automatic, not automatic":       {},
	} {
		if got, unknown := intake.ParseKind(in); got != want || unknown != nil {
			t.Errorf("%q: %+v and unknown %v, want %+v", in, got, unknown, want)
		}
	}
}

func TestParseKindGivesUnknownBack(t *testing.T) {
	f, unknown := intake.ParseKind("automatic Tourbillon with alarm, tourbillon, quartz")
	if want := []string{"tourbillon", "quartz"}; !reflect.DeepEqual(unknown, want) || !f.Alarm {
		t.Errorf("%+v and unknown %v, want an alarm and %v", f, unknown, want)
	}
}

func TestKindSays(t *testing.T) {
	f, _ := intake.ParseKind("alarm with date, self-winding, hack")
	if got, want := f.String(), "automatic watch with alarm, date and stop seconds"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}

func drawFeatures(t *rapid.T) intake.Features {
	b := func(name string) bool { return rapid.Bool().Draw(t, name) }
	k := func(name string) intake.Known { return intake.Known(rapid.IntRange(0, 2).Draw(t, name)) }
	f := intake.Features{
		Winding:     rapid.SampledFrom([]intake.Winding{"", intake.Hand, intake.Automatic, intake.Both, intake.Key}).Draw(t, "winding"),
		Chronograph: rapid.SampledFrom([]intake.Chronograph{"", intake.TwoPusher, intake.OnePusher, intake.Flyback, intake.Rattrapante}).Draw(t, "chronograph"),
		Alarm:       b("alarm"), Date: b("date"), Day: b("day"), Month: b("month"), Moon: b("moon"), Perpetual: b("perpetual"),
		WorldTime: b("world time"), SecondZone: b("second zone"), Repeater: b("repeater"), PowerReserve: b("power reserve"),
		TurningBezel: b("bezel"), Pocket: b("pocket"), Hunter: b("hunter"),
		StopSeconds: k("stop seconds"), ScrewCrown: k("screw crown"), Sealed: k("sealed"), LeverSet: k("lever set"),
	}
	f.Hunter = f.Hunter && f.Pocket // a lid over the glass makes it a pocket watch
	return f
}

func TestKindRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := drawFeatures(t)
		if got, unknown := intake.ParseKind(f.String()); got != f || unknown != nil {
			t.Fatalf("%q reads as %+v and unknown %v, want %+v", f, got, unknown, f)
		}
	})
}

func TestFeaturesJSON(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := drawFeatures(t)
		text, err := json.Marshal(f)
		if err != nil {
			t.Fatal(err)
		}
		var got intake.Features
		if err := json.Unmarshal(text, &got); err != nil || got != f {
			t.Fatalf("%s reads as %+v (%v), want %+v", text, got, err, f)
		}
	})
	var f intake.Features
	if json.Unmarshal([]byte(`{"sealed":"perhaps"}`), &f) == nil {
		t.Error("perhaps passes for yes or no")
	}
}

func FuzzParseKind(f *testing.F) {
	f.Add("automatic alarm with date, no hack")
	f.Add("non-hacking\xff\x00 é ´ 24h")
	f.Add("without without no no chronograph")
	f.Fuzz(func(t *testing.T, s string) {
		first, _ := intake.ParseKind(s)
		if again, unknown := intake.ParseKind(first.String()); again != first || unknown != nil {
			t.Errorf("%q reads as %+v, said %q, which reads as %+v", s, first, first, again)
		}
	})
}

func TestOfMovement(t *testing.T) {
	m := movement.Movement{Winding: movement.Automatic, Complications: []string{"alarm", "date", "carillon"}}
	f, unknown := intake.OfMovement(m)
	if want := (intake.Features{Winding: intake.Automatic, Alarm: true, Date: true}); f != want {
		t.Errorf("%+v, want %+v", f, want)
	}
	if len(unknown) != 1 || unknown[0] != "carillon" {
		t.Errorf("unknown %v, want carillon", unknown)
	}
}
