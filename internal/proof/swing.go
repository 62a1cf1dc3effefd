package main

import (
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"strings"

	"beatwright/reading"
	"beatwright/synth"
	"beatwright/unit"
)

// swung is a set of hearings to look for waves of the swing in.
type swung struct {
	name    string
	kind    string
	seconds unit.Seconds
	period  unit.Seconds // of the wave made, 0 for none
	peak    unit.Degrees
	course  string // of the swing, empty as the kind has it
}

// swungSets are those without a wave, with a swing that drifts, settles or wanders
// among them, and those with one.
var swungSets = []swung{
	{name: "fair, 30 s, none", kind: "fair", seconds: 30},
	{name: "tired, 30 s, none", kind: "tired", seconds: 30},
	{name: "messy, 30 s, none", kind: "messy", seconds: 30},
	{name: "drifting, 30 s, none", kind: "drift", seconds: 30},
	{name: "fair, 60 s, none", kind: "fair", seconds: 60},
	{name: "fair, 180 s, none", kind: "fair", seconds: 180},
	{name: "tired, 60 s, none", kind: "tired", seconds: 60},
	{name: "messy, 60 s, none", kind: "messy", seconds: 60},
	{name: "tired, 180 s, none", kind: "tired", seconds: 180},
	{name: "messy, 180 s, none", kind: "messy", seconds: 180},
	{name: "drifting, 60 s, none", kind: "drift", seconds: 60},
	{name: "settling, 60 s, none", kind: "fair", seconds: 60, course: synth.Settling},
	{name: "settling, 180 s, none", kind: "fair", seconds: 180, course: synth.Settling},
	{name: "falling, 180 s, none", kind: "fair", seconds: 180, course: synth.Linear},
	{name: "wandering, 180 s, none", kind: "fair", seconds: 180, course: synth.Points},
	{name: "fair, 180 s, 60 s ± 4°", kind: "fair", seconds: 180, period: 60, peak: 4},
	{name: "messy, 180 s, 60 s ± 4°", kind: "messy", seconds: 180, period: 60, peak: 4},
	{name: "tired, 180 s, 60 s ± 4°", kind: "tired", seconds: 180, period: 60, peak: 4},
	{name: "settling, 180 s, 60 s ± 4°", kind: "fair", seconds: 180, period: 60, peak: 4, course: synth.Settling},
	{name: "fair, 60 s, 5–6 s ± 3°", kind: "fair", seconds: 60, period: 5, peak: 3},
	{name: "messy, 60 s, 5–6 s ± 3°", kind: "messy", seconds: 60, period: 5, peak: 3},
	{name: "tired, 60 s, 5–6 s ± 3°", kind: "tired", seconds: 60, period: 5, peak: 3},
	{name: "fair, 60 s, 5–6 s ± 1°", kind: "fair", seconds: 60, period: 5, peak: 1},
	{name: "fair, 30 min, 450 s ± 4°", kind: "fair", seconds: 1800, period: 450, peak: 4},
}

// scene is one of the set's.
func (x swung) scene(seed uint64) synth.Scene {
	k, err := synth.ParseKind(x.kind)
	if err != nil {
		panic("proof: " + err.Error())
	}
	s := k.Scene(seed)
	s.Duration = x.seconds
	w := s.Watch
	draw := func(i uint64) float64 { return math.Mod(float64(seed+7*i)*0.6180339887, 1) }
	start := max(w.Swing.Start, 120)
	switch x.course {
	case synth.Settling:
		w.Swing = synth.Swing{Start: start, End: start + unit.Degrees(-40+80*draw(1)), Course: synth.Settling, Over: unit.Seconds(14 + 14*draw(2))}
		w.Swing.End = max(100, min(320, w.Swing.End))
	case synth.Linear:
		w.Swing = synth.Swing{Start: start, End: start - 15, Course: synth.Linear, Over: x.seconds}
	case synth.Points:
		w.Swing = synth.Swing{Start: start, Course: synth.Points, Points: wandering(start, x.seconds, seed)}
	}
	if x.period > 0 {
		p := x.period
		if p < 10 {
			p += unit.Seconds(draw(3))
		}
		w.Waves = append(w.Waves, synth.Wave{Period: p, Swing: x.peak, Phase: 2 * math.Pi * draw(4)})
	}
	return s
}

