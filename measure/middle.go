package measure

import (
	"math"
	"slices"

	"beatwright/beat"
	"beatwright/dsp"
	"beatwright/unit"
)

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

// middles gives the correction of dates to middles over the stretch and the
// standard deviation of the rate it leaves (rate.go).
func (v view) middles(st stretch, measured bool) (middleAt, float64) {
	none := func(float64) float64 { return 0 }
	unheard := briefTrend
	if !measured {
		unheard = math.Hypot(unheardTrend, v.hiddenTrend(st))
	}
	at, c, sd := v.bySegment()
	if len(at) < 2 {
		return none, unheard
	}
	slope, slopeSd := weightedSlope(at, c, sd)
	slopeSd *= roughness(c, sd)
	if 10*len(at) < 7*len(st.segs) {
		// Too few to correct by, enough to doubt by.
		return none, math.Hypot(unheard, math.Max(math.Abs(slope), slopeSd))
	}
	w := driftOdds(slope / slopeSd)
	mid := func(t float64) float64 { return w * interpolate(at, c, t) }
	return mid, math.Sqrt(w*slopeSd*slopeSd + w*(1-w)*slope*slope)
}

// lostTrend is the standard deviation of the rate (s of middle per s) that a
// swing which changes, but is not heard through, may fake: a quarter of an
// interval of 15 ms over the stretch.
func lostTrend(span unit.Seconds) float64 { return 0.25 * 0.015 / math.Max(10, float64(span)) }

// hiddenTrend is the same by what is seen of a change though the unlocking is
// not: half of that of the intervals from the first sound; and half of that of
// an interval at 200°, if the swing changed as the loudness of the drop, for
// strikes weaken with the balance's speed (by its power of 0.5 to 1.5; chosen).
func (v view) hiddenTrend(st stretch) float64 {
	by, _ := v.oneWay()
	t := v.usual * (math.Exp(v.fade()/2) - 1)
	return math.Max(by, t) / 2 / math.Max(10, float64(st.span()))
}

// fade is by how much, in ln power, the drop grows fainter or louder through
// the parts, where that clears twice its own scatter.
func (v view) fade() float64 {
	var at, y, sd []float64
	for _, p := range v.parts {
		if p.ok[0] && p.ok[1] {
			at, sd = append(at, p.at), append(sd, 1)
			y = append(y, (math.Log(over(p.m[0].drop.crest))+math.Log(over(p.m[1].drop.crest)))/2)
		}
	}
	if len(at) < 4 {
		return 0
	}
	slope, u := weightedSlope(at, y, sd)
	var rss float64
	mx, my := dsp.Mean(at), dsp.Mean(y)
	for i := range at {
		r := y[i] - my - slope*(at[i]-mx)
		rss += r * r
	}
	if math.Abs(slope) < 2*u*math.Sqrt(rss/float64(len(at)-2)) {
		return 0
	}
	return math.Abs(slope) * (at[len(at)-1] - at[0])
}

// roughness is by how much the middles scatter from segment to segment more
// than their standard deviations say, at least 1: a faint strike found in the
// wrong place. By second differences, which a swing that settles leaves small.
func roughness(c, sd []float64) float64 {
	var sum, noise float64
	for i := 1; i+1 < len(c); i++ {
		b := c[i] - (c[i-1]+c[i+1])/2
		sum += b * b
		noise += sd[i]*sd[i] + (sd[i-1]*sd[i-1]+sd[i+1]*sd[i+1])/4
	}
	if sum <= noise {
		return 1
	}
	return math.Sqrt(sum / noise)
}

// bySegment gives for each segment its mean moment, how its middle lies
// against its dates, from their mean, and the standard deviation of that, s:
// by following the strikes (follow), else by the segments' own marks.
func (v view) bySegment() (at, c, sd []float64) {
	at, c, sd = v.followed()
	if len(at) == len(v.parts) {
		return at, c, sd
	}
	var marked, mc, msd []float64
	for _, p := range v.parts {
		if !p.sure() {
			continue
		}
		mid := 0.0
		for _, x := range p.m {
			mid += ((x.at+x.dropAt)/2 - float64(x.s.origin)) * x.s.cell / 2
		}
		marked, mc, msd = append(marked, p.at), append(mc, mid), append(msd, defSec)
	}
	if len(marked) > len(at) {
		return marked, mc, msd
	}
	return at, c, sd
}

// followed is bySegment by the strikes. Where one side lacks them the other
// stands for both, from its own mean over the segments that have both.
func (v view) followed() (at, c, sd []float64) {
	if v.first[0] == nil || v.first[1] == nil {
		return nil, nil, nil
	}
	var mid [2][]move
	var mean [2]float64
	for s := range mid {
		mid[s] = v.middleOf(s)
	}
	n := 0.0
	for i := range v.parts {
		if mid[0][i].ok && mid[1][i].ok {
			n++
			mean[0] += mid[0][i].at
			mean[1] += mid[1][i].at
		}
	}
	if n == 0 {
		return nil, nil, nil
	}
	for i, p := range v.parts {
		var x, variance, k float64
		for s := range mid {
			if m := mid[s][i]; m.ok {
				x += m.at - mean[s]/n
				variance += m.sd * m.sd
				k++
			}
		}
		if k > 0 {
			cell := v.m[0].s.cell
			at, c, sd = append(at, p.at), append(c, x/k*cell), append(sd, math.Sqrt(variance)/k*cell)
		}
	}
	return at, c, sd
}

