package intake

import "strings"

// spoken gives each feature the words it is called by, separated by commas.
// The effect is called with true, or with false after "no" or "without".
var spoken = []struct {
	words string
	set   func(f *Features, is bool)
}{
	{
		"hand, hand wound, handwound, hand winding, hand wind, hand winder, handwind, handwinding, manual, manual wind, manual winding, manually wound, wound by hand",
		winding(Hand),
	},
	{
		"automatic, auto, self winding, selfwinding, self wound, self winder, selfwinder, automatics, with rotor, rotor",
		winding(Automatic),
	},
	{"both, wound both ways", winding(Both)},
	{"key, key wound, keywound, key wind, keywind, key winding, key winder", winding(Key)},
	{"alarm, alarms, alarm watch, with bell, wake up", func(f *Features, is bool) { f.Alarm = is }},
	{"date, dates, quick date, quickset date, big date, date window, date hand, pointer date, daydate", func(f *Features, is bool) { f.Date = is }},
	{"day, weekday, day of the week, days", func(f *Features, is bool) { f.Day = is }},
	{"day date, day and date", func(f *Features, is bool) { f.Day, f.Date = is, is }},
	{"month, months", func(f *Features, is bool) { f.Month = is }},
	{"moon, moonphase, moon phase, phases of the moon, moon phases", func(f *Features, is bool) { f.Moon = is }},
	{"calendar", func(f *Features, is bool) { f.Date = is }},
	{
		"full calendar, complete calendar, triple calendar, triple date",
		func(f *Features, is bool) { f.Date, f.Day, f.Month = is, is, is },
	},
	{"perpetual calendar, perpetual, annual calendar, annual", func(f *Features, is bool) { f.Perpetual = is }},
	{
		"chronograph, chrono, chronographs, two pusher chronograph, lever chronograph, cam chronograph, column wheel chronograph",
		chronograph(TwoPusher),
	},
	{
		"one pusher, one button, single pusher, monopusher, one pusher chronograph, single pusher chronograph, monopusher chronograph, one button chronograph",
		chronograph(OnePusher),
	},
	{"flyback, fly back, flyback chronograph, fly back chronograph", chronograph(Flyback)},
	{
		"rattrapante, split seconds, split second, rattrapante chronograph, split seconds chronograph, split second chronograph, double chronograph",
		chronograph(Rattrapante),
	},
	{"world time, worldtime, world timer, worldtimer", func(f *Features, is bool) { f.WorldTime = is }},
	{
		"second time zone, second zone, two time zones, two zones, dual time, gmt, second hour hand, 24 hour hand, 24h hand",
		func(f *Features, is bool) { f.SecondZone = is },
	},
	{"repeater, minute repeater, quarter repeater, striking, chiming", func(f *Features, is bool) { f.Repeater = is }},
	{
		"power reserve, power reserve indicator, reserve indicator, up and down, up down, wind indicator, winding indicator",
		func(f *Features, is bool) { f.PowerReserve = is },
	},
	{"turning bezel, rotating bezel, diving bezel, bezel turns", func(f *Features, is bool) { f.TurningBezel = is }},
	{"pocket, pocket watch, pocketwatch, fob, fob watch, open face, open faced, lepine", func(f *Features, is bool) { f.Pocket = is }},
	{"wrist, wristwatch, wrist watch", func(f *Features, is bool) { f.Pocket = !is }},
	{"hunter, hunting case, half hunter, demi hunter, savonnette", func(f *Features, is bool) { f.Hunter, f.Pocket = is, f.Pocket || is }},
	{
		"stop seconds, stop second, hacking, hack, hacks, hacking seconds, stopping seconds, hacking second",
		func(f *Features, is bool) { f.StopSeconds = known(is) },
	},
	{
		"screw down crown, screwed crown, screw crown, screw in crown, screwdown crown",
		func(f *Features, is bool) { f.ScrewCrown = known(is) },
	},
	{
		"seals, sealed, waterproof, water resistant, watertight, water proof, water tight, seal",
		func(f *Features, is bool) { f.Sealed = known(is) },
	},
	{"diver, divers, diver s, diving", diver},
	{"lever setting, lever set, leverset", func(f *Features, is bool) { f.LeverSet = known(is) }},
	{
		"chronometer, small seconds, sub seconds, centre seconds, center seconds, sweep seconds, seconds, " +
			"hour hand, minute hand, seconds hand, second hand, sweep hand, one hand, 8 day, eight day, 8 days, eight days",
		func(*Features, bool) {},
	},
}

func winding(w Winding) func(*Features, bool) {
	return func(f *Features, is bool) {
		if is {
			f.wind(w)
			return
		}
		f.unwind(w)
	}
}

// unwind takes a way of winding away: not automatic leaves the crown.
func (f *Features) unwind(w Winding) {
	switch {
	case f.Winding == Both && w == Automatic:
		f.Winding = Hand
	case f.Winding == Both && w == Hand:
		f.Winding = Automatic
	case f.Winding == w:
		f.Winding = WindingUnknown
	}
}

// chronograph sets the kind; the plain word does not undo a closer one.
func chronograph(kind Chronograph) func(*Features, bool) {
	return func(f *Features, is bool) {
		switch {
		case !is && (kind == TwoPusher || kind == f.Chronograph):
			f.Chronograph = NoChronograph
		case is && (kind != TwoPusher || f.Chronograph == NoChronograph):
			f.Chronograph = kind
		}
	}
}

// diver says a turning bezel and seals; the crown is mostly screwed, which is
// not known before it is felt.
func diver(f *Features, is bool) {
	f.TurningBezel = is
	if is {
		f.Sealed = Yes
	}
}

// phrases are what ParseKind looks up, longestPhrase its longest, in words.
var phrases, longestPhrase = func() (map[string]func(*Features, bool), int) {
	all, longest := map[string]func(*Features, bool){}, 1
	for _, s := range spoken {
		for words := range strings.SplitSeq(s.words, ", ") {
			all[words] = s.set
			longest = max(longest, len(strings.Fields(words)))
		}
	}
	return all, longest
}()

// fillers say nothing here.
var fillers = func() map[string]bool {
	const passed = "a an and the with of in on its it is has for by to from or also plus watch watches case cased old new " +
		"gold golden steel silver gilt plated platinum titanium ladies lady gents man men s man's mens small large big thin dress " +
		"lever swiss english american function functions complication crown phase winding wound simple plain three hands " +
		"jewel jewels jewelled movement mechanical vintage antique round square dial"
	all := map[string]bool{}
	for w := range strings.FieldsSeq(passed) {
		all[w] = true
	}
	return all
}()
