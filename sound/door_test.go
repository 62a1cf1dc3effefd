package sound

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"beatwright/unit"
)

// passed is what came through a Door, pieces joined where nothing was cut.
type passed struct {
	samples []float32
	cuts    map[int]int64 // output frame → frames cut before it
}

func pushAll(t failer, f Format, s []float32, portions func() int) passed {
	t.Helper()
	d := NewDoor(f)
	p := passed{cuts: map[int]int64{}}
	next := int64(0)
	emit := func(q Piece) {
		if len(q.Samples) == 0 || len(q.Samples)%f.Channels != 0 {
			t.Fatalf("a piece of %d samples", len(q.Samples))
		}
		if q.CutBefore > 0 {
			p.cuts[len(p.samples)/f.Channels] = q.CutBefore
		}
		if q.At != next+q.CutBefore {
			t.Fatalf("a piece at %d, want %d + %d cut", q.At, next, q.CutBefore)
		}
		next = q.At + int64(len(q.Samples)/f.Channels)
		p.samples = append(p.samples, q.Samples...)
	}
	for len(s) > 0 {
		n := min(len(s), portions()*f.Channels)
		d.Push(s[:n], emit)
		s = s[n:]
	}
	d.Flush(emit)
	return p
}

func whole() int { return math.MaxInt32 }

// slowDoor is the rule of the Door written down plainly over a whole stream.
func slowDoor(f Format, s []float32) passed {
	const blocks = 50
	n := len(s) / f.Channels
	silent := make([]bool, n+1)
	for i := range n {
		silent[i] = true
		for _, v := range s[i*f.Channels : (i+1)*f.Channels] {
			silent[i] = silent[i] && v == 0
		}
	}
	frames := func(t unit.Seconds) int { return int(float64(t) * float64(f.Rate)) }
	few := func(marks []bool, window int) bool {
		step := window / blocks
		from := max(len(marks)-len(marks)%step-(blocks-1)*step, 0)
		count := 0
		for _, m := range marks[from:] {
			if m {
				count++
			}
		}
		return float64(count) < 0.1*float64(len(marks)-from)
	}
	out := passed{cuts: map[int]int64{}}
	var zero, run []bool // of what was handed on; of the source
	for i := 0; i < n; {
		j := i
		for j < n && silent[j] == silent[i] {
			j++
		}
		long := silent[i] && j-i >= 128
		cut := long && j < n && j-i <= frames(0.5) && len(zero) >= frames(0.25) &&
			few(zero, frames(1)) && few(run, frames(2))
		for range j - i {
			run = append(run, long)
			if !cut {
				zero = append(zero, silent[i])
			}
		}
		if cut {
			out.cuts[len(out.samples)/f.Channels] = int64(j - i)
		} else {
			out.samples = append(out.samples, s[i*f.Channels:j*f.Channels]...)
		}
		i = j
	}
	return out
}

func equalPassed(a, b passed) error {
	if len(a.samples) != len(b.samples) {
		return fmt.Errorf("%d samples, want %d", len(a.samples), len(b.samples))
	}
	for i := range a.samples {
		if a.samples[i] != b.samples[i] {
			return fmt.Errorf("sample %d is %v, want %v", i, a.samples[i], b.samples[i])
		}
	}
	if fmt.Sprint(a.cuts) != fmt.Sprint(b.cuts) {
		return fmt.Errorf("cuts %v, want %v", a.cuts, b.cuts)
	}
	return nil
}

// drawStream makes stretches of sound, faint sound with single zeros, and
// silence of all lengths around the bounds.
func drawStream(t *rapid.T, channels int) []float32 {
	var s []float32
	if rapid.Bool().Draw(t, "settled") {
		s = noise(7000*channels, 0.1, 77)
	}
	parts := rapid.IntRange(1, 12).Draw(t, "parts")
	for i := range parts {
		n := rapid.OneOf(rapid.IntRange(1, 300), rapid.IntRange(1, 14000), rapid.SampledFrom([]int{127, 128, 129, 441, 11024, 11025, 11026})).Draw(t, "length")
		kind := rapid.SampledFrom([]string{"sound", "sound", "sparse", "silence", "silence"}).Draw(t, "kind")
		p := make([]float32, n*channels)
		if kind != "silence" {
			p = noise(n*channels, 0.1, uint64(i))
			for k := range p {
				if p[k] == 0 {
					p[k] = 0.5
				}
			}
		}
		if kind == "sparse" {
			every := rapid.IntRange(2, 30).Draw(t, "every")
			for k := 0; k < n; k += every {
				clear(p[k*channels : (k+1)*channels])
			}
		}
		s = append(s, p...)
	}
	return s
}

func TestDoorAgainstPlainRule(t *testing.T) {
	cuts, kept := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		f := Format{Rate: 22050, Channels: rapid.IntRange(1, 3).Draw(t, "channels")}
		s := drawStream(t, f.Channels)
		want := slowDoor(f, s)
		if err := equalPassed(pushAll(t, f, s, whole), want); err != nil {
			t.Fatalf("in one push: %v", err)
		}
		got := pushAll(t, f, s, func() int { return rapid.IntRange(1, 5000).Draw(t, "portion") })
		if err := equalPassed(got, want); err != nil {
			t.Fatalf("in portions: %v", err)
		}
		cuts += len(want.cuts)
		kept++
	})
	if kept >= 100 && cuts == 0 {
		t.Errorf("only %d cuts in %d streams: the test does not reach them", cuts, kept)
	}
}

