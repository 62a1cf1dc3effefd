package measure

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"beatwright/movement"
	"beatwright/reading"
	"beatwright/train"
	"beatwright/unit"
	"beatwright/wave"

	"gonum.org/v1/gonum/mat"
)

// recurring finds the periodic errors in the dated beats and lays the line
// again together with them: a wave of a minute tilts a straight line through
// half a minute or one and a half.
func (p *pace) recurring() []wave.Wave {
	if p.kept < 2 {
		return nil
	}
	x := p.series()
	found := wave.Find(x[:min(len(x), mostSearched)], wave.Options{Most: mostWaves})
	if len(found) > 0 && len(x) <= mostSearched {
		p.sharpen(found)
		p.relay(found)
	}
	return found
}

// mostWaves is how many are looked for: a bad tooth alone makes as many as the
// escape wheel has teeth, each weaker than the noise of fewer turns.
const mostWaves = 12

// fewTurns is below how many turns a wave's period is sought again together
// with the line: half a turn more or less of a slow wave looks like a slope.
const fewTurns = 6

// sharpen seeks the periods of slow waves by the least squares of line and
// waves together, within an eighth of the period found.
func (p *pace) sharpen(waves []wave.Wave) {
	span := float64(p.beats[len(p.beats)-1].K - p.beats[0].K)
	for j := range waves {
		first := waves[j].Period
		if span > fewTurns*first {
			continue
		}
		// What a few turns leave open of the period, beside the noise (chosen
		// to hold simulated waves of two to four turns).
		waves[j].PeriodU95 = math.Hypot(waves[j].PeriodU95, 0.1*first*first/span)
		best, at := math.Inf(1), first
		for step := -12; step <= 12; step++ {
			waves[j].Period = first * (1 + float64(step)/100)
			if _, _, rss, ok := p.joint(waves); ok && rss < best {
				best, at = rss, waves[j].Period
			}
		}
		waves[j].Period = at
	}
}

// joint fits the line with waves beside it: an offset for each side, one
// slope, sine and cosine of each wave, by least squares over the beats the
// line went through.
func (p *pace) joint(waves []wave.Wave) (design *mat.Dense, fit *mat.VecDense, rss float64, ok bool) {
	k0 := p.beats[0].K
	m := 3 + 2*len(waves)
	var cells, y []float64
	for i, b := range p.beats {
		if b.Why != "" || p.off[i] {
			continue
		}
		k := float64(b.K - k0)
		row := []float64{0, 0, k}
		row[b.Side()] = 1
		for _, w := range waves {
			s, c := math.Sincos(2 * math.Pi * k / w.Period)
			row = append(row, s, c)
		}
		cells, y = append(cells, row...), append(y, p.resid[i])
	}
	if len(y) < m+8 {
		return nil, nil, 0, false
	}
	design, fit = mat.NewDense(len(y), m, cells), new(mat.VecDense)
	if fit.SolveVec(design, mat.NewVecDense(len(y), y)) != nil {
		return nil, nil, 0, false
	}
	var left mat.VecDense
	left.MulVec(design, fit)
	for i, v := range y {
		rss += (v - left.AtVec(i)) * (v - left.AtVec(i))
	}
	return design, fit, rss, true
}

// mostSearched is how many beats are searched for waves, a good hour: more would
// cost memory, and over many turns no wave tilts the line.
const mostSearched = 1 << 15

// relay lays the line again with the waves beside it.
func (p *pace) relay(waves []wave.Wave) {
	design, fit, _, ok := p.joint(waves)
	if !ok {
		return
	}
	p.take(waves, fit)
	// The slope's doubt is by the joint fit's own covariance.
	var normal, inverse mat.Dense
	normal.Mul(design.T(), design)
	if inverse.Inverse(&normal) != nil {
		return
	}
	rows, m := design.Dims()
	x := make([]float64, rows)
	mat.Col(x, slopeColumn, design)
	p.doubtOf(x, p.left(), m, inverse.At(slopeColumn, slopeColumn))
}

// slopeColumn is the slope's place in the joint fit, behind the sides' offsets.
const slopeColumn = 2

// take moves line and residuals to the joint fit.
func (p *pace) take(waves []wave.Wave, fit *mat.VecDense) {
	k0 := p.beats[0].K
	p.beat += fit.AtVec(slopeColumn)
	p.line.Slope += fit.AtVec(slopeColumn)
	for s := range p.offset {
		p.offset[s] += fit.AtVec(s)
		p.line.Offset[s] += fit.AtVec(s)
	}
	for j := range waves {
		w := &waves[j]
		w.Sin, w.Cos = fit.AtVec(3+2*j), fit.AtVec(4+2*j)
		w.Peak = math.Hypot(w.Sin, w.Cos)
	}
	j := 0
	for i, b := range p.beats {
		k := float64(b.K - k0)
		p.resid[i] -= fit.AtVec(b.Side()) + fit.AtVec(slopeColumn)*k
		if b.Why == "" {
			p.line.Residual[j] = p.resid[i]
			for _, w := range waves {
				p.line.Residual[j] -= w.At(k)
			}
			j++
		}
	}
}

