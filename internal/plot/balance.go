package plot

import (
	"math"
	"strings"

	"beatwright/estimate"
	"beatwright/internal/say"
	"beatwright/poise"
	"beatwright/position"
	"beatwright/unit"
)

// Balance is where a balance is heavy, seen from the back.
type Balance struct {
	Name string // "as found"
	Left bool   // filled; else hollow
	// Why says why nothing is known; the rest is then not looked at.
	Why string
	// Told is whether the 95 % patch clears the staff.
	Told bool
	// Toward is the heavy point, degrees clockwise from the 12 seen from the
	// dial side; its doubt is 180 where the patch holds the staff.
	Toward estimate.Estimate
	// Size is in Unit, "µg·mm", or "µrad" of moment over stiffness.
	Size estimate.Estimate
	Unit string
	// Swing is the mean amplitude, °; 0 is not known.
	Swing float64
	// FastHour is the hour up where it gains most at that swing.
	FastHour float64
}

// BalanceOf takes what was reckoned: unbalance in µg·mm is nil where the
// inertia is not known, and the moment over the stiffness is then drawn.
func BalanceOf(name string, left bool, r *poise.Reckoning, unbalance *estimate.Estimate, why string) Balance {
	b := Balance{Name: name, Left: left, Why: why}
	if r == nil {
		if why == "" {
			b.Why = "not reckoned"
		}
		return b
	}
	b.Why, b.Told, b.Toward = "", r.Standing == poise.Measured, r.HeavyPoint
	b.Size, b.Unit = r.MomentRatio.Scale(1e6), "µrad"
	if unbalance != nil {
		b.Size, b.Unit = *unbalance, "µg·mm"
	}
	if a := r.Amplitude.Value; finite(a) && a > 0 {
		b.Swing, b.FastHour = a, r.FastHour(unit.Degrees(a))
	}
	return b
}

// patch95 takes half-widths of one direction to those of a patch in two:
// √(χ²₀.₉₅,₂)/z₀.₉₇₅, scipy.stats.chi2.ppf(0.95, 2) and norm.ppf(0.975).
var patch95 = math.Sqrt(5.991464547) / 1.959963985

// along and across are the half-axes of the patch. Where a heavy side is told,
// what all readings share (the lift angle) scales the size but leaves the side:
// it is a bar of its own, and the patch stops short of the staff, as the true
// one, which may slant, does. The doubt across is seen from the staff under the
// angle of Toward; where that says nothing, the patch is taken as round.
func (b Balance) along() float64 {
	if b.Told {
		return math.Min(patch95*b.Size.Own, 0.95*math.Abs(b.Size.Value))
	}
	return patch95 * math.Abs(b.Size.U95())
}

func (b Balance) across() float64 {
	u := b.Toward.U95()
	if !(u < 90) {
		return b.along()
	}
	return patch95 * math.Abs(b.Size.Value) * math.Sin(u*math.Pi/180)
}

func (b Balance) known() bool {
	return b.Why == "" && finite(b.Size.Value, b.Size.U95(), b.Toward.Value)
}

// reach is how far from the staff the patch goes.
func (b Balance) reach() float64 {
	if !b.known() {
		return 0
	}
	return math.Abs(b.Size.Value) + math.Max(b.Size.U95(), math.Max(b.along(), b.across()))
}

// Places in the picture of a balance, px from the staff.
const (
	balanceSide   = 290.0
	staff         = balanceSide / 2
	rimOut, rimIn = 104.0, 91.0
	mostReach     = 78.0 // of the patch
	tickFrom      = 111.0
	figuresAt     = 132.0
)

// Picture draws the balance as on the bench: from the back, 3 on the left.
func (b Balance) Picture() *Picture { return b.picture(b.reach()) }

// Balances draws several on one scale.
func Balances(bs ...Balance) []*Picture {
	most := 0.0
	for _, b := range bs {
		most = math.Max(most, b.reach())
	}
	var out []*Picture
	for _, b := range bs {
		out = append(out, b.picture(most))
	}
	return out
}

func (b Balance) picture(most float64) *Picture {
	b.Told = b.Told && b.Toward.U95() < 90
	p := &Picture{Width: balanceSide, Height: balanceSide, Title: "Balance, seen from the back"}
	p.Desc = b.Words().Sentence
	if b.Unit == "" {
		b.Unit = "µg·mm"
	}
	b.dial(p)
	if !b.known() || !(most > 0) {
		p.Caption = []Span{{b.title(), true}, {" seen from the back, at rest: 3 is on the left.", false}}
		p.Text(Ink, Point{staff, staff - 26}, "middle", "Heavy side not known", true)
		p.Spot(Ink, Point{staff, staff}, 3.2)
		return p
	}
	step := niceStep(most / 3)
	most = math.Ceil(most/step-1e-9) * step
	rings := b.rings(p, mostReach/most, step, most)
	p.Caption = []Span{{b.title(), true}, {" seen from the back, at rest: 3 is on the left; " + rings + ".", false}}
	b.heavy(p, mostReach/most)
	p.Spot(Ink, Point{staff, staff}, 3.2)
	return p
}

func (b Balance) title() string { return strings.TrimSpace("Balance "+b.Name) + "," }

// from is the place r px from the staff towards θ, degrees clockwise from the
// 12 seen from the dial: from the back the clock runs the other way.
func from(θ, r float64) Point {
	sin, cos := math.Sincos(θ * math.Pi / 180)
	return Point{staff - r*sin, staff - r*cos}
}

