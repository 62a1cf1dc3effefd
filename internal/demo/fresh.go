package demo

import (
	"time"

	"beatwright"
	"beatwright/intake"
)

// yesterday was heard as found at full wind a day ago, so that its round of
// 24 hours is due about now.
func yesterday(s *shop) {
	s.at(3, 11, 40)
	v := s.open(&beatwright.Watch{Says: "Calverhythe", What: "automatic watch with date", Case: "4410 A", About: "1979", Lume: "later"}, "Ilse Marrow", "Calverhythe 3, invented", beatwright.Job{
		Complaint: "Gains since last winter; otherwise well.",
	})
	v.picture("dial, as it came", dialWith(3), nil)
	s.at(3, 11, 55)
	v.note("to.magnet", "clasp")
	v.note("cb.compass", "trembles")
	v.clear(intake.Closed)
	v.works("f.look", "f.listen", "f.wind", "f.rotor", "f.run", "f.pull", "f.set", "f.clear_hours", "f.date")
	// Full wind a day ago but twenty minutes: the round counts from ten
	// minutes ago on.
	s.clock.Set(s.now.Add(20*time.Minute - 24*time.Hour))
	v.hear(2, beatwright.AsFound, 0, gaining, "CH", "FH", "12H", "3H", "6H", "9H")
	v.todo("Ask whether she wears it at work, by the motors", s.day(3, 0, 0))
}

var gaining = voice{
	kind: "fair", seed: 13, beats: 21600, lift: 52, seconds: 15, snr: 30, error: 0.4,
	rate: 46, swell: 7, hour: 6, flat: 5, swing: 251, hang: 30,
}

// worldTime was looked over, and is to be heard.
func worldTime(s *shop) {
	s.at(1, 10, 10)
	v := s.open(&beatwright.Watch{Says: "Tilsund", What: "automatic watch with world time", About: "1961", Lume: "unknown"}, "Dr Senna Vail", "", beatwright.Job{
		Complaint: "The city ring slips.",
	})
	v.picture("dial, as it came", dialWith(3, 9), nil)
	s.at(1, 10, 25)
	v.note("ca.lume", "old", "@hands")
	v.note("ca.hands", "beside", "@hour")
	v.clear(intake.Closed)
	v.works("f.look", "f.listen", "f.wind", "f.rotor", "f.run", "f.pull", "f.set")
	v.try("f.zone", "skips")
}

// justCame lies in its bag.
func justCame(s *shop) {
	s.at(0, 8, 35)
	v := s.open(&beatwright.Watch{Says: "Ostrivel", What: "hand-wound watch"}, "Bertran Oake", "", beatwright.Job{
		Complaint: "My aunt’s. It runs, but I do not know since when it was last seen to.",
	})
	v.move("watch", "", "safe, bag 12")
}

// prospect is a watch that is only being considered.
func prospect(s *shop) {
	s.at(1, 19, 30)
	v := s.open(&beatwright.Watch{Says: "Dravenhall", What: "hand-wound chronograph with date", About: "1970"}, "", "", beatwright.Job{
		State: beatwright.Considered,
		Prospect: &beatwright.Prospect{
			Says:     "Runs and keeps time, serviced a few years ago, all original, chronograph works.",
			Claims:   []string{"cl.runs", "cl.serviced", "cl.original", "cl.chronograph"},
			NotShown: "The movement, the inside of the back, the chronograph hand at zero.",
			Asked:    s.money("640.00"), Highest: s.money("410.00"), Seller: "an invented auction in Stonequay", Ends: s.date(3),
		},
	})
	v.picture("seller’s picture of the dial", dialWith(2, 3, 4), nil)
	v.note("ca.hands", "wrong", "@chronograph")
	v.remember("Two pictures show different pushers.")
}