func TestDoorFrameByFrame(t *testing.T) {
	f := Format{Rate: 22050, Channels: 2}
	s := append(noise(2*9000, 0.1, 1), make([]float32, 2*441)...)
	s = append(s, noise(2*3000, 0.1, 2)...)
	s = append(s, make([]float32, 2*600)...)
	got := pushAll(t, f, s, func() int { return 1 })
	if err := equalPassed(got, slowDoor(f, s)); err != nil {
		t.Error(err)
	}
	if len(got.cuts) != 1 || got.cuts[9000] != 441 {
		t.Errorf("cuts %v, want 441 frames before frame 9000", got.cuts)
	}
}

// Situations by name, at 48 kHz. Insertions of 441 zeros (10 ms at 44.1 kHz)
// and the 128-frame block are as seen from browsers.
func TestDoorSituations(t *testing.T) {
	const rate = 48000
	quiet := func(n int) []float32 { return make([]float32, n) }
	loud := func(n int) []float32 {
		s := noise(n, 0.05, 9)
		for i := range s {
			if s[i] == 0 {
				s[i] = 0.01
			}
		}
		return s
	}
	join := func(parts ...[]float32) (s []float32) {
		for _, p := range parts {
			s = append(s, p...)
		}
		return s
	}
	var gated, shorts []float32
	for range 30 {
		gated = join(gated, loud(960), quiet(7000)) // 20 ms of beat, then nothing
		shorts = join(shorts, loud(rate/2), quiet(480))
	}
	tests := []struct {
		name string
		in   []float32
		cuts int
	}{
		{"no zeros", loud(rate), 0},
		{"one insertion", join(loud(rate), quiet(441), loud(rate)), 1},
		{"127 zeros are none", join(loud(rate), quiet(127), loud(rate)), 0},
		{"128 are", join(loud(rate), quiet(128), loud(rate)), 1},
		{"at the start", join(quiet(480), loud(rate)), 0},
		{"at the end", join(loud(rate), quiet(480)), 0},
		{"too early", join(loud(rate/8), quiet(480), loud(rate)), 0},
		{"half a second", join(loud(rate), quiet(rate/2), loud(rate)), 1},
		{"longer is a gap", join(loud(rate), quiet(rate/2+1), loud(rate)), 0},
		{"silence between beats", gated, 0},
		{"ran short every half second", join(shorts, loud(100)), 30},
		{"all silence", quiet(3 * rate), 0},
	}
	for _, tt := range tests {
		got := pushAll(t, Format{Rate: rate, Channels: 1}, tt.in, func() int { return 1000 })
		if len(got.cuts) != tt.cuts {
			t.Errorf("%s: %d cuts, want %d", tt.name, len(got.cuts), tt.cuts)
		}
	}
}

func TestDoorHoldsBackLittle(t *testing.T) {
	d := NewDoor(Format{Rate: 48000, Channels: 1})
	out := int64(0)
	emit := func(p Piece) { out = p.At + int64(len(p.Samples)) }
	in := int64(0)
	for range 20 {
		for _, s := range [][]float32{noise(48000, 0.1, 4), make([]float32, 48000)} {
			for len(s) > 0 {
				d.Push(s[:480], emit)
				s = s[480:]
				if in += 480; in-out > 24480 {
					t.Fatalf("%d frames held back at %d", in-out, in)
				}
			}
		}
	}
}

func TestDoorMends(t *testing.T) {
	d := NewDoor(Format{Rate: 48000, Channels: 1})
	in := []float32{float32(math.NaN()), 2, 0.1}
	d.Push(in, func(p Piece) {
		for _, v := range p.Samples {
			if !onGrid(v) {
				t.Errorf("%v is off the grid", v)
			}
		}
	})
	if in[1] != 2 {
		t.Error("the caller's samples were changed")
	}
	if w := d.Warnings(); len(w) != 2 {
		t.Errorf("warnings %q, want two", w)
	}
}

func TestWindow(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		const step = 7
		w := newWindow(step * doorBlocks)
		var marks []bool
		for range rapid.IntRange(0, 40).Draw(t, "runs") {
			n := rapid.IntRange(1, 60).Draw(t, "length")
			marked := rapid.Bool().Draw(t, "marked")
			if marked {
				w.add(int64(n), int64(n))
			} else {
				w.add(int64(n), 0)
			}
			for range n {
				marks = append(marks, marked)
			}
		}
		from := max(len(marks)-len(marks)%step-(doorBlocks-1)*step, 0)
		want := int64(0)
		for _, m := range marks[from:] {
			if m {
				want++
			}
		}
		if got, n := w.sum(); got != want || n != int64(len(marks)-from) {
			t.Fatalf("%d of %d, want %d of %d", got, n, want, len(marks)-from)
		}
	})
}