// dial draws rim, arms and the hours about them.
func (b Balance) dial(p *Picture) {
	p.Ring(Ink, Point{staff, staff}, rimOut)
	p.Ring(Ink, Point{staff, staff}, rimIn)
	for _, y := range []float64{-5, 5} {
		p.Line(Hair, Point{staff - rimIn, staff + y}, Point{staff + rimIn, staff + y})
	}
	for h := 1; h <= 12; h++ {
		θ, to := 30*float64(h), 116.0
		if h%3 == 0 {
			to = 120
			q := from(θ, figuresAt)
			p.Text(Second, Point{q.X, q.Y + 5}, "middle", say.Count(h), false)
		}
		p.Line(Axis, from(θ, tickFrom), from(θ, to))
	}
}

// rings draws circles to read sizes by, and says of what they are.
func (b Balance) rings(p *Picture, scale, step, most float64) string {
	var names []string
	for v := step; v <= most*1.02 && step > 0; v += step {
		p.DottedRing(Second, Point{staff, staff}, v*scale)
		names = append(names, say.Plain(v))
	}
	// Figures stand on the side away from the heavy point.
	θ := 0.0
	if away := math.Mod(b.Toward.Value+360, 360); away < 90 || away > 270 {
		θ = 180
	}
	for i, name := range names {
		q := from(θ, float64(i+1)*step*scale)
		p.Label(Second, Point{q.X, q.Y + 5}, "middle", name)
	}
	if len(names) == 1 {
		return "ring " + say.Unit(names[0], b.Unit)
	}
	last := len(names) - 1
	return "rings " + strings.Join(names[:last], ", ") + " and " + say.Unit(names[last], b.Unit)
}

// heavy draws the patch, the point, and where it is told the line and the
// piece of rim as wide as the doubt in direction.
func (b Balance) heavy(p *Picture, scale float64) {
	at := from(b.Toward.Value, math.Abs(b.Size.Value)*scale)
	edge := b.patch(scale)
	p.HatchLight(edge...)
	p.Line(Thin, append(edge, edge[0])...)
	if b.Told {
		p.Line(Ink, Point{staff, staff}, from(b.Toward.Value, rimOut-6))
		b.bar(p, scale)
		p.Area(Ink, b.arc()...)
	}
	p.Spot(hollow(b.Left), at, spotSize)
	if !b.Told {
		p.Label(Ink, Point{staff, staff + 56}, "middle", "No heavy side")
		p.Label(Ink, Point{staff, staff + 73}, "middle", "can be told")
	}
}

// bar is the whole doubt of the size, with what all readings share, where that
// goes beyond the patch.
func (b Balance) bar(p *Picture, scale float64) {
	if b.Size.U95() <= b.along() {
		return
	}
	size := math.Abs(b.Size.Value)
	for _, r := range []float64{size - b.Size.U95(), size + b.Size.U95()} {
		if r <= 0 {
			continue // it may be as small as one likes
		}
		q, a := from(b.Toward.Value, r*scale), from(b.Toward.Value+90, 5)
		dx, dy := a.X-staff, a.Y-staff
		p.Line(Ink, Point{q.X - dx, q.Y - dy}, Point{q.X + dx, q.Y + dy})
	}
}

func (b Balance) patch(scale float64) []Point {
	const pieces = 48
	out := make([]Point, pieces)
	at, towards := from(b.Toward.Value, math.Abs(b.Size.Value)*scale), from(b.Toward.Value, 1)
	ux, uy := towards.X-staff, towards.Y-staff
	for i := range out {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / pieces)
		a, c := b.along()*scale*cos, b.across()*scale*sin
		out[i] = Point{at.X + a*ux - c*uy, at.Y + a*uy + c*ux}
	}
	return out
}

// arc is the thick piece of rim.
func (b Balance) arc() []Point {
	const pieces = 24
	half := math.Min(180, math.Max(1, b.Toward.U95()))
	var out, back []Point
	for i := 0; i <= pieces; i++ {
		θ := b.Toward.Value + half*(2*float64(i)/pieces-1)
		out, back = append(out, from(θ, rimOut)), append(back, from(θ, rimIn))
	}
	for i := len(back) - 1; i >= 0; i-- {
		out = append(out, back[i])
	}
	return out
}

// Words says where it is heavy, and by how much.
func (b Balance) Words() Words {
	w := Words{Head: []string{"balance", "value"}}
	switch {
	case !b.known():
		why := b.Why
		if why == "" {
			why = "the numbers do not say"
		}
		w.Sentence = say.Sentence("where the balance is heavy is not known: " + why)
		return w
	case !b.Told:
		bound := say.Unit(under(b.Size.Value+b.Size.U95()), b.Unit)
		w.Sentence = "No heavy side can be told: under " + bound + "."
		w.Rows = [][]string{{"heavy side", "cannot be told"}, {"size", "under " + bound}}
		return w
	}
	size := say.With(b.Size.Value, b.Size.U95(), b.Unit)
	w.Sentence = "Heavy towards " + position.Vertical(b.Toward.Value/30).Clock() + " o’clock, by " + size + "."
	if b.Swing > 0 {
		w.Sentence += " At " + say.Unit(say.Fixed(b.Swing, 0), "°") + " of swing it gains most with " + position.Vertical(b.FastHour).Clock() + " up, when " +
			position.Vertical(b.FastHour+6).Clock() + " is down."
	}
	w.Rows = [][]string{
		{"heavy towards, clockwise from the 12 seen from the dial", say.With(b.Toward.Value, b.Toward.U95(), "°")},
		{"size", size},
	}
	return w
}
