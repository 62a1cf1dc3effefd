package measure_test

import (
	"strings"
	"testing"

	"beatwright/measure"
	"beatwright/movement"
	"beatwright/reading"
	"beatwright/sound"
)

var notLevers = []movement.Escapement{movement.Cylinder, movement.Verge, movement.Duplex, movement.Detent, movement.Driven}

// withEscapement hears a watch said to have an escapement.
func withEscapement(t *testing.T, x []float32, f sound.Format, e movement.Escapement) reading.Watch {
	t.Helper()
	mv := movement.Movement{Escapement: e}
	got := hear(t, &sound.Samples{Of: f, Data: x}, measure.Options{Movement: &mv})
	if got.Watch == nil || got.Watch.Rate == nil || got.Watch.BeatError == nil {
		t.Fatalf("%s: not heard: %+v", e, got.Reading)
	}
	return *got.Watch
}

// No escapement but the lever has a swing to hear: it is said so, with the
// escapement's name, and rate and beat error stand as they would with a lever.
func TestEveryOtherEscapement(t *testing.T) {
	t.Parallel()
	x, truth := rendered(t, kind(t, "fair", 13), 12)
	f := formatOf(truth.Scene)
	lever := withEscapement(t, x, f, movement.Lever)
	if lever.Amplitude.Standing != reading.Measured {
		t.Fatalf("lever: %+v, want a swing measured", lever.Amplitude)
	}
	for _, e := range notLevers {
		w := withEscapement(t, x, f, e)
		a := w.Amplitude
		if a.Standing != reading.NotResolved || a.Value != nil || a.U95 != nil || a.U95WithLift != nil || a.First != nil || a.Second != nil {
			t.Errorf("%s: swing %+v, want none", e, a)
		}
		if !strings.Contains(a.Why, "not defined from this sound") || !strings.Contains(a.Why, string(e)) {
			t.Errorf("%s: because %q", e, a.Why)
		}
		if *w.Rate != *lever.Rate {
			t.Errorf("%s: rate %+v, as a lever %+v", e, *w.Rate, *lever.Rate)
		}
		if w.BeatError.Value < 0 || w.BeatError.U95 <= 0 {
			t.Errorf("%s: beat error %+v", e, *w.BeatError)
		}
	}
}

// Where no swing is defined the beat error has no angle.
func TestNoAngleWithoutLever(t *testing.T) {
	x, truth := rendered(t, kind(t, "fair", 13), 8)
	for _, e := range notLevers {
		if d := withEscapement(t, x, formatOf(truth.Scene), e).BeatError.Degrees; d != nil {
			t.Errorf("%s: rest lies off by %+v, want no angle", e, *d)
		}
	}
}
