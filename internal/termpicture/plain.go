package main

import (
	"context"
	"errors"
	"io"
	"math"
	"slices"

	"beatwright/sound"
)

// The plain detector is what an afternoon makes, for comparison: the loudness
// of the sound's upper part, its peaks for drops, and before each of them, in a
// fixed window, the first place that clears a fixed threshold for the
// unlocking. The same as docs/compare/plain.py, which has a better filter.
const (
	smoothSec  = 0.0002
	windowSec  = 0.030 // before the drop
	threshold  = 4.0   // times the median loudness
	loudPart   = 0.6   // of the usual peak: a drop
	shortest   = 0.06  // s between beats
	longestSec = 0.25  // s, holds a beat
)

// plainSwing is the amplitude, degrees, that the plain detector finds in a file
// of one channel at a lift angle; NaN where it finds none.
func plainSwing(path string, lift float64) (float64, error) {
	r, err := sound.Open(context.Background(), path)
	if err != nil {
		return 0, err
	}
	defer r.Close()
	var x []float64
	buf := make([]float32, 1<<14)
	for {
		n, err := r.Read(buf)
		for _, v := range buf[:n] {
			x = append(x, float64(v))
		}
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return 0, err
		}
	}
	fs := float64(r.Format().Rate)
	return swingOf(upperLoudness(x, int(smoothSec*fs)), fs, lift), nil
}

// upperLoudness is the distance of every sample from the mean of the 0.4 ms
// about it, which keeps what lies above some 2 kHz, as its mean over n samples.
func upperLoudness(x []float64, n int) []float64 {
	slow := running(x, 2*n)
	for i := range slow {
		slow[i] = math.Abs(x[i] - slow[i])
	}
	return running(slow, n)
}

// running is the mean of the n samples about each.
func running(x []float64, n int) []float64 {
	sum := make([]float64, len(x)+1)
	for i, v := range x {
		sum[i+1] = sum[i] + v
	}
	out := make([]float64, len(x))
	for i := range out {
		lo, hi := max(0, i-n/2), min(len(x), i+n-n/2)
		out[i] = (sum[hi] - sum[lo]) / float64(hi-lo)
	}
	return out
}

// swingOf is λ/(2·sin(πt/T)) of the median t from first crossing to drop.
func swingOf(e []float64, fs, lift float64) float64 {
	drops := peaks(running(e, int(0.001*fs)), int(shortest*fs), fs)
	if len(drops) < 8 {
		return math.NaN()
	}
	beat := medianStep(drops)
	drops = peaks(e, int(0.7*beat), fs)
	floor := threshold * median(e)
	var gaps []float64
	for _, p := range drops {
		first, drop := -1, p
		for i := max(0, p-int(windowSec*fs)); i < p; i++ {
			if first < 0 && e[i] > floor {
				first = i
			}
			if e[i] < e[p]/2 {
				drop = i + 1
			}
		}
		if first >= 0 {
			gaps = append(gaps, float64(drop-first)/fs)
		}
	}
	if len(gaps) == 0 {
		return math.NaN()
	}
	return lift / (2 * math.Sin(math.Pi*median(gaps)/(2*beat/fs)))
}

// peaks are the places louder than all within apart, and than most of the usual
// peak.
func peaks(e []float64, apart int, fs float64) (out []int) {
	var tops []float64
	for n := int(longestSec * fs); len(e) >= (len(tops)+1)*n; {
		tops = append(tops, slices.Max(e[len(tops)*n:(len(tops)+1)*n]))
	}
	if len(tops) == 0 {
		return nil
	}
	least := loudPart * median(tops)
	for i := range e {
		if e[i] < least {
			continue
		}
		if n := len(out); n > 0 && i-out[n-1] < apart {
			if e[i] > e[out[n-1]] {
				out[n-1] = i
			}
			continue
		}
		out = append(out, i)
	}
	return out
}

func median(x []float64) float64 {
	s := slices.Clone(x)
	slices.Sort(s)
	return s[len(s)/2]
}

func medianStep(p []int) float64 {
	d := make([]float64, len(p)-1)
	for i := range d {
		d[i] = float64(p[i+1] - p[i])
	}
	return median(d)
}
