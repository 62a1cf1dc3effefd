package sound

import (
	"context"
	"fmt"
	"io"

	"beatwright/unit"
)

// Encoding is how the samples of raw sound, or of a WAV being written, are stored.
type Encoding int

// The encodings: little-endian signed integers and float.
const (
	S16LE Encoding = iota
	S24LE
	F32LE
)

// String gives the name used on the command line.
func (e Encoding) String() string {
	switch e {
	case S16LE:
		return "s16le"
	case S24LE:
		return "s24le"
	case F32LE:
		return "f32le"
	}
	return fmt.Sprintf("encoding %d", int(e))
}

// ParseEncoding reads a name as String gives it.
func ParseEncoding(s string) (Encoding, error) {
	for _, e := range []Encoding{S16LE, S24LE, F32LE} {
		if e.String() == s {
			return e, nil
		}
	}
	return 0, fmt.Errorf("raw encoding %q is not known; use s16le, s24le or f32le", s)
}

func (e Encoding) coding() (coding, error) {
	switch e {
	case S16LE:
		return codeS16, nil
	case S24LE:
		return codeS24, nil
	case F32LE:
		return codeF32, nil
	}
	return 0, fmt.Errorf("%v is not known", e)
}

// RawFormat describes sound that has no header.
type RawFormat struct {
	Encoding Encoding
	Rate     unit.Hertz
	Channels int
}

// NewRaw reads sound without a header. It does not close r. A format outside
// the limits of the package is an error that is not ErrUnreadable: it is the
// caller's, not the input's.
func NewRaw(name string, r io.Reader, f RawFormat) (Reader, error) {
	code, err := f.Encoding.coding()
	if err != nil {
		return nil, fmt.Errorf("read %s as raw sound: %w", plainName(name), err)
	}
	if f.Channels < 1 || f.Channels > MaxChannels {
		return nil, fmt.Errorf("read %s as raw sound: %d channels given; give 1 to %d", plainName(name), f.Channels, MaxChannels)
	}
	if !(f.Rate >= MinRate && f.Rate <= MaxRate) {
		return nil, fmt.Errorf("read %s as raw sound: a rate of %g Hz given; give %g to %g",
			plainName(name), float64(f.Rate), float64(MinRate), float64(MaxRate))
	}
	format := Format{Rate: f.Rate, Channels: f.Channels, Bits: code.bits(), Kind: "raw", Frames: -1}
	return newPCM(context.Background(), name, r, format, code, -1), nil
}
