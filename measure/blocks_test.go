package measure_test

import (
	"bytes"
	"encoding/json"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"beatwright/measure"
	"beatwright/reading"
	"beatwright/sound"
	"beatwright/synth"
	"beatwright/unit"
)

// chopped gives a sound in blocks of as many frames as cut says.
type chopped struct {
	sound.Samples
	cut func() int
}

func (c *chopped) Read(dst []float32) (int, error) {
	return c.Samples.Read(dst[:min(len(dst), c.cut()*c.Of.Channels)])
}

// sameResult tells in what two results differ; empty if in no bit.
func sameResult(t *testing.T, a, b measure.Result) string {
	t.Helper()
	x, err := json.Marshal(a.Reading)
	if err != nil {
		t.Fatal(err)
	}
	y, err := json.Marshal(b.Reading)
	if err != nil {
		t.Fatal(err)
	}
	switch {
	case !bytes.Equal(x, y):
		return "reading:\n" + string(x) + "\n" + string(y)
	case !slices.Equal(a.Beats, b.Beats):
		return "beats"
	case !reflect.DeepEqual(a.Profiles, b.Profiles):
		return "profiles"
	}
	return ""
}

// withZeros puts n frames of exact zeros in at a frame.
func withZeros(x []float32, channels, at, n int) []float32 {
	return slices.Concat(x[:at*channels], make([]float32, n*channels), x[at*channels:])
}

// A sound gives the same reading, beats and profiles, bit for bit, however it
// arrives in blocks: of two channels, with an insertion on the way.
func TestAnyBlocks(t *testing.T) {
	t.Parallel()
	s := kind(t, "fair", 14)
	s.Rate, s.Channels = 22050, []synth.Channel{{Level: -6}, {}}
	x, truth := rendered(t, s, 3.5)
	x = withZeros(x, 2, 40000, 441)
	f := formatOf(truth.Scene)
	whole := hear(t, &sound.Samples{Of: f, Data: x}, measure.Options{})
	if whole.Watch == nil || len(whole.Watch.Changes) != 1 || len(whole.Beats) < 8 {
		t.Fatalf("got %+v, want a watch and an insertion", whole.Reading)
	}
	rapid.Check(t, func(rt *rapid.T) {
		most := rapid.SampledFrom([]int{40, 500, 3000, 30000}).Draw(rt, "longest block")
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(rt, "seed"), 1))
		r := &chopped{sound.Samples{Of: f, Data: x}, func() int { return 1 + rng.IntN(most) }}
		if d := sameResult(t, whole, hear(t, r, measure.Options{})); d != "" {
			rt.Fatalf("differs in %s", d)
		}
	})
}

// So does a long one, in which segments close and merge, a phase step breaks
// the run, and windows are read one by one.
func TestAnyBlocksLong(t *testing.T) {
	if testing.Short() {
		t.Skip("skipped: short")
	}
	t.Parallel()
	s := kind(t, "phasestep", 3)
	s.Watch.Turns[0].At = 50
	x, truth := rendered(t, s, 70)
	f := formatOf(truth.Scene)
	for _, every := range []unit.Seconds{0, 7} {
		all := func(cut func() int) []measure.Result {
			return hearAll(t, &chopped{sound.Samples{Of: f, Data: x}, cut}, measure.Options{Every: every})
		}
		whole := all(func() int { return len(x) })
		for _, most := range []int{97, 20000} {
			rng := rand.New(rand.NewPCG(uint64(most), 1))
			got := all(func() int { return 1 + rng.IntN(most) })
			if len(got) != len(whole) {
				t.Fatalf("every %v s: %d readings, want %d", float64(every), len(got), len(whole))
			}
			for i := range got {
				if d := sameResult(t, whole[i], got[i]); d != "" {
					t.Errorf("every %v s, blocks to %d, reading %d differs in %s", float64(every), most, i, d)
				}
			}
		}
	}
}

// A kept FLAC replays as the same reading, bit for bit: of any kind of sound,
// two channels, any window.
func TestFLACReplayKinds(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		kind  string
		every unit.Seconds
	}{{"messy", 0}, {"onedead", 4}, {"clipped", 0}, {"rain", 0}, {"zeros", 0}} {
		x, truth := rendered(t, kind(t, c.kind, 15), 8)
		f := formatOf(truth.Scene)
		o := measure.Options{Every: c.every}
		first := hearAll(t, &sound.Samples{Of: f, Data: x}, o)
		again := hearAll(t, reread(t, x, f), o)
		if len(first) != len(again) || len(first) == 0 {
			t.Fatalf("%s: %d readings replayed, %d first", c.kind, len(again), len(first))
		}
		for i := range first {
			if d := sameResult(t, first[i], again[i]); d != "" {
				t.Errorf("%s, reading %d differs in %s", c.kind, i, d)
			}
		}
	}
}

// Exact zeros put in anywhere change nothing but the list of changes, where
// each stands with its place and length.
func TestInsertionsChangeNothing(t *testing.T) {
	t.Parallel()
	x, truth := rendered(t, kind(t, "fair", 16), 12)
	f := formatOf(truth.Scene)
	plain := hear(t, &sound.Samples{Of: f, Data: x}, measure.Options{})
	rng := rand.New(rand.NewPCG(17, 1))
	for range 6 {
		n := 128 + rng.IntN(int(0.4*float64(f.Rate)))
		at := int((1 + 10*rng.Float64()) * float64(f.Rate))
		got := hear(t, &sound.Samples{Of: f, Data: withZeros(x, 1, at, n)}, measure.Options{})
		if got.Watch == nil || len(got.Watch.Changes) != 1 {
			t.Fatalf("%d zeros at %d: got %+v, want one change", n, at, got.Reading)
		}
		checkInsertion(t, got.Watch.Changes[0], float64(at)/float64(f.Rate), 1e3*float64(n)/float64(f.Rate))
		got.Watch.Changes = plain.Watch.Changes
		if d := sameResult(t, plain, got); d != "" {
			t.Errorf("%d zeros at %d: differs in %s", n, at, d)
		}
	}
}

// checkInsertion allows a few samples that were zero by themselves.
func checkInsertion(t *testing.T, c reading.Change, at, ms float64) {
	t.Helper()
	if c.What != reading.Insertion || c.Ms == nil || *c.Ms < ms || *c.Ms > ms+0.2 || float64(c.At) > at || float64(c.At) < at-2e-4 {
		t.Errorf("got %+v, want an insertion of %.2f ms at %.4f s", c, ms, at)
	}
}
