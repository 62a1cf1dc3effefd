// Package reading is what a hearing says: rate, beat error and amplitude,
// each with its uncertainty, or a plain reason why nothing can be told.
//
// It is pure data, one type for the JSON of the command line, the record and
// every table. Nothing is measured or judged here; package measure fills it.
package reading

import (
	"encoding/json"
	"math"

	"beatwright/unit"
)

// Code says why no reading could be given.
type Code string

// The codes of a sound in which no watch was heard, and of a file that could
// not be read.
const (
	Silence    Code = "silence"
	Noise      Code = "noise"
	Stepping   Code = "stepping"
	Periodic   Code = "periodic"
	TooShort   Code = "too_short"
	Unreadable Code = "unreadable"
)

// Standing says how well founded a value is.
type Standing string

// Standings of an amplitude, of a fact, and of a clock.
const (
	Measured     Standing = "measured"
	AtMost       Standing = "at_most"
	NotResolved  Standing = "not_resolved"
	Given        Standing = "given"
	Published    Standing = "published"
	Assumed      Standing = "assumed"
	Uncalibrated Standing = "uncalibrated"
	Calibrated   Standing = "calibrated"
)

// Reading is the whole answer for one stretch of sound: exactly one of Watch,
// Refusal and Fault is set.
type Reading struct {
	File string
	// Watch is what was heard.
	Watch *Watch
	// Refusal says why no watch was heard.
	Refusal *Refusal
	// Fault says why the sound could not be read.
	Fault *Fault
}

// Watch is the reading of a watch that was heard. All uncertainties are 95 %
// half-widths; a nil pointer is "cannot be told" and prints as null.
type Watch struct {
	// From and To bound the steady stretch that was measured, in s from the
	// first sample.
	From unit.Seconds `json:"from_s"`
	To   unit.Seconds `json:"to_s"`
	// BeatsPerHour is the nominal beat rate, nil if none fits.
	BeatsPerHour  *unit.BeatsPerHour `json:"beats_per_hour"`
	Beats         int                `json:"beats"`
	BeatsRejected int                `json:"beats_rejected"`
	// BeatTime is the mean beat, ms.
	BeatTime Clocked `json:"beat_ms"`
	// Rate is in s/d, nil when the nominal beat rate is not known.
	Rate *Clocked `json:"rate_s_per_day"`
	// BeatError is half the difference of alternate beats, never negative.
	BeatError *BeatError    `json:"beat_error_ms"`
	Amplitude Amplitude     `json:"amplitude_deg"`
	Lift      Lift          `json:"lift_deg"`
	Clock     Clock         `json:"clock"`
	Periodic  []Periodicity `json:"periodic"`
	// AmplitudePeriodic are the waves of the amplitude, nil where they cannot be
	// told, as where the amplitude is not measured.
	AmplitudePeriodic []AmplitudeWave `json:"amplitude_periodic"`
	// AmplitudeFloor is how large such a wave must be, °, to be told in 95 of 100
	// hearings like this; nil with AmplitudePeriodic.
	AmplitudeFloor *float64 `json:"amplitude_periodic_floor_deg"`
	Changes        []Change `json:"changes"`
	Signal         Signal   `json:"signal"`
	// Settling is set where the swing approached a steady one, as after a
	// turn of the watch.
	Settling *Settling `json:"settling,omitempty"`
	// Others are other watches heard beside, none as a rule.
	Others   []Other  `json:"others,omitempty"`
	Warnings []string `json:"warnings"`
}

// Clocked is a value that depends on the device's clock: U95 includes the
// clock's doubt, U95Statistical is what the sound alone allows.
type Clocked struct {
	Value          float64 `json:"value"`
	U95            float64 `json:"u95"`
	U95Statistical float64 `json:"u95_statistical"`
}

// Widened has more statistical doubt joined to it.
func (c Clocked) Widened(u95 float64) Clocked {
	c.U95, c.U95Statistical = math.Hypot(c.U95, u95), math.Hypot(c.U95Statistical, u95)
	return c
}

// Value is a value with its 95 % uncertainty.
type Value struct {
	Value float64 `json:"value"`
	U95   float64 `json:"u95"`
}

// BeatError is in ms; By names the sounds between which it was taken
// ("unlocking" or "drop", the surer), ByDrop gives the drop's own answer when both are
// known. Degrees is how far rest lies from the line of centres, nil unless
// the amplitude is measured.
type BeatError struct {
	Value  float64  `json:"value"`
	U95    float64  `json:"u95"`
	By     string   `json:"by"`
	ByDrop *float64 `json:"by_drop,omitempty"`
	// ByUnlocking is the unlockings' own answer where the drops' is surer.
	ByUnlocking *float64 `json:"by_unlocking,omitempty"`
	Degrees     *Value   `json:"degrees"`
}

