package measure_test

import (
	"math"
	"testing"

	"beatwright/measure"
	"beatwright/sound"
	"beatwright/unit"
)

// Exact zeros within noisy sound are found where they were put, with their
// length, and do not move the rate.
func TestInsertionInNoise(t *testing.T) {
	t.Parallel()
	for i, name := range []string{"messy", "buried", "pink", "hum", "bumps"} {
		x, truth := rendered(t, kind(t, name, 71), 10)
		f := formatOf(truth.Scene)
		o := measure.Options{Lift: &truth.Scene.Watch.Lift}
		plain := hear(t, &sound.Samples{Of: f, Data: x}, o).Watch
		at, n := int((4.1+float64(i))*float64(f.Rate)), int(0.037*float64(i+1)*float64(f.Rate))
		got := hear(t, &sound.Samples{Of: f, Data: withZeros(x, 1, at, n)}, o).Watch
		if plain == nil || plain.Rate == nil || got == nil || got.Rate == nil {
			t.Errorf("%s: not heard", name)
			continue
		}
		if len(got.Changes) != len(plain.Changes)+1 {
			t.Errorf("%s: changes %+v, want one more than %+v", name, got.Changes, plain.Changes)
			continue
		}
		where := unit.Seconds(float64(at) / float64(f.Rate))
		found := false
		for _, c := range got.Changes {
			if math.Abs(float64(c.At-where)) < 1e-3 {
				found = true
				checkInsertion(t, c, float64(where), 1e3*float64(n)/float64(f.Rate))
			}
		}
		if d := got.Rate.Value - plain.Rate.Value; !found || math.Abs(d) > 0.1 {
			t.Errorf("%s: rate moved by %.3f s/d, at most 0.1; changes %+v", name, d, got.Changes)
		}
	}
}
