package sound

import "io"

// Samples is a Reader of sound that is already in memory, interleaved.
type Samples struct {
	Of   Format
	Data []float32
	at   int
}

// Format gives the format.
func (s *Samples) Format() Format { return s.Of }

// Read gives the next frames.
func (s *Samples) Read(dst []float32) (int, error) {
	if s.at >= len(s.Data) {
		return 0, io.EOF
	}
	n := copy(dst[:len(dst)/s.Of.Channels*s.Of.Channels], s.Data[s.at:])
	s.at += n
	return n / s.Of.Channels, nil
}

// Warnings is empty.
func (s *Samples) Warnings() []string { return nil }

// Close does nothing.
func (s *Samples) Close() error { return nil }
