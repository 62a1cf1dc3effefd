package live

import (
	"io"

	"beatwright/sound"
)

// tee is a sound that is kept while it is read: what passes to the engine goes
// to the FLAC writer first.
type tee struct {
	sound.Reader
	out      *sound.FLACWriter
	channels int
	frames   int64
}

func newTee(in sound.Reader, w io.Writer) (*tee, error) {
	out, err := sound.NewFLACWriter(w, in.Format())
	if err != nil {
		return nil, err
	}
	return &tee{Reader: in, out: out, channels: in.Format().Channels}, nil
}

func (t *tee) Read(dst []float32) (int, error) {
	n, err := t.Reader.Read(dst)
	if n > 0 {
		t.frames += int64(n)
		if werr := t.out.Write(dst[:n*t.channels]); werr != nil {
			return 0, disk(werr)
		}
	}
	return n, err
}

// finish reads what the engine left, so that the whole sound is kept, and
// completes the file.
func (t *tee) finish() error {
	buf := make([]float32, 4096*t.channels)
	for {
		_, err := t.Read(buf)
		if err == io.EOF {
			return t.out.Close()
		}
		if err != nil {
			return err
		}
	}
}
