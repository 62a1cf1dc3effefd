package beat

import (
	"math"
	"slices"

	"beatwright/dsp"
)

// A template is the mean log-loudness of one side's beats on the grid, with
// its origin at index pre. Log-loudness rather than energy, because the
// scatter of an energy grows with it while that of its logarithm does not: a
// plain correlation is then close to the likelihood, a loud drop does not
// drown the two sounds before it, and one knock cannot outweigh a segment.
// Tried on simulated and real beats against the square root of the energy
// (dominated by the drop: with independent scatter of the three sounds its
// dates were worse by up to the √3 it cannot average away) and the energy
// itself (worse again, and thrown by bumps).
type template struct {
	pre    int
	mean   []float64 // ln loudness, floor = 0
	kept   []float32
	floor  float64
	n      int
	lo, hi int     // the active part: where the mean clears the floor
	power  float64 // Σ mean² over the active part
}

// layout fixes how much around a beat is cut, in cells: the part before must
// hold the earliest unlocking (amplitude 50°, lift 58°: 0.40 of a beat before
// the drop; a weaker swing than 47° at that lift is cut off), the part after the ringing.
type layout struct{ pre, post int }

func layoutFor(beatCells float64) layout {
	return layout{pre: int(0.46 * beatCells), post: int(0.30 * beatCells)}
}

// cutter gives the log-loudness around a moment.
type cutter struct {
	tape   *tape
	weight []float64 // by band, 1/floor × share, sums the bands
	raw    [][]float32
	sum    []float64
}

// loud writes ln(Σ weight·energy) for n cells from cell from, smoothed over
// about 0.1 ms, to a fresh slice.
func (c *cutter) loud(from int64, n int) []float64 {
	const edge = 3
	m := n + 2*edge
	if c.raw == nil {
		c.raw = make([][]float32, len(c.weight))
	}
	for b := range c.raw {
		if cap(c.raw[b]) < m {
			c.raw[b] = make([]float32, m+256)
		}
		c.raw[b] = c.raw[b][:m]
	}
	if cap(c.sum) < m {
		c.sum = make([]float64, m+256)
	}
	s := c.sum[:m]
	c.tape.energies(from-edge, m, c.raw)
	clear(s)
	for b, w := range c.weight {
		for i, v := range c.raw[b] {
			s[i] += w * float64(v)
		}
	}
	y := make([]float64, n)
	for i := range y {
		k := i + edge
		// Binomial weights of order 6: standard deviation 1.22 cells.
		v := 20*s[k] + 15*(s[k-1]+s[k+1]) + 6*(s[k-2]+s[k+2]) + s[k-3] + s[k+3]
		y[i] = math.Log(math.Max(v/64, 0.05))
	}
	return y
}

// cubic interpolates y at i + f, 0 ≤ f < 1, by the four points around it
// (Catmull–Rom); y must hold i−1 … i+2.
func cubic(y []float64, i int, f float64) float64 {
	a, b, c, d := y[i-1], y[i], y[i+1], y[i+2]
	return b + 0.5*f*(c-a+f*(2*a-5*b+4*c-d+f*(3*(b-c)+d-a)))
}

// at cuts the log-loudness around the moment at (cells, fractional) on the
// layout's grid.
func (c *cutter) at(at float64, l layout, out []float64) {
	k := int64(math.Floor(at))
	f := at - float64(k)
	y := c.loud(k-int64(l.pre)-1, l.pre+l.post+4)
	for i := range out {
		out[i] = cubic(y, i+1, f)
	}
}

// newTemplate averages the cuts of the beats at the given moments. The floor
// is taken from the quieter part of the mean and subtracted.
func newTemplate(c *cutter, l layout, at []float64) template {
	n := l.pre + l.post
	t := template{pre: l.pre, mean: make([]float64, n), n: len(at)}
	cut := make([]float64, n)
	for _, a := range at {
		c.at(a, l, cut)
		for i, v := range cut {
			t.mean[i] += v
		}
	}
	for i := range t.mean {
		t.mean[i] /= math.Max(1, float64(len(at)))
	}
	t.settle()
	return t
}

// settle subtracts the floor and finds the active part.
func (t *template) settle() {
	floor, spread := quiet(t.mean)
	t.floor = floor
	for i := range t.mean {
		t.mean[i] -= floor
	}
	limit := math.Max(0.08, 4*spread)
	t.lo, t.hi = len(t.mean), 0
	for i, v := range t.mean {
		if v > limit {
			t.lo, t.hi = min(t.lo, i), max(t.hi, i+1)
		}
	}
	const margin = 12
	t.lo, t.hi = max(0, t.lo-margin), min(len(t.mean), t.hi+margin)
	t.power = 0
	for _, v := range t.mean[min(t.lo, t.hi):t.hi] {
		t.power += v * v
	}
}

// quiet gives level and spread of the quieter part of y.
func quiet(y []float64) (level, spread float64) {
	s := slices.Clone(y)
	slices.Sort(s)
	q1, q2 := s[len(s)/10], s[len(s)*3/10]
	level = s[len(s)/4]
	return level, math.Max(1e-6, q2-q1)
}

// matched is where a template fits the sound.
type matched struct {
	at    float64 // cells
	score float64 // 1: as loud and as shaped as the mean; 0: nothing there
	miss  float64 // mean square misfit over the active part
}

// match looks for the template within ±reach cells of at. With own set, the
// beat's own share in the template (it was one of its n) is taken out first.
func (t *template) match(c *cutter, at float64, reach int, own bool) matched {
	if t.hi <= t.lo {
		return matched{at: at}
	}
	k := int64(math.Floor(at))
	n := t.hi - t.lo
	first := k + int64(t.lo-t.pre) - int64(reach) - 1
	y := c.loud(first, n+2*reach+4)
	for i := range y {
		y[i] -= t.floor
	}
	m := t.mean[t.lo:t.hi]
	if own && t.n > 2 {
		m = t.without(y, reach, at-float64(k))
	}
	corr := make([]float64, 2*reach+3)
	best := 1
	for d := range corr {
		var s float64
		for i, v := range m {
			s += v * y[d+i]
		}
		corr[d] = s
		if d > 0 && d < len(corr)-1 && s > corr[best] {
			best = d
		}
	}
	p, _ := dsp.Peak(corr, best)
	out := matched{at: float64(k) + p - float64(reach) - 1}
	out.judge(m, y[best:best+n])
	return out
}

// judge compares the sound y with the template m where it fitted best.
func (r *matched) judge(m, y []float64) {
	var sm, sy, mm, my float64
	for i, v := range m {
		sm += v
		sy += y[i]
		mm += v * v
		my += v * y[i]
		r.miss += (y[i] - v) * (y[i] - v)
	}
	n := float64(len(m))
	r.miss /= n
	mm, my = mm-sm*sm/n, my-sm*sy/n
	r.score = my / (mm + 1e-12)
}

// without is the active part less the share of a beat cut at fraction f.
func (t *template) without(y []float64, reach int, f float64) []float64 {
	n := float64(t.n)
	m := make([]float64, t.hi-t.lo)
	for i := range m {
		m[i] = (n*t.mean[t.lo+i] - cubic(y, i+reach+1, f)) / (n - 1)
	}
	return m
}

// loud is the mean as it is kept.
func (t *template) loud() []float32 {
	if t.kept == nil {
		t.kept = make([]float32, len(t.mean))
		for i, v := range t.mean {
			t.kept[i] = float32(v)
		}
	}
	return t.kept
}
