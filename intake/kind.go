package intake

import (
	"strings"
	"unicode"

	"beatwright/internal/say"
	"beatwright/movement"
)

// maxKind is the most bytes of a kind that are read; the rest is passed over
// (chosen).
const maxKind = 2000

// ParseKind reads what a watch is from words as a watchmaker says them:
// "automatic alarm with date", "hand-wound chronograph", "pocket watch,
// hunter". It never fails: words it does not know are given back, each once,
// and words that say nothing here (watch, with, gold) are passed over. "no"
// and "without" take away what follows.
func ParseKind(s string) (Features, []string) {
	if len(s) > maxKind {
		s = strings.ToValidUTF8(s[:maxKind], "")
	}
	words := split(s)
	var f Features
	var unknown []string
	negated := false
	for i := 0; i < len(words); {
		if words[i] == "no" || words[i] == "without" || words[i] == "not" || words[i] == "non" {
			negated = true
			i++
			continue
		}
		n, apply := phrase(words[i:])
		switch {
		case apply != nil:
			apply(&f, !negated)
		case n == 0:
			n = 1
			unknown = appendOnce(unknown, words[i])
		}
		negated = negated && apply == nil && n > 0 && fillers[words[i]]
		i += n
	}
	return f, unknown
}

// split gives the words in lower case, without hyphens and other marks.
func split(s string) []string {
	return strings.FieldsFunc(strings.ToLower(s), func(r rune) bool {
		return !unicode.IsLetter(r) && !unicode.IsDigit(r)
	})
}

func appendOnce(list []string, s string) []string {
	for _, have := range list {
		if have == s {
			return list
		}
	}
	return append(list, s)
}

// phrase finds the longest known run at the start of words. A filler is a run
// of one without effect.
func phrase(words []string) (n int, apply func(*Features, bool)) {
	for n = min(longestPhrase, len(words)); n > 0; n-- {
		if apply, ok := phrases[strings.Join(words[:n], " ")]; ok {
			return n, apply
		}
	}
	if fillers[words[0]] {
		return 1, nil
	}
	return 0, nil
}

// OfMovement reads features from what is known of a movement, and gives back
// the words of its complications that are not known here.
func OfMovement(m movement.Movement) (Features, []string) {
	f, unknown := ParseKind(strings.Join(m.Complications, ", "))
	switch m.Winding {
	case movement.Hand:
		f.wind(Hand)
	case movement.Automatic:
		f.wind(Automatic)
	case movement.Key:
		f.Winding = Key
	}
	return f, unknown
}

// wind adds a way of winding: one by rotor and one by crown are both.
func (f *Features) wind(w Winding) {
	switch {
	case f.Winding == Both, f.Winding == Hand && w == Automatic, f.Winding == Automatic && w == Hand:
		f.Winding = Both
	default:
		f.Winding = w
	}
}

// part is one word of String and when it is said.
type part struct {
	words string
	is    func(Features) bool
}

// parts in the order in which they are said; ParseKind reads each.
var parts = []part{
	{"alarm", func(f Features) bool { return f.Alarm }},
	{"repeater", func(f Features) bool { return f.Repeater }},
	{"chronograph", func(f Features) bool { return f.Chronograph == TwoPusher }},
	{"one-pusher chronograph", func(f Features) bool { return f.Chronograph == OnePusher }},
	{"fly-back chronograph", func(f Features) bool { return f.Chronograph == Flyback }},
	{"split-seconds chronograph", func(f Features) bool { return f.Chronograph == Rattrapante }},
	{"date", func(f Features) bool { return f.Date }},
	{"day", func(f Features) bool { return f.Day }},
	{"month", func(f Features) bool { return f.Month }},
	{"moon", func(f Features) bool { return f.Moon }},
	{"perpetual calendar", func(f Features) bool { return f.Perpetual }},
	{"world time", func(f Features) bool { return f.WorldTime }},
	{"second time zone", func(f Features) bool { return f.SecondZone }},
	{"power reserve", func(f Features) bool { return f.PowerReserve }},
	{"turning bezel", func(f Features) bool { return f.TurningBezel }},
	{"stop seconds", func(f Features) bool { return f.StopSeconds == Yes }},
	{"screw-down crown", func(f Features) bool { return f.ScrewCrown == Yes }},
	{"seals", func(f Features) bool { return f.Sealed == Yes }},
	{"lever setting", func(f Features) bool { return f.LeverSet == Yes }},
	{"no stop seconds", func(f Features) bool { return f.StopSeconds == No }},
	{"no screw-down crown", func(f Features) bool { return f.ScrewCrown == No }},
	{"no seals", func(f Features) bool { return f.Sealed == No }},
	{"no lever setting", func(f Features) bool { return f.LeverSet == No }},
}

// String gives the features in words that ParseKind reads back:
// "automatic watch with alarm and date".
func (f Features) String() string {
	var head []string
	switch f.Winding {
	case Hand:
		head = append(head, "hand-wound")
	case Automatic:
		head = append(head, "automatic")
	case Both:
		head = append(head, "automatic and hand-wound")
	case Key:
		head = append(head, "key-wound")
	}
	if f.Hunter {
		head = append(head, "hunter")
	}
	if f.Pocket {
		head = append(head, "pocket")
	}
	head = append(head, "watch")
	var with []string
	for _, p := range parts {
		if p.is(f) {
			with = append(with, p.words)
		}
	}
	s := strings.Join(head, " ")
	if len(with) > 0 {
		s += " with " + say.List(with)
	}
	return s
}
