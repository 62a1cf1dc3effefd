package beat

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"beatwright/unit"
)

// drawBeats are beats on a line, with a beat error and scatter, some left out
// and some not heard at all.
func drawBeats(rt *rapid.T, rate unit.Seconds) []Beat {
	var bs []Beat
	k := rapid.IntRange(0, 9).Draw(rt, "first")
	for range rapid.IntRange(1, 400).Draw(rt, "beats") {
		b := Beat{K: k, Score: 1, Miss: 0.3}
		b.At = unit.Seconds(k)*rate + unit.Seconds(0.001*float64(k&1)+0.0001*rapid.Float64Range(-1, 1).Draw(rt, "scatter"))
		if rapid.IntRange(0, 9).Draw(rt, "heard") == 0 {
			b.Why = Bump
		}
		bs = append(bs, b)
		k += rapid.SampledFrom([]int{1, 1, 1, 1, 2, 3, 40}).Draw(rt, "step")
	}
	return bs
}

// However often beats are joined, none is lost or counted twice, order and
// sides stay, and the sum of the distances from the line is that of the beats
// themselves: so is any line through them.
func TestThinnedKeeps(t *testing.T) {
	const rate = 0.125
	type sum struct{ n, late, moment float64 }
	sums := func(bs []Beat) (out map[Reason]*[2]sum) {
		out = map[Reason]*[2]sum{"": {}, Bump: {}}
		for _, b := range bs {
			s := &out[b.Why][b.Side()]
			w := float64(b.Count())
			s.n += w
			s.late += w * float64(b.At-unit.Seconds(b.K)*rate)
			s.moment += w * float64(b.K)
		}
		return out
	}
	rapid.Check(t, func(rt *rapid.T) {
		all := drawBeats(rt, rate)
		want, few := sums(all), all
		// Each time a point goes to the nearest beat of its side, one step off
		// at most: so after so many times no beat has moved by more steps.
		steps := 0.0
		for n := thinBy; n <= 27; n *= thinBy {
			few = thinned(few, n, rate)
			steps++
			for why, w := range sums(few) {
				for side, s := range w {
					v := want[why][side]
					if s.n != v.n || math.Abs(s.late-v.late) > 1e-9 || math.Abs(s.moment-v.moment) > steps*v.n {
						rt.Fatalf("by %d, side %d, %q: %+v, want %+v", n, side, why, s, v)
					}
				}
			}
		}
		for i := 1; i < len(few); i++ {
			if few[i].K <= few[i-1].K {
				rt.Fatalf("%d after %d", few[i].K, few[i-1].K)
			}
		}
	})
}

// Even beats become a third, and then a ninth.
func TestThinnedIsFewer(t *testing.T) {
	var bs []Beat
	for k := range 5400 {
		bs = append(bs, Beat{K: k, At: unit.Seconds(k)})
	}
	for _, c := range []struct{ n, want int }{{3, 1800}, {9, 600}} {
		if bs = thinned(bs, c.n, 1); len(bs) != c.want {
			t.Fatalf("by %d: %d left, want %d", c.n, len(bs), c.want)
		}
	}
}
