package measure

import (
	"math"

	"beatwright/beat"
	"beatwright/dsp"
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
	// bent is how much of the change of pace from end to end enters the rate's
	// uncertainty.
	bent float64
}

// What a line's bend says of its slope: where the swing is followed the pace
// did change, and the middle of either half is off by a quarter of it. Where
// it is not, what bends the dates tilts them too: a swing that falls evenly
// from 220 to 80° by 0.4 of what the pace changes, one that decays by 0.7, one
// from 240 to 200° by 2.7 (the date moving as the interval does, 1/A).
const bentMeasured, bentUnheard = 0.5, 5.4

// bend is how much the pace changes from the first beat to the last, s a beat,
// by the parabola through the residuals r of beats x, as far as it clears
// twice its own scatter.
func bend(x, r []float64) float64 {
	n := float64(len(x))
	if n < 12 {
		return 0
	}
	mx := dsp.Mean(x)
	var xx float64
	for _, v := range x {
		xx += (v - mx) * (v - mx) / n
	}
	var qq, qr float64
	for i, v := range x {
		q := (v-mx)*(v-mx) - xx
		qq += q * q
		qr += q * r[i]
	}
	b := qr / qq
	rest := make([]float64, len(r))
	var s2 float64
	for i, v := range x {
		rest[i] = r[i] - b*((v-mx)*(v-mx)-xx)
		s2 += rest[i] * rest[i] / (n - 4)
	}
	noise := s2 * inflation(rest) / qq
	over := math.Sqrt(math.Max(0, b*b-4*noise))
	return 2 * over * (x[len(x)-1] - x[0])
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
func timing(bs []beat.Beat, mid middleAt, trendSd, bent float64) pace {
	p := pace{bent: bent, beats: bs, resid: make([]float64, len(bs)), off: make([]bool, len(bs)), trendSd: trendSd}
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
				p.kept += b.Count()
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
	var kept []float64
	for i, w := range p.line.Weight {
		if w > 0 {
			kept = append(kept, x[i])
		}
	}
	if len(kept) < 4 {
		p.u95, p.u95Off = math.Inf(1), math.Inf(1)
		return
	}
	mx := dsp.Mean(kept)
	var sxx float64
	for _, v := range kept {
		sxx += (v - mx) * (v - mx)
	}
	p.doubtOf(kept, p.left(), 3, 1/sxx)
}

// left are the residuals of the beats that the line went through.
func (p *pace) left() []float64 {
	var r []float64
	for i, w := range p.line.Weight {
		if w > 0 {
			r = append(r, p.line.Residual[i])
		}
	}
	return r
}

// doubtOf sets the uncertainty from what a fit of m parameters left of the beats
// x; slope is the variance of its slope where the beats' is 1.
func (p *pace) doubtOf(x, left []float64, m int, slope float64) {
	n := float64(len(left))
	free := math.Max(1, n-float64(m))
	s2 := squares(left) / free
	vif := inflation(left)
	t := estimate.Student95(math.Max(3, free/vif))
	p.u95 = t * math.Sqrt(s2*vif*slope)
	// A trend of the interval that was not told apart from none.
	p.u95 = math.Hypot(p.u95, 2*p.trendSd*p.beat)
	p.u95 = math.Hypot(p.u95, p.bent*math.Abs(bend(x, left)))
	// The difference of two side means of half the beats each.
	p.u95Off = 2 * t * math.Sqrt(s2/n)
}

func squares(r []float64) float64 {
	var s float64
	for _, v := range r {
		s += v * v
	}
	return s
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
