package say_test

import (
	"math"
	"strings"
	"testing"

	"beatwright/internal/say"

	"pgregory.net/rapid"
)

const (
	nb   = "\u00a0"
	thin = "\u2009"
)

func TestValueFollowsUncertainty(t *testing.T) {
	// Expected digits by the rule in Places: two digits of u when it begins
	// with 1 or 2, else one; GUM 7.2.6 gives the frame (at most two) and the
	// habit of rounding the value to the last digit of u.
	tests := []struct {
		name       string
		v, u       float64
		value, unc string
	}{
		{"sound alone", 37.4981, 0.0601, "37.50", "0.06"},
		{"with the clock", 37.4981, 4.104, "37", "4"},
		{"two digits from one", 199.9132, 0.0095, "199.913", "0.010"},
		{"two digits of u", 143.04, 1.83, "143.0", "1.8"},
		{"leading two", 143.04, 2.44, "143.0", "2.4"},
		{"rounds into one digit", 143.04, 2.96, "143", "3"},
		{"up when the nearest takes too much", 12.34, 0.34, "12.3", "0.4"},
		{"nearest when it takes little", 12.34, 0.41, "12.3", "0.4"},
		{"nines", 5.4321, 0.0996, "5.43", "0.10"},
		{"tens", 1234.5, 43, "1230", "50"},
		{"hundreds", 12344, 170, "12" + thin + "340", "170"},
		{"thousands", -123456, 4100, "−123" + thin + "000", "4000"},
		{"minus", -3.14, 0.2, "−3.14", "0.20"},
		{"no minus on zero", -0.001, 0.2, "0.00", "0.20"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if got := say.Value(tt.v, tt.u); got != tt.value {
				t.Errorf("Value(%v, %v) = %q, want %q", tt.v, tt.u, got, tt.value)
			}
			if got := say.Uncertainty(tt.u); got != tt.unc {
				t.Errorf("Uncertainty(%v) = %q, want %q", tt.u, got, tt.unc)
			}
		})
	}
}

func TestNothingToSay(t *testing.T) {
	for _, v := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		if got := say.Value(v, 1); got != "–" {
			t.Errorf("Value(%v, 1) = %q, want a dash", v, got)
		}
		if got := say.Signed(v, 1); got != "–" {
			t.Errorf("Signed(%v, 1) = %q, want a dash", v, got)
		}
	}
	for _, u := range []float64{0, -1, math.NaN(), math.Inf(1)} {
		if got := say.Uncertainty(u); got != "–" {
			t.Errorf("Uncertainty(%v) = %q, want a dash", u, got)
		}
	}
	if got, want := say.Value(12.34567, math.NaN()), "12.35"; got != want {
		t.Errorf("Value with unknown uncertainty = %q, want %q", got, want)
	}
}

func TestSignsAndUnits(t *testing.T) {
	// SI Brochure 5.4 (from memory): a space before the unit, none before the degree
	// sign; signs on every rate but zero is our own choice.
	tests := []struct{ got, want string }{
		{say.SignedWith(37.4981, 4.104, "s/d"), "+37" + nb + "±" + nb + "4" + nb + "s/d"},
		{say.SignedWith(-0.2, 4.104, "s/d"), "0" + nb + "±" + nb + "4" + nb + "s/d"},
		{say.With(1.2391, 0.0201, "ms"), "1.239" + nb + "±" + nb + "0.020" + nb + "ms"},
		{say.With(143.04, 5, "°"), "143" + nb + "±" + nb + "5°"},
		{say.Count(18000), "18" + thin + "000"},
		{say.Count(9999), "9999"},
		{say.Count(1234567), "1" + thin + "234" + thin + "567"},
	}
	for _, tt := range tests {
		if tt.got != tt.want {
			t.Errorf("got %q, want %q", tt.got, tt.want)
		}
	}
}

// TestUncertaintyIsNotUnderstated holds the promise of Places for any u.
func TestUncertaintyIsNotUnderstated(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		u := math.Pow(10, rapid.Float64Range(-8, 8).Draw(t, "log10 u"))
		places, r, ok := say.Places(u)
		if !ok {
			t.Fatalf("Places(%v) is not ok", u)
		}
		if r < 0.95*u || r > 1.34*u {
			t.Errorf("Places(%v) rounds to %v", u, r)
		}
		digits := strings.Trim(strings.NewReplacer(".", "", thin, "").Replace(say.Fixed(r, places)), "0")
		if len(digits) > 2 {
			t.Errorf("Places(%v) prints %q, more than two digits", u, say.Fixed(r, places))
		}
	})
}
