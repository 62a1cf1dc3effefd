package dsp

import (
	"math"

	"beatwright/unit"
)

// Band is a range of frequencies.
type Band struct{ Low, High unit.Hertz }

// Lanes is the number of bands a bank holds at most, and the number of values
// in each of its cells: unused ones are zero.
const Lanes = 4

// Bank turns samples into the energy of several bands on a grid of fixed
// duration. Blocks are filtered from rest after a fixed warm-up, so a block's
// energies depend on the samples of that block and its warm-up alone: any
// order, any core and any cutting of the stream gives equal bits.
//
// The sections are reckoned in single precision, zeros before poles. The
// zeros of a high-pass are differences, which are exact for samples on a grid
// of 24 bits; so hum and offset are gone before anything is rounded, and what
// rounding adds stands to the sound that passes, not to them.
type Bank struct {
	Rate  unit.Hertz
	Bands []Band
	// Step is the number of samples in one grid cell.
	Step int
	// Warm is the number of samples filtered and thrown away first.
	Warm int

	sections [Lanes][4]Section
	coef     bankCoef
}

// bankCoef is what the kernels read: every number for four bands, twice, as
// the bands of two stretches of sound pass side by side.
type bankCoef struct {
	a1, a2 [4][2 * Lanes]float32
	scale  [2 * Lanes]float32
}

// warmUp is long enough for a step of full scale through a 1.8 kHz high-pass to
// fall below the last bit of 24 (e^(−2π·1800·0.38·0.005) ≈ 5e−10).
const warmUp unit.Seconds = 0.005

// mostSample holds samples that are no sound (beyond full scale or no numbers)
// within what single precision can square.
const mostSample = 16

// NewBank prepares a bank for sound of the given rate. Cells are as near to
// the wanted duration as whole samples allow. Bands that reach beyond 0.45 of
// the rate are cut there; bands that begin beyond 0.36 of it, too
// narrow to be of use, are left out, and so are those beyond the fourth.
func NewBank(rate unit.Hertz, bands []Band, cell unit.Seconds) *Bank {
	b := &Bank{Rate: rate, Step: max(1, int(math.Round(float64(cell)*float64(rate))))}
	b.Warm = int(float64(warmUp)*float64(rate))/b.Step*b.Step + b.Step
	top := 0.45 * rate
	low := unit.Hertz(math.Inf(1))
	for _, band := range bands {
		if band.Low >= 0.8*top || len(b.Bands) == Lanes {
			continue
		}
		band.High = min(band.High, top)
		b.Bands = append(b.Bands, band)
		low = min(low, band.Low)
	}
	for k, band := range b.Bands {
		floor := HighPass4(low, rate)
		b.sections[k] = [4]Section{floor[0], floor[1], HighPass2(band.Low, rate), LowPass2(band.High, rate)}
	}
	b.fill()
	return b
}

// fill lays the coefficients out for the kernels. Sections run with b0 = 1,
// and what that leaves out is made good in the energy.
func (b *Bank) fill() {
	c := &b.coef
	for l := range 2 * Lanes {
		gain := 1.0
		for i, s := range b.sections[l%Lanes] {
			c.a1[i][l], c.a2[i][l] = float32(s.A1), float32(s.A2)
			gain *= s.B0
		}
		c.scale[l] = float32(gain * gain / float64(b.Step))
	}
}

// Cell is the duration of one grid cell.
func (b *Bank) Cell() unit.Seconds { return unit.Seconds(float64(b.Step) / float64(b.Rate)) }

// rowsAtOnce is how many stretches the kernels take side by side.
const rowsAtOnce = 8

// Energies filters every stretch of x and writes the mean squares of its
// cells to the dst of the same place, Lanes values a cell, the bands in order.
// Each stretch must hold Warm samples, which only settle the filters, and then
// Step for each of the cells; each dst must hold Lanes·cells values. Four or
// eight stretches at a time are quickest.
func (b *Bank) Energies(x, dst [][]float32, cells int) {
	if cells <= 0 {
		return
	}
	n := b.Warm + cells*b.Step
	for len(x) > 0 {
		rows := min(len(x), rowsAtOnce)
		for i := range rows { // the kernels do not look
			_, _ = x[i][:n], dst[i][:Lanes*cells]
		}
		bankRows(&b.coef, x[:rows], b.Warm, cells, b.Step, dst[:rows])
		x, dst = x[rows:], dst[rows:]
	}
}
