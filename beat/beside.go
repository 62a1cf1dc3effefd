package beat

import (
	"math"

	"beatwright/dsp"
	"beatwright/estimate"
	"beatwright/unit"
)

// beside is a neighbour as the run knows it: where its sounds fall.
type beside struct {
	Neighbour
	at   float64   // cell of a moment of phase 0
	T    float64   // full period, cells
	z    []float64 // what is heard of it by phase, steps
	loud []float64 // how loud it is by phase, steps, ln over the quiet; 0 where it is not
	// own is how loud the watch followed is about a beat of either side, by cells
	// of its layout.
	own  [2][]float64
	base []float64 // of the watch followed
	gone int       // segments in which it was looked for in vain
}

// beside makes a neighbour of the full period T, steps.
func (x *rest) beside(T float64) *beside {
	b := &beside{base: x.base}
	bins := int(T)
	var line estimate.Line
	at := 0.0
	for range 3 {
		b.z = foldInto(x.z, T, at, bins)
		when, lag := x.blocks(b.z, T, at)
		if len(when) < 4 {
			break
		}
		line = estimate.FitLine(when, lag, make([]int, len(when)))
		T *= 1 + line.Slope
		at += line.Offset[0]
		b.U95 = x.paceDoubt(when, line)
	}
	b.T, b.at = T*coarse, float64(x.from)+at*coarse
	b.Beat, b.U95 = unit.Seconds(T*x.step/2), b.U95*unit.Seconds(T*x.step/2)
	b.From = unit.Seconds(float64(x.from) * x.step / coarse)
	b.To = b.From + unit.Seconds(float64(len(x.y))*x.step)
	b.listen(x, T, at, bins)
	return b
}

// foldInto averages z over T steps, phase 0 at step at, into bins.
func foldInto(z []float64, T, at float64, bins int) []float64 {
	sum, n := make([]float64, bins), make([]float64, bins)
	for i, v := range z {
		ph := math.Mod(float64(i)-at, T)
		if ph < 0 {
			ph += T
		}
		k := min(bins-1, int(ph*float64(bins)/T))
		sum[k] += v
		n[k]++
	}
	for k := range sum {
		sum[k] /= math.Max(1, n[k])
	}
	return sum
}

// blocks are how late the sounds of period T come in each two seconds, steps,
// against their mean p.
func (x *rest) blocks(p []float64, T, at float64) (when, lag []float64) {
	size := int(math.Max(2/x.step, 4*T))
	reach := int(0.004 / x.step)
	for i := 0; i+size <= len(x.z); i += size {
		phase := math.Mod(at-float64(i), T)
		q := foldInto(x.z[i:i+size], T, phase, len(p))
		if l, like := circularLag(p, q, reach); like > 0.3 {
			when, lag = append(when, float64(i)+float64(size)/2), append(lag, l)
		}
	}
	return when, lag
}

// circularLag is how far b lies behind a, both closed in themselves, and how
// alike they are then.
func circularLag(a, b []float64, reach int) (lag, like float64) {
	n := len(a)
	ma, mb := dsp.Mean(a), dsp.Mean(b)
	c := make([]float64, 2*reach+1)
	best := reach
	var aa, bb float64
	for i := range a {
		aa += (a[i] - ma) * (a[i] - ma)
		bb += (b[i] - mb) * (b[i] - mb)
	}
	for d := range c {
		for i := range a {
			c[d] += (a[i] - ma) * (b[((i+d-reach)%n+n)%n] - mb)
		}
		if c[d] > c[best] {
			best = d
		}
	}
	at, h := dsp.Peak(c, best)
	return at - float64(reach), h / math.Sqrt(aa*bb+1e-12)
}

// paceDoubt is the 95 % half-width of the pace, as a share, by the scatter of
// the blocks about their line; a hundredth of a ms each at least, which is the
// grid's own.
func (x *rest) paceDoubt(when []float64, l estimate.Line) unit.Seconds {
	m := dsp.Mean(when)
	var sxx, rss float64
	for i, w := range when {
		sxx += (w - m) * (w - m)
		rss += l.Residual[i] * l.Residual[i]
	}
	n := float64(len(when))
	s := math.Max(math.Sqrt(rss/math.Max(1, n-2)), 1e-5/x.step)
	return unit.Seconds(estimate.Student95(math.Max(1, n-2)) * s / math.Sqrt(sxx))
}

// listen marks where the neighbour is loud and tells how loud it is.
func (b *beside) listen(x *rest, T, at float64, bins int) {
	sum, n := make([]float64, bins), make([]float64, bins)
	for i, v := range x.y {
		if !x.quiet(i) {
			continue
		}
		ph := math.Mod(float64(i)-at, T)
		if ph < 0 {
			ph += T
		}
		k := min(bins-1, int(ph))
		sum[k] += v - x.calm
		n[k]++
	}
	b.loud = make([]float64, bins)
	top := 0.0
	const spread = 2 // steps to either side
	for k := range sum {
		if n[k] == 0 {
			continue
		}
		m := sum[k] / n[k]
		top = math.Max(top, m)
		if m > math.Max(0.1, 5*x.sd/math.Sqrt(n[k])) {
			for d := -spread; d <= spread; d++ {
				at := ((k+d)%bins + bins) % bins
				b.loud[at] = math.Max(b.loud[at], m)
			}
		}
	}
	own := 0.0
	for _, v := range x.base {
		own = math.Max(own, v-x.calm)
	}
	b.Level = unit.Decibels(10 / math.Ln10 * (top - own))
}

// heed keeps how loud the watch followed is about its beats.
func (b *beside) heed(x *rest, l layout) {
	for s := range b.own {
		b.own[s] = make([]float64, l.pre+l.post)
		for i := range b.own[s] {
			b.own[s][i] = x.own(float64(s)*x.next + float64(i-l.pre)/coarse)
		}
	}
}

// drowned is how far under the watch's own sound, ln, another may lie and not
// be heard: it then moves the energy by an eighth.
const drowned = 2.0

// covered marks the cells from cell from on at which the neighbour is heard;
// place is where that cell lies in the layout of a beat of the side, to tell
// what of it the watch's own sound drowns.
func (b *beside) covered(from int64, side, place int, dst []bool) {
	const scale = 1.0 / coarse
	ph := math.Mod(float64(from)-b.at, b.T)
	if ph < 0 {
		ph += b.T
	}
	own := b.own[side]
	for i := range dst {
		h := b.loud[min(len(b.loud)-1, int(ph*scale))]
		dst[i] = h > 0
		if k := place + i; dst[i] && k >= 0 && k < len(own) {
			dst[i] = h > own[k]-drowned
		}
		if ph++; ph >= b.T {
			ph -= b.T
		}
	}
}
