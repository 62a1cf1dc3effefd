package intake

import "fmt"

// Known is an answer that may be missing.
type Known uint8

// The three states of what is known. Unknown is the zero value.
const (
	Unknown Known = iota
	Yes
	No
)

// MarshalText writes yes, no, or nothing.
func (k Known) MarshalText() ([]byte, error) {
	switch k {
	case Yes:
		return []byte("yes"), nil
	case No:
		return []byte("no"), nil
	}
	return nil, nil
}

// UnmarshalText reads what MarshalText writes.
func (k *Known) UnmarshalText(text []byte) error {
	switch string(text) {
	case "yes":
		*k = Yes
	case "no":
		*k = No
	case "":
		*k = Unknown
	default:
		return fmt.Errorf("%q is neither yes nor no", clip(string(text)))
	}
	return nil
}

func known(b bool) Known {
	if b {
		return Yes
	}
	return No
}

// Winding is how the mainspring is wound.
type Winding string

// The kinds of winding; the empty one is not known.
const (
	WindingUnknown Winding = ""
	Hand           Winding = "hand"
	Automatic      Winding = "automatic" // by its rotor; most wind by the crown too
	Both           Winding = "both"      // by rotor and, as is known, by crown
	Key            Winding = "key"
)

// Chronograph is the kind of chronograph.
type Chronograph string

// The kinds of chronograph; the empty one is none.
const (
	NoChronograph Chronograph = ""
	TwoPusher     Chronograph = "two pushers"
	OnePusher     Chronograph = "one pusher"
	Flyback       Chronograph = "fly-back"
	Rattrapante   Chronograph = "split seconds"
)

// Features is what a watch has, as far as it matters for what is asked. What
// shows on the dial either is there or is not; what cannot be seen from
// outside may be unknown, and is then asked. The zero value is a wristwatch
// with three hands of which nothing more is known.
type Features struct {
	Winding      Winding     `json:"winding,omitempty"`
	Alarm        bool        `json:"alarm,omitempty"`
	Date         bool        `json:"date,omitempty"`
	Day          bool        `json:"day,omitempty"`
	Month        bool        `json:"month,omitempty"`
	Moon         bool        `json:"moon,omitempty"`
	Perpetual    bool        `json:"perpetual,omitempty"` // the calendar knows the lengths of months: annual or perpetual
	Chronograph  Chronograph `json:"chronograph,omitempty"`
	WorldTime    bool        `json:"world_time,omitempty"`
	SecondZone   bool        `json:"second_zone,omitempty"`
	Repeater     bool        `json:"repeater,omitempty"`
	PowerReserve bool        `json:"power_reserve,omitempty"` // an indicator of it
	TurningBezel bool        `json:"turning_bezel,omitempty"`
	Pocket       bool        `json:"pocket,omitempty"`
	Hunter       bool        `json:"hunter,omitempty"` // a lid over the glass
	StopSeconds  Known       `json:"stop_seconds,omitempty"`
	ScrewCrown   Known       `json:"screw_crown,omitempty"`
	Sealed       Known       `json:"sealed,omitempty"`    // built or marked to keep water out
	LeverSet     Known       `json:"lever_set,omitempty"` // the hands are set after a lever is drawn
}

// Calendar tells whether the watch has any kind of calendar.
func (f Features) Calendar() bool { return f.Date || f.Day || f.Month || f.Moon || f.Perpetual }

// traits are the names that a fits expression may use.
var traits = map[string]func(Features) Known{
	"hand":          func(f Features) Known { return f.wound(Hand, Automatic, Both) },
	"hand_only":     func(f Features) Known { return f.wound(Hand) },
	"automatic":     func(f Features) Known { return f.wound(Automatic, Both) },
	"key":           func(f Features) Known { return known(f.Winding == Key) },
	"alarm":         func(f Features) Known { return known(f.Alarm) },
	"date":          func(f Features) Known { return known(f.Date) },
	"day":           func(f Features) Known { return known(f.Day) },
	"month":         func(f Features) Known { return known(f.Month) },
	"moon":          func(f Features) Known { return known(f.Moon) },
	"perpetual":     func(f Features) Known { return known(f.Perpetual) },
	"calendar":      func(f Features) Known { return known(f.Calendar()) },
	"chronograph":   func(f Features) Known { return known(f.Chronograph != NoChronograph) },
	"one_pusher":    func(f Features) Known { return known(f.Chronograph == OnePusher) },
	"flyback":       func(f Features) Known { return known(f.Chronograph == Flyback) },
	"rattrapante":   func(f Features) Known { return known(f.Chronograph == Rattrapante) },
	"world_time":    func(f Features) Known { return known(f.WorldTime) },
	"second_zone":   func(f Features) Known { return known(f.SecondZone) },
	"repeater":      func(f Features) Known { return known(f.Repeater) },
	"power_reserve": func(f Features) Known { return known(f.PowerReserve) },
	"turning_bezel": func(f Features) Known { return known(f.TurningBezel) },
	"pocket":        func(f Features) Known { return known(f.Pocket) },
	"wrist":         func(f Features) Known { return known(!f.Pocket) },
	"hunter":        func(f Features) Known { return known(f.Hunter) },
	"stop_seconds":  func(f Features) Known { return f.StopSeconds },
	"screw_crown":   func(f Features) Known { return f.ScrewCrown },
	"sealed":        func(f Features) Known { return f.Sealed },
	"lever_set":     func(f Features) Known { return f.LeverSet },
}

// wound is Unknown where the winding is, except that a pocket watch is not
// taken for an automatic.
func (f Features) wound(kinds ...Winding) Known {
	if f.Winding == WindingUnknown {
		if f.Pocket && kinds[0] == Automatic {
			return No
		}
		return Unknown
	}
	for _, k := range kinds {
		if f.Winding == k {
			return Yes
		}
	}
	return No
}
