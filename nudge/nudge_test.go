package nudge

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"beatwright/estimate"
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: got %.8g, want %.8g ± %g", what, got, want, tol)
	}
}

func clocked(v, own float64) estimate.Estimate { return estimate.New(v, own).With("clock", 4.1) }

// Worked by hand: half a division took +30 to +12, that is −36 a division; −8
// to +4 s/d wanted is another 0.222 divisions.
func TestLearn(t *testing.T) {
	l, err := Learn(Touch{Before: clocked(30, 0.3), After: clocked(12, 0.4), Moved: 0.5}, 4)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "effect", l.Effect.Value, -36, 1e-12)
	near(t, "effect's doubt, no clock in it", l.Effect.U95(), 1, 1e-12)
	near(t, "off", l.Off.Value, 8, 1e-12)
	near(t, "off's doubt, clock in it", l.Off.U95(), math.Hypot(0.4, 4.1), 1e-12)
	near(t, "left", l.Left.Value, 8.0/36, 1e-12)
	if l.Done {
		t.Error("8 ± 4 s/d is not done")
	}
}

// The doubt of what is left covers the truth 95 times in 100.
func TestLeftCovers(t *testing.T) {
	r, in, n := rand.New(rand.NewPCG(1, 1)), 0, 2000
	for range n {
		clock := r.NormFloat64() * 4.1 / 1.96
		noise := func(v float64) estimate.Estimate { return clocked(v+clock+r.NormFloat64()*0.5/1.96, 0.5) }
		l, err := Learn(Touch{Before: noise(40), After: noise(22), Moved: 1.5}, 3)
		if err != nil || l.Left == nil {
			t.Fatal(err, l)
		}
		if math.Abs(l.Left.Value-19.0/12) <= l.Left.U95() {
			in++
		}
	}
	if in < n*93/100 || in > n*97/100 {
		t.Errorf("within u95 in %d of %d", in, n)
	}
}

func TestNothingLearnt(t *testing.T) {
	l, err := Learn(Touch{Before: clocked(5, 1), After: clocked(5.5, 1), Moved: 2}, 5)
	if err != nil || l.Left != nil || !l.Done {
		t.Errorf("a change within its doubt: %+v, %v", l, err)
	}
	for _, moved := range []float64{0, math.NaN(), math.Inf(1)} {
		if _, err := Learn(Touch{Moved: moved}, 0); !errors.Is(err, ErrNotMoved) {
			t.Errorf("moved %v: %v", moved, err)
		}
	}
}
