package beat

import (
	"math"

	"beatwright/dsp"
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

const (
	// A rhythm of its own must clear the scatter of the autocorrelation by this:
	// beside one watch of any kind simulated it reached 2, beside two 6 and more.
	ownRhythm = 4.0
	// Its folded sound must clear the noise by so many deviations.
	ownSound = 30.0
	// oneSound is below which likeness of its halves a folded period holds one
	// sound.
	oneSound = 0.15
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
	period, strength, ok = shortest(r, lo, hi, func(i int, scatter float64) bool {
		return r[i] >= 2*scatter && !x.ofOwnBeat(2*float64(i))
	}, func(p float64) bool { return !x.ofOwnBeat(2 * p) })
	return 2 * period, strength, ok
}

// ofOwnBeat tells whether a period, steps, is of the watch's own beat, within what
// slow changes of its sound could make of it.
func (x *rest) ofOwnBeat(p float64) bool {
	n := p / (x.T / 2)
	return math.Round(n) >= 1 && math.Abs(n-math.Round(n)) < 1.5e-3*n+3/x.T
}
