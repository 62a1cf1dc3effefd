package main

import (
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"slices"

	"beatwright/balance"
	"beatwright/reading"
	"beatwright/synth"
	"beatwright/unit"
)

// limits sets n hearings of each sort against what no table by kinds shows: the
// beat rates, how near the rate comes to what any reading of such beats could
// reach, and the time from unlocking to drop.
func limits(w io.Writer, n int, seed uint64, secs float64) {
	fair, err := synth.ParseKind("fair")
	if err != nil {
		panic("proof: " + err.Error())
	}
	beatRates(w, fair, n, seed, secs)
	bound(w, fair, n, seed, secs)
}

// beatRates draws the common beat rates by turns and as many between them, swings
// from 60 to 315° and beat errors up to 4 ms.
func beatRates(w io.Writer, fair synth.Kind, n int, seed uint64, secs float64) {
	common := []unit.BeatsPerHour{14400, 16200, 17280, 18000, 19800, 21600, 25200, 28800, 36000}
	for _, set := range []string{"common", "free"} {
		out := each(n, func(i int) outcome {
			at := seed + uint64(i)
			rng := rand.New(rand.NewPCG(at, 7))
			s := fair.Scene(at)
			s.Duration = unit.Seconds(secs)
			if s.Watch.BeatsPerHour = common[i%len(common)]; set == "free" {
				s.Watch.BeatsPerHour = unit.BeatsPerHour(7000 * math.Pow(40.0/7, rng.Float64()))
			}
			s.Watch.Swing = synth.Swing{Start: unit.Degrees(60 + 255*rng.Float64())}
			s.Watch.BeatError = unit.Milliseconds(-4 + 8*rng.Float64())
			return hearScene(set, at, s)
		})
		t := tallyOf(set, out)
		fmt.Fprintf(w, "beat rate, %s: right in %d of %d, not heard %d\n", set, t.rightRate, t.n, t.n-t.heard)
	}
}

// bound sets the rate against the least-squares bound: the standard deviation of
// the slope through as many beats whose middles scatter as they were made to, by
// the centre's variance and a third of the events' mean one. It holds for beats that scatter
// each on its own about a swing that stays.
func bound(w io.Writer, fair synth.Kind, n int, seed uint64, secs float64) {
	out := each(n, func(i int) outcome {
		s := fair.Scene(seed + uint64(i))
		s.Duration = unit.Seconds(secs)
		s.Watch.Swing, s.Watch.Jitter.Slow = synth.Swing{Start: s.Watch.Swing.Start}, 0
		return hearScene("bound", seed+uint64(i), s)
	})
	var times, off, u []float64
	for _, o := range out {
		x := o.r.Watch
		if x == nil || x.Rate == nil {
			continue
		}
		u = append(u, x.Rate.U95Statistical)
		j := o.s.Watch.Jitter
		event := math.Sqrt(float64(j.Unlocking*j.Unlocking+j.Impulse*j.Impulse+j.Drop*j.Drop) / 3)
		sd := math.Hypot(float64(j.Centre), event/math.Sqrt(3)) / 1e3
		beat, beats := o.processBeat(), float64(x.Beats)
		least := 86400 * sd / beat * math.Sqrt(12/(beats*beats*beats))
		times = append(times, 86400*(beat*1e3/x.BeatTime.Value-1)/least)
		if a := x.Amplitude; a.Standing == reading.Measured {
			between := func(swing float64) float64 {
				return float64(balance.Interval(o.s.Watch.Lift, unit.Degrees(swing), unit.Seconds(2*beat)))
			}
			off = append(off, 1e6*math.Abs(between(*a.Value)-between(float64(o.truth().Amplitude))))
		}
	}
	var squares float64
	for i, v := range times {
		squares += v * v
		times[i] = math.Abs(v)
	}
	fmt.Fprintf(w, "rate, steady fair watches: off by %.2f times the least-squares bound (rms of %d), %.2f by the median; u95 %.3f s/d in the median, %.3f at 95 %%\n",
		math.Sqrt(squares/float64(len(times))), len(times), quantile(times, 0.5)/0.6745, quantile(u, 0.5), quantile(u, 0.95))
	fmt.Fprintf(w, "unlocking to drop: off by %.0f µs in the median, %.0f at 90 %% (%d measured)\n", quantile(off, 0.5), quantile(off, 0.9), len(off))
}

// refused counts what is heard in n sounds of each sort without a watch.
func refused(w io.Writer, n int, seed uint64, verbose bool) {
	for _, k := range synth.Refusals() {
		out := each(n, func(i int) outcome {
			s := k.Scene(seed + uint64(i))
			s.Duration = 30
			return hearScene(k.Name, seed+uint64(i), s)
		})
		heard, other := 0, 0
		for _, o := range out {
			switch {
			case o.r.Watch != nil:
				heard++
				if x := o.r.Watch; verbose {
					fmt.Fprintf(w, "%s %d heard from %.1f to %.1f s as %.2f ms ± %.2f, %d beats and %d rejected, %.0f dB\n",
						k.Name, o.seed, float64(x.From), float64(x.To), x.BeatTime.Value, x.BeatTime.U95Statistical, x.Beats, x.BeatsRejected, x.Signal.SNR)
				}
			case !slices.Contains(k.Refuse, string(o.r.Refusal.Code)):
				other++
			}
		}
		fmt.Fprintf(w, "no watch, %s: %d of %d heard as one, %d refused as something else\n", k.Name, heard, n, other)
	}
}
