package beat

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

func TestBridge(t *testing.T) {
	for _, c := range []struct {
		name string
		y    []float32
		open []int
		want []float32
	}{
		{"within", []float32{1, 9, 9, 4}, []int{1, 2}, []float32{1, 2, 3, 4}},
		{"at the beginning", []float32{9, 9, 4}, []int{0, 1}, []float32{4, 4, 4}},
		{"at the end", []float32{4, 9}, []int{1}, []float32{4, 4}},
		{"all", []float32{9, 9}, []int{0, 1}, []float32{0, 0}},
		{"none", []float32{1, 2}, nil, []float32{1, 2}},
	} {
		open := make([]bool, len(c.y))
		for _, i := range c.open {
			open[i] = true
		}
		got := slices.Clone(c.y)
		if bridge(got, open); !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}

// A profile that was heard in part counts by the share heard at each place, and
// a place heard nowhere is bridged.
func TestMergeCoveredWeighs(t *testing.T) {
	profile := func(n int, level float32, heard []float32) Profile {
		p := Profile{N: n, Loud: make([]float32, 64), Heard: heard}
		p.Energy = [][]float32{slices.Repeat([]float32{level}, 64)}
		return p
	}
	part := slices.Repeat([]float32{1}, 64)
	for i := 20; i < 30; i++ {
		part[i] = 0
	}
	a, b := profile(10, 1, nil), profile(30, 5, part)
	b.Loud = a.Loud // one template: no shift
	sum, _ := Merge([]Profile{a, b})
	for i, want := range map[int]float64{5: (10*1 + 30*5) / 40.0, 25: 1, 40: 4} {
		if got := float64(sum.Energy[0][i]); math.Abs(got-want) > 1e-5 {
			t.Errorf("cell %d: %g, want %g", i, got, want)
		}
	}
	if got := sum.Heard[25]; got != 0.25 {
		t.Errorf("heard in %g of the beats, want 0.25", got)
	}
}

// Where nothing is covered, the averages without the other watch are those of
// all beats.
func TestUncoveredAverageIsTheAverage(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		const cells = 12
		var all, some averager
		drop := rapid.IntRange(1, 3).Draw(rt, "drop")
		all.reset(lanes*cells, drop)
		some.reset(lanes*cells, drop)
		each := make([]float32, cells)
		n := rapid.IntRange(1, 20).Draw(rt, "beats")
		for range n {
			e := make([]float32, lanes*(cells+1))
			for i := range e {
				e[i] = rapid.Float32Range(0, 10).Draw(rt, "energy")
			}
			f := rapid.Float32Range(0, 1).Draw(rt, "fraction")
			all.add(0, e, drop, f)
			some.addUncovered(0, e, make([]bool, cells+1), drop, f, each)
		}
		for i := range all.sum[:lanes*cells] {
			if d := float64(all.sum[i] - some.sum[i]); math.Abs(d) > 1e-3 {
				rt.Fatalf("cell %d: %g, want %g", i/lanes, some.sum[i], all.sum[i])
			}
		}
		if each[0] != float32(n) {
			rt.Fatalf("counted %g beats of %d", each[0], n)
		}
	})
}
