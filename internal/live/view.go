package live

import (
	"beatwright"
	"beatwright/conduct"
	"beatwright/measure"
	"beatwright/poise"
	"beatwright/position"
	"beatwright/reading"
	"beatwright/unit"
)

// View is what a page shows of a sitting at one moment. It shares nothing
// that changes afterwards.
type View struct {
	// ID names the sitting: a round's or an adjusting session's, or Pickup.
	ID   beatwright.ID `json:"id"`
	Kind Kind          `json:"kind"`
	Job  beatwright.ID `json:"job,omitempty"`
	// Number is the job's; About is watch, stage and state in a few words.
	Number string `json:"number,omitempty"`
	About  string `json:"about"`
	// Crown is the hour of this watch's crown, for its drawings.
	Crown float64 `json:"crown"`
	// Version grows with each view that differs; newest wins.
	Version int           `json:"version"`
	Phase   conduct.Phase `json:"phase"`
	Doing   conduct.Doing `json:"doing"`
	Places  []Place       `json:"places,omitempty"`

	// Heard is the newest reading of how the watch lies now, or, in phase
	// turn, of how it last lay; nil before the first. Stale says that nothing
	// comes in any more, so that it stands as last heard.
	Heard *measure.Result `json:"-"`
	// Reading is what Heard says.
	Reading *reading.Reading `json:"reading,omitempty"`
	Stale   bool             `json:"stale,omitempty"`
	// Sure says which of rate, beat error and swing are known well enough.
	Sure conduct.Sure `json:"sure"`
	// Earlier are up to four earlier readings of the same lying, oldest
	// first: the funnel over the rulers.
	Earlier []Said `json:"-"`

	Sound  Sound   `json:"sound"`
	Adjust *Adjust `json:"adjust,omitempty"`
	// Pickup is the verdict of a trial of the pickup.
	Pickup *Verdict `json:"pickup,omitempty"`
	// Say is the text to speak aloud now, with a number that is new for each;
	// 0 and empty when nothing is to be said. Nothing is to be said while
	// listening.
	Say     string `json:"say,omitempty"`
	SayOnce int    `json:"say_once,omitempty"`
}

// Kind is what a sitting is for.
type Kind string

// The kinds.
const (
	RoundKind  Kind = "round"
	AdjustKind Kind = "adjusting"
	PickupKind Kind = "pickup"
)

// Pickup is the ID of the sitting in which a pickup is tried; it keeps nothing.
const Pickup beatwright.ID = "pickup"

// Place is one position of a round.
type Place struct {
	Position position.Position `json:"position"`
	Words    string            `json:"words"` // "crown up"
	State    PlaceState        `json:"state"`
	// Got are one or two short lines: rate and swing when heard, else what
	// is happening ("listening, 24 s", "next", "after that").
	Got []string `json:"got,omitempty"`
	// Hearing is what was kept, Repeat marks the check at the end.
	Hearing beatwright.ID `json:"hearing,omitempty"`
	Repeat  bool          `json:"repeat,omitempty"`
}

// PlaceState is how far a place is.
type PlaceState string

// The states of a place.
const (
	Done    PlaceState = "done"
	Now     PlaceState = "now"
	Next    PlaceState = "next" // turn to this
	Later   PlaceState = "later"
	Skipped PlaceState = "skipped"
)

// Said is what an earlier reading said, for the funnels: value and 95 %
// uncertainty as the ruler shows them, nil where it could not be told. With
// AtMost the amplitude is a bound.
type Said struct {
	Rate, RateU95           *float64
	BeatError, BeatErrorU95 *float64
	Degrees, DegreesU95     *float64 // the beat error in degrees
	Amplitude, AmplitudeU95 *float64
	AtMost                  bool
}

// Sound is what comes in.
type Sound struct {
	// Coming says that samples arrive.
	Coming bool   `json:"coming"`
	Device string `json:"device,omitempty"`
	// RateHz is the sampling rate, Path how the page captures.
	RateHz float64 `json:"rate_hz,omitempty"`
	Path   string  `json:"path,omitempty"`
	// StayedOn names processing that the browser would not switch off.
	StayedOn []string `json:"stayed_on,omitempty"`
	// Seconds is how much was heard in this sitting, Durable how much of what
	// is being kept now survives a crash, Lost how much was missing.
	Seconds unit.Seconds `json:"seconds"`
	Durable unit.Seconds `json:"durable"`
	Lost    unit.Seconds `json:"lost"`
}

// Level is how loud the sound is and which beats were heard; it is told many
// times a second, apart from the View.
type Level struct {
	At unit.Seconds `json:"at"` // sound heard in the sitting
	// Sample is the index, in the page's capture, up to which that is.
	Sample  int64         `json:"sample"`
	Peak    unit.Decibels `json:"peak"` // dB of full scale, of the last tenth of a second
	RMS     unit.Decibels `json:"rms"`
	Clipped bool          `json:"clipped,omitempty"`
	// Beats are those heard in the last second, side 1 or 2.
	Beats []HeardBeat `json:"beats,omitempty"`
	// Handling says that hands or knocks are heard.
	Handling bool `json:"handling,omitempty"`
}

// HeardBeat is one beat as it comes.
type HeardBeat struct {
	At   unit.Seconds `json:"at"`
	Side int          `json:"side"`
}

// Adjust is what an adjusting session has learnt.
type Adjust struct {
	Target conduct.Target `json:"target"`
	// Wanted is the value aimed at: s/d for rate, ms for beat error.
	Wanted  float64         `json:"wanted"`
	Touches []conduct.Touch `json:"touches,omitempty"`
	// Says is what is left and which way, in one or two sentences; Done that
	// what is left is within the doubt.
	Says string `json:"says"`
	Done bool   `json:"done"`
	// Poise is where the balance is heavy, when three upright positions were
	// heard.
	Poise *poise.Reckoning `json:"-"`
}

// Verdict is whether a pickup is good enough.
type Verdict struct {
	Good bool     `json:"good"`
	Says string   `json:"says"` // a sentence
	Why  []string `json:"why,omitempty"`
}

// Device is what a page says of its microphone when it begins to send.
type Device struct {
	Name   string     `json:"device"`
	RateHz unit.Hertz `json:"rate"`
	Path   string     `json:"path"` // "processor" or "worklet"
	// What the browser reports as on.
	Echo  bool `json:"echo"`
	Noise bool `json:"noise"`
	Gain  bool `json:"gain"`
	// Capture names one capture: it goes on over a new connection.
	Capture string `json:"capture,omitempty"`
}
