package main

import (
	"math"
	"testing"
)

// On a clean sound the plain detector is right, so that what it misses in noise
// is not its making: two clicks 10 ms apart every 125 ms, lift 52°, are
// 52/(2·sin(π·10/250)) = 207.4°.
func TestPlainDetector(t *testing.T) {
	const fs = 48000.0
	e := make([]float64, 10*int(fs))
	for i := range e {
		e[i] = 0.01
	}
	for at := 0.1; at < 9.8; at += 0.125 {
		for i := range int(0.001 * fs) {
			e[int(at*fs)+i] = 0.3
			e[int((at+0.010)*fs)+i] = 1
		}
	}
	if got, want := swingOf(e, fs, 52), 207.4; math.Abs(got-want) > 1 {
		t.Errorf("got %.1f°, want %.1f°", got, want)
	}
	if got := swingOf(e[:1000], fs, 52); !math.IsNaN(got) {
		t.Errorf("of 20 ms of sound: %.1f°", got)
	}
}
