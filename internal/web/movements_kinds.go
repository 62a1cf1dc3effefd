package web

import (
	"net/http"
	"slices"
	"strings"

	"beatwright"
	"beatwright/movement"
	"beatwright/unit"
)

// generic are the kinds that come with the program, to begin an entry from.
// No maker's data comes with it: their lift angles are assumed, and beats and
// fifteen teeth are common practice of the kind.
var generic = []kindOfMovement{
	{ID: "hand-18000", Facts: kindOf("Hand-wound, 18 000", 18000, movement.Hand)},
	{ID: "hand-21600", Facts: kindOf("Hand-wound, 21 600", 21600, movement.Hand)},
	{ID: "automatic-18000", Facts: kindOf("Automatic, 18 000", 18000, movement.Automatic, "date")},
	{ID: "automatic-21600", Facts: kindOf("Automatic, 21 600", 21600, movement.Automatic, "date")},
	{ID: "automatic-28800", Facts: kindOf("Automatic, 28 800", 28800, movement.Automatic, "date")},
	{
		ID: "alarm-18000", Facts: kindOf("Alarm with two barrels, 18 000", 18000, movement.Hand, "alarm"),
		Note: "One barrel drives the train, the other the alarm. Let the alarm run down before listening.",
	},
	{ID: "chronograph-18000", Facts: kindOf("Chronograph, hand-wound, 18 000", 18000, movement.Hand, "chronograph")},
	{ID: "chronograph-28800", Facts: kindOf("Chronograph, automatic, 28 800", 28800, movement.Automatic, "chronograph", "date")},
	{ID: "pocket-18000", Facts: kindOf("Pocket watch, 18 000", 18000, movement.Hand, "pocket watch")},
}

// kindOfMovement is one of them.
type kindOfMovement struct {
	ID    string
	Facts movement.Movement
	Note  string
}

const genericSource = "assumed: usual for this kind, no maker’s data"

func kindOf(name string, beats unit.BeatsPerHour, winding movement.Winding, has ...string) movement.Movement {
	lift, u95, teeth := unit.Degrees(52), movement.AssumedLiftU95, 15
	m := movement.Movement{
		Name: name, BeatsPerHour: &beats, Lift: &lift, LiftU95: &u95, LiftStanding: movement.Assumed, LiftSource: genericSource,
		Escapement: movement.Lever, Winding: winding, Complications: has,
	}
	if beats <= 21600 { // faster trains have more, and not all the same number
		m.EscapeTeeth = &teeth
	}
	return m
}

// entryOf makes an entry of the library from a kind.
func (s *Server) entryOf(k kindOfMovement) *beatwright.Movement {
	return &beatwright.Movement{
		Entry: s.entry(), Facts: k.Facts, Source: genericSource, Standing: beatwright.Assumed, Generic: true, Note: k.Note,
	}
}

// addKinds puts all the kinds that are not there into the library.
func (s *Server) addKinds(r *http.Request) (string, error) {
	have, err := all[*beatwright.Movement](r.Context(), s.bench, beatwright.KindMovement)
	if err != nil {
		return "", err
	}
	var put []beatwright.Thing
	for _, k := range generic {
		if !slices.ContainsFunc(have, func(m *beatwright.Movement) bool { return sameName(m.Facts.Name, k.Facts.Name) }) {
			put = append(put, s.entryOf(k))
		}
	}
	if len(put) == 0 {
		return "/movements", nil
	}
	_, err = s.bench.Apply(r.Context(), beatwright.Change{Who: s.who(r), What: inWords(len(put)) + " " + plural(len(put), "kind", "kinds") + " put into the library", Put: put})
	return "/movements", err
}

// sameName tells whether two names are one to a reader.
func sameName(a, b string) bool {
	return strings.EqualFold(strings.Join(strings.Fields(a), " "), strings.Join(strings.Fields(b), " "))
}
