package measure_test

import (
	"slices"
	"testing"

	"beatwright/synth"
	"beatwright/unit"
)

// Other draws of the sounds without a watch are refused too, and after six
// seconds already.
func TestRefusalsSoon(t *testing.T) {
	for _, k := range synth.Refusals() {
		t.Run(k.Name, func(t *testing.T) {
			t.Parallel()
			for _, seed := range []uint64{81, 82} {
				refuses(t, k, seed, 6)
			}
		})
	}
}

// refuses holds that no watch is heard in a sound, and why.
func refuses(t *testing.T, k synth.Kind, seed uint64, sec unit.Seconds) {
	t.Helper()
	got, _ := hearScene(t, k.Scene(seed), sec)
	switch {
	case got.Watch != nil:
		t.Errorf("%d: heard a watch beating every %.2f ms", seed, got.Watch.BeatTime.Value)
	case !slices.Contains(k.Refuse, string(got.Refusal.Code)):
		t.Errorf("%d: refused as %q, want one of %v", seed, got.Refusal.Code, k.Refuse)
	}
}

// Half a minute of noise holds sounds that fall evenly by chance, a helicopter's come
// evenly but for a hundredth, and hum has a rhythm: all of these were once taken for watches.
func TestChanceRefused(t *testing.T) {
	for _, c := range []struct {
		kind  string
		seeds []uint64
	}{
		{"noise", []uint64{34013}},
		{"mains", []uint64{34056}},
		{"rain", []uint64{34003, 34012}},
		{"crackle", []uint64{34001}},
		{"thump", []uint64{43, 54}},
	} {
		t.Run(c.kind, func(t *testing.T) {
			t.Parallel()
			all := synth.Refusals()
			k := all[slices.IndexFunc(all, func(k synth.Kind) bool { return k.Name == c.kind })]
			for _, seed := range c.seeds {
				refuses(t, k, seed, 30)
			}
		})
	}
}
