package sound

import (
	"context"
	"errors"
	"fmt"
	"io"
)

// blockBytes is read at a time: large enough that the calls cost nothing,
// small enough to stay in a processor's cache.
const blockBytes = 128 << 10

// pcmReader reads plainly stored samples: WAV and raw.
type pcmReader struct {
	ctx    context.Context
	name   string
	src    io.Reader
	closer func() error
	format Format
	code   coding
	left   int64 // declared bytes still to come; −1 until the end of src
	buf    []byte
	have   int // bytes in buf: the start of a frame not yet whole
	got    int64
	amiss  amiss
	warn   []string
	err    error // sticky
}

func newPCM(ctx context.Context, name string, src io.Reader, f Format, c coding, dataBytes int64) *pcmReader {
	frame := f.Channels * c.size()
	return &pcmReader{
		ctx: ctx, name: name, src: src, format: f, code: c, left: dataBytes,
		buf: make([]byte, blockBytes/frame*frame),
	}
}

func (p *pcmReader) Format() Format { return p.format }

// Warnings tells what was amiss.
func (p *pcmReader) Warnings() []string { return append(p.amiss.warnings(), p.warn...) }

// Close closes what Open opened.
func (p *pcmReader) Close() error {
	p.err = errClosed
	if p.closer == nil {
		return nil
	}
	c := p.closer
	p.closer = nil
	return c()
}

var errClosed = errors.New("read sound: already closed")

// Read gives whole frames; it does not wait for more than one.
func (p *pcmReader) Read(dst []float32) (int, error) {
	if len(dst) < p.format.Channels {
		return 0, io.ErrShortBuffer
	}
	frame := p.format.Channels * p.code.size()
	want := min(len(dst)/p.format.Channels*frame, len(p.buf))
	for p.have < frame && p.err == nil {
		p.fill(want)
	}
	n := min(p.have, want) / frame
	if n == 0 {
		if p.err == io.EOF && p.amiss.notNumbers > p.got*int64(p.format.Channels)/2 {
			p.err = unreadable(p.name, "most of its samples are no numbers", "save it again from where it was recorded")
		}
		return 0, p.err
	}
	used := n * frame
	p.code.decode(dst[:n*p.format.Channels], p.buf[:used], &p.amiss)
	p.have = copy(p.buf, p.buf[used:p.have])
	p.got += int64(n)
	return n, nil
}

// fill reads once towards want bytes in the buffer.
func (p *pcmReader) fill(want int) {
	if err := p.ctx.Err(); err != nil {
		p.err = fmt.Errorf("read %s: %w", plainName(p.name), err)
		return
	}
	room := p.buf[p.have:want]
	if p.left >= 0 {
		room = room[:min(int64(len(room)), p.left)]
	}
	if len(room) == 0 {
		p.end()
		return
	}
	n, err := p.src.Read(room)
	p.have += n
	if p.left >= 0 {
		p.left -= int64(n)
	}
	switch {
	case err == io.EOF || err == io.ErrUnexpectedEOF:
		p.end()
	case err != nil:
		p.err = readFailed(p.name, err)
	}
}

// readFailed keeps errors that say enough themselves.
func readFailed(name string, err error) error {
	if errors.Is(err, ErrUnreadable) || errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded) {
		return err
	}
	return because(name, "the system could not read on", "check the disk or copy the file again", err)
}

// end notes what is missing, once.
func (p *pcmReader) end() {
	p.err = io.EOF
	frame := int64(p.format.Channels * p.code.size())
	whole := int64(p.have) / frame
	if rest := int64(p.have) % frame; rest > 0 {
		p.warn = append(p.warn, fmt.Sprintf("the last %s part of a frame and left out", count(rest, "byte is", "bytes are")))
	}
	if p.left > 0 && p.format.Frames > p.got+whole {
		p.warn = append(p.warn, endsEarly(p.format, p.got+whole))
	}
}

// endsEarly says how much less is there than the header claims.
func endsEarly(f Format, got int64) string {
	short := float64(f.Frames-got) / float64(f.Rate)
	return fmt.Sprintf("the sound ends %.3g s early: the header says %.3g s, %.3g s are there",
		short, float64(f.Frames)/float64(f.Rate), float64(got)/float64(f.Rate))
}
