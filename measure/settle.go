package measure

import (
	"math"

	"beatwright/estimate"
	"beatwright/reading"
	"beatwright/unit"
)

// The time constant of a balance's swing is Q·T/π: 16–25 s for a few hundred
// of Q (from memory); looked for somewhat wider.
const tauLeast, tauMost = 6.0, 60.0

// settling fits A(t) = A∞ + (A0 − A∞)·exp(−(t − t0)/τ) to the swings of the
// segments. nil where fewer than four show theirs, or where the swing did not
// change by more than twice the doubts of both its ends.
func settling(parts []part) *reading.Settling {
	var t, a, u []float64
	for _, p := range parts {
		if p.sure() {
			t, a, u = append(t, p.at), append(a, p.sw.value), append(u, p.sw.u95)
		}
	}
	if len(t) < 4 || math.Abs(a[0]-a[len(a)-1]) < 2*(u[0]+u[len(u)-1]) {
		return nil
	}
	best := math.Inf(1)
	var out reading.Settling
	var ends []float64
	for tau := tauLeast; tau <= tauMost; tau *= 1.1 {
		end, start, rss := approach(t, a, tau)
		ends = append(ends, end, rss)
		if rss < best {
			best = rss
			out = reading.Settling{Settled: reading.Value{Value: end}, From: start, TauS: tau}
		}
	}
	out.Settled.U95 = settledDoubt(ends, best, len(t), out.Settled.Value, estimate.Median(u))
	// An approach that ends outside what a watch swings, or is not known to a
	// quarter, is no settling but a run down.
	if v := out.Settled; v.Value < 30 || v.Value > 360 || v.U95 > 0.25*v.Value {
		return nil
	}
	return &out
}

// approach is least squares of a against 1 and e^(−(t−t0)/τ).
func approach(t, a []float64, tau float64) (end, start, rss float64) {
	var n, e, ee, y, ye float64
	for i := range t {
		x := math.Exp(-(t[i] - t[0]) / tau)
		n++
		e += x
		ee += x * x
		y += a[i]
		ye += x * a[i]
	}
	b := (n*ye - e*y) / (n*ee - e*e)
	end = (y - b*e) / n
	for i := range t {
		r := a[i] - end - b*math.Exp(-(t[i]-t[0])/tau)
		rss += r * r
	}
	return end, end + b, rss
}

// settledDoubt joins what an onset's definition costs (own, of one segment)
// to the spread of the end over all time constants whose squares are within
// the 95 % limit of the best.
func settledDoubt(endRSS []float64, best float64, n int, end, own float64) float64 {
	noise := math.Max(best/math.Max(1, float64(n-3)), own*own/16)
	t := estimate.Student95(math.Max(1, float64(n-3)))
	limit := best + noise*t*t
	reach := 0.0
	for i := 0; i < len(endRSS); i += 2 {
		if endRSS[i+1] <= limit {
			reach = math.Max(reach, math.Abs(endRSS[i]-end))
		}
	}
	return math.Hypot(reach, own)
}

// stop says when the watch fell silent before the sound ended, at what swing,
// and whether it faded or stopped dead.
func (h *hearing) stop(all []stretch, lift unit.Degrees) []reading.Change {
	last := all[len(all)-1]
	at := last.beats[len(last.beats)-1].At
	if h.length-at < 3+2*last.period {
		return nil
	}
	c := reading.Change{At: at, What: reading.Stopped, How: reading.Dead}
	if len(last.segs) == 0 {
		return []reading.Change{c}
	}
	highest := 0.0
	for _, p := range look(last, lift).parts {
		if p.sure() {
			v, u := p.sw.value, p.sw.u95
			highest = math.Max(highest, v)
			c.Amplitude, c.AmplitudeU95 = &v, &u
		}
	}
	if c.Amplitude != nil && *c.Amplitude < faded*highest || fainter(last) {
		c.How = reading.Faded
	}
	return []reading.Change{c}
}

// faded is the part of its highest swing below which a watch that stopped
// had faded before.
const faded = 0.8

// fainter tells whether the last beats were fainter than the stretch's by as
// much as a halved swing makes them.
func fainter(s stretch) bool {
	var all, end []float64
	for i, b := range s.beats {
		all = append(all, b.Score)
		if i >= len(s.beats)-8 {
			end = append(end, b.Score)
		}
	}
	return len(s.beats) >= 24 && estimate.Median(end) < 0.75*estimate.Median(all)
}
