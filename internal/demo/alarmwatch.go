package demo

import (
	"time"

	"beatwright"
	"beatwright/intake"
)

// tired is a movement with little force at the balance, heavy towards 4.
var tired = voice{
	kind: "tired", seed: 11, beats: 18000, lift: 48, seconds: 20, snr: 35, error: 1.3, faint: "3H",
	rate: 8, swell: 42, hour: 10, flat: 22, swing: 196, hang: 54,
}

// alarmWatch is the main one: a tired automatic alarm watch with date, in work.
func alarmWatch(s *shop) {
	s.at(16, 10, 20)
	v := s.open(&beatwright.Watch{
		Says: "Quellmar Daycall", What: "automatic alarm with date", Case: "118204", About: "1968", Lume: "unknown",
		Note: "Invented. Crowns at 2 and 4.",
	}, "Ilse Marrow", "Quellmar 41, invented", beatwright.Job{
		Complaint: "It stops in the night and the alarm only purrs. Please keep the dial as it is.",
		Custody:   []string{"strap or bracelet", "papers"},
		Told:      []string{},
	})
	v.picture("dial, as it came", dateDial, nil)
	v.alarmWishes()
	s.at(16, 10, 32)
	v.move("watch", "", "tray 4")
	v.alarmSeen()
	v.alarmTried()
	s.at(9, 9, 30)
	v.handCheck(-62, 21, "dial up on the shelf, stopped before morning the day before")
	v.hear(1, beatwright.AsFound, 0.3, tired, "CH", "FH", "12H", "3H", "6H", "9H")
	s.at(8, 9, 40)
	ranDown := tired
	ranDown.swing, ranDown.hang, ranDown.rate = 168, 44, -9
	v.hear(4, beatwright.AsFound, 24, ranDown, "CH", "12H", "6H")
	s.at(8, 11, 5)
	v.now(beatwright.Quoted)
	s.at(7, 17, 45)
	v.remember("She agreed by telephone: 462.00, not above 520.00 without a call.")
	v.now(beatwright.Agreed)
	v.alarmOpened()
}

func (v *visit) alarmWishes() {
	v.at(16, 10, 26)
	v.job.Wishes = beatwright.Wishes{
		Answers: map[string]string{
			"wi.purpose": "daily", "wi.polish": "none", "wi.dial": "untouched", "wi.hands": "untouched", "wi.lume": "untouched",
			"wi.glass": "keep", "wi.crown": "keep", "wi.generic": "ask", "wi.oldparts": "return", "wi.water": "dry", "wi.rating": "splash",
			"wi.estimate": "estimate", "wi.strip": "yes", "wi.value": "us", "wi.outwork": "ask", "wi.data": "no", "wi.radium": "closed",
			"wi.risk": "ask", "wi.photos": "yes", "wi.deliver": "collect", "wi.sign": "signed",
		},
		Words: map[string]string{"wi.dial": "it was my father’s, I want to know it again"},
		Limit: v.money("520.00"), Value: v.money("1400.00"), Insured: "the workshop’s own cover",
		Deadline: v.date(6), Why: "her birthday",
	}
	v.put(v.job.ID, "wishes and custody kept", v.job)
}

// alarmSeen is what was told, and seen with the case shut and the back off.
func (v *visit) alarmSeen() {
	v.at(16, 10, 40)
	v.note("to.unserviced", "unknown")
	v.note("to.off_wrist", "morning")
	v.note("to.stopped", "fade")
	v.note("to.worn", "daily")
	v.at(16, 10, 46)
	back := v.note("ca.back", "tool_marks", "loose", "@notch")
	v.note("ca.lume", "old", "@dial", "@hands")
	v.note("ca.glass", "scratched")
	v.note("ca.crown", "worn")
	v.clear(intake.Closed)
	v.picture("back, slots bruised", backSlots, back)
	v.at(16, 11, 10)
	seal := v.note("cb.gasket", "hard", "@back")
	v.note("cb.rotor", "rubs", "@case back")
	v.note("cb.oil", "dry")
	screw := v.note("cb.screws", "foreign", "bright_slot", "@rotor")
	v.note("cb.marks", "punch", "@bridge")
	v.clear(intake.BackOff)
	v.picture("seal gone hard", sealRing, seal)
	v.picture("movement in its case", train, screw)
}

func (v *visit) alarmTried() {
	v.at(16, 11, 30)
	v.works("f.look", "f.listen", "f.unscrew")
	v.try("f.wind", "stiff")
	v.try("f.rotor", "little")
	v.works("f.run", "f.alarm_off", "f.pull", "f.set", "f.clear_hours", "f.date")
	v.try("f.alarm", "weak")
	v.works("f.date_eve")
}

// alarmOpened is what the work has uncovered so far.
func (v *visit) alarmOpened() {
	v.at(2, 9, 5)
	v.now(beatwright.InWork)
	v.at(2, 9, 31)
	p := v.note("cc.pivots", "rough", "@dial side")
	v.picture("lower pivot, flat", pivot, p)
	v.at(2, 9, 52)
	v.note("cc.barrel", "set")
	v.note("cc.wall", "polished")
	v.at(2, 10, 15)
	v.note("cc.cam", "friction")
	feet := v.note("cc.dialfeet", "glued")
	v.picture("alarm mainspring, tired", spiral, nil)
	v.at(1, 16, 20)
	v.settle(feet, "accepted", "holds, and the owner wants the dial left as it is")
	v.remember("Balance staff: turn the lower pivot true before thinking of a new one.")
	v.move("dial and hands", "", "box 4, closed")
	v.todo("Turn the lower balance pivot true", v.soon(90*time.Minute))
	v.todo("Order the alarm mainspring", v.day(2, 0, 0))
}

// soon is a time in a while, to the next quarter of an hour.
func (s *shop) soon(d time.Duration) time.Time {
	return s.now.Add(d).Truncate(15 * time.Minute).Add(time.Minute * 15)
}
