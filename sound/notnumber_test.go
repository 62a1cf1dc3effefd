package sound

import (
	"bytes"
	"encoding/binary"
	"errors"
	"io"
	"math"
	"testing"
)

// Sound that is mostly no numbers is unreadable; a few are mended.
func TestMostlyNotNumbers(t *testing.T) {
	for bad, want := range map[int]error{1000: ErrUnreadable, 600: ErrUnreadable, 10: nil} {
		x := make([]float32, 1000)
		for i := range bad {
			x[i] = float32(math.NaN())
		}
		var raw bytes.Buffer
		if err := binary.Write(&raw, binary.LittleEndian, x); err != nil {
			t.Fatal(err)
		}
		r, err := NewRaw("x", &raw, RawFormat{Encoding: F32LE, Rate: 48000, Channels: 1})
		if err != nil {
			t.Fatal(err)
		}
		buf := make([]float32, 256)
		for err == nil {
			_, err = r.Read(buf)
		}
		if want == nil && err != io.EOF || want != nil && !errors.Is(err, want) {
			t.Errorf("%d of 1000: got %v, want %v", bad, err, want)
		}
	}
}
