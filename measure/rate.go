package measure

import (
	"math"

	"beatwright/beat"
	"beatwright/estimate"
)

// pace is what the dates of a stretch say.
type pace struct {
	beat   float64    // s, mean
	u95    float64    // s, of the beat, by the sound alone
	offset [2]float64 // s, of either side about the common line
	u95Off float64    // s, of their difference
	line   estimate.Line
	beats  []beat.Beat // kept and left out, as in residuals
	resid  []float64   // s, of every beat
	off    []bool      // far off the line
	kept   int
	// trendSd is the rate (s of middle per s) that a swing's drift may still
	// fake, as a standard deviation.
	trendSd float64
}

// middleAt gives the correction from a beat's template date to its middle at
// a moment, s.
type middleAt func(t float64) float64

// timing lays the line through the beats' middles.
//
// A beat's middle is half-way from unlocking to drop, where the balance
// crosses the line of centres; a date by the template moves when the swing
// changes. The dates are made by the template, which averages all three
// sounds of a beat, and only their trend is corrected: by how unlocking and
// drop move against the template from segment to segment (middles).
func timing(bs []beat.Beat, mid middleAt, trendSd float64) pace {
	p := pace{beats: bs, resid: make([]float64, len(bs)), off: make([]bool, len(bs)), trendSd: trendSd}
	var x, y []float64
	var side []int
	t0 := float64(bs[0].At)
	for _, b := range bs {
		if b.Why == "" {
			x = append(x, float64(b.K-bs[0].K))
			y = append(y, float64(b.At)-t0+mid(float64(b.At)))
			side = append(side, b.Side())
		}
	}
	p.line = estimate.FitLine(x, y, side)
	p.beat = p.line.Slope
	p.offset = p.line.Offset
	j := 0
	for i, b := range bs {
		p.resid[i] = float64(b.At) - t0 + mid(float64(b.At)) - p.line.At(float64(b.K-bs[0].K), b.Side())
		if b.Why == "" {
			p.off[i] = p.line.Weight[j] == 0
			if !p.off[i] {
				p.kept++
			}
			j++
		}
	}
	p.doubt(x)
	return p
}

// doubt gives the uncertainty of slope and offsets from the residuals, which
// are not independent: the teeth of the escape wheel and the train put slow
// waves on them. The white-noise formula is widened by the greater of two
// estimates of their correlation, and by Student's factor.
func (p *pace) doubt(x []float64) {
	var sw, mx float64
	for i, w := range p.line.Weight {
		if w > 0 {
			sw++
			mx += x[i]
		}
	}
	if sw < 4 {
		p.u95, p.u95Off = math.Inf(1), math.Inf(1)
		return
	}
	mx /= sw
	var sxx float64
	var r []float64
	for i, w := range p.line.Weight {
		if w > 0 {
			sxx += (x[i] - mx) * (x[i] - mx)
			r = append(r, p.line.Residual[i])
		}
	}
	var s2 float64
	for _, v := range r {
		s2 += v * v
	}
	s2 /= math.Max(1, sw-3)
	vif := inflation(r)
	t := estimate.Student95(math.Max(3, (sw-3)/vif))
	p.u95 = t * math.Sqrt(s2*vif/sxx)
	// A trend of the interval that was not told apart from none.
	p.u95 = math.Hypot(p.u95, 2*p.trendSd*p.beat)
	// The difference of two side means of half the beats each.
	p.u95Off = 2 * t * math.Sqrt(s2/sw)
}

// inflation is the factor by which correlation widens the variance of a slow
// statistic: the larger of the first-order estimate (1+ρ)/(1−ρ) and the
// Bartlett-weighted sum of autocorrelations over a turn of an escape wheel
// (30 beats, or a quarter of the hearing), never below 1.
func inflation(r []float64) float64 {
	n := len(r)
	if n < 12 {
		return 1.5
	}
	mean := 0.0
	for _, v := range r {
		mean += v / float64(n)
	}
	auto := func(lag int) float64 {
		var s float64
		for i := lag; i < n; i++ {
			s += (r[i] - mean) * (r[i-lag] - mean)
		}
		return s
	}
	zero := auto(0)
	if zero <= 0 {
		return 1
	}
	// Removing a line pulls the estimate down by about 4/n.
	rho := auto(1)/zero + 4/float64(n)
	rho2 := auto(2)/zero + 4/float64(n)
	first := 1.0
	if r1 := math.Max(rho, math.Copysign(math.Sqrt(math.Max(rho2, 0)), rho2)); r1 > 2/math.Sqrt(float64(n)) {
		r1 = math.Min(r1, 0.95)
		first = (1 + r1) / (1 - r1)
	}
	lags := min(30, n/4)
	sum := 1.0
	for l := 1; l <= lags; l++ {
		sum += 2 * (1 - float64(l)/float64(lags+1)) * (auto(l)/zero + 2/float64(n))
	}
	return math.Min(20, math.Max(1, math.Max(first, sum)))
}

