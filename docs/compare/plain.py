#!/usr/bin/env python3
"""What a plain script makes of a watch's sound: rate, beat error, amplitude.

A competent afternoon's work with SciPy and no more: band-pass, envelope,
peaks, a line through them; amplitude by the first crossing of a threshold in
a fixed window before the loudest sound. It stands here as the outside
comparison of docs/accuracy.md and is used by nothing.

    plain.py LIFT FILE          by its own peaks
    plain.py LIFT FILE onsets   beat times from aubioonset instead

Prints one line: rate s/d, beat error ms, amplitude degrees (or nan).
Needs Debian's python3-scipy, python3-soundfile, and aubio-tools for onsets.
"""
import subprocess
import sys

import numpy as np
import scipy.signal as ss
import soundfile as sf

COMMON = [14400, 16200, 17280, 18000, 19800, 21600, 25200, 28800, 36000]


def line(t):
    """Rate and beat error by least squares on alternate beats."""
    d = np.diff(t)
    beat = np.median(d)
    vph = min(COMMON, key=lambda v: abs(3600 / v / beat - 1))
    nominal = 3600 / vph
    k = np.concatenate([[0], np.cumsum(np.maximum(1, np.round(d / beat)))])
    a = np.stack([k, k % 2 == 0, k % 2 == 1], 1).astype(float)
    for _ in range(5):
        c, *_ = np.linalg.lstsq(a, t, rcond=None)
        r = t - a @ c
        keep = np.abs(r) < 4 * 1.4826 * np.median(np.abs(r)) + 1e-9
        a, t, k = a[keep], t[keep], k[keep]
    c, *_ = np.linalg.lstsq(a, t, rcond=None)
    return 86400 * (nominal / c[0] - 1), abs(c[1] - c[2]) * 1e3, 2 * c[0], vph


def main(lift, path, how="peaks"):
    x, fs = sf.read(path, always_2d=True)
    x = x[:, np.argmax(x.std(0))]
    sos = ss.butter(4, [2500, min(18000, 0.45 * fs)], "band", fs=fs, output="sos")
    e = np.abs(ss.hilbert(ss.sosfiltfilt(sos, x)))
    w = max(1, int(2e-4 * fs))
    e = np.convolve(e, np.ones(w) / w, "same")
    peaks, _ = ss.find_peaks(e, height=0.35 * np.percentile(e, 99.9), distance=int(0.07 * fs))
    t = peaks / fs
    if how == "onsets":
        out = subprocess.run(["aubioonset", "-i", path, "-M", "0.07"], capture_output=True, text=True).stdout
        t = np.array([float(v) for v in out.split()])
    if len(t) < 8:
        print("nan nan nan")
        return
    rate, error, period, _ = line(t)
    noise = np.median(e)
    gaps = []
    for p in peaks:
        lo = p - int(0.015 * fs)
        if lo < 0:
            continue
        over = np.nonzero(e[lo:p] > max(5 * noise, 0.1 * e[p]))[0]
        start = p - np.nonzero(e[max(0, p - w * 5):p + 1] > 0.5 * e[p])[0].size
        if over.size:
            gaps.append((start - lo - over[0]) / fs)
    g = np.median(gaps) if gaps else 0
    amp = lift / (2 * np.sin(np.pi * g / period)) if g > 0 else np.nan
    if amp > 360:  # no lever watch swings so far: nothing before the drop was found
        amp = np.nan
    print(f"{rate:.3f} {error:.3f} {amp:.1f}")


main(float(sys.argv[1]), *sys.argv[2:])
