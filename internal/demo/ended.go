package demo

import (
	"beatwright"
	"beatwright/intake"
)

func newHunter() *beatwright.Watch {
	return &beatwright.Watch{Says: "Pellworth", What: "pocket watch, hunter", Case: "30 092", Works: "88121", About: "1910", Lume: "none"}
}

// hunter is a pocket watch that was done and went back; it comes back later.
func hunter(s *shop) {
	s.at(52, 14, 5)
	v := s.open(newHunter(), "Bertran Oake", "Pellworth 18, invented", beatwright.Job{
		Complaint: "It loses ten minutes a week and the lid will not stay shut.", Custody: []string{"key", "box"},
	})
	s.hunter = v.job.ID
	v.picture("lid and bow, as it came", lid, nil)
	s.at(52, 14, 30)
	v.note("to.unserviced", "more")
	bow := v.note("ca.bow", "hinge", "shut")
	v.note("cb.oil", "dry")
	v.clear(intake.Closed)
	v.works("f.look", "f.listen", "f.wind", "f.run", "f.pull", "f.set", "f.set_back")
	v.try("f.lids", "lid")
	s.at(51, 9, 10)
	old := pocket
	old.rate, old.swing = -88, 214
	v.hear(7, beatwright.AsFound, 0.5, old, "CH", "12H", "3H")
	s.at(50, 10, 0)
	v.now(beatwright.Quoted)
	s.at(48, 9, 0)
	v.now(beatwright.Agreed)
	s.at(44, 8, 40)
	v.now(beatwright.InWork)
	s.at(40, 16, 0)
	v.settle(bow, "replaced", "new lid spring made, hinge pin fitted")
	s.at(37, 9, 15)
	v.hear(7, beatwright.AsLeft, 0.5, pocket, "CH", "12H", "3H")
	s.at(36, 15, 0)
	v.now(beatwright.Ready)
	s.at(31, 11, 20)
	v.now(beatwright.Returned)
}

var pocket = voice{
	kind: "fair", seed: 5, beats: 18000, lift: 46, seconds: 15, snr: 32, error: 0.6,
	rate: 2, swell: 6, hour: 12, flat: 3, swing: 271, hang: 26,
}

// comeBack is the same watch a month later.
func comeBack(s *shop) {
	s.at(2, 15, 10)
	if s.err != nil {
		return
	}
	earlier, err := s.bench.Job(s.ctx, string(s.hunter))
	if err != nil {
		s.err = err
		return
	}
	v := s.open(earlier.Watch, "Bertran Oake", "", beatwright.Job{After: s.hunter, Complaint: "It gains half a minute a day since I dropped it on the rug."})
	s.at(2, 15, 20)
	v.note("to.knock", "light")
	v.clear(intake.Closed)
	v.works("f.look", "f.listen", "f.wind", "f.run")
	s.at(1, 16, 40)
	knocked := pocket
	knocked.rate, knocked.error, knocked.swing, knocked.quick = 31, 1.9, 255, true
	v.hear(3, beatwright.AsFound, 1, knocked, "CH", "12H")
	v.todo("Set it beside what left the workshop, then ring Bertran Oake", s.day(1, 0, 0))
}

// moonWatch was quoted, and not wanted.
func moonWatch(s *shop) {
	s.at(45, 11, 0)
	v := s.open(&beatwright.Watch{Says: "Morvane", What: "hand-wound watch with date and moon", About: "1950"}, "Corin Haslett", "", beatwright.Job{
		Complaint: "The moon does not move.",
	})
	s.at(45, 11, 15)
	v.note("ca.dial", "lacquer")
	v.note("to.quick_date", "often")
	v.clear(intake.Closed)
	v.works("f.look", "f.listen", "f.wind", "f.run")
	v.try("f.day", "blocks")
	s.at(43, 10, 0)
	v.now(beatwright.Quoted)
	s.at(38, 17, 30)
	v.remember("He does not want to spend that; goes back as it came.")
	v.now(beatwright.Declined)
}
