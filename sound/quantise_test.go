package sound

import (
	"math"
	"math/big"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"beatwright/unit"
)

func hz(n int) unit.Hertz { return unit.Hertz(n) }

// The expected values follow from the rule in the package comment.
func TestQuantise(t *testing.T) {
	const step = 1.0 / (1 << 23)
	nan, inf := float32(math.NaN()), float32(math.Inf(1))
	tests := []struct {
		name    string
		in      float32
		want    float32
		no, bey int64
	}{
		{"zero", 0, 0, 0, 0},
		{"minus zero", float32(math.Copysign(0, -1)), 0, 0, 0},
		{"one step", step, step, 0, 0},
		{"half a step goes to even", step / 2, 0, 0, 0},
		{"one and a half goes to even", 1.5 * step, 2 * step, 0, 0},
		{"minus two and a half goes to even", -2.5 * step, -2 * step, 0, 0},
		{"just above a half", step * 0.5000001, step, 0, 0},
		{"smallest number there is", math.SmallestNonzeroFloat32, 0, 0, 0},
		{"top", 1 - step, 1 - step, 0, 0},
		{"between top and full", 1 - step/2, 1 - step, 0, 0},
		{"full scale is no fault", 1, 1 - step, 0, 0},
		{"beyond", 1.0000001, 1 - step, 0, 1},
		{"bottom", -1, -1, 0, 0},
		{"below", -1.0000001, -1, 0, 1},
		{"far beyond", math.MaxFloat32, 1 - step, 0, 1},
		{"not a number", nan, 0, 1, 0},
		{"infinite", inf, 0, 1, 0},
		{"minus infinite", -inf, 0, 1, 0},
	}
	for _, tt := range tests {
		var a amiss
		got := []float32{tt.in}
		a.quantise(got, got)
		if math.Float32bits(got[0]) != math.Float32bits(tt.want) || a.notNumbers != tt.no || a.beyond != tt.bey {
			t.Errorf("%s: got %v, %d not numbers, %d beyond; want %v, %d, %d",
				tt.name, got[0], a.notNumbers, a.beyond, tt.want, tt.no, tt.bey)
		}
	}
}

// Against arithmetic of any length; and once on the grid it stays.
func TestQuantiseProperty(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.Float32Range(-1, 1-1.0/(1<<23)).Draw(t, "x")
		var a amiss
		got := []float32{x}
		a.quantise(got, got)
		exact := new(big.Float).SetPrec(400).SetFloat64(float64(x))
		exact.Mul(exact, big.NewFloat(1<<23))
		off := new(big.Float).Sub(exact, big.NewFloat(float64(got[0])*(1<<23)))
		d, _ := off.Float64()
		even := math.Mod(float64(got[0])*(1<<23), 2) == 0
		if !onGrid(got[0]) || math.Abs(d) > 0.5 || math.Abs(d) == 0.5 && !even {
			t.Fatalf("%v became %v, %v steps off", x, got[0], d)
		}
		again := []float32{got[0]}
		a.quantise(again, again)
		if again[0] != got[0] || a != (amiss{}) {
			t.Fatalf("%v became %v on the second pass", got[0], again[0])
		}
	})
}

func TestNarrow(t *testing.T) {
	for _, v := range []int32{0, 127, 128, 129, 384, -128, -129, -384, math.MaxInt32, math.MaxInt32 - 127, math.MinInt32, 0x7fffff80, 0x7fffff7f} {
		want := int32(min(math.RoundToEven(float64(v)/256), 1<<23-1))
		if got := narrow(v); got != want {
			t.Errorf("narrow(%d) = %d, want %d", v, got, want)
		}
	}
}

func TestWarningWords(t *testing.T) {
	got := strings.Join((&amiss{notNumbers: 1, beyond: 3}).warnings(), "\n")
	want := "1 sample was no number and taken as 0\n3 samples were beyond full scale and held there"
	if got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}
