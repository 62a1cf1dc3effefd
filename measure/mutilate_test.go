package measure_test

import (
	"context"
	"encoding/json"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"beatwright/measure"
	"beatwright/reading"
	"beatwright/sound"
	"beatwright/synth"
	"beatwright/unit"
)

// whole tells what is wrong with a result as such, whatever was heard: it must
// be written as JSON, which knows no NaN and no infinity, and say one thing.
func whole(res measure.Result) string {
	if _, err := json.Marshal(res.Reading); err != nil {
		return err.Error()
	}
	if (res.Watch == nil) == (res.Refusal == nil) {
		return "both or neither of a watch and a refusal"
	}
	if res.Refusal != nil && (res.Refusal.Code == "" || res.Refusal.Why == "") {
		return "a refusal without a reason"
	}
	last := math.Inf(-1)
	for _, b := range res.Beats {
		if !(float64(b.At) > last) || math.IsNaN(b.ResidualMs) || b.Side < 1 || b.Side > 2 {
			return "beats out of order, or not a number"
		}
		last = float64(b.At)
	}
	if w := res.Watch; w != nil {
		return wholeWatch(*w)
	}
	return ""
}

func wholeWatch(w reading.Watch) string {
	switch {
	case !(w.BeatTime.Value > 0) || !(w.BeatTime.U95 > 0) || w.From > w.To:
		return "no beat time, no doubt, or no stretch"
	case w.Amplitude.Standing == reading.Measured && (w.Amplitude.Value == nil || !(*w.Amplitude.U95 > 0)):
		return "a swing measured without value or doubt"
	}
	for _, c := range w.Changes {
		if c.At < 0 || (c.What == reading.Gap || c.What == reading.Insertion) && (c.Ms == nil || *c.Ms <= 0) {
			return "a change before the sound, or a gap of no length: " + c.What
		}
	}
	return ""
}

// mutilate spoils a sound: pieces cut, said twice, turned, drowned, stuck,
// muted, thrown about.
func mutilate(x []float32, channels int, rng *rand.Rand) []float32 {
	x = slices.Clone(x)
	for range 1 + rng.IntN(4) {
		frames := len(x) / channels
		if frames < 10 {
			return x
		}
		from := rng.IntN(frames)
		to := min(frames, from+1+rng.IntN(frames/2))
		p := x[from*channels : to*channels]
		switch rng.IntN(7) {
		case 0:
			x = slices.Delete(x, from*channels, to*channels)
		case 1:
			x = slices.Insert(x, from*channels, slices.Clone(p)...)
		case 2:
			slices.Reverse(p)
		case 3:
			for i := range p {
				p[i] += float32(0.1 * rng.NormFloat64())
			}
		case 4:
			for i := range p {
				p[i] = p[0]
			}
		case 5:
			clear(p)
		case 6:
			for i := range p {
				p[i] = extremes[rng.IntN(len(extremes))]
			}
		}
	}
	return x
}

var extremes = []float32{0, 1, -1, math.MaxFloat32, -math.MaxFloat32, math.SmallestNonzeroFloat32, 1e-8, 0.5}

// spreadOver lays one channel onto several, each its own gain.
func spreadOver(x []float32, channels int, rng *rand.Rand) []float32 {
	out := make([]float32, 0, len(x)*channels)
	gain := []float32{1, 0, -0.5, 0.01}
	rng.Shuffle(channels, func(i, j int) { gain[i], gain[j] = gain[j], gain[i] })
	for _, v := range x {
		for c := range channels {
			out = append(out, gain[c]*v)
		}
	}
	return out
}

// Spoiled sound, at any rate and with any channels, gives a whole answer; of
// many a watch is heard all the same.
func TestMutilated(t *testing.T) {
	t.Parallel()
	seeds := uint64(12)
	if testing.Short() {
		seeds /= 4
	}
	var pool [][]float32
	for i, name := range []string{"fair", "messy", "tired", "buried", "hum", "rundown"} {
		x, _ := rendered(t, kind(t, name, uint64(i)), 6)
		pool = append(pool, x)
	}
	heard, tried := 0, 0
	for seed := range seeds {
		rng := rand.New(rand.NewPCG(seed, 3))
		channels := max(1, rng.IntN(7)-2)
		x := mutilate(spreadOver(pool[rng.IntN(len(pool))], channels, rng), channels, rng)
		f := sound.Format{Rate: unit.Hertz(32000 + rng.IntN(40000)), Channels: channels, Kind: "simulated", Lossy: rng.IntN(4) == 0}
		cut := 1 + rng.IntN(9000)
		o := measure.Options{Every: unit.Seconds(4 * (rng.IntN(3) / 2))}
		for _, res := range hearAll(t, &chopped{sound.Samples{Of: f, Data: x}, func() int { return cut }}, o) {
			tried++
			if res.Watch != nil {
				heard++
			}
			if why := whole(res); why != "" {
				t.Errorf("seed %d: %s", seed, why)
			}
		}
	}
	t.Logf("%d of %d heard", heard, tried)
	if 4*heard < tried {
		t.Errorf("%d of %d heard: too few to try anything", heard, tried)
	}
}

// FuzzSound spoils a watch by what the fuzzer draws.
func FuzzSound(f *testing.F) {
	k, err := synth.ParseKind("fair")
	if err != nil {
		f.Fatal(err)
	}
	s := k.Scene(2)
	s.Duration = 4
	clean, _, err := synth.Render(s)
	if err != nil {
		f.Fatal(err)
	}
	f.Add(uint64(1), uint8(0), uint16(100))
	f.Add(uint64(2), uint8(3), uint16(0))
	f.Fuzz(func(t *testing.T, seed uint64, channels uint8, block uint16) {
		n := 1 + int(channels%4)
		rng := rand.New(rand.NewPCG(seed, 4))
		x := mutilate(spreadOver(clean, n, rng), n, rng)
		r := &chopped{sound.Samples{Of: sound.Format{Rate: s.Rate, Channels: n}, Data: x}, func() int { return 1 + int(block) }}
		err := measure.Sound(context.Background(), "x", r, measure.Options{}, func(res measure.Result) error {
			if why := whole(res); why != "" {
				t.Error(why)
			}
			return nil
		})
		if err != nil {
			t.Error(err)
		}
	})
}
