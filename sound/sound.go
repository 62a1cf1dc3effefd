package sound

import (
	"beatwright/unit"
)

// Limits of what is accepted; chosen. Below 22 050 Hz the sounds of an
// escapement (2.5 kHz upwards) are mostly lost; above 768 kHz no converter
// delivers; more than 64 channels is a broken header.
const (
	MinRate     unit.Hertz = 22050
	MaxRate     unit.Hertz = 768000
	MaxChannels            = 64
)

// Format describes a stream.
type Format struct {
	Rate     unit.Hertz // frames a second
	Channels int
	Bits     int    // of a sample as stored, then on the grid of 24 already; 0 for float or lossy
	Kind     string // "WAV", "FLAC", "MP3", "Ogg Opus", "raw", or ffmpeg's name
	Lossy    bool   // decoded from a lossy code, which smears what is quiet
	Frames   int64  // declared length in frames, −1 if unknown: for progress only
}

// Reader gives a sound as interleaved frames.
type Reader interface {
	// Format describes the stream; it does not change.
	Format() Format
	// Read fills dst with whole interleaved frames and returns their number,
	// which may be less than dst holds. At the end it returns 0, io.EOF. An
	// error comes with 0 frames; dst must hold at least one frame.
	Read(dst []float32) (frames int, err error)
	// Warnings tells what was amiss but survivable; complete after io.EOF.
	Warnings() []string
	// Close ends reading and frees what it holds.
	Close() error
}

// checkFormat refuses rates and channel counts outside the limits.
func checkFormat(name string, f Format) error {
	switch {
	case f.Channels < 1:
		return unreadable(name, "the header says %d channels", "record it again, or convert it to WAV or FLAC", f.Channels)
	case f.Channels > MaxChannels:
		return unreadable(name, "the header says %d channels, more than %d", "convert it to fewer channels", f.Channels, MaxChannels)
	case f.Rate > MaxRate:
		return unreadable(name, "the header says %.0f samples a second, more than %.0f", "convert it to 48000", float64(f.Rate), float64(MaxRate))
	case !(f.Rate >= MinRate):
		return unreadable(name, "sampled at %.0f Hz, and at least %.0f Hz is needed to hear a watch",
			"record again at 44100 Hz or more", float64(f.Rate), float64(MinRate))
	}
	return nil
}
