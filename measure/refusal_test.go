package measure_test

import (
	"slices"
	"testing"

	"beatwright/synth"
)

// Other draws of the sounds without a watch are refused too, and after six
// seconds already.
func TestRefusalsSoon(t *testing.T) {
	for _, k := range synth.Refusals() {
		t.Run(k.Name, func(t *testing.T) {
			t.Parallel()
			for _, seed := range []uint64{81, 82} {
				got, _ := hearScene(t, k.Scene(seed), 6)
				switch {
				case got.Watch != nil:
					t.Errorf("%d: heard a watch beating every %.2f ms", seed, got.Watch.BeatTime.Value)
				case !slices.Contains(k.Refuse, string(got.Refusal.Code)):
					t.Errorf("%d: refused as %q, want one of %v", seed, got.Refusal.Code, k.Refuse)
				}
			}
		})
	}
}
