package reading

import "beatwright/unit"

// AmplitudeWave is a wave of the amplitude: it rises and falls by PeakDeg, ° for
// the lift as stated, with each Period. Chance is how likely noise alone would
// show one as strong anywhere in the search, Turns how often it was heard, and
// Wheels are all whose turn or tooth fits, none where the train is not known.
type AmplitudeWave struct {
	Period    unit.Seconds `json:"period_s"`
	PeriodU95 unit.Seconds `json:"period_u95_s"`
	PeakDeg   float64      `json:"peak_deg"`
	U95       float64      `json:"u95"`
	Chance    float64      `json:"chance"`
	Turns     float64      `json:"turns"`
	Wheels    []string     `json:"wheels"`
	// HighestAt is when in its turn it is highest, s from the beginning of the
	// stretch, and Turn the amplitude over one turn.
	HighestAt unit.Seconds     `json:"highest_at_s"`
	Turn      []AmplitudePoint `json:"turn"`
}

// AmplitudePoint is the amplitude at a place in the turn, s from the beginning of
// the stretch: by how much it is over the mean, °, with its 95 % half-width.
type AmplitudePoint struct {
	At  unit.Seconds `json:"at_s"`
	Deg float64      `json:"deg"`
	U95 float64      `json:"u95"`
}
