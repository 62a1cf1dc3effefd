package synth

import (
	"fmt"
	"slices"

	"beatwright/unit"
)

// Kinds of sound that are no watch.
const (
	Stepping   = "stepping"
	Babble     = "babble"
	Music      = "music"
	Percussion = "percussion"
	Rain       = "rain"
	Crackle    = "crackle"
	Thump      = "thump"
)

var otherKinds = []string{Stepping, Babble, Music, Percussion, Rain, Crackle, Thump}

// Other is a sound that is no watch.
type Other struct {
	Kind string `json:"kind"`
	// Level is dB re the scene's level, roughly at the sound's peaks.
	Level unit.Decibels `json:"level_db"`
	// Tempo is events a minute, where the sound has a beat: 0 is 60 for
	// stepping, 120 for music and percussion, 780 for a thump.
	Tempo float64 `json:"tempo,omitempty"`
}

func (o Other) validate() error {
	if !slices.Contains(otherKinds, o.Kind) {
		return fmt.Errorf("sound %q is none of %v", o.Kind, otherKinds)
	}
	if o.Tempo < 0 || o.Tempo > 6000 {
		return fmt.Errorf("tempo %g a minute is outside 0 to 6000", o.Tempo)
	}
	return nil
}

func (st *Stream) addOther(o Other, level, fs float64, n uint64) {}