// The trend of the middles (s per s, standard deviation) that a swing of 200°
// with 12 ms from unlocking to drop may hide (chosen): unheardTrend where it is
// not measured and it may change by 8° in half a minute, as after a
// fresh turn or on a flagging mainspring; briefTrend where it is heard, but
// not for long enough to see it change: 3°.
const (
	unheardTrend = 0.5 * 0.04 * 0.012 / 30
	briefTrend   = 0.5 * 0.015 * 0.012 / 30
)

// driftOdds weighs the trend of the middles. A trend that does not clear its
// own noise is not applied in full, so that on a steady watch it adds no
// scatter: driftOdds is the chance of a real drift, given its estimate in standard
// deviations z: prior one in three, spread ten deviations wide.
func driftOdds(z float64) float64 {
	const prior, wide = 1.0 / 3, 10.0
	v := 1 + wide*wide
	odds := prior / (1 - prior) / math.Sqrt(v) * math.Exp(math.Min(50, z*z/2*(1-1/v)))
	return odds / (1 + odds)
}

// middleBySegment gives for each segment its mean moment, the shift of the
// middle against the merged profile, and its standard deviation, s.
func middleBySegment(st stretch, m [2]sounds) (at, c, sd []float64) {
	for _, g := range st.segs {
		var shift, variance float64
		sides := 0
		for s := range m {
			if m[s].first == nil || g.Profile[s].N < 4 {
				continue
			}
			seg := whiten(g.Profile[s])
			f, ok1 := m[s].s.moved(seg, m[s].first.idx)
			d, ok2 := m[s].s.moved(seg, m[s].drop.idx)
			if !ok1 || !ok2 {
				continue
			}
			shift += (f.by + d.by) / 2
			variance += (f.sd*f.sd + d.sd*d.sd) / 4
			sides++
		}
		if sides == 0 {
			continue
		}
		n := float64(sides)
		at = append(at, meanAtOf(g.Beats))
		c = append(c, shift/n)
		sd = append(sd, math.Sqrt(variance)/n)
	}
	return at, c, sd
}

func meanAtOf(bs []beat.Beat) float64 {
	var s float64
	for _, b := range bs {
		s += float64(b.At)
	}
	return s / float64(len(bs))
}

// movedReach is how far a strike is followed from the whole profile to a
// segment's, s.
const movedReach = 0.0008

type move struct{ by, sd float64 } // s

// moved is how much later the strike at cell i is in seg than in s.
func (s shape) moved(seg shape, i int) (move, bool) {
	if len(seg.z) != len(s.z) {
		return move{}, false
	}
	lead, n, reach := s.cells(0.0006), s.cells(0.0012), s.cells(movedReach)
	if i-lead-reach < 0 || i+n+reach >= len(s.z) {
		return move{}, false
	}
	a := logs(s.z[i-lead : i+n])
	b := logs(seg.z[i-lead-reach : i+n+reach])
	r, lag, peak := slide(a, b, reach)
	if !peak || r < 0.5 {
		return move{}, false
	}
	var steep float64
	for j := 1; j < len(a)-1; j++ {
		g := (a[j+1] - a[j-1]) / 2
		steep += g * g
	}
	// Scatter of a mean of n beats' strikes joins the noise of the profile.
	sd := seg.noise * 1.6 / math.Sqrt(steep)
	return move{by: lag * s.cell, sd: math.Hypot(sd*s.cell, strikeScatter/math.Sqrt(float64(seg.n)))}, true
}

// strikeScatter is how much a strike of one beat scatters against the beat's
// date, s (chosen: half of what fair watches' beats scatter).
const strikeScatter = 30e-6

func weightedSlope(x, y, sd []float64) (slope, u float64) {
	var w, mx, my float64
	for i := range x {
		k := 1 / (sd[i] * sd[i])
		w += k
		mx += k * x[i]
		my += k * y[i]
	}
	mx, my = mx/w, my/w
	var sxx, sxy float64
	for i := range x {
		k := 1 / (sd[i] * sd[i])
		sxx += k * (x[i] - mx) * (x[i] - mx)
		sxy += k * (x[i] - mx) * (y[i] - my)
	}
	return sxy / sxx, 1 / math.Sqrt(sxx)
}

// interpolate is y at t, along straight lines, continued at the ends.
func interpolate(x, y []float64, t float64) float64 {
	k := 0
	for k < len(x)-2 && t > x[k+1] {
		k++
	}
	return y[k] + (y[k+1]-y[k])*(t-x[k])/(x[k+1]-x[k])
}
