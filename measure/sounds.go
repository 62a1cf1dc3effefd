package measure

import (
	"math"

	"beatwright/balance"
	"beatwright/dsp"
	"beatwright/unit"
)

// sounds are the strikes marked in one side's averaged beat.
//
//	        ___                      drop: the last strong rise
//	       |   \        ____|\__
//	 __    |    \      /
//	|  \___|     \____|              power, whitened
//	first  impulse    drop           → t
//
// The first is the unlocking, or the impulse with the unlocking lost: which,
// is weighed in swing.go.
type sounds struct {
	s          shape
	drop       onset
	first      *onset // nil: nothing before the drop
	impulse    *onset // strongest rise between
	at, dropAt float64
	q          float64
	// unsmeared is added to the interval, cells, because the
	// strikes moved while they were averaged (sharpen).
	// smearSd is what it leaves in doubt, cells.
	unsmeared, smearSd float64
	// alone says that the drops of the two sides are not the same sound.
	alone bool
}

const (
	leastSwing = 45.0  // °: below it a lever watch hardly unlocks
	mostSwing  = 345.0 // °: beyond it the impulse pin meets the back of the fork
)

// mark marks the sounds of both sides. period is the full period, lift as
// given or assumed, lag how far the second side's whole sound lies behind the
// first's on their grids (apartness), cells. A side in which no strike clears
// the noise is not ok.
func mark(sh [2]shape, lag float64, period unit.Seconds, lift unit.Degrees) (m [2]sounds, ok [2]bool) {
	var all [2][]onset
	for s := range sh {
		if len(sh[s].z) > 0 {
			all[s] = sh[s].onsets(riseSigmas)
		}
	}
	drops, paired := pairDrops(sh, lag, all)
	for s := range sh {
		m[s] = sounds{s: sh[s]}
		if d := drops[s]; d >= 0 {
			m[s].take(all[s], d, period, lift)
			m[s].alone = !paired
			ok[s] = true
		}
	}
	return m, ok
}

// take fills m from the onsets of its side, d being the drop.
func (m *sounds) take(all []onset, d int, period unit.Seconds, lift unit.Degrees) {
	m.drop = all[d]
	m.q = m.s.fraction(m.drop)
	// The lift may be wrong by a few degrees and the definition of an onset by
	// some hundredths of a ms: the window has a margin.
	earliest := 1.1 * longestInterval(lift, period)
	latest := 0.7 * float64(balance.Interval(lift, mostSwing, period))
	for i := range d {
		before := float64(m.drop.idx-all[i].idx) * m.s.cell
		if before > earliest || m.first == nil && before < latest {
			continue
		}
		if m.first == nil {
			m.first = &all[i]
		} else if m.impulse == nil || all[i].rise > m.impulse.rise {
			m.impulse = &all[i]
		}
	}
	m.place()
}

func lastOf(c []int) int {
	if len(c) == 0 {
		return -1
	}
	return c[len(c)-1]
}

// longestInterval is from unlocking to drop at the least swing, s.
func longestInterval(lift unit.Degrees, period unit.Seconds) float64 {
	if t := balance.Interval(lift, leastSwing, period); !math.IsNaN(float64(t)) {
		return float64(t)
	}
	return float64(period) / 4
}

// place dates first and drop at the same fraction of their heights, so that
// what an onset's smear moves, it moves in both alike.
func (m *sounds) place() {
	if m.first != nil {
		m.q = math.Max(m.q, m.s.fraction(*m.first))
		m.at = m.s.at(*m.first, m.q)
	}
	m.dropAt = m.s.at(m.drop, m.q)
}

// takeNear takes for the first sound the strongest rise that lies t seconds
// before the drop, within tolerance, though it would not have counted alone.
func (m *sounds) takeNear(t float64) {
	best := 0.0
	for _, c := range m.s.onsets(faintSigmas) {
		before := float64(m.drop.idx-c.idx) * m.s.cell
		if math.Abs(before-t) < tolerance(t) && c.rise > best {
			best, m.first = c.rise, &c
		}
	}
	m.place()
}

// interval is from the first sound to the drop, s.
func (m sounds) interval() float64 { return (m.dropAt - m.at + m.unsmeared) * m.s.cell }

// dropsOf gives the rises that may be the drop, in order: those that lead to
// nearly the loudest sound and are not the second strike of another (whose
// rise is small, it starts from the ringing of the first). The last is the
// likeliest.
func dropsOf(os []onset) (out []int) {
	loudest := 0.0
	for _, o := range os {
		loudest = math.Max(loudest, o.crest)
	}
	steepest := 0.0
	for _, o := range os {
		if o.crest > loudest*nearlyLoudest {
			steepest = math.Max(steepest, o.rise)
		}
	}
	for i, o := range os {
		if o.crest > loudest*nearlyLoudest && o.rise > 0.45*steepest {
			out = append(out, i)
		}
	}
	return out
}

// nearlyLoudest is 7.8 dB below the loudest: drops are usually the loudest
// sound but no rule of the escapement makes them so; sounds after the drop
// are mostly fainter.
const nearlyLoudest = 0.165

// slide finds where a lies best within b, which is longer by reach at either
// end: the correlation there, the shift in cells, and whether it is a peak
// and not an end of the reach.
func slide(a, b []float64, reach int) (r, lag float64, peak bool) {
	c := make([]float64, 2*reach+1)
	a, aa := centred(a)
	best := 0
	for d := range c {
		c[d] = correlationOf(a, aa, b[d:d+len(a)])
		if c[d] > c[best] {
			best = d
		}
	}
	at, _ := dsp.Peak(c, best)
	return c[best], at - float64(reach), best > 0 && best < len(c)-1
}

// logs are the ln powers, of what is below the noise as of a fifth of it.
func logs(z []float64) []float64 { return logsOver(z, 0, 0.2) }

// logsOver are the ln powers, no less than least, with a floor added.
func logsOver(z []float64, floor, least float64) []float64 {
	out := make([]float64, len(z))
	for i, v := range z {
		out[i] = math.Log(math.Max(v, least) + floor)
	}
	return out
}

func correlation(a, b []float64) float64 {
	a, aa := centred(a)
	return correlationOf(a, aa, b)
}

// centred is a less its mean, and the sum of its squares then.
func centred(a []float64) (c []float64, squares float64) {
	m := dsp.Mean(a)
	c = make([]float64, len(a))
	for i, v := range a {
		c[i] = v - m
		squares += c[i] * c[i]
	}
	return c, squares
}

// correlationOf is that of b with a centred.
func correlationOf(a []float64, aa float64, b []float64) float64 {
	mb := dsp.Mean(b)
	var bb, ab float64
	for i, v := range b {
		v -= mb
		bb += v * v
		ab += a[i] * v
	}
	return ab / math.Sqrt(aa*bb+1e-12)
}
