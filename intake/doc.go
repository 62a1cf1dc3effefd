// Package intake is what is asked of a watch when it comes to the bench, and
// the order in which its functions may be tried by hand. Questions, function
// checks, wishes, custody, cautions and claims are data, one file a subject in
// the folder data; the code only fits them to the watch at hand, keeps the
// order that does no harm and says what may still be tried.
//
// A question is worded as something to tap: "Rotor rubs" is not looked at,
// looked at with nothing to note, or there; the words that say how and where
// unfold below. Questions stand in four groups: told by the owner, seen with
// the case closed, with the back off, with the movement out. The ten signs
// that decide most come first; "nothing to note" clears a group. A workshop
// adds questions of its own with [New].
//
// A function check works, is doubtful, fails or was not tried. [Next] holds
// the one rule: stop at the first thing that resists, and try nothing before
// what makes it safe (the hands out of the calendar's hours before a quick
// change, the chronograph stopped before its reset, the alarm unset before
// the hands are set back).
//
// The package keeps no answers and knows no jobs, owners or sound; it draws
// no conclusion beyond the sentence an answer suggests. What follows from the
// signs is reasoned elsewhere.
//
// # Sources
//
// Each item names its source by key; [Source.String] prints it. Most of it is
// common practice of the trade (P) or the program's own judgement (J): order,
// grouping, wording and defaults always are. Keys beside these are
//
//	M             from memory, unconfirmed: never a hard rule
//	Kleinlein1920 W. J. Kleinlein, Rules and Practice for Adjusting Watches
//	Lewis1896     W. T. Lewis, Friction, Lubrication and the Lubricants in Horology, ch. IV
//	Playtner1910  H. R. Playtner, An Analysis of the Lever Escapement
//	TM1945        US War Department TM 9-1575, 6 April 1945
//	Handbook1918  a watch-repair handbook of 1918, causes of stoppage
//	Receipts      Workshop Receipts, 4th series, "Watch repair"
//	Abbott        H. G. Abbott, American Watchmaker and Jeweler, p. 285
//	Code2009      a national horological institute's code of practice, issues of 2003 and 2009
//	Spectrum      Spectrum 5.0, condition checking and technical assessment
//	EPA           US EPA leaflet on radioactive antiques
//	NRC           US NRC letters on radium and tritium timepieces
//	GS4           HSE Guidance Note GS4, pressure testing
//	ISO2281       ISO 2281:1990
//
// of which the handbooks, the code of practice and the guidance were read in
// part only. The files in data use these keys; data/sources.json says how each
// is printed.
package intake
