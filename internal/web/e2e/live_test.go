package e2e

import (
	"context"
	"math"
	"testing"

	"beatwright/measure"
	"beatwright/sound"
	"beatwright/synth"
	"beatwright/unit"
)

// steady is a watch that lies still.
func steady(seed uint64, rate unit.SecondsPerDay, swing unit.Degrees, beat unit.Milliseconds, length unit.Seconds) synth.Scene {
	return synth.Scene{
		Seed: seed, Level: -14, Noise: []synth.Noise{{SNR: 38}}, Duration: length,
		Watch: &synth.Watch{
			BeatsPerHour: 21600, Lift: 52, Rate: rate, BeatError: beat, Swing: synth.Swing{Start: swing}, FirstAt: 0.2,
			Jitter: synth.Jitter{Centre: 0.03, Unlocking: 0.015, Impulse: 0.015, Drop: 0.015},
		},
	}
}

// A file through the browser's microphone comes to the workshop's disk sample by
// sample, and says there what the file itself says.
func TestSoundExact(t *testing.T) {
	t.Parallel()
	w := emptyShop(t)
	r := w.aRound(t, nil, "CH")
	file, x := wav(t, steady(1, 12, 270, 0.5, 90))
	b := hears(t, w, file, false)
	b.goTo("/live/" + string(r.ID))
	b.says("No sound yet.")
	b.press("m")
	b.says("That is all.")
	sittingOf(t, w.bench, r.ID).Settled()
	p, err := w.bench.Job(context.Background(), string(r.Job))
	if err != nil || len(p.Hearings) != 1 {
		t.Fatalf("%v, hearings %+v", err, p.Hearings)
	}
	h := p.Hearings[0]
	y := kept(t, w.bench, h.ID)
	at := placeOf(x, y)
	if at < 0 {
		t.Fatal("what was kept is not in the file")
	}
	for i, v := range y {
		// A quarter of a 16-bit step is what the browser's own conversion costs.
		if d := math.Abs(float64(v-x[at+i])) * 32768; d > 0.26 {
			t.Fatalf("sample %d differs by %.3f steps of 16 bits", i, d)
		}
	}
	var want measure.Result
	of := sound.Format{Rate: micRate, Channels: 1, Bits: 16, Kind: "test", Frames: int64(len(y))}
	if err := measure.Sound(context.Background(), "file", &sound.Samples{Of: of, Data: x[at : at+len(y)]}, measure.Options{}, func(res measure.Result) error {
		want = res
		return nil
	}); err != nil {
		t.Fatal(err)
	}
	got := p.Latest(h.ID).Says.Watch
	if d := got.Rate.Value - want.Watch.Rate.Value; math.Abs(d) > 0.001 {
		t.Errorf("kept it says %.4f s/d, the file itself %.4f", got.Rate.Value, want.Watch.Rate.Value)
	}
	b.shot("round-over")
}

// placeOf is where y begins in x, −1 if it does not.
func placeOf(x, y []float32) int {
	const n = 400
	if len(y) < n {
		return -1
	}
	for at := range len(x) - len(y) + 1 {
		same := true
		for i := range n {
			if math.Abs(float64(y[i]-x[at+i]))*32768 > 0.5 {
				same = false
				break
			}
		}
		if same {
			return at
		}
	}
	return -1
}
