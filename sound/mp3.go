package sound

import (
	"bufio"
	"context"
	"encoding/binary"
	"fmt"
	"io"

	"github.com/hajimehoshi/go-mp3"

	"beatwright/unit"
)

// mp3DecoderDelay is what a layer III decoder adds before the sound (the
// filter bank's 528 and one; common practice).
const mp3DecoderDelay = 529

// mp3MaxFailures is how many frames in a row may fail before the rest is
// given up; chosen.
const mp3MaxFailures = 20

// mp3Reader decodes MP3 by go-mp3, which always gives 16-bit stereo.
type mp3Reader struct {
	ctx      context.Context
	name     string
	dec      *mp3.Decoder
	format   Format
	perFrame int
	buf      []byte
	skip     int64 // still to be left out at the start
	left     int64 // still to come by what the file says; −1 unknown
	got      int64
	hole     int64
	lost     int64
	warn     []string
	err      error
}

// newMP3 reads from the first frame on, which b has been sniffed to hold.
func newMP3(ctx context.Context, name string, b *bufio.Reader) (Reader, error) {
	head, _ := peekSome(b, 8<<10)
	h, ok := parseMP3Head(head)
	if !ok {
		return nil, unreadable(name, "not an MP3 that can be read", doConvert)
	}
	m := &mp3Reader{
		ctx: ctx, name: name, perFrame: h.samples, left: -1, buf: make([]byte, 4*h.samples),
		format: Format{Rate: unit.Hertz(h.rate), Channels: h.channels, Kind: "MP3", Lossy: true, Frames: -1},
	}
	if err := checkFormat(name, m.format); err != nil {
		return nil, err
	}
	if info := parseMP3Info(head, h); info.present {
		m.trim(info, h)
		_, _ = b.Discard(h.bytes)
	}
	err := guard(func() (err error) {
		m.dec, err = mp3.NewDecoder(&cancellable{ctx, b})
		return err
	})
	if err != nil {
		return nil, because(name, "not an MP3 that can be read", doConvert, err)
	}
	return m, nil
}

// cancellable ends reading with its context. It hides Seek, with which
// go-mp3 would read the whole file first.
type cancellable struct {
	ctx context.Context
	r   io.Reader
}

func (c *cancellable) Read(b []byte) (int, error) {
	if err := c.ctx.Err(); err != nil {
		return 0, err
	}
	return c.r.Read(b)
}

// trim leaves out what the encoder put around the sound.
func (m *mp3Reader) trim(info mp3Info, h mp3Head) {
	if info.delay > 0 {
		m.skip = info.delay + mp3DecoderDelay
	}
	if info.frames <= 0 {
		return
	}
	n := info.frames*int64(h.samples) - info.delay - info.padding
	if n > 0 {
		m.left, m.format.Frames = n, n
	}
}

// guard turns a panic of a foreign decoder into an error.
func guard(f func() error) (err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("the decoder failed: %v", p)
		}
	}()
	return f()
}

func (m *mp3Reader) Format() Format { return m.format }

// Warnings tells what was amiss.
func (m *mp3Reader) Warnings() []string {
	if m.lost == 0 {
		return m.warn
	}
	return append([]string{fmt.Sprintf("the file is damaged: %.3g s of sound are lost and left blank",
		float64(m.lost)/float64(m.format.Rate))}, m.warn...)
}

// Close ends reading.
func (m *mp3Reader) Close() error {
	m.err, m.hole, m.dec = errClosed, 0, nil
	return nil
}

// Read gives at most one frame of MPEG audio.
func (m *mp3Reader) Read(dst []float32) (int, error) {
	want := min(len(dst)/m.format.Channels, m.perFrame)
	if want == 0 {
		return 0, io.ErrShortBuffer
	}
	for m.err == nil {
		if m.left == 0 {
			m.err = io.EOF
			break
		}
		n := m.samples(want)
		drop := int(min(m.skip, int64(n)))
		m.skip -= int64(drop)
		n -= drop
		if m.left > 0 {
			n = int(min(int64(n), m.left))
			m.left -= int64(n)
		}
		if n > 0 {
			m.give(dst, m.buf[4*drop:4*(drop+n)])
			m.got += int64(n)
			return n, nil
		}
	}
	return 0, m.err
}

// give converts 16-bit stereo to what the file holds.
func (m *mp3Reader) give(dst []float32, b []byte) {
	step := 2 * (3 - m.format.Channels) // left only, or both
	for i := 0; i*step < len(b); i++ {
		dst[i] = float32(int16(binary.LittleEndian.Uint16(b[i*step:]))) * (1.0 / (1 << 15))
	}
}

// samples puts up to want frames into buf. 0 when there was an error or end.
func (m *mp3Reader) samples(want int) int {
	if m.hole > 0 {
		n := min(int64(want), m.hole)
		m.hole -= n
		for i := range m.buf[:4*n] {
			m.buf[i] = byte(1 - i&1) // the faintest value, for the reason given at blank
		}
		return int(n)
	}
	for failures := 0; ; failures++ {
		if err := m.ctx.Err(); err != nil {
			m.err = fmt.Errorf("read %s: %w", plainName(m.name), err)
			return 0
		}
		var n int
		err := guard(func() (err error) {
			n, err = io.ReadFull(m.dec, m.buf[:4*want])
			return err
		})
		switch {
		case n >= 4:
			return n / 4
		case err == io.EOF:
			m.end()
			return 0
		case failures >= mp3MaxFailures:
			m.warn = append(m.warn, fmt.Sprintf("the file is damaged from %.4g s on; the rest was left out",
				float64(m.got)/float64(m.format.Rate)))
			m.err = io.EOF
			return 0
		}
		m.hole += int64(m.perFrame)
		m.lost += int64(m.perFrame)
	}
}

// end notes what is missing.
func (m *mp3Reader) end() {
	m.err = io.EOF
	// Encoders differ by a frame in what they say.
	if m.format.Frames-m.got > 2*int64(m.perFrame) {
		m.warn = append(m.warn, endsEarly(m.format, m.got))
	}
}
