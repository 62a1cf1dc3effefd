package cli

import (
	"context"
	"errors"

	"beatwright/movement"
	"beatwright/reading"
	"beatwright/sound"
	"beatwright/unit"
)

// HearFunc reads r to its end and gives each reading to emit, in order.
type HearFunc func(ctx context.Context, name string, r sound.Reader, o Options, emit func(Result) error) error

// Options, Result and Beat stand in for the engine's until it is here.
type (
	Options struct {
		Lift         *unit.Degrees
		LiftU95      unit.Degrees
		LiftStanding reading.Standing
		BeatsPerHour *unit.BeatsPerHour
		Movement     *movement.Movement
		Every        unit.Seconds
		Progress     func(done, total unit.Seconds)
	}
	Result struct {
		reading.Reading
		Beats []Beat
	}
	Beat struct {
		At         unit.Seconds
		Side       int
		ResidualMs float64
		Rejected   bool
		Reason     string
	}
)

func hear(context.Context, string, sound.Reader, Options, func(Result) error) error {
	return errors.New("this build has no engine")
}
