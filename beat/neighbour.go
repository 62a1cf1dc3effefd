package beat

import (
	"math"
	"slices"

	"beatwright/dsp"
	"beatwright/estimate"
	"beatwright/unit"
)

// Neighbour is another watch that was heard beside the one followed.
type Neighbour struct {
	// Beat is the mean time between its sounds' groups, U95 its 95 % half-width
	// by the sound alone.
	Beat, U95 unit.Seconds
	// From and To are between which moments it was heard.
	From, To unit.Seconds
	// Rough says that it runs so little apart from the watch followed that Beat is
	// good for its sense only; it is then left in the averaged beats.
	Rough bool
	// Unsure says that it may as well be the watch's own swing that changes.
	Unsure bool
	// Level is how loud it is against the watch followed, by the peaks of their
	// mean loudness.
	Level unit.Decibels
}

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

const (
	// A rhythm of its own must clear the scatter of the autocorrelation by this:
	// beside one watch of any kind simulated it reached 2, beside two 6 and more.
	ownRhythm = 4.0
	// Its folded sound must clear the noise by so many deviations.
	ownSound = 30.0
	// oneSound is below which likeness of its halves a folded period holds one
	// sound.
	oneSound = 0.15
	// A second watch of the same beat rate is looked for within so many s/d.
	mostApart = 100
	// Laid along it the rest must be sharper by so much than laid along others,
	// by less where it stands where the watch itself does not sound, and run so
	// far in the stretch, s.
	ownSlant    = 3.3
	beyondSlant = 2.6
	leastRun    = 0.003
	// maskedRun is how far a second watch of the same rate must run for its sounds
	// to be left out: less, and they cover the same places all the time, s.
	maskedRun = 0.008
	// alikeRun is how far sounds must run for their paces to be told apart, s.
	alikeRun = 0.010
)

// lookBeside looks for another watch from cell from to cell to.
func (r *run) lookBeside(from, to int64) *beside {
	x := restOf(r, from, to, nil)
	if x == nil {
		return nil
	}
	T, ok := x.otherRhythm()
	unsure := false
	if !ok && !x.hum {
		T, unsure, ok = x.slanted()
	}
	if ok {
		if _, height := halfPeak(fold(x.z, T)); height < oneSound {
			T *= 2 // one sound in what was taken for a period
		}
		b := x.beside(T)
		b.heed(x, r.l)
		b.Unsure = unsure
		b.Rough = unsure || math.Abs(T/x.T-1)*float64(len(x.z))*x.step < maskedRun
		return b
	}
	return nil
}

// otherRhythm looks for a beat in the rest that is not near the watch's own, and
// gives its full period, steps.
func (x *rest) otherRhythm() (T float64, ok bool) {
	beat, strength, ok := x.otherBeat()
	if !ok || strength < ownRhythm {
		return 0, false
	}
	for _, T := range []float64{beat, 2 * beat} {
		if T*x.step < 2*shortestBeat || T*2.5 > float64(len(x.z)) {
			continue
		}
		T = refineByFold(x.z, T)
		p := fold(x.z, T)
		_, height := halfPeak(p)
		if height < 0.25 || !x.stands(p, T) {
			continue
		}
		return T, true
	}
	return 0, false
}

// stands tells whether the rest folded over T steps clears the noise, in a few
// strikes and not in a swell.
func (x *rest) stands(p []float64, T float64) bool {
	const mostDuty = 0.35
	top, wide := 0.0, 0
	for _, v := range p {
		top = math.Max(top, v)
	}
	for _, v := range p {
		if v > top/2 {
			wide++
		}
	}
	return top*math.Sqrt(float64(len(x.z))/T) > ownSound && float64(wide) < mostDuty*float64(len(p))
}

// otherBeat is as fundamental, without what is of the watch's own beat.
func (x *rest) otherBeat() (period, strength float64, ok bool) {
	half := make([]float64, len(x.z)/2)
	for i := range half {
		half[i] = (x.z[2*i] + x.z[2*i+1]) / 2
	}
	step := 2 * x.step
	r := dsp.Autocorrelation(half, min(len(half)*8/10, int(8/step)))
	lo, hi := int(shortestBeat/step), min(int(longestHalf/step), len(r)/3)
	if hi <= lo+2 {
		return 0, 0, false
	}
	scatter := scatterOf(r[lo:])
	type candidate struct{ p, s float64 }
	var cs []candidate
	best := 0.0
	for i := lo; i <= hi; i++ {
		if r[i] < r[i-1] || r[i] < r[i+1] || r[i] < 2*scatter || x.ofOwnBeat(2*float64(i)) {
			continue
		}
		if p, s := comb(r, i); !x.ofOwnBeat(2 * p) {
			cs = append(cs, candidate{p, s})
			best = math.Max(best, s)
		}
	}
	for _, c := range cs {
		if c.s >= 0.7*best {
			return 2 * c.p, c.s / scatter, true
		}
	}
	return 0, 0, false
}

// ofOwnBeat tells whether a period, steps, is of the watch's own beat, within what
// slow changes of its sound could make of it.
func (x *rest) ofOwnBeat(p float64) bool {
	n := p / (x.T / 2)
	return math.Round(n) >= 1 && math.Abs(n-math.Round(n)) < 1.5e-3*n+3/x.T
}

