package measure

import (
	"math"

	"gonum.org/v1/gonum/stat"

	"beatwright/beat"
	"beatwright/dsp"
	"beatwright/estimate"
	"beatwright/reading"
	"beatwright/unit"
)

// In half a minute of rain, of crackling or of plain noise some sounds fall
// evenly by chance, and with the freedom to choose period, phase and form they are
// found: of simulated sounds without a watch 2 % were taken for one, of rain 10 %,
// of a helicopter, whose blades do come evenly, 20 %. What tells them from a watch,
// tried on simulated sounds and real ones: a watch is even, to 0.15 % of a beat in 95
// of 100 hearings at any noise, to 0.4 % on old clocks; and where it is not loud
// enough for each beat to be as likely as the next, its beats fall nearer to the
// line than the reach in which they were looked for.
const (
	// alikeScores is how far the likeness of beats scatters, as a share of itself,
	// where they stand clear of the noise.
	alikeScores = 0.15
	// uneven is the scatter about the line, as a share of a beat, that no watch
	// heard clearly has, and unevenNext that from one beat to the next: a swing
	// that runs down bends the line, and scatters little about the bend.
	uneven, unevenNext = 0.0041, 0.0025
	// reachSec and reachShare of a beat is how far from its place a beat may be
	// found.
	reachSec, reachShare = 0.003, 0.04
	// leastOdds is the least by which beats as near to the line must be unlikely
	// for chance, as a natural logarithm. Simulated noise reaches 2.
	leastOdds = 6
	// many beats averaged show a strike where there is one; a hum's have none.
	many = 100
)

// doubt tells why a stretch is not believed to be a watch's; nil if it is.
func (h *hearing) doubt(st stretch, v view, p pace) *reading.Refusal {
	if p.kept >= many && v.faint() && !v.strikes() {
		return &reading.Refusal{Code: reading.Periodic, Why: "a sound that comes evenly, but no strike in it, as in a hum: move the pickup away from transformers and lamps, and check its screen"}
	}
	why := doubtOf(st, p)
	if why == nil {
		h.believed = true
	}
	if h.believed {
		return nil
	}
	// A window of a hearing that is a watch's as a whole is so too.
	all, _ := stretches(h.engine.Runs(), 0, unit.Seconds(math.Inf(1)))
	if whole, ok := longest(all); ok && len(whole.beats) > len(st.beats) {
		still := func(float64) float64 { return 0 }
		if doubtOf(whole, timing(whole.beats, still, 0, 0)) == nil {
			h.believed = true
			return nil
		}
	}
	return why
}

// faint tells whether the sides' averaged sounds rise little from the floor.
func (v view) faint() bool { return math.Max(v.m[0].s.top, v.m[1].s.top) < softTop }

// doubtOf tells it from one stretch alone.
func doubtOf(st stretch, p pace) *reading.Refusal {
	var scores []float64
	for _, b := range st.beats {
		if b.Why == "" {
			scores = append(scores, b.Score)
		}
	}
	scatter := p.line.Scale / p.beat
	if stat.PopStdDev(scores, nil) > alikeScores*dsp.Mean(scores) {
		if oddsOfChance(p) > -leastOdds {
			return &reading.Refusal{Code: reading.Noise, Why: "sound, and what may be a beat in it, but no more evenly than chance would have it: press the pickup to the case, away from other noise, and listen for 30 s"}
		}
		return nil
	}
	if scatter > uneven && scatterNext(st.beats)/p.beat > unevenNext {
		return &reading.Refusal{Code: reading.Periodic, Why: "a sound that comes again and again, but less evenly than the beats of any watch, as an engine's or a rotor's does"}
	}
	return nil
}

// oddsOfChance is the logarithm of the chance, or rather of a bound of it
// (Chernoff's, for the binomial), that of so many beats looked for, each within its
// reach, so many fall as near to the line as they do.
func oddsOfChance(p pace) float64 {
	const sds = 2.5 // within which beats that scatter evenly lie
	reach := math.Min(reachSec, reachShare*p.beat)
	near := sds * p.line.Scale / reach
	n := float64(counted(p.beats))
	kept := float64(p.kept) / n
	if near >= kept {
		return 0
	}
	odds := kept * math.Log(kept/near)
	if kept < 1 {
		odds += (1 - kept) * math.Log((1-kept)/(1-near))
	}
	return -n * odds
}

// scatterNext is the scatter of single beats by the second differences of one
// side's, s: what goes slowly does not enter. 0 where there are none.
func scatterNext(bs []beat.Beat) float64 {
	var d []float64
	var last [2][]beat.Beat
	for _, b := range bs {
		s := b.Side()
		if b.Why != "" || b.Count() > 1 {
			last[s] = nil
			continue
		}
		if k := len(last[s]); k > 0 && b.K-last[s][k-1].K != 2 {
			last[s] = nil
		}
		last[s] = append(last[s], b)
		if k := len(last[s]); k >= 3 {
			a := last[s][k-3:]
			d = append(d, math.Abs(float64(a[0].At-2*a[1].At+a[2].At)))
		}
	}
	if len(d) == 0 {
		return 0
	}
	const normal = 0.6745 // median of |x| of a normal deviate
	return estimate.Median(d) / normal / math.Sqrt(6)
}
