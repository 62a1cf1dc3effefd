package synth

import (
	"io"
	"math"
	"slices"
	"testing"
)

func render(t *testing.T, s Scene) ([]float32, Truth) {
	t.Helper()
	x, truth, err := Render(s)
	if err != nil {
		t.Fatal(err)
	}
	return x, truth
}

// crowded has everything in it.
func crowded() Scene {
	s := Scene{
		Rate: 44100, Duration: 6, Seed: 5, ClockPPM: 300, Level: -20, Bits: 24,
		Channels: []Channel{{}, {Inverted: true, Level: -3}, {Dead: true}},
		Watch:    &Watch{BeatError: 0.8, Rate: 20, PhaseSpread: 1, After: []Strike{{12, -20}}, Echoes: []Strike{{20, -20}}},
		Second:   &Neighbour{Level: -10, Watch: Watch{BeatsPerHour: 18000}},
		Noise:    []Noise{{SNR: 30}, {Kind: Pink, SNR: 35}},
		Hum:      []Hum{{Level: 3, Harmonics: 5}},
		Bumps:    &Bumps{PerMinute: 60, Spread: 3},
		Bursts:   &Bursts{PerMinute: 60, Length: 0.3, SNR: 10},
		Events:   []Event{{At: 1, Kind: Knock}, {At: 2, Kind: Rub, Level: -10, Length: 1}},
		Edits:    []Edit{{At: 1.5, Gap: 0.4}, {At: 3, Zeros: 0.21}, {At: 3.05, Gap: 0.01}, {At: 5, Zeros: 0.1, Gap: 0.1}},
	}
	s.Watch.Turns = []Turn{{At: 4, Handling: 1, Amplitude: 220, Rate: 10, Phase: 9}}
	for _, k := range otherKinds {
		s.Others = append(s.Others, Other{Kind: k, Level: -20})
	}
	return s
}

// However it is read, the sound is the same.
func TestStreamIsRender(t *testing.T) {
	want, truth := render(t, crowded())
	st, err := NewStream(crowded())
	if err != nil {
		t.Fatal(err)
	}
	var beats []Beat
	st.OnBeat = func(b Beat) { beats = append(beats, b) }
	var got []float32
	for i := 0; ; i++ {
		buf := make([]float32, 1+(i*i*977)%30011)
		n, err := st.Read(buf)
		got = append(got, buf[:n]...)
		if err == io.EOF {
			break
		}
	}
	if !slices.Equal(got, want) {
		t.Error("read in pieces the sound differs")
	}
	if !slices.Equal(beats, truth.Beats) {
		t.Error("read in pieces the beats differ")
	}
	if int64(len(got)) != st.Frames()*3 {
		t.Errorf("got %d samples, want %d frames of 3", len(got), st.Frames())
	}
}

// A stream's memory does not grow: once running it allocates nothing.
func TestStreamIsFlat(t *testing.T) {
	s := crowded()
	s.Duration, s.Edits, s.Watch.Turns, s.Bursts = 3600, nil, nil, nil
	st, err := NewStream(s)
	if err != nil {
		t.Fatal(err)
	}
	buf := make([]float32, 3*4096)
	read := func() {
		if _, err := st.Read(buf); err != nil {
			t.Fatal(err)
		}
	}
	for range 40 {
		read()
	}
	if n := testing.AllocsPerRun(40, read); n > 0 {
		t.Errorf("%g allocations a read", n)
	}
	held := cap(st.bus.acc) + cap(st.chunk)
	for range 40 {
		read()
	}
	if now := cap(st.bus.acc) + cap(st.chunk); now != held || st.book.beats != nil {
		t.Errorf("holds %d samples and %d beats, had %d", now, len(st.book.beats), held)
	}
}

// The sound begins where the truth says, through a wrong clock, gaps and
// insertions: nothing before the unlocking but the band limit's own ripple,
// the blow at once after.
func TestSoundLiesWhereTruthSays(t *testing.T) {
	blow := Sound{Modes: []Mode{{Frequency: 6000, Decay: 0.3, Phase: math.Pi / 2}}}
	side := Side{Unlocking: blow, Impulse: blow, Drop: blow}
	s := Scene{
		Duration: 20, ClockPPM: -800,
		Watch: &Watch{Sides: [2]Side{side}, Rate: 100, BeatError: 1, Swing: Swing{Start: 200}},
		Edits: []Edit{{At: 4.33, Gap: 1.234567}, {At: 9, Zeros: 0.0777}, {At: 14.1, Zeros: 0.02, Gap: 0.03}},
	}
	x, truth := render(t, s)
	lost, full := 0, amplitudeOf(-12)
	for _, b := range truth.Beats {
		if b.Lost {
			lost++
			continue
		}
		at := float64(b.Unlocking) * 48000
		before, after := loudest(x, at-40, at-1), loudest(x, at, at+4)
		if before > 0.12*full || after < 0.6*full {
			t.Errorf("beat %d at %.5f s: %.3f of full before, %.3f after", b.Number, float64(b.Unlocking), before/full, after/full)
		}
	}
	if lost == 0 || lost > 14 || len(truth.Beats) < 140 {
		t.Errorf("%d of %d beats are lost", lost, len(truth.Beats))
	}
	if len(truth.Stretches) != 4 {
		t.Errorf("%d stretches, want 4", len(truth.Stretches))
	}
}

// loudest is the greatest sample between two places; a gap may bring an edge.
func loudest(x []float32, from, to float64) float64 {
	best := float32(0)
	for i := max(0, int(math.Ceil(from))); i <= int(to) && i < len(x); i++ {
		best = max(best, x[i], -x[i])
	}
	return float64(best)
}

func TestChannels(t *testing.T) {
	s := Scene{Duration: 1, Watch: &Watch{}, Channels: []Channel{{}, {Inverted: true}, {Dead: true}, {Deaf: true}, {Level: -20}}}
	x, _ := render(t, s)
	for i := 0; i < len(x); i += 5 {
		a := x[i]
		if x[i+1] != -a || x[i+2] != 0 || x[i+3] != 0 || math.Abs(float64(x[i+4]-a/10)) > 1e-7 {
			t.Fatalf("frame %d: %v", i/5, x[i:i+5])
		}
	}
}

func TestClippingAndBits(t *testing.T) {
	x, _ := render(t, Scene{Duration: 2, Level: 12, ClipAt: 0.7, Bits: 8, Watch: &Watch{}})
	seen := 0
	for _, v := range x {
		if float64(v)*128 != math.Trunc(float64(v)*128) {
			t.Fatalf("%g is not on a grid of 1/128", v)
		}
		if math.Abs(float64(v)) > 0.7+0.5/128 {
			t.Fatalf("%g is beyond the clipping", v)
		}
		if v > 0.69 {
			seen++
		}
	}
	if seen < 20 {
		t.Errorf("only %d samples clip", seen)
	}
}

// Half a minute is made in a small part of a second.
func BenchmarkRender(b *testing.B) {
	for _, name := range []string{"fair", "messy", "pink"} {
		k, err := ParseKind(name)
		if err != nil {
			b.Fatal(err)
		}
		s := k.Scene(1)
		s.Rate, s.Duration = 48000, 30
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				if _, _, err := Render(s); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
