package poise

import (
	"fmt"
	"math"

	"beatwright/balance"
	"beatwright/estimate"
	"beatwright/unit"
)

// The columns of the fit.
const (
	colLevel = iota // c at the middle amplitude, s/d
	colSlope        // of c with the amplitude, s/d for each degree
	colFlat         // level positions less upright ones at like swing, s/d
	colX            // −(M/k)·cos θ
	colY            // −(M/k)·sin θ
	colP            // pull with 12 up, s/d
	colR            // pull with 3 up, s/d
)

// What is believed of c(A) before any reading, 95 % half-widths.
const (
	// flatPrior is how far level and upright positions differ at like swing
	// by the regulator pins alone: 6 to 8 s (Kleinlein 1920 §37–39).
	flatPrior = 8.0
	// slopePrior is the slope that widely open pins give, about 91 s/d
	// between 180° and 270° (derived: pins open by 30° of swing, 3 % of the
	// spring beyond them); sound pins and escapement give a twentieth of it.
	slopePrior = 1.0
	// leastDoubt keeps a reading that claims no doubt from taking all weight,
	// s/d (chosen: below what any hearing reaches).
	leastDoubt = 1e-3
)

// pullPrice is by how much the doubt of poise may grow for the sake of telling
// the hairspring's pull from it (chosen). More, and the amplitudes are too
// alike to tell them apart.
const pullPrice = 4.0

type fitted struct {
	readings []Reading
	solution estimate.Solution
	pull     bool
	middle   float64 // amplitude at which the level stands, °
	scatter  float64
	own      []float64 // doubt of each reading, its amplitude's included
	moved    []move    // the same with the amplitudes moved by what they share
	simple   *fitted   // the fit without pull, when this one has it
}

// move is the solution when a shared cause stands at its upper (+1) or lower
// (−1) 95 % limit.
type move struct {
	name     string
	sign     float64
	solution estimate.Solution
}

// best is the fit with the hairspring's pull where the amplitudes tell the two
// apart, else the one without.
func best(rs []Reading) (fitted, error) {
	simple, err := fit(rs, false)
	if err != nil {
		return fitted{}, err
	}
	full, err := fit(rs, true)
	if err != nil || full.poise().doubt() > pullPrice*simple.poise().doubt() {
		return simple, nil // too few amplitudes for the pull is no failure
	}
	full.simple = &simple
	return full, nil
}

// fit solves, then solves again with all amplitudes moved up and down by what
// they share: near the reversal the effect is far from linear, and may turn
// over.
func fit(rs []Reading, pull bool) (fitted, error) {
	f, err := solve(fitted{readings: rs, pull: pull, middle: meanSwing(rs).Value})
	if err != nil {
		return f, err
	}
	for _, name := range sharedNames(rs) {
		for _, sign := range []float64{1, -1} {
			m, err := solve(fitted{readings: shifted(rs, name, sign), pull: pull, middle: f.middle, own: f.own})
			if err != nil {
				return f, err
			}
			f.moved = append(f.moved, move{name, sign, m.solution})
		}
	}
	return f, nil
}

// slope is that of c(A), with what the amplitudes share.
func (f fitted) slope() estimate.Estimate {
	e := f.solution.Term(colSlope)
	for _, m := range f.moved {
		if d := m.sign * (m.solution.Beta[colSlope] - e.Value); math.Abs(d) > math.Abs(e.Common[m.name]) {
			e = e.With(m.name, d-e.Common[m.name])
		}
	}
	return e
}

// solve fits the rows. The amplitude's own doubt enters each row as doubt of
// the rate, which needs the answer: a few rounds settle it, unless f has them
// already.
func solve(f fitted) (fitted, error) {
	rounds := 1
	if f.own == nil {
		rounds = 5
		f.own = make([]float64, len(f.readings))
		for i, r := range f.readings {
			f.own[i] = max(r.Rate.Own, leastDoubt)
		}
	}
	for n := range rounds {
		s, err := estimate.Fit(f.rows())
		if err != nil {
			return f, err
		}
		f.solution = s
		if n < rounds-1 {
			f.weigh()
		}
	}
	if f.solution.Free > 0 {
		f.scatter = math.Sqrt(f.solution.ChiSquare / float64(f.solution.Free))
		f.solution = f.solution.Widened(max(1, f.scatter))
	}
	return f, nil
}

// poise and spring are the pairs of components of the two waves.
func (f fitted) poise() pair  { return pair{f.solution, colX, f.moved} }
func (f fitted) spring() pair { return pair{f.solution, colP, f.moved} }

func (f fitted) columns() int {
	if f.pull {
		return colR + 1
	}
	return colY + 1
}

// rows are the readings, then what is believed beforehand.
func (f fitted) rows() []estimate.Row {
	var rows []estimate.Row
	for i, r := range f.readings {
		y := r.Rate
		y.Own = f.own[i]
		rows = append(rows, estimate.Row{X: f.x(r), Y: y})
	}
	return append(rows, f.belief(colSlope, slopePrior), f.belief(colFlat, flatPrior))
}

// belief is the row that holds a parameter near zero.
func (f fitted) belief(col int, u95 float64) estimate.Row {
	x := make([]float64, f.columns())
	x[col] = 1
	return estimate.Row{X: x, Y: estimate.New(0, u95)}
}

func (f fitted) x(r Reading) []float64 {
	x := make([]float64, f.columns())
	x[colLevel], x[colSlope] = 1, r.Amplitude.Value-f.middle
	if r.Position.Flat() {
		x[colFlat] = 1
		return x
	}
	sin, cos := math.Sincos(r.Position.Lambda().Radians())
	e := float64(balance.PoiseEffect(unit.Degrees(r.Amplitude.Value)))
	x[colX], x[colY] = e*cos, e*sin
	if f.pull {
		x[colP], x[colR] = cos, sin
	}
	return x
}

// weigh sets each reading's doubt from its rate's and its amplitude's.
func (f fitted) weigh() {
	for i, r := range f.readings {
		g := f.solution.Beta[colSlope]
		if r.Position.Upright() {
			sin, cos := math.Sincos(r.Position.Lambda().Radians())
			wave := f.solution.Beta[colX]*cos + f.solution.Beta[colY]*sin
			g += wave * balance.PoiseEffectSlope(unit.Degrees(r.Amplitude.Value))
		}
		f.own[i] = max(math.Hypot(r.Rate.Own, g*r.Amplitude.Own), leastDoubt)
	}
}

// rests is what the fit leaves over of each upright reading.
func (f fitted) rests() []Rest {
	var out []Rest
	for i, r := range f.readings {
		if r.Position.Upright() {
			left := r.Rate.Value - f.solution.Combine(f.x(r)).Value
			out = append(out, Rest{Position: r.Position, Rate: estimate.New(left, f.own[i])})
		}
	}
	return out
}

func warnings(rs []Reading, f fitted) []string {
	var w []string
	blind, upright := 0, 0
	for _, r := range rs {
		if r.Position.Upright() {
			upright++
			if a := r.Amplitude.Value; a > blindFrom && a < blindTo {
				blind++
			}
		}
	}
	if blind > 0 {
		w = append(w, fmt.Sprintf("%d of %d upright readings swing between 200° and 240°, where want of poise hardly touches the rate: hear them again at about 150°", blind, upright))
	}
	if !f.pull {
		w = append(w, "at one amplitude the hairspring's own pull looks like want of poise: a second round of upright positions at a swing that differs much tells them apart")
	}
	if f.solution.Free < 1 {
		w = append(w, "no more readings than unknowns: nothing is left over to check the fit by")
	}
	return w
}
