package plot

import (
	"math"

	"beatwright/internal/say"
	"beatwright/measure"
	"beatwright/reading"
)

// SwingTurn is a wave of the swing over one turn of what makes it.
type SwingTurn struct{ reading.AmplitudeWave }

// SwingTurnsOf are the waves of a result's swing.
func SwingTurnsOf(r measure.Result) (out []SwingTurn) {
	if r.Watch == nil {
		return nil
	}
	for _, w := range r.Watch.AmplitudePeriodic {
		if w.Period > 0 && len(w.Turn) > 0 {
			out = append(out, SwingTurn{w})
		}
	}
	return out
}

// Words says the wave, and gives the places of the turn as rows.
func (t SwingTurn) Words() Words {
	w := Words{Head: []string{"s of the turn", "swing over its mean, °"}}
	w.Sentence = "Over " + say.Unit(say.Fixed(t.Turns, 1), "turns") + " " + say.SwingWave(t.AmplitudeWave) +
		". Turns are counted from the first beat heard; where the wheel then stood, sound does not say."
	for _, p := range t.Turn {
		w.Rows = append(w.Rows, []string{say.Fixed(float64(p.At), 1), say.SignedWith(p.Deg, p.U95, "°")})
	}
	return w
}

// Places in the picture of a turn, px.
const (
	turnHeight        = 290.0
	turnTop, turnFoot = 66.0, 236.0
	turnDot           = 4.5
	turnStep          = 4.0 // between points of the wave
)

// Picture draws the swing at places of the turn with their 95 % bars, and the wave
// that fits them with its band.
func (t SwingTurn) Picture() *Picture {
	p := &Picture{Width: pictureWidth, Height: turnHeight, Title: "Swing over a turn", Desc: t.Words().Sentence}
	p.Spans(Second, Point{left, titleAt}, "start", Span{"Swing over a turn of " + say.With(float64(t.Period), float64(t.PeriodU95), "s") + ":", true},
		Span{" from the mean, bars and band 95 %, all turns laid over each other.", false})
	x := axis{0, float64(t.Period), 86, 806}
	y := t.scale()
	t.axes(p, x, y)
	t.wave(p, x, y)
	for _, q := range t.Turn {
		if at := x.within(float64(q.At)); finite(float64(q.At), q.Deg, q.U95) {
			p.beam(Thin, at, y.within(q.Deg-q.U95), y.within(q.Deg+q.U95), 4)
			p.Spot(Ink, Point{at, y.within(q.Deg)}, turnDot)
		}
	}
	return p
}

// scale holds points and wave with their doubts.
func (t SwingTurn) scale() axis {
	high := 0.0
	if finite(t.PeakDeg, t.U95) {
		high = t.PeakDeg + t.U95
	}
	for _, q := range t.Turn {
		if finite(q.Deg, q.U95) {
			high = math.Max(high, math.Abs(q.Deg)+q.U95)
		}
	}
	low, high := apart(-high, high, 0.2)
	return axis{low, high, turnFoot, turnTop}
}

func (t SwingTurn) axes(p *Picture, x, y axis) {
	p.about(x, y, 6)
	p.Text(Second, Point{x.from - 10, turnTop - 10}, "end", "°", false)
	p.Text(Second, Point{x.from, turnTop - 10}, "start", "over the mean swing", false)
	ticks, places := x.steps(8)
	for i, v := range ticks {
		word := say.Fixed(v, places)
		if i == len(ticks)-1 {
			word = say.Unit(word, "s")
		}
		p.Line(Second, Point{x.at(v), turnFoot}, Point{x.at(v), turnFoot + 6})
		p.Text(Second, Point{x.at(v), turnFoot + 24}, "middle", word, false)
	}
	p.Line(Second, Point{x.from, turnFoot}, Point{x.to, turnFoot})
}

// wave lays the fitted wave with its band.
func (t SwingTurn) wave(p *Picture, x, y axis) {
	if !finite(t.PeakDeg, t.U95, float64(t.HighestAt)) {
		return
	}
	var line, upper, lower []Point
	for at := x.from; at <= x.to+1e-9; at += turnStep {
		turn := (at-x.from)/(x.to-x.from) - float64(t.HighestAt/t.Period)
		v := t.PeakDeg * math.Cos(2*math.Pi*turn)
		line = append(line, Point{at, y.within(v)})
		upper, lower = append(upper, Point{at, y.within(v + t.U95)}), append(lower, Point{at, y.within(v - t.U95)})
	}
	for i := len(lower) - 1; i >= 0; i-- {
		upper = append(upper, lower[i])
	}
	p.Area(Edged, upper...)
	p.Line(Ink, line...)
}
