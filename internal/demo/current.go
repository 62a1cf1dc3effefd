package demo

import (
	"time"

	"beatwright"
	"beatwright/intake"
)

// chronograph is on trial after the work.
func chronograph(s *shop) {
	s.at(34, 9, 45)
	v := s.open(&beatwright.Watch{Says: "Tessagne", What: "hand-wound chronograph", Case: "20417", About: "1974", Lume: "later"}, "Dr Senna Vail", "Tessagne 12, invented", beatwright.Job{
		Complaint: "The chronograph hand jumps when it starts.",
	})
	v.picture("dial, as it came", dialWith(2, 3, 4), nil)
	s.at(34, 10, 0)
	v.note("to.worn", "seldom")
	v.note("ca.pushers", "stiff", "@upper")
	v.note("cb.levers", "dry")
	v.clear(intake.Closed)
	v.clear(intake.BackOff)
	v.works("f.look", "f.listen", "f.wind", "f.run", "f.pull", "f.set")
	v.try("f.chrono_start", "jumps")
	v.works("f.chrono_reset", "f.chrono_run")
	s.at(33, 9, 20)
	found := timer
	found.swing, found.rate, found.error = 236, -14, 0.9
	v.hear(5, beatwright.AsFound, 0.5, found, "CH", "FH", "9H")
	s.at(32, 12, 0)
	v.now(beatwright.Quoted)
	s.at(30, 8, 30)
	v.now(beatwright.Agreed)
	s.at(21, 9, 0)
	v.now(beatwright.InWork)
	s.at(15, 10, 0)
	v.note("cc.depth", "deep")
	s.at(6, 9, 30)
	v.hear(5, beatwright.AsLeft, 0.5, timer, "CH", "FH", "12H", "3H", "9H")
	s.at(5, 8, 15)
	v.now(beatwright.OnTrial)
	v.move("watch", "tray 2", "trial shelf")
	for day, gained := range []float64{4, 3.4, 4.2} {
		s.at(4-day, 16, 35)
		v.handCheck(gained, 24, "trial, dial up")
	}
	v.todo("Read the trial against the clock, day 5", s.soon(3*time.Hour))
}

var timer = voice{
	kind: "fair", seed: 8, beats: 21600, lift: 50, seconds: 15, snr: 34, error: 0.2,
	rate: 3, swell: 4, hour: 7, flat: 2, swing: 288, hang: 24,
}

// diver is ready to go back, with one part accepted as it is.
func diver(s *shop) {
	s.at(29, 16, 10)
	v := s.open(&beatwright.Watch{Says: "Kestrin", What: "automatic diver with date and stop seconds", Case: "77 1031", About: "1996", Lume: "tritium"}, "Ottilie Brandreth", "Kestrin 9, invented", beatwright.Job{
		Complaint: "Mist under the glass after swimming.",
	})
	v.picture("dial, as it came", dialWith(4), nil)
	s.at(29, 16, 25)
	v.note("to.water", "mist")
	v.note("ca.damp", "mark")
	seal := v.note("cb.gasket", "cut", "@crown", "@back")
	screw := v.note("cb.screws", "foreign", "@case clamp")
	v.clear(intake.Closed)
	v.clear(intake.BackOff)
	v.picture("seal cut", sealRing, seal)
	s.at(28, 9, 0)
	v.hear(8, beatwright.AsFound, 0.5, brisk, "CH", "3H")
	s.at(27, 9, 0)
	v.now(beatwright.Agreed)
	s.at(19, 9, 0)
	v.now(beatwright.InWork)
	s.at(17, 14, 0)
	v.settle(seal, "replaced", "")
	v.settle(screw, "accepted", "holds well; a screw of this thread could not be had")
	s.at(11, 9, 0)
	left := brisk
	left.rate, left.swing = 4, 289
	v.hear(8, beatwright.CasedStage, 0.5, left, "CH", "FH", "12H", "3H", "6H", "9H")
	s.at(3, 10, 0)
	v.now(beatwright.Ready)
	v.job.Wishes.Deadline, v.job.Wishes.Why = s.date(2), "she travels on the day after"
	v.put(v.job.ID, "wanted by agreed", v.job)
	v.todo("Look at the seal once more after its rest", s.day(0, 0, 0))
}

var brisk = voice{
	kind: "fair", seed: 21, beats: 28800, lift: 51, seconds: 15, snr: 33, error: 0.3,
	rate: 11, swell: 5, hour: 4, flat: 2, swing: 268, hang: 22,
}

// dayDate is agreed; its dial is with a dial maker.
func dayDate(s *shop) {
	s.at(13, 9, 50)
	v := s.open(&beatwright.Watch{Says: "Arvendal", What: "automatic watch with day and date", About: "1982", Lume: "none"}, "Corin Haslett", "", beatwright.Job{
		Complaint: "The day stands between two languages.", Custody: []string{"strap or bracelet", "spare links"},
	})
	v.picture("dial, as it came", dateDial, nil)
	s.at(13, 10, 5)
	v.note("ca.dial", "lacquer")
	v.note("ca.date", "between")
	v.clear(intake.Closed)
	v.works("f.look", "f.listen", "f.wind", "f.run", "f.pull", "f.set", "f.clear_hours", "f.date")
	v.try("f.day", "language")
	s.at(12, 9, 0)
	v.now(beatwright.Quoted)
	s.at(9, 18, 0)
	v.job.Wishes.Answers = map[string]string{"wi.dial": "restore", "wi.outwork": "yes", "wi.polish": "brush"}
	v.job.Wishes.Limit = s.money("380.00")
	v.now(beatwright.Agreed)
	s.at(8, 11, 0)
	out := &beatwright.Move{
		Entry: s.entry(), Job: v.job.ID, What: "dial", From: "tray 7", To: "the dial maker Ferrow, Stonequay", Out: true,
		DueBack: s.date(4), Value: s.money("250.00"), Insured: "by post, with a signature", Who: who, At: s.clock.Now(),
	}
	v.put(v.job.ID, "dial moved to "+out.To, out)
}

// smallSeconds is quoted; the owner is to be rung, and is late to be.
func smallSeconds(s *shop) {
	s.at(10, 15, 0)
	v := s.open(&beatwright.Watch{Says: "Norrim", What: "hand-wound watch with small seconds", Works: "5532", About: "1948", Lume: "radium"}, "Mr Tolleby", "Norrim 5, invented", beatwright.Job{
		Complaint: "Stops now and then; goes on when shaken.",
	})
	v.picture("dial, as it came", dialWith(3), nil)
	s.at(10, 15, 15)
	v.note("to.moved", "pocket")
	v.note("cb.hair", "oily")
	v.note("cb.dust", "fibre", "@train")
	v.note("cb.marks", "solder", "@cock")
	v.clear(intake.Closed)
	v.works("f.look", "f.listen", "f.wind")
	v.try("f.run", "moved")
	s.at(7, 9, 30)
	v.hear(6, beatwright.AsFound, 0.5, messy, "CH", "3H", "9H")
	s.at(6, 16, 0)
	v.now(beatwright.Quoted)
	v.todo("Ring Mr Tolleby about the quote", s.late())
}

var messy = voice{
	kind: "messy", seed: 4, beats: 18000, lift: 50, seconds: 15, snr: 28, error: 2.2,
	rate: -40, swell: 15, hour: 2, flat: 8, swing: 182, hang: 20,
}

// late is a time of working hours that has passed.
func (s *shop) late() time.Time {
	if today := s.day(0, 10, 0); s.now.Sub(today) > 30*time.Minute {
		return today
	}
	return s.day(-1, 16, 0)
}
