package main

import (
	"context"
	"fmt"
	"io"
	"math"
	"os"

	"beatwright/measure"
	"beatwright/reading"
	"beatwright/sound"
	"beatwright/synth"
	"beatwright/unit"
)

// window is one reading of a hearing by windows, beside the mean swing of its beats.
type window struct {
	r    reading.Reading
	want float64 // °
}

// falling reads n run-downs by windows of so many seconds and sets each window's
// swing beside the mean of the beats it is of.
func falling(w io.Writer, n int, seed uint64, every unit.Seconds, verbose bool) {
	k, err := synth.ParseKind("rundown")
	if err != nil {
		panic("proof: " + err.Error())
	}
	var off, u []float64
	var bounds, low, unresolved, unheard, held int
	for i := range n {
		for _, x := range windows(k.Scene(seed+uint64(i)), every) {
			if x.r.Watch == nil {
				unheard++
				continue
			}
			a := x.r.Watch.Amplitude
			switch a.Standing {
			case reading.Measured:
				d := math.Abs(*a.Value - x.want)
				off, u = append(off, d), append(u, *a.U95)
				if d <= *a.U95 {
					held++
				}
			case reading.AtMost:
				bounds++
				if *a.Value < x.want-1 {
					low++
				}
			default:
				unresolved++
			}
			if verbose {
				fmt.Fprintf(w, "%d %5.1f s %s true %.1f°\n", seed+uint64(i), float64(x.r.Watch.From), said(a), x.want)
			}
		}
	}
	fmt.Fprintf(w, "%d run-downs by windows of %g s: measured %d, off by %.2f° in the median, %.2f at 90 %%, %.1f at worst, u95 %.1f in the median, holds %s; at most %d, false %d; not told %d; not heard %d\n",
		n, float64(every), len(off), quantile(off, 0.5), quantile(off, 0.9), quantile(off, 1), quantile(u, 0.5), pct(held, len(off)), bounds, low, unresolved, unheard)
}

func said(a reading.Amplitude) string {
	switch {
	case a.Value == nil:
		return string(a.Standing)
	case a.U95 == nil:
		return fmt.Sprintf("at most %.1f°", *a.Value)
	}
	return fmt.Sprintf("%.1f ± %.1f°", *a.Value, *a.U95)
}

// windows renders a scene and reads it by windows.
func windows(s synth.Scene, every unit.Seconds) (out []window) {
	x, truth, err := synth.Render(s)
	if err != nil {
		fmt.Fprintln(os.Stderr, "proof:", err)
		os.Exit(1)
	}
	src := &sound.Samples{Of: sound.Format{Rate: s.Rate, Channels: 1, Kind: "simulated", Frames: int64(len(x))}, Data: x}
	err = measure.Sound(context.Background(), "", src, measure.Options{Lift: &s.Watch.Lift, Every: every}, func(r measure.Result) error {
		v := window{r: r.Reading}
		if r.Watch != nil {
			v.want = float64(outcome{s: s, t: truth, r: r.Reading}.truth().Amplitude)
		}
		out = append(out, v)
		return nil
	})
	if err != nil {
		fmt.Fprintln(os.Stderr, "proof:", err)
		os.Exit(1)
	}
	return out
}