// wandering is a swing that takes ± 2° by chance, with the memory of 20 s that a
// balance has.
func wandering(start unit.Degrees, seconds unit.Seconds, seed uint64) []synth.SwingPoint {
	const memory, rms = 0.95, 2.0 // by the second
	var out []synth.SwingPoint
	rng := normals(seed)
	a := rms * rng.NormFloat64()
	for t := unit.Seconds(0); t <= seconds; t++ {
		out = append(out, synth.SwingPoint{At: t, Amplitude: start + unit.Degrees(a)})
		a = memory*a + math.Sqrt(1-memory*memory)*rms*rng.NormFloat64()
	}
	return out
}

// swungTally is what became of one set.
type swungTally struct {
	measured, looked, told, right, covers int
	off, u95, period                      []float64
}

func (t *swungTally) add(x swung, o outcome) {
	w := o.r.Watch
	if w == nil || w.Amplitude.Standing != reading.Measured {
		return
	}
	t.measured++
	if w.AmplitudePeriodic == nil {
		return
	}
	t.looked++
	if len(w.AmplitudePeriodic) > 0 {
		t.told++
	}
	if x.period == 0 {
		return
	}
	made := o.s.Watch.Waves[len(o.s.Watch.Waves)-1]
	for _, a := range w.AmplitudePeriodic {
		if math.Abs(float64(a.Period/made.Period)-1) > 0.15 {
			continue
		}
		t.right++
		d := a.PeakDeg - float64(made.Swing)
		t.off, t.u95 = append(t.off, math.Abs(d)), append(t.u95, a.U95)
		if math.Abs(d) <= a.U95 {
			t.covers++
		}
		t.period = append(t.period, 100*math.Abs(float64(a.Period/made.Period)-1))
		return
	}
}

// swings measures the waves of the swing and prints a table.
func swings(w io.Writer, only string, n int, seed uint64, verbose bool) {
	fmt.Fprintln(w, "| set | n | swing measured | looked for | told | the wave made | size off, °: median · 90 % | u95 median | covers | period off, 90 % |")
	fmt.Fprintln(w, "|---|---|---|---|---|---|---|---|---|---|")
	for _, x := range swungSets {
		if only != "" && !within(only, x.name) {
			continue
		}
		var t swungTally
		for _, o := range each(n, func(i int) outcome { return hearScene(x.name, seed+uint64(i), x.scene(seed+uint64(i))) }) {
			t.add(x, o)
			if verbose {
				fmt.Fprintln(w, o.swungLine())
			}
		}
		fmt.Fprintf(w, "| %s | %d | %d | %d | %d | %d | %.2f · %.2f | %.2f | %d | %.1f %% |\n", x.name, n, t.measured, t.looked, t.told, t.right,
			quantile(t.off, 0.5), quantile(t.off, 0.9), quantile(t.u95, 0.5), t.covers, quantile(t.period, 0.9))
	}
}

func (o outcome) swungLine() string {
	if o.r.Watch == nil || o.r.Watch.Amplitude.Value == nil {
		return fmt.Sprintf("%s %d: not heard", o.kind, o.seed)
	}
	return fmt.Sprintf("%s %d: vph %.0f %s %.1f %+v", o.kind, o.seed, o.s.Watch.BeatsPerHour, o.r.Watch.Amplitude.Standing, *o.r.Watch.Amplitude.Value-float64(o.truth().Amplitude), o.r.Watch.AmplitudePeriodic)
}

func within(only, name string) bool {
	for _, o := range strings.Split(only, ";") {
		if o != "" && strings.HasPrefix(name, o) {
			return true
		}
	}
	return false
}

func normals(seed uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, 11)) }
