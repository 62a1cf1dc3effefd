package measure_test

import (
	"testing"

	"beatwright/measure"
	"beatwright/reading"
	"beatwright/sound"
)

// surer tells in what the first reading is surer than the second; empty if in
// nothing.
func surer(a, b reading.Watch) string {
	switch {
	case a.Rate.U95Statistical < b.Rate.U95Statistical:
		return "rate"
	case a.BeatError.U95 < b.BeatError.U95 && a.BeatError.By == b.BeatError.By:
		return "beat error"
	case a.Amplitude.Standing == reading.NotResolved:
		return ""
	case b.Amplitude.Standing == reading.NotResolved:
		return "swing, where nothing can be said"
	case a.Amplitude.Standing == reading.Measured && b.Amplitude.Standing != reading.Measured:
		return "swing, where only a bound can be said"
	case a.Amplitude.Standing == reading.Measured && *a.Amplitude.U95 < *b.Amplitude.U95:
		return "swing"
	case a.Amplitude.Standing == reading.AtMost && b.Amplitude.Standing == reading.AtMost && *a.Amplitude.Value < *b.Amplitude.Value:
		return "bound of the swing"
	case a.Amplitude.Standing == reading.AtMost && b.Amplitude.Standing == reading.Measured && *a.Amplitude.Value < *b.Amplitude.Value+*b.Amplitude.U95:
		return "bound of the swing, below what it may be"
	}
	return ""
}

// The same samples, said to have been stored with loss, are never surer of
// anything, on any kind of sound; and it is said.
func TestLossyNeverSurer(t *testing.T) {
	t.Parallel()
	for _, name := range []string{"fair", "tired", "buried", "soft", "echo", "lopsided"} {
		for seed := uint64(61); seed <= 62; seed++ {
			x, truth := rendered(t, kind(t, name, seed), 7)
			f := formatOf(truth.Scene)
			o := measure.Options{Lift: &truth.Scene.Watch.Lift}
			plain := hear(t, &sound.Samples{Of: f, Data: x}, o).Watch
			f.Lossy = true
			lossy := hear(t, &sound.Samples{Of: f, Data: x}, o).Watch
			if plain == nil || lossy == nil || plain.Rate == nil || lossy.Rate == nil || plain.BeatError == nil || lossy.BeatError == nil {
				t.Errorf("%s %d: not heard", name, seed)
				continue
			}
			if what := surer(*lossy, *plain); what != "" {
				t.Errorf("%s %d: stored with loss it is surer of the %s:\n%+v\n%+v", name, seed, what, lossy.Amplitude, plain.Amplitude)
			}
			if !lossy.Signal.Lossy || plain.Signal.Lossy || len(lossy.Warnings) == 0 {
				t.Errorf("%s %d: the loss is not said: %+v, %q", name, seed, lossy.Signal, lossy.Warnings)
			}
		}
	}
}
