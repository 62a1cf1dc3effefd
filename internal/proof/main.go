// Command proof measures how true the readings are: it renders many simulated
// hearings of every kind, measures each as a file would be, and sets the
// readings beside the truth.
//
//	go run ./internal/proof -n 300            every kind, as a table
//	go run ./internal/proof -n 40 -kinds fair,messy -seconds 30
//	go run ./internal/proof -noise 3000       wrong swings at any noise
//	go run ./internal/proof -falling 40       run-downs by windows of 5 s
//	go run ./internal/proof -two 40           two watches in one sound
//	go run ./internal/proof -alone 40         one watch, and another told
//	go run ./internal/proof -swing 40         waves of the swing, and none
//	go run ./internal/proof -limits 200       beat rates, the least-squares bound
//	go run ./internal/proof -refused 40       sounds that are no watch
//
// The seeds begin at -seed: seeds 1 to 999 were seen while the engine was
// made, later ones were not.
package main

import (
	"context"
	"flag"
	"fmt"
	"math"
	"os"
	"runtime"
	"sort"
	"strings"
	"sync"

	"beatwright/measure"
	"beatwright/reading"
	"beatwright/sound"
	"beatwright/synth"
	"beatwright/unit"
)

type outcome struct {
	kind string
	seed uint64
	s    synth.Scene
	t    synth.Truth
	r    reading.Reading
}

func main() {
	n := flag.Int("n", 40, "hearings of each kind")
	seed := flag.Uint64("seed", 1000, "first seed")
	kinds := flag.String("kinds", "", "kinds, comma between; empty: all")
	secs := flag.Float64("seconds", 30, "length of a hearing, s")
	noise := flag.Int("noise", 0, "instead: so many hearings over all noise, count wrong swings")
	twoN := flag.Int("two", 0, "instead: so many hearings of two watches for each level and beat rate")
	fallN := flag.Int("falling", 0, "instead: so many run-downs, read by windows of 5 s")
	aloneN := flag.Int("alone", 0, "instead: so many hearings of one watch of each kind, count those in which another is told")
	swungN := flag.Int("swing", 0, "instead: so many hearings of each set with and without a wave of the swing")
	limitsN := flag.Int("limits", 0, "instead: so many hearings for each of the limits")
	refusedN := flag.Int("refused", 0, "instead: so many hearings of each sound that is no watch")
	sets := flag.String("sets", "", "beginnings of the names of such sets, semicolon between; empty: all")
	verbose := flag.Bool("v", false, "print every hearing")
	flag.Parse()
	if *fallN > 0 {
		falling(os.Stdout, *fallN, *seed, 5, *verbose)
		return
	}
	if *twoN > 0 {
		two(os.Stdout, *twoN, *seed, *secs, *verbose)
		return
	}
	if *swungN > 0 {
		swings(os.Stdout, *sets, *swungN, *seed, *verbose)
		return
	}
	if *limitsN > 0 {
		limits(os.Stdout, *limitsN, *seed, *secs)
		return
	}
	if *refusedN > 0 {
		refused(os.Stdout, *refusedN, *seed, *verbose)
		return
	}
	var ks []synth.Kind
	for _, k := range synth.Kinds() {
		if *kinds == "" || strings.Contains(","+*kinds+",", ","+k.Name+",") {
			ks = append(ks, k)
		}
	}
	if *aloneN > 0 {
		alone(os.Stdout, ks, *aloneN, *seed, *secs)
		return
	}
	count := *n
	if *noise > 0 {
		count = (*noise + len(ks) - 1) / len(ks)
	}
	out := run(ks, count, *seed, *secs, *noise > 0)
	if *verbose {
		for _, o := range out {
			fmt.Println(o.line())
		}
	}
	table(os.Stdout, ks, out)
}

// run renders and measures on all cores; the order of the answers is that of
// kinds and seeds.
func run(ks []synth.Kind, n int, seed uint64, secs float64, anyNoise bool) []outcome {
	return each(len(ks)*n, func(i int) outcome { return one(ks[i/n], seed+uint64(i%n), secs, anyNoise) })
}

