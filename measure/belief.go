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
// line than they had to for being found.
const (
	// alikeScores is how far the likeness of beats scatters, as a share of itself,
	// where they stand clear of the noise.
	alikeScores = 0.15
	// uneven is the scatter about the line, as a share of a beat, over that of any
	// watch heard clearly and of the old clocks at hand (0.0039), and unevenNext that
	// from one beat to the next: a swing that runs down bends the line, and scatters
	// little about the bend.
	uneven, unevenNext = 0.0041, 0.0025
	// reachSec, or reachShare of a beat, is how far from its place a beat may lie
	// when the engine first locks on to what it takes for beats.
	reachSec, reachShare = 0.003, 0.04
	// leastOdds is the least by which beats as near to the line must be unlikely
	// for chance, as a natural logarithm. Simulated noise reaches 2.
	leastOdds = 6
	// many beats averaged show a strike where there is one; a hum's have none.
	many = 100
	// judged is how many beats are judged together, and blocks how many such lots
	// of a long hearing: any may show that it is a watch's.
	judged, blocks = 300, 5
)

// doubt tells why the stretch st, which v shows, is not believed to be a watch's;
// nil if it is. Of a window the whole stretch is judged that it is of.
func (h *hearing) doubt(st stretch, v view, lift unit.Degrees) *reading.Refusal {
	if h.judged == nil {
		all, _ := stretches(h.engine.Runs(), 0, unit.Seconds(math.Inf(1)))
		h.judge(all)
	}
	for _, j := range h.judged {
		if n := len(j.of.beats); st.beats[0].At >= j.of.beats[0].At && st.beats[0].At <= j.of.beats[n-1].At {
			if !j.done {
				j.done = true
				if n > len(st.beats) {
					v = look(j.of, lift)
				}
				j.why = j.of.doubt(v)
			}
			return j.why
		}
	}
	return st.doubt(v)
}

// judge has all stretches of the hearing judged when they are asked for.
func (h *hearing) judge(all []stretch) {
	h.judged = make([]*judgement, len(all))
	for i, s := range all {
		h.judged[i] = &judgement{of: s}
	}
}

// judgement is why a stretch is not believed to be a watch's, nil if it is, once it
// is done.
type judgement struct {
	of   stretch
	done bool
	why  *reading.Refusal
}

// doubt tells it from a stretch alone.
func (s stretch) doubt(v view) *reading.Refusal {
	if s.kept() >= many && v.faint() && !v.strikes() {
		return &reading.Refusal{Code: reading.Periodic, Why: "a sound that comes evenly, but no strike in it, as in a hum: move the pickup away from transformers and lamps, and check its screen"}
	}
	single := s.beats
	for i, b := range s.beats {
		if b.Count() > 1 {
			single = s.beats[i+1:]
		}
	}
	n := max(1, min(blocks, len(single)/judged))
	var why *reading.Refusal
	for i := range n {
		lot := single[i*len(single)/n : (i+1)*len(single)/n]
		if why = doubtOf(lot[:min(len(lot), judged)]); why == nil {
			return nil
		}
	}
	return why
}

// faint tells whether the sides have averaged sounds, and these rise little from the
// floor.
func (v view) faint() bool {
	for _, m := range v.m {
		if len(m.s.z) == 0 || m.s.top > softTop {
			return false
		}
	}
	return true
}

// doubtOf tells it from some hundred beats in a row.
func doubtOf(bs []beat.Beat) *reading.Refusal {
	var scores []float64
	for _, b := range bs {
		if b.Why == "" {
			scores = append(scores, b.Score)
		}
	}
	chance := &reading.Refusal{Code: reading.Noise, Why: "sound, and what may be a beat in it, but no more evenly than chance would have it: press the pickup to the case, away from other noise, and listen for 30 s"}
	if len(scores) < 4 {
		return chance
	}
	p := timing(bs, func(float64) float64 { return 0 }, 0, 0)
	if stat.PopStdDev(scores, nil) > alikeScores*dsp.Mean(scores) {
		if oddsOfChance(p) > -leastOdds {
			return chance
		}
		return nil
	}
	if p.line.Scale/p.beat > uneven && scatterNext(bs)/p.beat > unevenNext {
		return &reading.Refusal{Code: reading.Periodic, Why: "a sound that comes again and again, but less evenly than the beats of any watch, as an engine's or a rotor's does: if a watch lies on the pickup, quieten that and listen again"}
	}
	return nil
}

// oddsOfChance is the logarithm of the chance, or rather of a bound of it
// (Chernoff's, for the binomial), that of so many beats looked for, each to be
// anywhere within the reach, so many fall as near to the line as they do.
func oddsOfChance(p pace) float64 {
	const sds = 2.5 // within which nearly all beats lie that scatter evenly
	within := sds * p.line.Scale
	count := 0
	for i, b := range p.beats {
		if b.Why == "" && math.Abs(p.resid[i]) <= within {
			count++
		}
	}
	near := within / math.Min(reachSec, reachShare*p.beat)
	n := float64(len(p.beats))
	kept := float64(count) / n
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
