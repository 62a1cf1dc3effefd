package main

import (
	"fmt"
	"io"
	"math"

	"beatwright/reading"
	"beatwright/synth"
)

// tally gathers one kind.
type tally struct {
	n, heard, rightRate                  int
	rate, rateU, beatError, errU, swing  []float64
	swingU                               []float64
	covRate, covErr, covSwing            int
	measured, atMost, unresolved, falseB int
	wrong                                int // measured, off by more than 10°
	shown, shownWrong                    int // the same, whatever the beat rate found
	even, waves                          int // made without a wave in the beats; and one told
}

func tallyOf(kind string, out []outcome) (t tally) {
	for _, o := range out {
		if o.kind == kind {
			t.add(o)
		}
	}
	return t
}

func (t *tally) add(o outcome) {
	t.n++
	w := o.r.Watch
	if w == nil {
		return
	}
	t.heard++
	true_ := o.truth()
	if x := o.s.Watch; len(x.Waves)+len(x.ToothErrors) == 0 {
		t.even++
		if len(w.Periodic) > 0 {
			t.waves++
		}
	}
	if a := w.Amplitude; a.Standing == reading.Measured {
		t.shown++
		if math.Abs(*a.Value-float64(true_.Amplitude)) > 10 {
			t.shownWrong++
		}
	}
	if heard := 3.6e6 / w.BeatTime.Value; math.Abs(heard/float64(o.s.Watch.BeatsPerHour)-1) < 0.015 {
		t.rightRate++
	} else {
		return
	}
	// By the beat itself: a rate between the common ones has no nominal.
	sampled := 86400 * (float64(true_.Beat)*1e3/w.BeatTime.Value - 1)
	process := 86400 * (float64(o.processBeat())*1e3/w.BeatTime.Value - 1)
	u := 86400 * w.BeatTime.U95Statistical / w.BeatTime.Value
	t.rate = append(t.rate, math.Abs(sampled))
	t.rateU = append(t.rateU, u)
	if math.Abs(process) <= u {
		t.covRate++
	}
	if e := w.BeatError; e != nil {
		want := true_.BeatErrorByDrop
		if e.By == "unlocking" {
			want = true_.BeatErrorByUnlocking
		}
		d := math.Abs(e.Value - float64(want))
		t.beatError = append(t.beatError, d)
		t.errU = append(t.errU, e.U95)
		if d <= e.U95 {
			t.covErr++
		}
	}
	t.swingOf(w.Amplitude, float64(true_.Amplitude), float64(true_.Least))
}

// processBeat is the mean beat of the process on the file's time.
func (o outcome) processBeat() float64 {
	return 3600 / float64(o.s.Watch.BeatsPerHour) / (1 + float64(o.t.Process.RecordedRate)/86400)
}

func (t *tally) swingOf(a reading.Amplitude, mean, least float64) {
	switch a.Standing {
	case reading.Measured:
		t.measured++
		d := math.Abs(*a.Value - mean)
		t.swing = append(t.swing, d)
		t.swingU = append(t.swingU, *a.U95)
		if d <= *a.U95 {
			t.covSwing++
		}
		if d > 10 {
			t.wrong++
		}
	case reading.AtMost:
		t.atMost++
		if *a.Value < mean-1 {
			t.falseB++
		}
	default:
		t.unresolved++
	}
}

func pct(k, n int) string {
	if n == 0 {
		return "–"
	}
	return fmt.Sprintf("%.0f %%", 100*float64(k)/float64(n))
}

func table(w io.Writer, ks []synth.Kind, out []outcome) {
	fmt.Fprintln(w, "| kind | n | beat rate right | rate error, s/d: median · 95 % | u95 median | covers | beat error, ms: median · 95 % | u95 | covers | swing measured · at most · not | swing error, °: median · 90 % · worst | u95 median | covers | off by > 10° | false bound |")
	fmt.Fprintln(w, "|---|---|---|---|---|---|---|---|---|---|---|---|---|---|---|")
	var all tally
	for _, k := range ks {
		t := tallyOf(k.Name, out)
		all.heard, all.even, all.waves = all.heard+t.heard, all.even+t.even, all.waves+t.waves
		all.shown, all.shownWrong = all.shown+t.shown, all.shownWrong+t.shownWrong
		fmt.Fprintf(w, "| %s | %d | %s | %.3f · %.3f | %.3f | %s | %.3f · %.3f | %.3f | %s | %s · %s · %s | %.2f · %.2f · %.1f | %.1f | %s | %d | %d |\n",
			k.Name, t.n, pct(t.rightRate, t.n),
			quantile(t.rate, 0.5), quantile(t.rate, 0.95), quantile(t.rateU, 0.5), pct(t.covRate, len(t.rate)),
			quantile(t.beatError, 0.5), quantile(t.beatError, 0.95), quantile(t.errU, 0.5), pct(t.covErr, len(t.beatError)),
			pct(t.measured, t.rightRate), pct(t.atMost, t.rightRate), pct(t.unresolved, t.rightRate),
			quantile(t.swing, 0.5), quantile(t.swing, 0.9), quantile(t.swing, 1), quantile(t.swingU, 0.5), pct(t.covSwing, t.measured), t.wrong, t.falseB)
	}
	fmt.Fprintf(w, "\nOf %d hearings %d are heard; whatever the beat rate found, %d swings are shown as measured, %d of them off by more than 10°. Of %d made without a wave of the train %d are said to have one.\n",
		len(out), all.heard, all.shown, all.shownWrong, all.even, all.waves)
}
