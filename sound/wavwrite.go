package sound

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
)

// WAVWriter writes a WAV as a stream.
type WAVWriter struct {
	w      io.Writer
	seek   io.Seeker
	start  int64
	format RawFormat
	frame  int // bytes
	bytes  int64
	buf    []byte
	err    error
}

// wavHeadBytes is the length of the header written: RIFF 12, JUNK or ds64
// 36, fmt 26, fact 12, data 8.
const wavHeadBytes = 12 + 36 + 26 + 12 + 8

// NewWAVWriter writes the header to w. Where w can seek, Close completes it,
// as RF64 (EBU Tech 3306) beyond 4 GiB; where it cannot, the header says
// "unknown length". 16 and 24 bits round half to even and hold at full scale;
// no dither. It does not close w.
func NewWAVWriter(w io.Writer, f RawFormat) (*WAVWriter, error) {
	code, err := f.Encoding.coding()
	if err != nil {
		return nil, fmt.Errorf("write WAV: %w", err)
	}
	if f.Channels < 1 || f.Channels > MaxChannels {
		return nil, fmt.Errorf("write WAV: %d channels; it takes 1 to %d", f.Channels, MaxChannels)
	}
	if !(f.Rate >= 1 && f.Rate <= math.MaxUint32) || float64(f.Rate) != math.Trunc(float64(f.Rate)) {
		return nil, fmt.Errorf("write WAV: a rate of %g Hz; it takes whole numbers", float64(f.Rate))
	}
	x := &WAVWriter{w: w, format: f, frame: f.Channels * code.size()}
	x.seek, x.start = seekable(w)
	if _, err := w.Write(x.header(-1)); err != nil {
		return nil, fmt.Errorf("write WAV: %w", err)
	}
	return x, nil
}

// header makes the header for so many bytes of sound, −1 unknown.
func (x *WAVWriter) header(data int64) []byte {
	le := binary.LittleEndian
	all := data + data&1 + wavHeadBytes - 8
	id, extra, size, riff := "RIFF", "JUNK", uint32(data), uint32(all)
	switch {
	case data < 0:
		size, riff = math.MaxUint32, math.MaxUint32
	case all > math.MaxUint32:
		id, extra, size, riff = "RF64", "ds64", math.MaxUint32, math.MaxUint32
	}
	h := append([]byte(id), 0, 0, 0, 0)
	le.PutUint32(h[4:], riff)
	h = append(h, "WAVE"+extra...)
	h = le.AppendUint32(h, 28)
	wide := make([]byte, 28)
	if extra == "ds64" {
		le.PutUint64(wide, uint64(all))
		le.PutUint64(wide[8:], uint64(data))
		le.PutUint64(wide[16:], uint64(data/int64(x.frame)))
	}
	h = append(h, wide...)
	h = x.appendFmt(h)
	h = le.AppendUint32(append(h, "fact"...), 4)
	h = le.AppendUint32(h, uint32(min(max(data, 0)/int64(x.frame), math.MaxUint32)))
	return le.AppendUint32(append(h, "data"...), size)
}

func (x *WAVWriter) appendFmt(h []byte) []byte {
	le := binary.LittleEndian
	tag := uint16(tagPCM)
	if x.format.Encoding == F32LE {
		tag = tagFloat
	}
	h = le.AppendUint32(append(h, "fmt "...), 18)
	h = le.AppendUint16(h, tag)
	h = le.AppendUint16(h, uint16(x.format.Channels))
	h = le.AppendUint32(h, uint32(x.format.Rate))
	h = le.AppendUint32(h, uint32(min(float64(x.format.Rate)*float64(x.frame), math.MaxUint32)))
	h = le.AppendUint16(h, uint16(x.frame))
	h = le.AppendUint16(h, uint16(x.frame/x.format.Channels*8))
	return le.AppendUint16(h, 0)
}

// Write takes whole interleaved frames.
func (x *WAVWriter) Write(frames []float32) error {
	if x.err != nil {
		return x.err
	}
	if len(frames)%x.format.Channels != 0 {
		return errors.New("write WAV: part of a frame")
	}
	for len(frames) > 0 && x.err == nil {
		n := min(len(frames), blockBytes/4)
		x.buf = appendSamples(x.buf[:0], frames[:n], x.format.Encoding)
		if _, err := x.w.Write(x.buf); err != nil {
			x.err = fmt.Errorf("write WAV: %w", err)
		}
		x.bytes += int64(len(x.buf))
		frames = frames[n:]
	}
	return x.err
}

func appendSamples(b []byte, s []float32, e Encoding) []byte {
	switch e {
	case S16LE:
		for _, v := range s {
			b = binary.LittleEndian.AppendUint16(b, uint16(wholeStep(v, 1<<15)))
		}
	case S24LE:
		for _, v := range s {
			i := wholeStep(v, 1<<23)
			b = append(b, byte(i), byte(i>>8), byte(i>>16))
		}
	default:
		for _, v := range s {
			b = binary.LittleEndian.AppendUint32(b, math.Float32bits(v))
		}
	}
	return b
}

// wholeStep rounds to a step of 1/full, half to even; no number gives 0.
func wholeStep(v float32, full float64) int32 {
	y := float64(v) * full
	if y-y != 0 {
		return 0
	}
	y = (max(min(y, full), -full) + roundMagic) - roundMagic
	return int32(min(y, full-1))
}

// Close completes the file.
func (x *WAVWriter) Close() error {
	if errors.Is(x.err, errClosed) {
		return nil
	}
	err := x.err
	if err == nil && x.bytes&1 == 1 {
		_, err = x.w.Write([]byte{0})
	}
	if err == nil && x.seek != nil {
		err = x.complete()
	}
	x.err = errClosed
	if err != nil {
		return fmt.Errorf("complete the WAV: %w", err)
	}
	return nil
}

func (x *WAVWriter) complete() error {
	end, err := x.seek.Seek(0, io.SeekCurrent)
	if err != nil {
		return err
	}
	if _, err := x.seek.Seek(x.start, io.SeekStart); err != nil {
		return err
	}
	if _, err := x.w.Write(x.header(x.bytes)); err != nil {
		return err
	}
	_, err = x.seek.Seek(end, io.SeekStart)
	return err
}