// each does a job for 0 to n−1 on all cores.
func each(n int, do func(i int) outcome) []outcome {
	out := make([]outcome, n)
	jobs := make(chan int)
	var wg sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			for i := range jobs {
				out[i] = do(i)
			}
		})
	}
	for i := range out {
		jobs <- i
	}
	close(jobs)
	wg.Wait()
	return out
}

// one renders one hearing. With anyNoise the noise is set anew, from clean to
// drowned.
func one(k synth.Kind, seed uint64, secs float64, anyNoise bool) outcome {
	s := k.Scene(seed)
	if s.Duration == 0 || secs != 30 {
		s.Duration = unit.Seconds(secs)
	}
	if anyNoise {
		level := unit.Decibels(-5 + 50*math.Mod(float64(seed)*0.6180339887, 1))
		if len(s.Noise) == 0 {
			s.Noise = []synth.Noise{{}}
		}
		s.Noise[0].SNR = level
	}
	return hearScene(k.Name, seed, s)
}

// hearScene renders a scene and measures it.
func hearScene(name string, seed uint64, s synth.Scene) outcome {
	x, truth, err := synth.Render(s)
	if err != nil {
		fmt.Fprintln(os.Stderr, "proof:", err)
		os.Exit(1)
	}
	o := outcome{kind: name, seed: seed, s: s, t: truth}
	var opt measure.Options
	if s.Watch != nil {
		opt.Lift = &s.Watch.Lift
	}
	src := &sound.Samples{Of: sound.Format{Rate: truth.Scene.Rate, Channels: max(1, len(truth.Scene.Channels)), Kind: "simulated", Frames: int64(len(x)) / int64(max(1, len(truth.Scene.Channels)))}, Data: x}
	err = measure.Sound(context.Background(), name, src, opt, func(r measure.Result) error {
		o.r = r.Reading
		return nil
	})
	if err != nil {
		fmt.Fprintln(os.Stderr, "proof:", err)
		os.Exit(1)
	}
	return o
}

func (o outcome) line() string {
	id := fmt.Sprintf("%s %d", o.kind, o.seed)
	w := o.r.Watch
	if w == nil {
		return fmt.Sprintf("%-16s vph %.0f A %.0f NOT HEARD %s", id, o.s.Watch.BeatsPerHour, o.t.Process.Amplitude, o.r.Refusal.Why)
	}
	t := o.truth()
	a := "-"
	if w.Amplitude.Value != nil {
		a = fmt.Sprintf("%.1f", *w.Amplitude.Value)
		if w.Amplitude.U95 != nil {
			a += fmt.Sprintf(" ± %.1f", *w.Amplitude.U95)
		}
	}
	rate, u := math.NaN(), math.NaN()
	if w.Rate != nil {
		rate, u = w.Rate.Value, w.Rate.U95Statistical
	}
	e, ue := math.NaN(), math.NaN()
	if w.BeatError != nil {
		e, ue = w.BeatError.Value, w.BeatError.U95
		t.BeatError = t.BeatErrorByDrop
		if w.BeatError.By == "unlocking" {
			t.BeatError = t.BeatErrorByUnlocking
		}
	}
	return fmt.Sprintf("%-16s vph %.0f rate err %7.3f (proc %7.3f) u %.3f  e %.3f±%.3f true %.3f  A %s %s true %.1f [%s] ch=%d n=%d %.1f-%.1f",
		id, o.s.Watch.BeatsPerHour, rate-float64(t.Rate), rate-float64(o.t.Process.RecordedRate), u, e, ue, float64(t.BeatError), w.Amplitude.Standing, a, float64(t.Amplitude), w.Amplitude.Why, len(w.Changes), w.Beats, float64(w.From), float64(w.To))
}

func quantile(x []float64, q float64) float64 {
	if len(x) == 0 {
		return math.NaN()
	}
	s := append([]float64(nil), x...)
	sort.Float64s(s)
	return s[min(len(s)-1, int(q*float64(len(s))))]
}