// slanted looks for a second watch of the same beat rate: laid out period by
// period, its sounds run aslant through the first's. T is its full period; unsure
// where an unlocking that moves with the swing would look like it.
func (x *rest) slanted() (T float64, unsure, ok bool) {
	chunks, at := x.chunks()
	if len(chunks) < 4 {
		return 0, false, false
	}
	lessMiddle(chunks)
	span := at[len(at)-1] - at[0]
	var all []float64
	best, d := 0.0, 0
	for k := -mostApart; k <= mostApart; k++ {
		q := sharpness(laid(chunks, at, float64(k)/86400))
		all = append(all, q)
		if q > best {
			best, d = q, k
		}
	}
	slant := float64(d) / 86400
	clear := best / estimate.Median(all)
	run := math.Abs(slant) * span
	if clear < beyondSlant || run*x.step < leastRun {
		return 0, false, false
	}
	p := laid(chunks, at, slant)
	if hums(p, x.step) { // a hum runs aslant through most beats
		return 0, false, false
	}
	T = x.T * (1 - slant)
	if x.beyond(p, run/2) {
		return T, false, true
	}
	return T, run*x.step < alikeRun, clear > ownSlant && x.parallel(chunks, at, p, d)
}

// chunks are the means of the rest over about a second each by the phase of the
// watch's own period, and their moments in steps.
func (x *rest) chunks() (out [][]float64, at []float64) {
	rows, bins := x.rows(), len(x.base)
	per := max(1, int(1/(x.T*x.step)))
	for i := 0; i+per <= len(rows); i += per {
		c := make([]float64, bins)
		for _, s := range rows[i : i+per] {
			for b := range c {
				if s+b < len(x.z) {
					c[b] += x.z[s+b] / float64(per)
				}
			}
		}
		out, at = append(out, c), append(at, float64(rows[i]+rows[i+per-1])/2)
	}
	return out, at
}

// lessMiddle takes from every phase of the chunks the middle of it.
func lessMiddle(chunks [][]float64) {
	column := make([]float64, len(chunks))
	for b := range chunks[0] {
		for j, c := range chunks {
			column[j] = c[b]
		}
		m := estimate.Median(column)
		for _, c := range chunks {
			c[b] -= m
		}
	}
}

// laid is the mean of the chunks, each moved by the slant since the middle.
func laid(chunks [][]float64, at []float64, slant float64) []float64 {
	bins := len(chunks[0])
	mid := (at[0] + at[len(at)-1]) / 2
	sum := make([]float64, bins)
	for j, c := range chunks {
		sh := (int(math.Round(slant*(at[j]-mid)))%bins + bins) % bins
		for b, v := range c[:bins-sh] {
			sum[b+sh] += v
		}
		for b, v := range c[bins-sh:] {
			sum[b] += v
		}
	}
	for b := range sum {
		sum[b] /= float64(len(chunks))
	}
	return sum
}

// sharpness is the mean square.
func sharpness(p []float64) float64 {
	var s float64
	for _, v := range p {
		s += v * v
	}
	return s / float64(len(p))
}

// beyond tells whether of what runs aslant, p in the middle of the stretch and
// as far as reach from there at its ends, something stands at one time where the
// watch itself cannot sound, whatever its swing: from 4 ms after a drop to three
// tenths of a beat before the next.
func (x *rest) beyond(p []float64, reach float64) bool {
	const late, early = 0.004, 0.7
	bins := len(p)
	half := float64(bins) / 2
	top := slices.Max(p)
	for i, v := range p {
		if v < top/2 {
			continue
		}
		for _, at := range []float64{float64(i) - reach, float64(i), float64(i) + reach} {
			if after := x.after(at); after > late/x.step && after < early*half {
				return true
			}
		}
	}
	return false
}

// after is how long after the last beat of either side a phase is, steps.
func (x *rest) after(phase float64) float64 {
	since := func(beat float64) float64 {
		d := math.Mod(phase-beat, x.T)
		if d < 0 {
			d += x.T
		}
		return d
	}
	return math.Min(since(0), since(x.next))
}

// parallel tells whether on both sides two sounds run aslant alike, as those of a
// second watch do: an unlocking that moves because the swing falls runs faster
// than the impulse, and the drop the other way. p is what lies along d s/d.
func (x *rest) parallel(chunks [][]float64, at []float64, p []float64, d int) bool {
	var lines [2]int
	for _, i := range x.peaks(p) {
		if pace := paceAt(chunks, at, i, d); math.Abs(float64(pace-d)) <= math.Max(3, 0.12*math.Abs(float64(d))) {
			side := 0
			if math.Abs(float64(i)-x.next) < x.T/4 {
				side = 1
			}
			lines[side]++
		}
	}
	return lines[0] >= 2 && lines[1] >= 2
}

// peaks are the places of p that stand out, the loudest within 2.5 ms.
func (x *rest) peaks(p []float64) (at []int) {
	const share, apart = 0.25, 0.0025
	n, reach := len(p), int(apart/x.step)
	top := slices.Max(p)
	for i, v := range p {
		highest := v > share*top
		for k := -reach; k <= reach && highest; k++ {
			w := p[((i+k)%n+n)%n]
			highest = w < v || w == v && k >= 0
		}
		if highest {
			at = append(at, i)
		}
	}
	return at
}

// paceAt is the slant near d, s/d, along which the sound at phase i is loudest.
func paceAt(chunks [][]float64, at []float64, i, d int) int {
	n := len(chunks[0])
	mid := (at[0] + at[len(at)-1]) / 2
	best, out := math.Inf(-1), d
	for k := d - 40; k <= d+40; k++ {
		var sum float64
		for j, c := range chunks {
			b := i - int(math.Round(float64(k)/86400*(at[j]-mid)))
			for m := -1; m <= 1; m++ {
				sum += c[((b+m)%n+n)%n]
			}
		}
		if sum > best {
			best, out = sum, k
		}
	}
	return out
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
