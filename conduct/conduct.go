// Package conduct leads a sitting: which position comes next, when the watch
// was turned, when what was heard is sure enough, what a touch did.
//
// It is told what was heard and what was pressed, and answers with what is to
// be kept and said. It hears no sound itself and knows no jobs.
package conduct

// Phase is what a sitting is doing.
type Phase string

// The phases.
const (
	// Silent: no sound comes in.
	Silent Phase = "silent"
	// Turn: the watch is to be laid in the position named.
	Turn Phase = "turn"
	// Settling: beats are heard, too few or still changing.
	Settling Phase = "settling"
	// Listening: a reading grows surer.
	Listening Phase = "listening"
	// Asking: a reading contradicts the others; hear it again, or keep it?
	Asking Phase = "asking"
	// Waiting: the person asked to wait.
	Waiting Phase = "waiting"
	// Ended: nothing is wanted any more.
	Ended Phase = "ended"
)

// Act is something a person does.
type Act string

// The acts.
const (
	Accept Act = "accept" // keep what was heard and go on; or: it lies as wanted
	Repeat Act = "repeat" // drop it and hear the same position again
	Skip   Act = "skip"   // go on without it
	Wait   Act = "wait"   // wait, until Accept
	Longer Act = "longer" // go on listening, to what was sure enough
	Stop   Act = "stop"   // keep what there is and end
	Lies   Act = "lies"   // it lies in another position, which is given
)

// Target is what is adjusted.
type Target string

// The targets.
const (
	Rate      Target = "rate"
	BeatError Target = "beat error"
	Poise     Target = "poise"
)

// Touch is one touch and what it did.
type Touch struct {
	// At is when it was, s of the sitting's sound.
	At float64 `json:"at_s"`
	// Before and After are the readings about it with their 95 %
	// uncertainties, Change what it did.
	Before    float64 `json:"before"`
	BeforeU95 float64 `json:"before_u95"`
	After     float64 `json:"after"`
	AfterU95  float64 `json:"after_u95"`
	Change    float64 `json:"change"`
	ChangeU95 float64 `json:"change_u95"`
	// Way is 1 for the way of the first touch, −1 for the other.
	Way float64 `json:"way"`
}
