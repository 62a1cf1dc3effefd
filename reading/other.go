package reading

import "beatwright/unit"

// Other is another watch heard in the same sound, measured as far as it can be
// told from the one that the reading is of.
type Other struct {
	// From and To are between which moments it was heard, s from the first
	// sample.
	From unit.Seconds `json:"from_s"`
	To   unit.Seconds `json:"to_s"`
	// BeatsPerHour is its nominal beat rate, nil if none fits.
	BeatsPerHour *unit.BeatsPerHour `json:"beats_per_hour"`
	// BeatTime is its mean beat, ms; nil where its sounds could not be dated.
	BeatTime *Clocked `json:"beat_ms"`
	// Rate is in s/d, nil where beat or nominal beat rate is not known.
	Rate *Clocked `json:"rate_s_per_day"`
	// Level is how loud it is against the watch measured, dB, within some dB.
	Level unit.Decibels `json:"level_db"`
}