// Amplitude is in degrees. With standing at_most, Value is the bound with its
// own uncertainty already added and U95 is nil; with not_resolved both are.
type Amplitude struct {
	Value       *float64 `json:"value"`
	U95         *float64 `json:"u95"`
	U95WithLift *float64 `json:"u95_with_lift"`
	Standing    Standing `json:"standing"`
	First       *float64 `json:"first,omitempty"`
	Second      *float64 `json:"second,omitempty"`
	// Why says what hid the swing, when it is not measured.
	Why string `json:"why,omitempty"`
}

// Lift is the lift angle used, in degrees.
type Lift struct {
	Value    float64  `json:"value"`
	U95      float64  `json:"u95"`
	Standing Standing `json:"standing"`
}

// Clock says how well the recording device's clock is known.
type Clock struct {
	Standing Standing `json:"standing"`
	PPM      float64  `json:"ppm"`
	U95PPM   float64  `json:"u95_ppm"`
}

// Periodicity is a periodic error found in the beats; Chance is how likely
// noise alone would show one as strong anywhere in the search.
type Periodicity struct {
	Period unit.Seconds `json:"period_s"`
	PeakMs float64      `json:"peak_ms"`
	U95    float64      `json:"u95"`
	Chance float64      `json:"chance"`
	Wheels []string     `json:"wheels"`
	// Teeth is the escape wheel tooth by tooth, where the periodicity is its turn
	// and enough turns were heard; SecondBy says how the second beats are set
	// against the teeth.
	Teeth    []Tooth `json:"teeth,omitempty"`
	SecondBy string  `json:"second_by,omitempty"`
}

// What a change in the hearing was.
const (
	PhaseStep   = "phase step"
	RateStep    = "rate step"
	Turned      = "turned"
	Stopped     = "stopped"
	Gap         = "gap"
	Insertion   = "insertion"
	SecondWatch = "second watch"
)

// Change is something that broke the steady running of the hearing.
type Change struct {
	At   unit.Seconds `json:"at_s"`
	What string       `json:"what"`
	// Ms is the size of a phase step or the length of a gap or insertion.
	Ms *float64 `json:"ms,omitempty"`
	// PerDay is the size of a rate step, s/d.
	PerDay *float64 `json:"s_per_day,omitempty"`
	// How says of a stop whether the swing faded before it (Faded) or not
	// (Dead); Amplitude is the last swing measured before, degrees, its u95
	// for the lift angle taken as given.
	How          string   `json:"how,omitempty"`
	Amplitude    *float64 `json:"amplitude_deg,omitempty"`
	AmplitudeU95 *float64 `json:"amplitude_u95,omitempty"`
}

// How a watch stopped.
const (
	Faded = "faded"
	Dead  = "dead"
)

// Settling is the fitted approach of the swing to a steady one: the settled
// amplitude in degrees, and the time constant in s.
type Settling struct {
	Settled Value   `json:"settled_deg"`
	From    float64 `json:"from_deg"`
	TauS    float64 `json:"tau_s"`
}

// Signal describes the sound itself.
type Signal struct {
	// SNR is the peak of the averaged drop envelope over the noise in the
	// band, dB.
	SNR     unit.Decibels `json:"snr_db"`
	Clipped bool          `json:"clipped"`
	Lossy   bool          `json:"lossy"`
}

// Refusal says in which way the sound holds no watch.
type Refusal struct {
	Code Code          `json:"code"`
	Why  string        `json:"why"`
	Step *unit.Seconds `json:"step_s,omitempty"`
}

// Denies tells whether it says of all the sound that no watch is in it; of too few
// beats that is not known.
func (r *Refusal) Denies() bool { return r != nil && r.Code != TooShort }

// Fault is a sound that could not be read: what, where, what to do.
type Fault struct {
	Error string `json:"error"`
	Code  Code   `json:"code"`
}

// MarshalJSON writes the one object a file that the command line promises.
func (r Reading) MarshalJSON() ([]byte, error) {
	switch {
	case r.Watch != nil:
		return json.Marshal(struct {
			File  string `json:"file"`
			Heard bool   `json:"heard"`
			*Watch
		}{r.File, true, r.Watch})
	case r.Refusal != nil:
		return json.Marshal(struct {
			File  string `json:"file"`
			Heard bool   `json:"heard"`
			*Refusal
		}{r.File, false, r.Refusal})
	default:
		f := r.Fault
		if f == nil {
			f = &Fault{Error: "no reading was made", Code: Unreadable}
		}
		return json.Marshal(struct {
			File string `json:"file"`
			*Fault
		}{r.File, f})
	}
}

// UnmarshalJSON reads what MarshalJSON writes.
func (r *Reading) UnmarshalJSON(b []byte) error {
	var head struct {
		File  string `json:"file"`
		Heard *bool  `json:"heard"`
	}
	if err := json.Unmarshal(b, &head); err != nil {
		return err
	}
	*r = Reading{File: head.File}
	switch {
	case head.Heard == nil:
		r.Fault = new(Fault)
		return json.Unmarshal(b, r.Fault)
	case *head.Heard:
		r.Watch = new(Watch)
		return json.Unmarshal(b, r.Watch)
	default:
		r.Refusal = new(Refusal)
		return json.Unmarshal(b, r.Refusal)
	}
}
