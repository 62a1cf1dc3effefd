package beat

import (
	"math/rand/v2"
	"testing"
	"time"

	"beatwright/unit"
)

// Rates below what is accepted as sound, where some or most bands lie beyond
// the half of the rate, are no reason to panic or to hang either.
func TestTortureLowRates(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(9, 1))
	b := make([]byte, 60)
	for range 40 {
		for i := range b {
			b[i] = byte(rng.UintN(256))
		}
		rate, channels := unit.Hertz(8000+rng.IntN(14050)), 1+rng.IntN(4)
		began := time.Now()
		torture(t, b[:rng.IntN(len(b))], rate, channels, 1+rng.IntN(20000))
		// Two seconds of sound take some 10 ms.
		if d := time.Since(began); d > 5*time.Second {
			t.Errorf("%v Hz, %d channels: two seconds of sound took %v", float64(rate), channels, d)
		}
	}
}
