package main

import (
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"strings"

	"beatwright/reading"
	"beatwright/synth"
	"beatwright/unit"
)

// relation is how the second watch's beat rate stands to the first's.
type relation struct {
	name string
	set  func(rng *rand.Rand, first synth.Watch, second *synth.Watch)
}

// apart sets the second's beat rate as the first's, going lo to hi s/d
// otherwise.
func apart(lo, hi float64) func(rng *rand.Rand, first synth.Watch, second *synth.Watch) {
	return func(rng *rand.Rand, first synth.Watch, second *synth.Watch) {
		d := unit.SecondsPerDay(lo + (hi-lo)*rng.Float64())
		if rng.IntN(2) == 0 {
			d = -d
		}
		second.BeatsPerHour, second.Rate = first.BeatsPerHour, first.Rate+d
	}
}

func otherRate(rng *rand.Rand, first synth.Watch, second *synth.Watch) {
	common := []unit.BeatsPerHour{18000, 19800, 21600, 25200, 28800, 36000}
	for second.BeatsPerHour = first.BeatsPerHour; second.BeatsPerHour == first.BeatsPerHour; {
		second.BeatsPerHour = common[rng.IntN(len(common))]
	}
}

var relations = []relation{
	{"the same, 0–5 s/d apart", apart(0, 5)},
	{"the same, 5–20 s/d apart", apart(5, 20)},
	{"the same, 20–60 s/d apart", apart(20, 60)},
	{"another", otherRate},
}

// twoScene is a fair watch with another so many dB below it.
func twoScene(seed uint64, level unit.Decibels, r relation, secs float64) synth.Scene {
	k, err := synth.ParseKind("neighbour")
	if err != nil {
		panic("proof: " + err.Error())
	}
	s := k.Scene(seed)
	s.Duration = unit.Seconds(secs)
	s.Second.Level = level
	r.set(rand.New(rand.NewPCG(seed, 77)), *s.Watch, &s.Second.Watch)
	return s
}

// two measures n hearings of two watches for every level and relation.
func two(w io.Writer, n int, seed uint64, secs float64, verbose bool) {
	fmt.Fprintln(w, "| second's beat rate | level, dB | n | heard | said | measured | its rate off, s/d: median · worst | within u95 | rate error, s/d: median · 95 % | covers | beat error covers | swing measured | off by > 10° | covers | false bound |")
	fmt.Fprintln(w, "|---|---|---|---|---|---|---|---|---|---|---|---|---|---|---|")
	for _, r := range relations {
		for _, level := range []unit.Decibels{-6, -12, -20} {
			out := each(n, func(i int) outcome {
				return hearScene("two", seed+uint64(i), twoScene(seed+uint64(i), level, r, secs))
			})
			if verbose {
				for _, o := range out {
					fmt.Printf("%s %.0f: second %.0f/h at %+.1f s/d; %s; %s\n", r.name, float64(level), float64(o.s.Second.Watch.BeatsPerHour), float64(o.t.Second.RecordedRate), o.line(), o.warnings())
				}
			}
			twoRow(w, r.name, level, out)
		}
	}
}

func twoRow(w io.Writer, name string, level unit.Decibels, out []outcome) {
	t := tallyOf("two", out)
	said, measured, held := 0, 0, 0
	var off []float64
	for _, o := range out {
		if !o.told() {
			continue
		}
		said++
		if d, u, ok := o.secondOff(); ok {
			measured++
			off = append(off, d)
			if d <= u {
				held++
			}
		}
	}
	fmt.Fprintf(w, "| %s | %.0f | %d | %s | %s | %s | %.2f · %.2f | %s | %.3f · %.3f | %s | %s | %s | %d | %s | %d |\n",
		name, float64(level), t.n, pct(t.rightRate, t.n), pct(said, t.n), pct(measured, t.n),
		quantile(off, 0.5), quantile(off, 1), pct(held, measured),
		quantile(t.rate, 0.5), quantile(t.rate, 0.95), pct(t.covRate, len(t.rate)), pct(t.covErr, len(t.beatError)),
		pct(t.measured, t.rightRate), t.wrong, pct(t.covSwing, t.measured), t.falseB)
}

// told tells whether the reading says that another watch is heard.
func (o outcome) told() bool {
	if o.r.Watch == nil {
		return false
	}
	for _, c := range o.r.Watch.Changes {
		if c.What == reading.SecondWatch {
			return true
		}
	}
	return false
}

func (o outcome) warnings() string {
	if o.r.Watch == nil {
		return ""
	}
	return strings.Join(o.r.Watch.Warnings, "; ")
}

// secondOff is how far the second watch's rate is off, s/d, by its beat: one
// whose beats are told as half or twice as many is off.
func (o outcome) secondOff() (off, u95 float64, ok bool) {
	for _, x := range o.r.Watch.Others {
		if x.BeatTime == nil {
			continue
		}
		beat := 1e3 * float64(o.t.Second.Beat) * (1 + 1e-6*float64(o.s.ClockPPM))
		if math.Abs(o.r.Watch.BeatTime.Value/beat-1) < 0.015 && math.Abs(1e3*o.processBeat()/beat-1) > 0.015 {
			beat = 1e3 * o.processBeat() // the reading is of the second watch
		}
		return math.Abs(86400 * (beat/x.BeatTime.Value - 1)), 86400 * x.BeatTime.U95Statistical / x.BeatTime.Value, true
	}
	return math.NaN(), 0, false
}

// alone counts, over n hearings of one watch of every kind, those in which
// another was told.
func alone(w io.Writer, ks []synth.Kind, n int, seed uint64, secs float64) {
	fmt.Fprintln(w, "| kind | n | another watch told |")
	fmt.Fprintln(w, "|---|---|---|")
	all := 0
	for _, k := range ks {
		out := each(n, func(i int) outcome { return one(k, seed+uint64(i), secs, false) })
		told := 0
		for _, o := range out {
			if o.told() {
				told++
				fmt.Fprintln(os.Stderr, o.line(), o.warnings())
			}
		}
		all += told
		fmt.Fprintf(w, "| %s | %d | %d |\n", k.Name, n, told)
	}
	fmt.Fprintf(w, "| all | %d | %d |\n", n*len(ks), all)
}
