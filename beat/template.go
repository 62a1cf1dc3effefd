package beat

import (
	"math"
	"slices"

	"beatwright/dsp"
	"beatwright/estimate"
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
	mean   []float32 // ln loudness, floor = 0; not changed once settled
	floor  float32
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
	weight [lanes]float32 // by band, 1/floor × share, sums the bands
	sums   []float32
	spare  [][]float32
	corr   []float32
	own    []float32
	means  [][]float32 // of glimpses, for use again
	// other is another watch heard beside, nil if none is known.
	other *beside
}

// loud writes ln(Σ weight·energy) for the cells from cell from, smoothed over
// about 0.1 ms, to y.
func (c *cutter) loud(from int64, y []float32) {
	const edge = dsp.LogEdge
	n := len(y) + 2*edge
	c.sums = atLeast(c.sums, n)
	s := c.sums[:n]
	clear(s)
	c.tape.spans(from-edge, n, func(at int, e []float32) {
		cells := len(e)/lanes - 1
		dsp.Weigh(s[at:at+cells], e[:lanes*cells], &c.weight)
	})
	dsp.LogSmooth(y, s)
}

// atLeast is x, or a longer one if it does not hold n.
func atLeast(x []float32, n int) []float32 {
	if len(x) < n {
		return make([]float32, n+256)
	}
	return x
}

// cut is the log-loudness around a beat, kept while it is needed.
type cut struct {
	from int64
	y    []float32
}

// newCut cuts the layout around a moment, and reach cells more to either side,
// as far as the sound has come.
func (c *cutter) newCut(at float64, l layout, reach int) cut {
	const margin = 16
	out := cut{from: int64(math.Floor(at)) - int64(l.pre+reach+margin)}
	n := min(l.pre+l.post+2*(reach+margin), int(c.tape.endCell()-dsp.LogEdge-out.from))
	if n <= 0 {
		return out
	}
	if k := len(c.spare); k > 0 && cap(c.spare[k-1]) >= n {
		out.y, c.spare = c.spare[k-1][:n], c.spare[:k-1]
	} else {
		out.y = make([]float32, n)
	}
	c.loud(out.from, out.y)
	return out
}

// release takes back the memory of a cut.
func (c *cutter) release(k *cut) {
	if k.y != nil && len(c.spare) < 64 {
		c.spare = append(c.spare, k.y)
	}
	k.y = nil
}

// part is n cells from cell from on: of the cut if it holds them.
func (c *cutter) part(k cut, from int64, n int) []float32 {
	if i := from - k.from; i >= 0 && i+int64(n) <= int64(len(k.y)) {
		return k.y[i : i+int64(n)]
	}
	y := make([]float32, n)
	c.loud(from, y)
	return y
}

// tally is the sum of the cuts of beats, each shifted by its own date.
type tally struct {
	sum []float32
	n   int
	// each is how many were added at each place, where another watch covered
	// some; nil if none.
	each []float32
}

func (s *tally) add(c *cutter, b moment, l layout) {
	n := l.pre + l.post
	if s.sum == nil {
		s.sum = make([]float32, n)
	}
	k := math.Floor(b.at)
	y := c.part(b.cut, int64(k)-int64(l.pre)-1, n+3)
	if c.other != nil {
		s.addUncovered(c.other, int64(k)-int64(l.pre)-1, b.k&1, y, float32(b.at-k))
	} else {
		dsp.AddBetween(s.sum, y, float32(b.at-k))
	}
	s.n++
}

// newTemplate averages the beats tallied. The floor is taken from the quieter
// part of the mean and subtracted.
func newTemplate(l layout, of ...*tally) template {
	t := template{pre: l.pre, mean: make([]float32, l.pre+l.post)}
	masked := false
	for _, s := range of {
		t.n += s.n
		masked = masked || s.each != nil
		if s.sum != nil {
			dsp.Add(t.mean, s.sum)
		}
	}
	if masked {
		t.share(of)
	} else {
		scale := float32(1 / math.Max(1, float64(t.n)))
		for i := range t.mean {
			t.mean[i] *= scale
		}
	}
	t.settle()
	return t
}

