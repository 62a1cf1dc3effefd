package measure

import (
	"math"
	"slices"

	"beatwright/beat"
	"beatwright/dsp"
	"beatwright/estimate"
)

// shape is one side's averaged beat as one whitened power on the grid: the
// bands' energies over their floors, weighed by how far the beat clears each
// floor. Noise has the value 1 with standard deviation noise.
type shape struct {
	z      []float64
	origin int
	cell   float64 // s
	noise  float64
	n      int     // beats
	top    float64 // greatest mean log-loudness, over the floor
	// riseNoise is the standard deviation of the rises (onset.go) that noise
	// alone makes.
	riseNoise float64
	// heard is the share of the beats that is in each cell, nil where all are:
	// another watch may cover some.
	heard []float32
}

// merge adds up the profiles of one side over segments; lags are the shifts
// that this took, cells.
func merge(segs []*beat.Segment, side int) (beat.Profile, []float64) {
	ps := make([]beat.Profile, len(segs))
	for i, s := range segs {
		ps[i] = s.Profile[side]
	}
	return beat.Merge(ps)
}

// whiten makes the shape of a profile.
func whiten(p beat.Profile) shape {
	s := shape{origin: p.Origin, cell: float64(p.Cell), n: p.N, z: make([]float64, len(p.Loud)), heard: p.Heard}
	quietAt := quietBlocks(p)
	var total float64
	for b := range p.Energy {
		e := p.Energy[b]
		floor := math.Max(meanAt(e, quietAt), 1e-18)
		peak := float64(slices.Max(e)) / floor
		w := math.Sqrt(math.Max(peak-1, 0))
		w = math.Min(w, 30)
		total += w
		for i, v := range e {
			s.z[i] += w * float64(v) / floor
		}
	}
	for i := range s.z {
		s.z[i] /= math.Max(total, 1e-9)
	}
	for _, v := range p.Loud {
		s.top = math.Max(s.top, float64(v))
	}
	s.z = narrow(s.z)
	s.noise = localSpread(s.z, quietAt)
	s.riseNoise = math.Max(localSpread(s.rises(), quietAt), 1e-3)
	return s
}

// blockCells is the span over which quiet is judged, about 1 ms.
const blockCells = 24

// quietBlocks marks the quietest third of the profile, block by block.
func quietBlocks(p beat.Profile) []bool {
	n := len(p.Loud) / blockCells
	level := make([]float64, n)
	for k := range level {
		for _, v := range p.Loud[k*blockCells : (k+1)*blockCells] {
			level[k] += float64(v)
		}
	}
	sorted := slices.Clone(level)
	slices.Sort(sorted)
	limit := sorted[n*35/100]
	mask := make([]bool, len(p.Loud))
	for k, l := range level {
		if l <= limit {
			for i := k * blockCells; i < (k+1)*blockCells; i++ {
				mask[i] = true
			}
		}
	}
	return mask
}

func meanAt(x []float32, mask []bool) float64 {
	var s, n float64
	for i, v := range x {
		if mask[i] {
			s += float64(v)
			n++
		}
	}
	return s / math.Max(n, 1)
}

// localSpread is the robust standard deviation of x within quiet blocks, each
// about its own mean: what decays slowly through the quiet is no noise.
func localSpread(x []float64, mask []bool) float64 {
	var dev []float64
	for k := 0; (k+1)*blockCells <= len(x); k++ {
		if !mask[k*blockCells] {
			continue
		}
		b := x[k*blockCells : (k+1)*blockCells]
		m := dsp.Mean(b)
		for _, v := range b {
			dev = append(dev, v-m)
		}
	}
	// A block's own mean takes one of its degrees of freedom, and as cells
	// are smoothed about a tenth of the variance with it.
	return math.Max(estimate.MAD(dev)*1.06, 1e-6)
}

// narrow smooths with binomial weights of order 4 (standard deviation one
// cell, 42 µs).
func narrow(x []float64) []float64 {
	out := make([]float64, len(x))
	at := func(i int) float64 { return x[min(max(i, 0), len(x)-1)] }
	for i := range x {
		out[i] = (6*x[i] + 4*(at(i-1)+at(i+1)) + at(i-2) + at(i+2)) / 16
	}
	return out
}
