package beat

import (
	"math"
	"math/rand/v2"
	"reflect"
	"testing"
	"time"

	"pgregory.net/rapid"

	"beatwright/synth"
	"beatwright/unit"
)

func sceneOf(t testing.TB, kind string, seed uint64, sec unit.Seconds) ([]float32, synth.Scene) {
	t.Helper()
	k, err := synth.ParseKind(kind)
	if err != nil {
		t.Fatal(err)
	}
	s := k.Scene(seed)
	s.Duration = sec
	x, truth, err := synth.Render(s)
	if err != nil {
		t.Fatal(err)
	}
	return x, truth.Scene
}

func engineOn(x []float32, rate unit.Hertz, channels int, cut func() int) *Engine {
	e := New(rate, channels)
	for len(x) > 0 {
		n := min(len(x), cut()*channels)
		e.Push(x[:n])
		x = x[n:]
	}
	e.Close()
	return e
}

// The same samples give the same beats and profiles, bit for bit, however
// they are cut into blocks.
func TestAnyBlocks(t *testing.T) {
	t.Parallel()
	x, s := sceneOf(t, "messy", 3, 5.5)
	whole := engineOn(x, s.Rate, 1, func() int { return len(x) })
	if len(whole.Runs()) != 1 {
		t.Fatalf("%d runs, want 1", len(whole.Runs()))
	}
	rapid.Check(t, func(rt *rapid.T) {
		most := rapid.IntRange(1, 30000).Draw(rt, "longest block")
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(rt, "seed"), 1))
		got := engineOn(x, s.Rate, 1, func() int { return 1 + rng.IntN(most) })
		if len(got.Runs()) != 1 {
			rt.Fatalf("%d runs, want 1", len(got.Runs()))
		}
		// Shift is not a number in a first run, and so is equal to nothing.
		a, b := got.Runs()[0], whole.Runs()[0]
		if !reflect.DeepEqual(a.Segments, b.Segments) || a.Period != b.Period || a.Ended != b.Ended {
			rt.Fatal("beats or profiles differ from those of one block")
		}
	})
}

// Whatever comes in, the engine neither panics nor hangs, and what it gives
// is in order.
func FuzzEngine(f *testing.F) {
	f.Add([]byte{1, 2, 3, 4, 5, 6, 7, 8}, uint32(48000), uint8(1), uint16(1))
	f.Add([]byte{200, 0, 90, 255}, uint32(22050), uint8(3), uint16(60000))
	f.Fuzz(func(t *testing.T, b []byte, rate uint32, channels uint8, block uint16) {
		torture(t, b, 22050+unit.Hertz(rate%170000), 1+int(channels%4), 1+int(block))
	})
}

// torture makes two seconds of sound of bytes: each a pulse, repeated evenly,
// whose place, size and period it draws, up to the extremes of a float32.
func torture(t *testing.T, b []byte, rate unit.Hertz, channels, block int) {
	t.Helper()
	n := 2 * int(rate)
	x := make([]float32, n*channels)
	seed := uint64(1)
	for _, v := range b[:min(len(b), 200)] {
		seed = seed*6364136223846793005 + uint64(v) + 1
		size := extremes[int(v)%len(extremes)]
		period := int(seed>>20)%n + n/40
		for at := int(seed>>33) % n; at < n; at += period {
			for i := at; i < min(n, at+int(v)); i++ {
				x[i*channels+int(v)%channels] = size * float32(1-2*(i&1))
			}
		}
	}
	e := engineOn(x, rate, channels, func() int { return block })
	for _, r := range e.Runs() {
		last := unit.Seconds(-1)
		for _, s := range r.Segments {
			for _, m := range s.Beats {
				if !(m.At > last) || m.At > 3 {
					t.Fatalf("beat %d at %v s, after one at %v", m.K, float64(m.At), float64(last))
				}
				last = m.At
			}
		}
	}
}

var extremes = []float32{0.3, 1, -1, math.MaxFloat32, -math.MaxFloat32, math.SmallestNonzeroFloat32, 1e-6, 0.02, 1e20, math.MaxFloat32 / 2}

func TestTorture(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(4, 1))
	spent := 2 * time.Second
	if testing.Short() {
		spent /= 4
	}
	for began := time.Now(); time.Since(began) < spent; {
		b := make([]byte, rng.IntN(200))
		for i := range b {
			b[i] = byte(rng.UintN(256))
		}
		torture(t, b, unit.Hertz(22050+rng.IntN(170000)), 1+rng.IntN(4), 1+rng.IntN(20000))
	}
}
