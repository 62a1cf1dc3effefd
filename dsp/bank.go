package dsp

import (
	"math"

	"beatwright/unit"
)

// Band is a range of frequencies.
type Band struct{ Low, High unit.Hertz }

// Bank turns samples into the energy of several bands on a grid of fixed
// duration. Blocks are filtered from rest after a fixed warm-up, so a block's
// energies depend on the samples of that block and its warm-up alone: any
// order, any core and any cutting of the stream gives equal bits.
type Bank struct {
	Rate  unit.Hertz
	Bands []Band
	// Step is the number of samples in one grid cell.
	Step int
	// Warm is the number of samples filtered and thrown away first.
	Warm int

	floor    [2]Section
	sections [][2]Section
}

// warmUp is long enough for a step of full scale through a 1 kHz high-pass to
// fall below the last bit of 24 (e^(−2π·1000·0.38·0.008) ≈ 5e−9).
const warmUp unit.Seconds = 0.008

// NewBank prepares a bank for sound of the given rate. Cells are as near to
// the wanted duration as whole samples allow. Bands that reach beyond 0.45 of
// the rate are cut there; bands that begin beyond 0.36 of it, too
// narrow to be of use, are left out.
func NewBank(rate unit.Hertz, bands []Band, cell unit.Seconds) *Bank {
	b := &Bank{Rate: rate, Step: max(1, int(math.Round(float64(cell)*float64(rate))))}
	b.Warm = int(float64(warmUp)*float64(rate))/b.Step*b.Step + b.Step
	top := 0.45 * rate
	low := unit.Hertz(math.Inf(1))
	for _, band := range bands {
		if band.Low >= 0.8*top {
			continue
		}
		band.High = min(band.High, top)
		b.Bands = append(b.Bands, band)
		b.sections = append(b.sections, [2]Section{HighPass2(band.Low, rate), LowPass2(band.High, rate)})
		low = min(low, band.Low)
	}
	b.floor = HighPass4(low, rate)
	return b
}

// Cell is the duration of one grid cell.
func (b *Bank) Cell() unit.Seconds { return unit.Seconds(float64(b.Step) / float64(b.Rate)) }

// Energies filters x, whose first Warm samples only settle the filters, and
// writes for each band the mean square of each following cell of Step samples
// to dst[band]. It fills as many cells as both x and dst hold and returns
// their number.
func (b *Bank) Energies(x []float32, dst [][]float32) int {
	cells := min((len(x)-b.Warm)/b.Step, len(dst[0]))
	if cells <= 0 {
		return 0
	}
	n := b.Warm + cells*b.Step
	base := make([]float64, n)
	for i := range base {
		base[i] = float64(x[i])
	}
	b.floor[0].run(base)
	b.floor[1].run(base)
	for k := range b.sections {
		b.band(k, base, dst[k][:cells])
	}
	return cells
}

// band runs one band's two sections fused over base and squares into cells.
func (b *Bank) band(k int, base []float64, out []float32) {
	h, l := b.sections[k][0], b.sections[k][1]
	var h1, h2, l1, l2 float64
	step := func(v float64) float64 {
		y := h.B0*v + h1
		h1 = h.B1*v - h.A1*y + h2
		h2 = h.B2*v - h.A2*y
		w := l.B0*y + l1
		l1 = l.B1*y - l.A1*w + l2
		l2 = l.B2*y - l.A2*w
		return w
	}
	for _, v := range base[:b.Warm] {
		step(v)
	}
	scale := 1 / float64(b.Step)
	i := b.Warm
	for c := range out {
		var sum float64
		for range b.Step {
			w := step(base[i])
			sum += w * w
			i++
		}
		out[c] = float32(sum * scale)
	}
}
