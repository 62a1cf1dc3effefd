package demo

import (
	"beatwright"
	"beatwright/movement"
	"beatwright/unit"
)

// house writes the workshop, the owners and the library of movements.
func (s *shop) house() {
	w := beatwright.NewWorkshop()
	w.Name, w.Place, w.Currency, w.Who = "Lantern Yard workshop", "Wendlehithe", "EUR", who
	w.Invented = true
	things := []beatwright.Thing{w}
	for _, o := range []beatwright.Owner{
		{Name: "Ilse Marrow", Phone: "0100 555 014", Note: "Invented. Rings back in the evening."},
		{Name: "Mr Tolleby", Phone: "0100 555 027", Note: "Invented. Wants to be told before any part is made."},
		{Name: "Bertran Oake", Mail: "oake@wendlehithe.example"},
		{Name: "Dr Senna Vail", Mail: "vail@wendlehithe.example"},
		{Name: "Corin Haslett", Phone: "0100 555 033"},
		{Name: "Ottilie Brandreth", Address: "3 Quay Steps, Wendlehithe"},
		{Name: "Lantern Yard workshop", House: true},
	} {
		o.Entry = s.entry()
		s.owners[o.Name] = o.ID
		things = append(things, &o)
	}
	for _, m := range library() {
		name := m.Facts.Name
		m.Entry = s.entry()
		s.movements[name] = m.ID
		things = append(things, m)
	}
	s.put("", "an invented workshop, to try things out in", things...)
}

// library are the invented movements, each with how well it is known.
func library() []*beatwright.Movement {
	alarm := known("Quellmar 41, invented", 18000, 48, movement.Published, movement.Automatic, "alarm", "date")
	alarm.Source, alarm.Facts.LiftSource = "an invented service sheet; train counted", "the same sheet"
	alarm.Facts.Wheels = map[string]int{"centre": 80, "third": 75, "fourth": 70}
	alarm.Facts.Pinions = map[string]int{"third": 10, "fourth": 10, "escape": 7}
	teeth := 15
	alarm.Facts.EscapeTeeth = &teeth
	two := 2.0
	alarm.Facts.CrownHour = &two
	diver := known("Kestrin 9, invented", 28800, 51, movement.Given, movement.Automatic, "date", "stop seconds")
	chrono := known("Tessagne 12, invented", 21600, 50, movement.Published, movement.Hand, "chronograph")
	small := known("Norrim 5, invented", 18000, 0, "", movement.Hand, "small seconds")
	small.Standing, small.Note = beatwright.Assumed, "Lift angle not known."
	pocket := known("Pellworth 18, invented", 18000, 46, movement.Measured, movement.Hand)
	dated := known("Calverhythe 3, invented", 21600, 52, movement.Published, movement.Automatic, "date")
	return []*beatwright.Movement{alarm, diver, chrono, small, pocket, dated}
}

func known(name string, beats unit.BeatsPerHour, lift unit.Degrees, standing movement.Standing, w movement.Winding, holds ...string) *beatwright.Movement {
	m := &beatwright.Movement{
		Facts:    movement.Movement{Name: name, BeatsPerHour: &beats, Escapement: movement.Lever, Winding: w, Complications: holds},
		Source:   "invented",
		Standing: beatwright.Standing(standing),
	}
	if lift > 0 {
		m.Facts.Lift, m.Facts.LiftStanding, m.Facts.LiftSource = &lift, standing, "invented"
	}
	return m
}
