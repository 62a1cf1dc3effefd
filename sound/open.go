package sound

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"syscall"
	"time"
)

// sniffBytes is how much of the start is looked at; chosen, holds the start
// of any header that decides.
const sniffBytes = 64 << 10

// fifoPatience is how long a pipe that nobody writes to is waited for.
const fifoPatience = 3 * time.Second

// Open reads the sound in a file, told apart by its content. Cancelling ctx
// ends reading. Errors about the input are ErrUnreadable.
func Open(ctx context.Context, path string) (Reader, error) {
	f, info, err := openFile(path)
	if err != nil {
		return nil, err
	}
	src := io.Reader(f)
	stop := func() bool { return true }
	if info.Mode()&os.ModeNamedPipe != 0 {
		src = &fifo{ctx: ctx, f: f, name: path}
		stop = context.AfterFunc(ctx, func() { _ = f.SetReadDeadline(time.Now()) })
	}
	regular := ""
	if info.Mode().IsRegular() {
		regular = path
	}
	r, err := newReader(ctx, path, src, regular)
	if err != nil {
		stop()
		f.Close()
		return nil, err
	}
	return &fileReader{Reader: r, f: f, stop: stop}, nil
}

// openFile opens what can be read from, without waiting for a pipe's writer.
func openFile(path string) (*os.File, os.FileInfo, error) {
	info, err := os.Stat(path)
	if err != nil {
		return nil, nil, notOpened(path, err)
	}
	if info.IsDir() {
		return nil, nil, unreadable(path, "this is a folder", "name a sound file in it")
	}
	f, err := os.OpenFile(path, os.O_RDONLY|syscall.O_NONBLOCK, 0)
	if err != nil {
		return nil, nil, notOpened(path, err)
	}
	return f, info, nil
}

func notOpened(path string, err error) error {
	e := &Error{Name: path, Err: err}
	switch {
	case errors.Is(err, os.ErrNotExist):
		e.What, e.Do = "no such file", "check the name"
	case errors.Is(err, os.ErrPermission):
		e.What, e.Do = "not permitted", "check who may read the file"
	default:
		var p *os.PathError
		if errors.As(err, &p) {
			err = p.Err
		}
		e.What, e.Do = "cannot be opened: "+oneLine(err.Error()), "check the name"
	}
	return e
}

// fileReader closes the file with the reader.
type fileReader struct {
	Reader
	f    *os.File
	stop func() bool
}

// Close ends reading and closes the file.
func (r *fileReader) Close() error {
	r.stop()
	err := r.Reader.Close()
	if e := r.f.Close(); err == nil {
		err = e
	}
	return err
}

// fifo reads a named pipe. Opened without waiting, it is at its end as long
// as nobody has it open for writing; that is waited out for a while.
type fifo struct {
	ctx   context.Context
	f     *os.File
	name  string
	begun bool
}

func (p *fifo) Read(b []byte) (int, error) {
	until := time.Now().Add(fifoPatience)
	for {
		n, err := p.f.Read(b)
		if n > 0 {
			p.begun = true
		}
		if err := p.ctx.Err(); err != nil {
			return 0, fmt.Errorf("read %s: %w", plainName(p.name), err)
		}
		if n > 0 || err != io.EOF || p.begun {
			return n, err
		}
		if time.Now().After(until) {
			return 0, unreadable(p.name, "a pipe that nobody writes to", "start what writes to it")
		}
		select {
		case <-p.ctx.Done():
		case <-time.After(10 * time.Millisecond):
		}
	}
}

// NewReader reads sound from a stream such as standard input, told apart by
// its content; name is for messages. It does not close r. Cancelling ctx ends
// reading at the next block; a Read of r that hangs is the caller's to end.
func NewReader(ctx context.Context, name string, r io.Reader) (Reader, error) {
	return newReader(ctx, name, r, "")
}

// newReader tells the kinds apart. path is the regular file behind r, empty
// if there is none.
func newReader(ctx context.Context, name string, r io.Reader, path string) (Reader, error) {
	b := bufio.NewReaderSize(r, sniffBytes)
	k, err := sniff(b)
	if err != nil {
		if err == io.EOF {
			return nil, unreadable(name, "the file is empty", "record it again or copy it again")
		}
		return nil, readFailed(name, err)
	}
	if k.open != nil {
		return k.open(ctx, name, b)
	}
	if k.not {
		return nil, unreadable(name, "this is %s, not a sound", k.advice, k.name)
	}
	return newFFmpeg(ctx, name, b, path, k)
}
