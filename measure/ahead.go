package measure

import (
	"context"
	"errors"
	"io"

	"beatwright/sound"
)

const (
	// chunkSamples is how much sound is handed on at a time where the reader
	// is ahead: 1.4 s of one channel at 48 kHz. A reader that has less, as of a
	// live sound, hands on what it has.
	chunkSamples = 1 << 16
	// chunksAhead is how many chunks may wait.
	chunksAhead = 2
)

// chunk is sound on its way: frames interleaved samples.
type chunk struct {
	samples []float32
	frames  int
}

// ahead reads r to its end while take, on the caller's goroutine, works on
// what was read before.
func ahead(ctx context.Context, r sound.Reader, take func(samples []float32, frames int)) error {
	ctx, stop := context.WithCancel(ctx)
	full, empty := make(chan chunk, chunksAhead), make(chan []float32, chunksAhead+2)
	channels := r.Format().Channels
	for range chunksAhead + 2 {
		empty <- make([]float32, max(1, chunkSamples/channels)*channels)
	}
	failed := make(chan error, 1)
	go func() {
		defer close(full)
		failed <- readAll(ctx, r, empty, full)
	}()
	for c := range full {
		take(c.samples[:c.frames*channels], c.frames)
		empty <- c.samples
		if ctx.Err() != nil {
			break
		}
	}
	err := ctx.Err()
	stop()
	for range full { // what was read after a stop
	}
	return errors.Join(err, <-failed)
}

// readAll passes on chunk after chunk until the sound or the wish for it ends.
func readAll(ctx context.Context, r sound.Reader, empty <-chan []float32, full chan<- chunk) error {
	for {
		var buf []float32
		select {
		case buf = <-empty:
		case <-ctx.Done():
			return nil
		}
		n, err := r.Read(buf)
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
		select {
		case full <- chunk{buf, n}:
		case <-ctx.Done():
			return nil
		}
	}
}
