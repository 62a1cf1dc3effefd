package plot

import (
	"math"

	"beatwright/internal/say"
)

// Words says the drift: its slope, how far the sides lie apart, and over how
// long.
func (d Drift) Words() Words {
	w := Words{Head: []string{"drift", "value"}}
	if len(d.Beats) < 2 {
		w.Sentence = "Too few beats were heard for a drift."
		return w
	}
	span := moment(float64(d.Beats[len(d.Beats)-1].At - d.Beats[0].At))
	rate := "no nominal beat is known"
	if d.Known {
		rate = say.SignedWith(float64(d.Rate), float64(d.U95), perDay) + " by the sound alone"
	}
	apart := say.Unit(say.Fixed(math.Abs(float64(d.BeatError)), 2), "ms")
	out := 0
	for _, b := range d.Beats {
		if b.LeftOut {
			out++
		}
	}
	w.Sentence = say.Sentence("drift over " + span + ": " + rate + ", the two sides " + apart + " apart, " + say.Count(out) + " of " + say.Count(len(d.Beats)) + " beats left out")
	w.Rows = [][]string{{"heard", span}, {"slope", rate}, {"beat error", apart}, {"left out", say.Count(out)}}
	return w
}

// Words says what the averaged beat shows: the swing as far as it is known,
// and which sounds stand out on each side.
func (f Profile) Words() Words {
	w := Words{Head: []string{"side", "sounds"}}
	a := float64(f.Amplitude)
	switch {
	case !f.sound() || !f.Sides[0].heard() && !f.Sides[1].heard():
		w.Sentence = "Not drawn: the sounds lie below the noise."
		return w
	case f.Standing == Known:
		w.Sentence = "The balance turns at ±" + say.With(a, float64(f.U95), "°") + "; rest lies " +
			say.Unit(say.Fixed(math.Abs(float64(f.BeatError)), 1), "°") + " from the line of centres."
	case f.Standing == AtMost:
		w.Sentence = "The balance turns at " + say.Unit(say.Fixed(math.Ceil(a), 0), "°") + " at most; the unlocking is not heard."
	default:
		w.Sentence = "The swing cannot be told; the sounds stand in milliseconds from the drop."
	}
	for s, name := range [2]string{"first beat", "second beat"} {
		heard := "not heard"
		for i, m := range f.marks(s) {
			if i == 0 {
				heard = m.word
			} else {
				heard += ", " + m.word
			}
		}
		w.Rows = append(w.Rows, []string{name, heard})
	}
	return w
}