// middleOf is half-way between first sound and drop of side s in every
// segment, cells of the segment's grid from its origin.
func (v view) middleOf(s int) []move {
	out := make([]move, len(v.parts))
	for i, p := range v.parts {
		f, d := v.first[s][i], v.drop[s][i]
		out[i] = move{
			at: (f.at+d.at)/2 - float64(p.m[s].s.origin), sd: math.Hypot(f.sd, d.sd) / 2,
			ok: f.ok && d.ok,
		}
	}
	return out
}

// followSide follows first sound and drop of side s through the parts, from a
// part near the middle that is sure.
func (v *view) followSide(s int) {
	n := len(v.parts)
	segs, first, drop := make([]shape, n), make([]float64, n), make([]float64, n)
	seed := n / 2
	for i, p := range v.parts {
		segs[i] = p.m[s].s
		first[i], drop[i] = math.NaN(), math.NaN()
		if p.sure() {
			first[i], drop[i] = p.m[s].at, p.m[s].dropAt
			if math.IsNaN(first[seed]) || 2*i <= n {
				seed = i
			}
		}
	}
	if math.IsNaN(first[seed]) {
		first[seed], drop[seed] = v.m[s].at, v.m[s].dropAt
	}
	v.first[s], v.drop[s] = follow(segs, first, seed), follow(segs, drop, seed)
}

// sharpen follows the strikes and takes from every part's interval what their
// motion within it does: a strike that moves by w while it is averaged has its
// edge, at the fraction q of its height, (1/2 − q)·w before its mean.
func (v *view) sharpen(period unit.Seconds, lift unit.Degrees) {
	if !bothFirst(v.m, v.ok) && !slices.ContainsFunc(v.parts, part.sure) {
		return
	}
	for s := range v.m {
		v.followSide(s)
		for i := range v.parts {
			if m := &v.parts[i].m[s]; m.first != nil {
				part := math.Max(0, 0.5-m.q)
				longer, doubt := v.smear(s, i)
				m.unsmeared, m.smearSd = -part*longer, part*doubt
			}
		}
	}
	for i := range v.parts {
		if p := &v.parts[i]; p.sure() {
			standing := p.sw.standing
			p.sw = weighAs(p.m, period, lift, 0)
			p.sw.standing = standing
		}
	}
}

// smear is by how many cells the edge of side s's first sound lies more ahead
// of its mean than the drop's, were the edge at the very foot, with its standard
// deviation: by the strikes followed, of which half stays in doubt. Where they
// move too fast to be followed it is not known how they share the change of the
// interval: alike, as about the middle, or all with the first sound, as about a
// loud drop.
func (v view) smear(s, i int) (longer, doubt float64) {
	lo, hi := v.beside(i)
	if lo == hi || !v.parts[i].sure() {
		return 0, 0
	}
	share := v.parts[i].last / (v.parts[hi].at - v.parts[lo].at)
	first, ok1 := motion(v.first[s], lo, i, hi)
	drop, ok2 := motion(v.drop[s], lo, i, hi)
	if ok1 && ok2 {
		longer = lead(first*share) - lead(drop*share)
		return longer, math.Abs(longer) / 2
	}
	w := share * math.Abs(v.parts[hi].interval()-v.parts[lo].interval()) / v.m[s].s.cell
	return w / 2, w / 2 / math.Sqrt(3) // evenly from none to all
}

// lead is how much of a motion of w cells shows in an edge that takes edgeCells
// to rise by itself: little of less, nearly all of more.
func lead(w float64) float64 {
	const edgeCells = 4
	return w * w / (w + edgeCells)
}

// beside are the nearest parts to either side of part i that are sure, i itself
// where there is none.
func (v view) beside(i int) (lo, hi int) {
	lo, hi = i, i
	if i > 0 && v.parts[i-1].sure() {
		lo = i - 1
	}
	if i < len(v.parts)-1 && v.parts[i+1].sure() {
		hi = i + 1
	}
	return lo, hi
}

// motion is by how many cells a strike moves, either way, from part lo to hi.
func motion(ms []move, lo, i, hi int) (w float64, ok bool) {
	return math.Abs(ms[hi].at - ms[lo].at), ms[lo].ok && ms[hi].ok && ms[i].ok
}

func meanAtOf(bs []beat.Beat) float64 {
	var s float64
	for _, b := range bs {
		s += float64(b.At)
	}
	return s / float64(len(bs))
}

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
