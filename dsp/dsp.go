// Package dsp holds the signal routines the engine stands on: filters, band
// energies on a fixed grid, autocorrelation, lags, peaks.
//
// It knows no watches. Every setting is in hertz and seconds, never in
// samples, so that 44.1 and 96 kHz agree. Nothing here keeps state between
// calls: what a routine returns depends only on the samples it was given.
//
// Sources: the second-order sections are the bilinear transforms of the
// analogue Butterworth prototypes (poles on the unit circle at equal angles);
// checked in the tests against scipy.signal.butter.
package dsp
