package measure

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"

	"beatwright/estimate"
	"beatwright/unit"
)

// gap is how much later the second side's sound lies than the first's against
// their dates, s, with the standard deviations of what like sounds are and of
// noise.
type gap struct{ lag, def, noise float64 }

// Two sides' strikes differ in pitch and ringing, so that "the same place in
// both" is a matter of definition. Tried on simulated watches whose sides differ
// by 2 to 25 %, in error at 95 %: the onsets' low crossings (47 µs on fair
// watches), correlations of the ln power about the steepest rise (31 to 50 µs by
// the window), of its root (45 to 84), of ln with a floor (41 to 53). No way is
// best on every watch; the middle of seven is as good as the best of them, and how
// far they lie apart tells how far it is off, better than how alike the sounds are:
// windows is what correlates, the onsets' crossings are one way more.
var windows = [...]struct {
	before, after float64   // s, of the steepest rise
	floors        []float64 // of the first height
}{
	{0.0003, 0.0001, []float64{0, 0.02}},
	{0.0003, 0.0002, []float64{0}},
	{0.0005, 0.0002, []float64{0, 0.02}},
	{0.0004, 0.0004, []float64{0}},
}

const (
	// definedSd is what like sounds of unlike sides are off by where all ways
	// agree, s, and spreadSds how many times the ways' standard deviation they
	// are off by where not (fitted to simulated fair, tired and messy watches).
	definedSd, spreadSds = 19e-6, 1.8
	// slideSec is how far from the steepest rises' the place may be, s.
	slideSec = 0.0006
	// mostApart is the greatest beat error that a rival may mean, s.
	mostApart = 0.008
)

// sidesGap sets like sounds of both sides against each other.
func sidesGap(m [2]sounds, period unit.Seconds, of func(sounds) (onset, float64)) gap {
	cell := m[0].s.cell
	o0, at0 := of(m[0])
	o1, at1 := of(m[1])
	ways := []float64{at1 - at0}
	for _, w := range windows {
		for _, floor := range w.floors {
			if lag, ok := laid(m, o0, o1, w.before, w.after, floor); ok {
				ways = append(ways, lag)
			}
		}
	}
	lag, def := estimate.Median(ways), math.Hypot(definedSd, spreadSds*stat.PopStdDev(ways, nil)*cell)
	if m[0].alone {
		if whole := apartness([2]shape{m[0].s, m[1].s}, period); math.Abs(lag-whole)*cell > 4*sidesApart {
			// The sounds picked cannot be the same: only the whole ones can be
			// set against each other.
			lag, def = whole, sidesApart/2
		}
	}
	g := gap{lag: (lag - float64(m[1].s.origin-m[0].s.origin)) * cell, def: def}
	for _, x := range m {
		o, _ := of(x)
		steep := (o.first - o.base) / (3 * cell)
		g.noise = math.Hypot(g.noise, x.s.noise*math.Max(1, o.base)/steep)
	}
	return g
}

// laid tells by how many cells the strike o1 of the second side lies later than o0
// of the first, where their ln powers from before to after their steepest rises, s,
// are most alike, a share of their first heights added as a floor; not ok where the
// profile ends within.
func laid(m [2]sounds, o0, o1 onset, before, after, floor float64) (lag float64, ok bool) {
	a, b := m[0].s, m[1].s
	n, k, reach := a.cells(before), a.cells(after), a.cells(slideSec)
	if o0.idx-n < 0 || o1.idx-n-reach < 0 || o0.idx+k >= len(a.z) || o1.idx+k+reach >= len(b.z) {
		return 0, false
	}
	ln := func(z []float64, first float64) []float64 {
		if floor == 0 {
			return logs(z)
		}
		return logsOver(z, floor*first, 0)
	}
	_, lag, _ = slide(ln(a.z[o0.idx-n:o0.idx+k], o0.first), ln(b.z[o1.idx-n-reach:o1.idx+k+reach], o1.first), reach)
	return float64(o1.idx-o0.idx) + lag, true
}

// rival is another lag, cells, than the one chosen by which as many strikes of
// both sides line up, or more: with as many, one that leaves the smaller beat
// error, or any where nothing but the pair itself speaks for the lag. level is the
// lag of no beat error.
func rival(m [2]sounds, chosen, level float64) (other float64, ok bool) {
	const faint = 0.06 // of the drop's crest
	cell := m[0].s.cell
	var os [2][]onset
	for s := range m {
		os[s] = m[s].s.onsets(riseSigmas)
	}
	inLine := func(lag float64) (n int) {
		for _, a := range os[0] {
			if slices.ContainsFunc(os[1], func(b onset) bool { return math.Abs(float64(b.idx-a.idx)-lag)*cell < inPlace }) {
				n++
			}
		}
		return n
	}
	most, other := inLine(chosen), chosen
	for _, a := range os[0] {
		for _, b := range os[1] {
			lag := float64(b.idx - a.idx)
			if math.Abs(lag-chosen)*cell < inPlace || a.crest < faint*m[0].drop.crest || b.crest < faint*m[1].drop.crest {
				continue
			}
			nearer := math.Abs(lag-level) < math.Abs(other-level)
			if n := inLine(lag); n > most || n == most && (nearer || n == 1 && !ok) {
				most, other, ok = n, lag, true
			}
		}
	}
	return other, ok && math.Abs(other-level)*cell < mostApart
}
