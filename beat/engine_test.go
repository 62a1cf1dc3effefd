package beat

import (
	"math/rand/v2"
	"reflect"
	"testing"

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
	x, s := sceneOf(t, "messy", 3, 9)
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

// Whatever comes in, the engine neither panics nor hangs.
func FuzzEngine(f *testing.F) {
	f.Add([]byte{1, 2, 3, 4, 5, 6, 7, 8}, uint16(48000), uint8(1))
	f.Fuzz(func(_ *testing.T, b []byte, rate uint16, channels uint8) {
		torture(b, 8000+unit.Hertz(rate), 1+int(channels%4))
	})
}

// torture makes sound of bytes: each a pulse whose place and size it draws.
func torture(b []byte, rate unit.Hertz, channels int) {
	n := 3 * int(rate)
	x := make([]float32, n*channels)
	seed := uint64(1)
	for _, v := range b {
		seed = seed*6364136223846793005 + uint64(v) + 1
		at := int(seed>>33) % n
		for i := at; i < min(n, at+int(v)); i++ {
			x[i*channels+int(v)%channels] = float32(int8(v)) / 128
		}
	}
	engineOn(x, rate, channels, func() int { return 1 + int(seed%5000) })
}

func TestTorture(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 1))
	for range 12 {
		b := make([]byte, rng.IntN(400))
		for i := range b {
			b[i] = byte(rng.UintN(256))
		}
		torture(b, unit.Hertz(8000+rng.IntN(60000)), 1+rng.IntN(4))
	}
}
