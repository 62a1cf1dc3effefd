package web

import (
	"encoding/binary"
	"math"
	"testing"
)

// FuzzSamplesOf: any message is sound or is refused in words.
func FuzzSamplesOf(f *testing.F) {
	good := make([]byte, 24)
	binary.LittleEndian.PutUint64(good, math.Float64bits(441))
	f.Add(good)
	f.Add([]byte{})
	f.Add(make([]byte, 17))
	f.Add(append(binary.LittleEndian.AppendUint64(nil, math.Float64bits(math.NaN())), make([]byte, 8)...))
	f.Fuzz(func(t *testing.T, b []byte) {
		first, x, err := samplesOf(b)
		if err != nil {
			return
		}
		if first < 0 || first > 1<<52 || 16+4*len(x) != len(b) {
			t.Errorf("%d bytes give %d samples from %d", len(b), len(x), first)
		}
	})
}