// settle subtracts the floor and finds the active part.
func (t *template) settle() {
	floor, spread := quiet(t.mean)
	t.floor = floor
	limit := max(0.08, 4*spread)
	t.lo, t.hi = len(t.mean), 0
	for i := range t.mean {
		t.mean[i] -= floor
		if t.mean[i] > limit {
			t.lo, t.hi = min(t.lo, i), max(t.hi, i+1)
		}
	}
	const margin = 12
	t.lo, t.hi = max(0, t.lo-margin), min(len(t.mean), t.hi+margin)
	t.power = 0
	for _, v := range t.mean[min(t.lo, t.hi):t.hi] {
		t.power += float64(v) * float64(v)
	}
}

// quiet gives level and spread of the quieter part of y.
func quiet(y []float32) (level, spread float32) {
	s := slices.Clone(y)
	n := len(s)
	q2 := estimate.Nth(s, n*3/10) // what is less stands before it now
	level = estimate.Nth(s[:n*3/10+1], n/4)
	q1 := estimate.Nth(s[:n/4+1], n/10)
	return level, max(1e-6, q2-q1)
}

// matched is where a template fits the sound.
type matched struct {
	at    float64 // cells
	score float64 // 1: as loud and as shaped as the mean; 0: nothing there
	miss  float64 // mean square misfit over the active part
}

// match looks for the template within ±reach cells of the beat's date. With
// own set, the beat's own share in the template (it was one of its n) is taken
// out first.
func (t *template) match(c *cutter, b moment, reach int, own bool) matched {
	if t.hi <= t.lo {
		return matched{at: b.at}
	}
	k := int64(math.Floor(b.at))
	n := t.hi - t.lo
	// The fast form takes whole registers of lags: those too many are not
	// looked at.
	lags := (2*reach + 3 + 31) &^ 31
	y := c.part(b.cut, k+int64(t.lo-t.pre)-int64(reach)-1, n+lags)
	m := t.mean[t.lo:t.hi]
	if c.other != nil {
		y = t.filled(c.other, k+int64(t.lo-t.pre)-int64(reach)-1, b.k&1, y, reach+1)
	}
	if own && t.n > 2 {
		m = t.without(c, y[reach:], float32(b.at-float64(k)))
	}
	c.corr = atLeast(c.corr, lags)
	dsp.Correlate(c.corr[:lags], m, y)
	corr := c.corr[:2*reach+3]
	best := 1
	for d := 2; d < len(corr)-1; d++ {
		if corr[d] > corr[best] {
			best = d
		}
	}
	out := matched{at: float64(k) + float64(best) + peak(corr, best) - float64(reach) - 1}
	out.judge(m, y[best:best+n], float64(corr[best]), t.floor)
	return out
}

// peak is how far from its greatest value c[i] the parabola through it and its
// neighbours has its top.
func peak(c []float32, i int) float64 {
	at, _ := dsp.Peak([]float64{float64(c[i-1]), float64(c[i]), float64(c[i+1])}, 1)
	return at - 1
}

// judge compares the sound y, whose sum of products with the template m is my,
// with m where it fitted best.
func (r *matched) judge(m, y []float32, my float64, floor float32) {
	n, f := float64(len(m)), float64(floor)
	sm, mm := dsp.Sums(m)
	sy, yy := dsp.Sums(y)
	my -= f * sm
	sy, yy = sy-n*f, yy-f*(2*sy-n*f)
	r.miss = max(0, yy-2*my+mm) / n
	r.score = (my - sm*sy/n) / (mm - sm*sm/n + 1e-12)
}

// without is the active part less the share of a beat cut at fraction f.
func (t *template) without(c *cutter, y []float32, f float32) []float32 {
	c.own = atLeast(c.own, t.hi-t.lo)
	m := c.own[:t.hi-t.lo]
	clear(m)
	dsp.AddBetween(m, y, f)
	dsp.LeaveOut(m, t.mean[t.lo:t.hi], t.floor, float32(t.n))
	return m
}
