package measure

import (
	"context"
	"errors"
	"io"

	"beatwright/sound"
)

const (
	// chunkSamples is how much sound is read at a time where the reader is
	// ahead: 0.7 s of one channel at 48 kHz, of which all that is made on the way
	// to the bands stays in a processor's own memory. Of a live sound what there
	// is is handed on.
	chunkSamples = 1 << 15
	// chunksAhead is how many chunks may wait.
	chunksAhead = 4
)

// ahead reads r to its end and prepares what it read, while take, on the
// caller's goroutine, works on what was prepared before.
func ahead[T any](ctx context.Context, r sound.Reader, prepare func(samples []float32) T, take func(T)) error {
	ctx, stop := context.WithCancel(ctx)
	ready := make(chan T, chunksAhead)
	failed := make(chan error, 1)
	go func() {
		defer close(ready)
		failed <- readAll(ctx, r, func(x []float32) {
			select {
			case ready <- prepare(x):
			case <-ctx.Done():
			}
		})
	}()
	for c := range ready {
		take(c)
		if ctx.Err() != nil {
			break
		}
	}
	err := ctx.Err()
	stop()
	for range ready { // what was read after a stop
	}
	return errors.Join(err, <-failed)
}

// readAll passes on what it reads until the sound, or the wish for it, ends.
func readAll(ctx context.Context, r sound.Reader, pass func([]float32)) error {
	channels := r.Format().Channels
	buf := make([]float32, max(1, chunkSamples/channels)*channels)
	for ctx.Err() == nil {
		n, err := r.Read(buf)
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
		pass(buf[:n*channels])
	}
	return nil
}
