package ear_test

import (
	"fmt"
	"math/rand/v2"
	"reflect"
	"testing"

	"beatwright/ear"
	"beatwright/synth"
	"beatwright/unit"
)

// scene is a watch of a kind that is turned at 12 and 30 s, knocked at 22 s
// and has its case rubbed for two seconds at 45 s.
func scene(t *testing.T, kind string, seed uint64) (x []float32, rate unit.Hertz) {
	t.Helper()
	for _, k := range synth.Kinds() {
		if k.Name != kind {
			continue
		}
		s := k.Scene(seed)
		s.Duration = 52
		s.Channels = nil
		w := s.Watch
		w.Turns = []synth.Turn{
			{At: 12, Handling: 2, Amplitude: w.Swing.Start * 0.85, Settling: 8, Rate: w.Rate - 10, BeatError: w.BeatError, Phase: 37},
			{At: 30, Handling: 1.5, HandlingLevel: 4, Amplitude: w.Swing.Start * 0.9, Settling: 8, Rate: w.Rate + 3, BeatError: w.BeatError, Phase: -61},
		}
		s.Events = []synth.Event{{At: 22, Kind: synth.Knock, Level: 12}, {At: 45, Kind: synth.Rub, Length: 2}}
		x, _, err := synth.Render(s)
		if err != nil {
			t.Fatal(err)
		}
		return x, s.Rate
	}
	t.Fatalf("no kind %q", kind)
	return nil, 0
}

type told struct {
	ear.Break
	at    unit.Seconds
	lying int
}

// listen gives the breaks that an ear tells of, and all beats.
func listen(e *ear.Ear, x []float32, portion func() int) (breaks []told, beats []ear.Beat) {
	for len(x) > 0 {
		n := min(portion(), len(x))
		e.Push(x[:n], func(n ear.Now) {
			for _, b := range n.Breaks {
				breaks = append(breaks, told{b, n.At, n.Lying.Number})
			}
			beats = append(beats, n.Beats...)
		})
		x = x[n:]
	}
	return breaks, beats
}

// A turn begins a lying, within three seconds of the first clean beat (the
// target for the first reading); a knock and rubbing do not.
func TestTurnsAndKnocks(t *testing.T) {
	for _, kind := range []string{"fair", "tired", "messy"} {
		for seed := range uint64(3) {
			t.Run(fmt.Sprint(kind, seed), func(t *testing.T) {
				t.Parallel()
				x, rate := scene(t, kind, seed)
				breaks, _ := listen(ear.New(rate), x, func() int { return len(x) })
				var turns []told
				for _, b := range breaks {
					if b.What != ear.Knock {
						turns = append(turns, b)
					}
				}
				if len(turns) != 3 {
					t.Fatalf("lyings begun: %+v, want the first and two more", turns)
				}
				// When the hands were gone, from the scene above.
				for i, clean := range []unit.Seconds{0.5, 14, 31.5} {
					b := turns[i]
					if i > 0 && (b.What != ear.Turned || b.To < clean-2.1 || b.To > clean+1) {
						t.Errorf("lying %d: %s, beats from %.2f s; the hands were gone at %g s", i+1, b.What, b.To, clean)
					}
					if b.at > clean+3 {
						t.Errorf("lying %d was told at %.1f s, the hands were gone at %g s", i+1, b.at, clean)
					}
				}
			})
		}
	}
}

// What is told, and the sound that is held, do not depend on how it came.
func TestSplits(t *testing.T) {
	x, rate := scene(t, "fair", 1)
	x = x[:20*int(rate)]
	whole := ear.New(rate)
	breaks, beats := listen(whole, x, func() int { return len(x) })
	if len(breaks) < 2 || len(beats) < 60 {
		t.Fatalf("only %d breaks and %d beats", len(breaks), len(beats))
	}
	rng := rand.New(rand.NewPCG(1, 2))
	split := ear.New(rate)
	b, bs := listen(split, x, func() int { return 1 + rng.IntN(3000) })
	if !reflect.DeepEqual(b, breaks) || !reflect.DeepEqual(bs, beats) {
		t.Error("breaks or beats depend on how the sound was cut")
	}
	y, from := whole.Since()
	z, also := split.Since()
	if from != also || !reflect.DeepEqual(y, z) {
		t.Error("the held sound depends on how it was cut")
	}
	if !reflect.DeepEqual(y, x[from:from+int64(len(y))]) {
		t.Error("the held sound is not what came")
	}
}

// While the page speaks nothing is told; afterwards the watch is known again,
// and a turn meanwhile is one.
func TestDeaf(t *testing.T) {
	for name, c := range map[string]struct {
		from, to unit.Seconds
		want     string
	}{"as it lay": {17, 19.5, ear.Knock}, "turned meanwhile": {11.8, 14.6, ear.Turned}} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			x, rate := scene(t, "fair", 2)
			e := ear.New(rate)
			at := func(s unit.Seconds) int { return int(float64(s) * float64(rate)) }
			whole := func() int { return len(x) }
			listen(e, x[:at(c.from)], whole)
			e.Deaf(true)
			if b, beats := listen(e, x[at(c.from):at(c.to)], whole); len(b)+len(beats) > 0 {
				t.Errorf("told %v and %d beats while deaf", b, len(beats))
			}
			e.Deaf(false)
			b, _ := listen(e, x[at(c.to):at(c.to+4)], whole)
			if len(b) != 1 || b[0].What != c.want {
				t.Errorf("%+v, want one break: %s", b, c.want)
			}
		})
	}
}

// Missing sound is time that passed: the beats go on in their phase.
func TestLostSound(t *testing.T) {
	x, rate := scene(t, "messy", 0)
	e := ear.New(rate)
	s := func(n int) int { return n * int(rate) }
	whole := func() int { return len(x) }
	listen(e, x[:s(6)], whole)
	e.Lost(int64(s(1)))
	b, _ := listen(e, x[s(7):s(11)], whole)
	if len(b) != 1 || b[0].What != ear.Knock {
		t.Errorf("after a second was lost: %+v, want the beats known again", b)
	}
}

// An insertion is cut out of the timing, but stands in the held sound.
func TestInsertion(t *testing.T) {
	x, rate := scene(t, "fair", 4)
	cut := 8 * int(rate)
	y := append(append(append([]float32{}, x[:cut]...), make([]float32, 441)...), x[cut:11*int(rate)]...)
	e := ear.New(rate)
	b, _ := listen(e, y, func() int { return len(y) })
	for _, k := range b {
		if k.What != ear.Found {
			t.Errorf("an insertion was told as %+v", k)
		}
	}
	if z, from := e.Since(); !reflect.DeepEqual(z, y[from:from+int64(len(z))]) {
		t.Error("the held sound is not what came")
	}
}

func TestLevel(t *testing.T) {
	for name, c := range map[string]struct {
		amplitude float32
		peak      float64
		clipped   bool
	}{"half": {0.5, -6.02, false}, "full": {1, 0, true}, "none": {0, -120, false}} {
		x := make([]float32, 48000)
		for i := range x {
			if x[i] = c.amplitude; i%2 == 1 {
				x[i] = -c.amplitude
			}
		}
		e := ear.New(48000)
		var l ear.Level
		e.Push(x, func(n ear.Now) { l = n.Level })
		// Half of full scale is 20·lg 0.5 = −6.02 dB.
		if d := float64(l.Peak) - c.peak; d > 0.01 || d < -0.01 || l.Clipped != c.clipped {
			t.Errorf("%s: %+v, want a peak of %g dB, clipped %v", name, l, c.peak, c.clipped)
		}
	}
}
