package plot

import (
	"fmt"
	"strings"

	"beatwright/internal/say"
	"beatwright/poise"
	"beatwright/position"
)

const perDay = "s/d"

func (l Limit) words() string {
	low, high := float64(l.Low), float64(l.High)
	var s string
	switch {
	case finite(low, high) && low == -high:
		s = "limit ±" + say.Plain(high)
	case finite(low, high):
		s = "limits " + signedPlain(low) + " to " + signedPlain(high)
	case finite(high):
		s = "limit " + signedPlain(high)
	default:
		s = "limit " + signedPlain(low)
	}
	if l.Whose != "" {
		s += ", " + l.Whose
	}
	return s
}

func signedPlain(v float64) string {
	if v > 0 {
		return "+" + say.Plain(v)
	}
	return say.Plain(v)
}

// caption says of each state what its wave is.
func (c Curve) caption() []Span {
	var out []Span
	for i, s := range c.States {
		name := s.Name
		if i == 0 {
			name = strings.TrimSpace("Position curve " + name)
		} else {
			name = " " + sentenceCase(name)
		}
		out = append(out, Span{name + ",", true}, Span{" s/d: " + s.waveWords() + c.how(i) + ".", false})
	}
	if len(out) == 0 {
		return []Span{{"Position curve.", true}}
	}
	return out
}

// how tells two states of one panel apart.
func (c Curve) how(i int) string {
	if len(c.States) < 2 {
		return ""
	}
	if c.States[i].Left {
		return " (filled, solid)"
	}
	return " (hollow, dashed)"
}

func sentenceCase(s string) string { return strings.TrimSuffix(say.Sentence(s), ".") }

// waveWords says how high the wave is and where its top, or why there is none.
func (s State) waveWords() string {
	switch {
	case len(s.drawable()) == 0:
		return "no rate heard"
	case !s.waved():
		return "too few upright positions for a wave"
	case s.Wave.Standing != poise.Measured:
		return "no wave told, under " + under(s.Wave.Size.Value+s.Wave.Size.U95()) + " each way"
	}
	return "one wave, " + say.With(s.Wave.Size.Value, s.Wave.Size.U95(), "") + " each way, top at " + position.Vertical(s.Wave.FastHour.Value).Clock() + " up"
}

// Words says the curve as a sentence and a table, one row a position.
func (c Curve) Words() Words {
	w := Words{Head: []string{"position"}}
	var said []string
	for _, s := range c.States {
		w.Head = append(w.Head, strings.TrimSpace(s.Name+" rate, s/d"))
		said = append(said, strings.TrimSpace(s.Name+" ")+" "+s.says())
	}
	for _, l := range c.Limits {
		said = append(said, l.words())
	}
	if len(said) == 0 {
		said = []string{"no rate by position has been heard"}
	}
	w.Sentence = say.Sentence(strings.TrimSpace(strings.Join(said, "; ")))
	for _, p := range c.positions() {
		row := []string{p.String()}
		for _, s := range c.States {
			row = append(row, s.cell(p))
		}
		w.Rows = append(w.Rows, row)
	}
	return w
}

func (s State) says() string {
	points := s.drawable()
	if len(points) == 0 {
		return "no rate by position has been heard"
	}
	fast, slow := points[0], points[0]
	for _, p := range points {
		if p.Value > fast.Value {
			fast = p
		}
		if p.Value < slow.Value {
			slow = p
		}
	}
	if len(points) == 1 {
		return fmt.Sprintf("%s in %s, the only position heard", say.SignedWith(fast.Value, own(fast.Estimate), perDay), fast.Position)
	}
	out := fmt.Sprintf("from %s in %s to %s in %s; %s",
		say.SignedWith(slow.Value, own(slow.Estimate), perDay), slow.Position, say.SignedWith(fast.Value, own(fast.Estimate), perDay), fast.Position, s.waveWords())
	if u := s.shared(); u > 0 {
		out += "; all may be off alike by " + say.Doubt(u, perDay)
	}
	return out
}

func (s State) cell(p position.Position) string {
	for _, r := range s.drawable() {
		if r.Position == p {
			return say.SignedWith(r.Value, own(r.Estimate), "")
		}
	}
	return say.Dash
}

// positions are those heard in any state: level ones first, then round the
// dial.
func (c Curve) positions() []position.Position {
	heard := map[position.Position]bool{}
	for _, s := range c.States {
		for _, p := range s.drawable() {
			heard[p.Position] = true
		}
	}
	var out []position.Position
	for p := position.CH; p.Valid(); p++ {
		if heard[p] {
			out = append(out, p)
		}
	}
	return out
}
