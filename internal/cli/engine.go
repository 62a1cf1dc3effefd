package cli

import (
	"context"

	"beatwright/measure"
	"beatwright/sound"
)

// HearFunc reads r to its end and gives each reading to emit, in order, as
// measure.Sound does.
type HearFunc func(ctx context.Context, name string, r sound.Reader, o Options, emit func(Result) error) error

// The engine's own words.
type (
	Options = measure.Options
	Result  = measure.Result
	Beat    = measure.Beat
)
