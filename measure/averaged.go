package measure

import (
	"math"

	"beatwright/reading"
	"beatwright/unit"
)

// Profile is the averaged beat of one side, as it is drawn: the whitened
// power (noise is 1) on a grid, with the sounds marked.
type Profile struct {
	Side int // 1 or 2
	// Cell is the grid's step; cell i is at From + i·Cell. Times count from
	// the beat's middle where the unlocking is heard (FromMiddle), so that
	// the balance's angle there is A·sin(2πt/T), else from the drop.
	Cell, From unit.Seconds
	FromMiddle bool
	Power      []float64
	// Noise is the standard deviation of Power where nothing sounds; Beats
	// the number averaged.
	Noise float64
	Beats int
	// Unlocking and Impulse are nil where they were not heard. When the
	// first sound may be either it is given as First.
	Unlocking, Impulse, Drop, First *Mark
}

// Mark is the onset of a sound in a profile.
type Mark struct {
	At, U95 unit.Seconds
	// Power is the crest reached within 1.5 ms.
	Power float64
}

func profilesOf(v view, sw swing) (out [2]Profile) {
	for s := range out {
		if v.ok[s] {
			out[s] = v.m[s].profile(s+1, sw)
		} else {
			out[s] = Profile{Side: s + 1}
		}
	}
	return out
}

// profile lays a side's shape out for drawing.
func (m sounds) profile(side int, sw swing) Profile {
	zero := m.dropAt
	measured := sw.standing == reading.Measured && m.first != nil
	if measured {
		zero = (m.at + m.dropAt) / 2
	}
	p := Profile{
		Side: side, Cell: unit.Seconds(m.s.cell), From: unit.Seconds(-zero * m.s.cell), FromMiddle: measured,
		Power: m.s.z, Noise: m.s.noise, Beats: m.s.n,
	}
	mark := func(o *onset, at float64) *Mark {
		if o == nil {
			return nil
		}
		steep := math.Max(o.first-o.base, 1e-9) / (3 * m.s.cell)
		noise := m.s.noise * math.Max(1, o.base) / steep
		return &Mark{At: unit.Seconds((at - zero) * m.s.cell), U95: unit.Seconds(2 * math.Hypot(defSec/math.Sqrt2, noise)), Power: o.crest}
	}
	p.Drop = mark(&m.drop, m.dropAt)
	if m.impulse != nil {
		p.Impulse = mark(m.impulse, m.s.at(*m.impulse, math.Max(lowLevel, m.s.fraction(*m.impulse))))
	}
	if measured {
		p.Unlocking = mark(m.first, m.at)
	} else {
		p.First = mark(m.first, m.at)
	}
	return p
}
