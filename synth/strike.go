package synth

import (
	"math"
	"math/cmplx"

	"beatwright/unit"
)

// The band limit: a Kaiser-windowed sinc cutting at 0.45 of the sampling
// rate, reach samples to either side; chosen, 54 dB down from 0.5.
const (
	reach     = 16
	fine      = 64 // steps a sample in the onset table
	cutoff    = 0.45
	kaiser    = 5.0
	inaudible = 1e-4 // a resonance is let go 80 dB below its start
)

// bandLimit is the filter on the fine grid, unit sum·step.
var bandLimit = kernel()

func kernel() []float64 {
	g := make([]float64, 2*reach*fine+1)
	sum := 0.0
	for i := range g {
		v := float64(i)/fine - reach
		x := 2 * math.Pi * cutoff * v
		s := 1.0
		if x != 0 {
			s = math.Sin(x) / x
		}
		r := v / reach
		g[i] = s * bessel0(kaiser*math.Sqrt(math.Max(0, 1-r*r)))
		sum += g[i]
	}
	for i := range g {
		g[i] *= fine / sum
	}
	return g
}

// bessel0 is the modified Bessel function I0, by its series.
func bessel0(x float64) float64 {
	sum, term := 1.0, 1.0
	for k := 1.0; term > 1e-12*sum; k++ {
		term *= (x / (2 * k)) * (x / (2 * k))
		sum += term
	}
	return sum
}

// pole is one damped complex exponential, switched on at 0 and limited to
// the band:
//
//	y(t) = e^{st}·C(t),   C(t) = ∫ g(v)·e^{−sv} dv from −reach to t
//
// C is a table near the onset and constant past the filter's reach, so that
// any fractional start costs nothing and only the onset is interpolated.
type pole struct {
	s      complex128 // per sample
	step   complex128
	amp    complex128
	onset  []complex128
	tail   complex128
	length int // samples from the onset until it is let go
}

func newPole(s complex128, amp complex128) pole {
	p := pole{s: s, step: cmplx.Exp(s), amp: amp, onset: make([]complex128, len(bandLimit))}
	turn := cmplx.Exp(-s / fine)
	e := cmplx.Exp(s * reach)
	var c, last complex128
	for i, g := range bandLimit {
		now := complex(g, 0) * e
		if i > 0 {
			c += (now + last) / (2 * fine)
		}
		p.onset[i] = c
		last = now
		e *= turn
	}
	p.tail = c
	p.length = 2*reach + int(math.Log(1/inaudible)/-real(s))
	return p
}

// add puts the pole's sound, begun at start (in samples of acc), into acc.
func (p *pole) add(acc []float64, start float64, gain complex128) {
	n := int(math.Ceil(start - reach))
	if n < 0 {
		n = 0
	}
	end := min(len(acc), int(math.Ceil(start))+p.length)
	if n >= end {
		return
	}
	d := float64(n) - start
	z := gain * p.amp * cmplx.Exp(p.s*complex(d, 0))
	for ; n < end && d < reach; n++ {
		x := (d + reach) * fine
		i := int(x)
		f := x - float64(i)
		c := p.tail
		if i+1 < len(p.onset) {
			c = p.onset[i] + (p.onset[i+1]-p.onset[i])*complex(f, 0)
		}
		acc[n] += real(z)*real(c) - imag(z)*imag(c)
		z *= p.step
		d++
	}
	z *= p.tail
	re, im := real(z), imag(z)
	sr, si := real(p.step), imag(p.step)
	for ; n < end; n++ {
		acc[n] += re
		re, im = re*sr-im*si, re*si+im*sr
	}
}

// pulse is the waveform of a strike: its resonances with their rise.
type pulse struct {
	poles []pole
	modes [][]int // poles that share one phase
	tail  int     // samples
}

// newPulse makes the strike's waveform for fs samples a second, scaled by
// gain. Modes sound as exp(−t/decay)·(1 − exp(−t/attack))·sin(2πft + phase).
func newPulse(modes []Mode, attack unit.Milliseconds, fs, gain float64) *pulse {
	p := &pulse{}
	for _, m := range modes {
		s := complex(-1/(float64(m.Decay.Seconds())*fs), 2*math.Pi*float64(m.Frequency)/fs)
		a := cmplx.Rect(gain*amplitudeOf(m.Level), m.Phase-math.Pi/2)
		group := []int{len(p.poles)}
		p.poles = append(p.poles, newPole(s, a))
		if attack > 0 {
			rise := math.Min(1/(float64(attack.Seconds())*fs), 20)
			group = append(group, len(p.poles))
			p.poles = append(p.poles, newPole(s-complex(rise, 0), -a))
		}
		p.modes = append(p.modes, group)
	}
	for _, q := range p.poles {
		p.tail = max(p.tail, q.length+reach)
	}
	return p
}

// add puts one strike into acc, with a phase for each mode drawn by spread.
func (p *pulse) add(acc []float64, start, gain float64, phase func() float64) {
	for _, group := range p.modes {
		g := complex(gain, 0)
		if phase != nil {
			g = cmplx.Rect(gain, phase())
		}
		for _, i := range group {
			p.poles[i].add(acc, start, g)
		}
	}
}

// amplitudeOf is the pressure ratio of a level.
func amplitudeOf(d unit.Decibels) float64 { return math.Pow(10, float64(d)/20) }

// Band is where levels and signal-to-noise are taken, Hz.
const (
	BandLow  unit.Hertz = 2500
	BandHigh unit.Hertz = 18000
)

// inBand are the modes within the band, or all where none is.
func inBand(modes []Mode) []Mode {
	in := make([]Mode, 0, len(modes))
	for _, m := range modes {
		if m.Frequency >= BandLow && m.Frequency <= BandHigh {
			in = append(in, m)
		}
	}
	if len(in) == 0 {
		return modes
	}
	return in
}

// peakEnvelope is the greatest value of the envelope of a strike, resonances
// taken as out of step with each other:
//
//	max over t of sqrt(Σ (a·e^{−t/decay}·(1 − e^{−t/attack}))²)
//
// found on a grid of 4 µs.
func peakEnvelope(modes []Mode, attack unit.Milliseconds) float64 {
	best := 0.0
	for t := 0.0; t < 20; t += 0.004 {
		sum := 0.0
		for _, m := range modes {
			a := amplitudeOf(m.Level) * math.Exp(-t/float64(m.Decay))
			if attack > 0 {
				a *= 1 - math.Exp(-t/float64(attack))
			}
			sum += a * a
		}
		if sum < best*0.25 {
			break
		}
		best = math.Max(best, sum)
	}
	return math.Sqrt(best)
}
