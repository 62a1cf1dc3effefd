#!/usr/bin/env python3
"""Sets what run gathered into a markdown table with a summary below."""
import json
import math
import sys


def off(got, want):
    return "" if math.isnan(got) or want is None else f"{got - want:+.3f}"


print("| hearing | rate off, s/d: beatwright | SciPy | aubioonset | beat error off, ms: beatwright | SciPy | aubioonset | swing, ° | beatwright | SciPy |")
print("|---|---|---|---|---|---|---|---|---|---|")
worst = {"beatwright": [], "SciPy": [], "aubioonset": []}
wrong = {"beatwright": [0, 0], "SciPy": [0, 0]}
for row in sys.stdin:
    file, rate, error, amp, ours, plain, onset = row.rstrip("\n").split("\t")
    rate, error, amp = float(rate), float(error), float(amp) if amp else None
    o = json.loads(ours)
    p, a = ([float(v) for v in s.split()] for s in (plain, onset))
    r, e = o["rate_s_per_day"]["value"], (o["beat_error_ms"] or {"value": math.nan})["value"]
    s = o["amplitude_deg"]
    swing = {"measured": "{:.1f}", "at_most": "at most {:.0f}", "not_resolved": "cannot tell"}[s["standing"]].format(s["value"] or 0)
    for n, v in (("beatwright", r), ("SciPy", p[0]), ("aubioonset", a[0])):
        worst[n].append(abs(v - rate))
    if amp:
        for n, v in (("beatwright", s["value"] if s["standing"] == "measured" else None), ("SciPy", p[2])):
            if v and abs(v - amp) > 10:
                wrong[n][0] += 1
                wrong[n][1] += v > amp
    print(f"| {file} | {off(r, rate)} | {off(p[0], rate)} | {off(a[0], rate)} | {off(e, error)} | {off(p[1], error)} | {off(a[1], error)} | {amp or 'falls'} | {swing} | {p[2]:.1f} |")
print()
for n, v in worst.items():
    v = sorted(v)
    print(f"- {n}: rate off by {v[len(v) // 2]:.3f} s/d in the median, {v[-1]:.3f} at worst.")
for n, (k, high) in wrong.items():
    print(f"- {n}: {k} swings shown as measured are off by more than 10°, {high} of them too high.")