// setRecurring puts the periodic errors into a reading, and says what a turn of
// the fourth wheel that was not heard twice can hide.
func setRecurring(w *reading.Watch, p pace, waves []wave.Wave, o Options) {
	tr := trainOf(o.Movement, w.BeatsPerHour)
	t := p.escapeWheel(waves, tr.EscapeTeeth)
	rest := waves
	if t != nil {
		rest = t.joined(waves)
	}
	w.Periodic = p.periodicities(rest, tr)
	p.setTeeth(w.Periodic, t, waves, tr.EscapeTeeth)
	slope, turn := p.hidden(tr)
	if slope == 0 || w.Rate == nil {
		return
	}
	more := 1.96 * slope * float64(unit.Day)
	if more > 0.5*w.Rate.U95Statistical {
		w.Warnings = append(w.Warnings, fmt.Sprintf("heard for less than two turns of the fourth wheel: a wave of it may hide in the rate; %.0f s would show it", math.Ceil(2*turn)))
	}
	w.Rate.U95Statistical = math.Hypot(w.Rate.U95Statistical, more)
	w.Rate.U95 = math.Hypot(w.Rate.U95, more)
	ms := 1.96 * slope * w.BeatTime.Value
	w.BeatTime.U95Statistical, w.BeatTime.U95 = math.Hypot(w.BeatTime.U95Statistical, ms), math.Hypot(w.BeatTime.U95, ms)
}

// periodicities are the waves as a reading tells them, shortest first, with
// all wheels whose turn or tooth fits.
func (p *pace) periodicities(waves []wave.Wave, tr train.Train) []reading.Periodicity {
	out := []reading.Periodicity{}
	for _, w := range waves {
		period := w.Period * p.beat
		// Beats per hour of the train are nominal, the period is as it goes:
		// a watch that is off by five minutes a day is off by 0.35 %.
		u := math.Max(w.PeriodU95*p.beat, 0.004*period)
		wheels := tr.Fitting(unit.Seconds(period), unit.Seconds(u))
		if wheels == nil {
			wheels = []string{}
		}
		out = append(out, reading.Periodicity{
			Period: unit.Seconds(period), PeakMs: w.Peak * 1e3, U95: w.U95 * 1e3, Chance: w.Chance, Wheels: wheels,
		})
	}
	slices.SortFunc(out, func(a, b reading.Periodicity) int { return cmp.Compare(a.Period, b.Period) })
	return out
}

// trainOf is what a movement's counts say of its train.
func trainOf(m *movement.Movement, beats *unit.BeatsPerHour) train.Train {
	var t train.Train
	if beats != nil {
		t.BeatsPerHour = *beats
	}
	if m == nil {
		return t
	}
	if m.EscapeTeeth != nil {
		t.EscapeTeeth = *m.EscapeTeeth
	} else {
		t.EscapeTeeth = m.Wheels["escape"]
	}
	t.Wheels, t.Pinions = m.Wheels, m.Pinions
	return t
}

// secondsHand is the turn of the fourth wheel where the train is not known: it
// carries the seconds hand of most watches (common practice), s.
const secondsHand = 60.0

// unseenShare is how large a wave of the fourth wheel may be that was not
// heard for two turns, as a share of the scatter of the beats (chosen: a wave
// of a twelfth of the scatter shows in no single turn; a larger one bends the
// dates as well, which widens the rate by itself).
const unseenShare = 0.08

// hidden is the rate (s a s, standard deviation) that a wave of the fourth
// wheel could add unseen, and the turn of that wheel; 0 once two turns were
// heard. A sine wave of size A and angular frequency ω, of any phase, gives a
// straight line over T the slope
//
//	A·24/(T³·ω²)·(sin(ωT/2) − (ωT/2)·cos(ωT/2))/√2
//
// in its root mean square (derived: least squares of sin ωt over −T/2…T/2).
func (p *pace) hidden(tr train.Train) (slope, turn float64) {
	turn = secondsHand
	if t, ok := tr.Turns()["fourth"]; ok {
		turn = float64(t)
	}
	T := float64(p.beats[len(p.beats)-1].At - p.beats[0].At)
	if T <= 0 || T >= 2*turn {
		return 0, turn
	}
	left := p.left()
	if len(left) == 0 {
		return 0, turn
	}
	size := unseenShare * math.Sqrt(squares(left)/float64(len(left)))
	half := math.Pi * T / turn
	omega := 2 * half / T
	return size * 24 / (T * T * T * omega * omega) * math.Abs(math.Sin(half)-half*math.Cos(half)) / math.Sqrt2, turn
}
