package cli

import (
	"context"
	"fmt"
	"io"
	"os"

	"beatwright/movement"
	"beatwright/sound"
)

// open opens a sound file, standard input, or either as raw sound.
func (m *hearing) open(name string) (sound.Reader, error) {
	stdin := name == "-"
	switch {
	case stdin && m.raw != nil:
		return sound.NewRaw("standard input", interruptible(m.ctx, m.stdin), *m.raw)
	case stdin:
		return sound.NewReader(m.ctx, "standard input", interruptible(m.ctx, m.stdin))
	case m.raw != nil:
		return openRaw(name, *m.raw)
	}
	return sound.Open(m.ctx, name)
}

// rawFile is raw sound that closes its file with itself.
type rawFile struct {
	sound.Reader
	file io.Closer
}

func (r rawFile) Close() error {
	err := r.Reader.Close()
	if cerr := r.file.Close(); err == nil {
		err = cerr
	}
	return err
}

func openRaw(name string, format sound.RawFormat) (sound.Reader, error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, unreadableError{fmt.Errorf("read %w; check the name and the permissions", err)}
	}
	if info, err := f.Stat(); err == nil && info.IsDir() {
		_ = f.Close()
		return nil, unreadableError{fmt.Errorf("read %s: it is a folder; name the sound files in it", name)}
	}
	r, err := sound.NewRaw(name, f, format)
	if err != nil {
		_ = f.Close()
		return nil, err
	}
	return rawFile{r, f}, nil
}

// interruptible lets go of a read that waits for a pipe when ctx ends. The
// read itself goes on until something comes or the program ends; its bytes
// are dropped.
func interruptible(ctx context.Context, r io.Reader) io.Reader {
	return &ctxReader{ctx: ctx, r: r, done: make(chan readResult, 1)}
}

type readResult struct {
	n   int
	err error
}

type ctxReader struct {
	ctx  context.Context
	r    io.Reader
	buf  []byte
	done chan readResult
}

func (c *ctxReader) Read(p []byte) (int, error) {
	if err := c.ctx.Err(); err != nil {
		return 0, err
	}
	if len(c.buf) < len(p) {
		c.buf = make([]byte, len(p))
	}
	buf := c.buf[:len(p)]
	go func() {
		n, err := c.r.Read(buf)
		c.done <- readResult{n, err}
	}()
	select {
	case <-c.ctx.Done():
		return 0, c.ctx.Err()
	case res := <-c.done:
		return copy(p, buf[:res.n]), res.err
	}
}

// readMovement reads a movement file and passes its warnings on.
func readMovement(s *session, path string) (*movement.Movement, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, unreadableError{fmt.Errorf("read movement file: %w; check the name and the permissions", err)}
	}
	defer f.Close()
	m, warnings, err := movement.Read(f)
	if err != nil {
		return nil, unreadableError{fmt.Errorf("read movement file %s: %w", path, err)}
	}
	for _, w := range warnings {
		s.complain(fmt.Sprintf("movement file %s: %s", path, w))
	}
	return &m, nil
}
