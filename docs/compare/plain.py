#!/usr/bin/env python3
"""What a plain script makes of a watch's sound: rate, beat error, amplitude.

An afternoon's work with SciPy, for comparison; nothing uses it. Band-pass,
envelope, peaks, a line through alternate beats; amplitude from the first
crossing of a threshold in a fixed window before the drop. Its settings were
chosen, of a few tried, on the very hearings it is compared on.

    plain.py LIFT FILE          beats by its own peaks
    plain.py LIFT FILE onsets   beats by aubioonset, no amplitude

Prints rate s/d, beat error ms, amplitude degrees (nan: no answer) and the
seconds it took without Python's own start. Needs Debian's python3-scipy,
python3-soundfile and, for onsets, aubio-tools.
"""
import subprocess
import sys
import time

import numpy as np
import scipy.signal as ss
import soundfile as sf

COMMON = [14400, 16200, 17280, 18000, 19800, 21600, 25200, 28800, 36000]  # beats an hour
SHORTEST = 0.06  # s between beats
WINDOW = 0.03    # s before the drop in which the unlocking is looked for; wider changes nothing here
NOISE = 4        # times the median of the envelope: a sound
ODDEST = 0.02    # farther than this from every common beat: not a watch's


def smooth(e, seconds, fs):
    n = max(1, int(seconds * fs))
    return np.convolve(e, np.ones(n) / n, "same")


def envelope(path):
    """The envelope of the channel whose peaks stand out most."""
    x, fs = sf.read(path, always_2d=True)
    sos = ss.butter(4, [2500, min(18000, 0.45 * fs)], "band", fs=fs, output="sos")
    e = np.abs(ss.hilbert(ss.sosfiltfilt(sos, x, axis=0), axis=0))
    stands_out = np.percentile(e, 99.9, axis=0) / (np.median(e, axis=0) + 1e-12)
    return e[:, np.argmax(stands_out)], fs


def peaks(e, fs):
    """Places of the beats' loudest sounds."""
    n = int(0.25 * fs)  # holds a beat of any common watch
    height = 0.6 * np.median(e[: len(e) // n * n].reshape(-1, n).max(1))
    p, _ = ss.find_peaks(e, height=height, distance=int(SHORTEST * fs))
    if len(p) < 8:
        return p
    beat = np.median(np.diff(p))
    return ss.find_peaks(e, height=height, distance=int(0.7 * beat))[0]


def onsets(path):
    """Beats by aubio's onset detector, with the best of eight settings tried."""
    cmd = ["aubioonset", "-i", path, "-r", "0", "-B", "512", "-H", "128", "-O", "energy", "-M", str(SHORTEST)]
    out = subprocess.run(cmd, capture_output=True, text=True, check=True).stdout
    return np.array([float(v) for v in out.split()])


def line(t):
    """Rate, beat error and full period by least squares on alternate beats."""
    if len(t) < 8:
        return np.nan, np.nan, np.nan
    d = np.diff(t)
    k = np.concatenate([[0], np.cumsum(np.round(d / np.median(d)))])
    a = np.stack([k, k % 2 == 0, k % 2 == 1], 1).astype(float)
    for _ in range(5):
        c, *_ = np.linalg.lstsq(a, t, rcond=None)
        r = np.abs(t - a @ c)
        keep = r <= 4 * 1.4826 * np.median(r) + 1e-9
        a, t = a[keep], t[keep]
    c, *_ = np.linalg.lstsq(a, t, rcond=None)
    nominal = min((3600 / v for v in COMMON), key=lambda b: abs(b / c[0] - 1))
    if abs(nominal / c[0] - 1) > ODDEST:
        return np.nan, np.nan, np.nan
    return 86400 * (nominal / c[0] - 1), abs(c[1] - c[2]) * 1e3, 2 * c[0]


def amplitude(e, beats, period, lift, fs):
    """Degrees, from the median time between first crossing and drop."""
    floor, gaps = NOISE * np.median(e), []
    for b in beats:
        lo = b - int(WINDOW * fs)
        if lo < 0:
            continue
        w = e[lo : b + 1]
        over = np.nonzero(w > floor)[0]
        under = np.nonzero(w < 0.5 * w[-1])[0]  # the drop begins at half its height
        if over.size and under.size:
            gaps.append((under[-1] + 1 - over[0]) / fs)
    gap = np.median(gaps) if gaps else 0
    a = lift / (2 * np.sin(np.pi * gap / period)) if gap > 0 else np.nan
    return a if a < 360 else np.nan  # no lever swings so far: nothing before the drop


def main(lift, path, how="peaks"):
    began = time.perf_counter()
    if how == "onsets":
        rate, error, _ = line(onsets(path))
        amp = np.nan
    else:
        e, fs = envelope(path)
        beats = peaks(smooth(e, 1e-3, fs), fs)
        rate, error, period = line(beats / fs)
        fine = smooth(e, 2e-4, fs)
        amp = amplitude(fine, peaks(fine, fs), period, lift, fs)
    print(f"{rate:.4f} {error:.4f} {amp:.2f} {time.perf_counter() - began:.3f}")


main(float(sys.argv[1]), *sys.argv[2:])
