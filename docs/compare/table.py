#!/usr/bin/env python3
"""Sets what run gathered into a markdown document with a summary below."""
import datetime
import json
import math
import statistics
import sys

KINDS = ["fair", "tired", "messy", "buried", "rundown"]  # by the files' names; the rest together
TOOLS = ["beatwright", "SciPy", "aubio"]
WRONG = 10  # degrees


def parse(text):
    """One hearing: its truth, the three answers, the times."""
    file, rate, error, amp, ours, plain, onset, us, us_plain = text.rstrip("\n").split("\t")
    o, p, a = json.loads(ours), [float(v) for v in plain.split()], [float(v) for v in onset.split()]
    heard = o.get("heard")
    value = lambda key: o[key]["value"] if heard and o.get(key) and o[key]["value"] is not None else math.nan
    swing = (o.get("amplitude_deg") or {}) if heard else {}
    kind = file.split("-")[0]
    return {
        "file": file.removesuffix(".flac"), "kind": kind if kind in KINDS else "others",
        "rate": float(rate), "error": float(error), "amp": float(amp) if amp else None,
        "got_rate": [value("rate_s_per_day"), p[0], a[0]],
        "got_error": [value("beat_error_ms"), p[1], a[1]],
        "standing": swing.get("standing", "not_resolved"),
        "got_amp": [value("amplitude_deg"), p[2]],
        "times": (int(us) / int(us_plain), int(us) / 1e6 / p[3]),
    }


def misses(rows, key, tool):
    """Absolute errors of the answers given; of our amplitudes, the measured."""
    use = [r for r in rows if r[key] is not None and not (key == "amp" and tool == 0 and r["standing"] != "measured")]
    return sorted(abs(r["got_" + key][tool] - r[key]) for r in use if not math.isnan(r["got_" + key][tool]))


def cell(got, want, digits):
    return "none" if math.isnan(got) else f"{round(got - want, digits) + 0:+.{digits}f}"


def shown(got, want, after=""):
    return f"{got:.1f}{after}" + (" **wrong**" if abs(got - want) > WRONG else "")


def amplitudes(r):
    """The cells of one hearing's amplitudes; blank where the truth is none."""
    bw, sp, want = *r["got_amp"], r["amp"]
    if want is None:
        return ["", "", ""]
    ours = {"measured": lambda: shown(bw, want, " measured"), "at_most": lambda: f"at most {bw:.0f}", "not_resolved": lambda: "cannot tell"}
    return [f"{want:.1f}", ours[r["standing"]](), "none" if math.isnan(sp) else shown(sp, want)]


def line(r):
    cells = [r["file"], f"{r['rate']:+.2f}"] + [cell(g, r["rate"], 3) for g in r["got_rate"]]
    cells += [f"{r['error']:.3f}"] + [cell(g, r["error"], 3) for g in r["got_error"]] + amplitudes(r)
    return "| " + " | ".join(cells) + " |"


def spread(rows, key, tool, digits):
    m = misses(rows, key, tool)
    n = len([r for r in rows if r[key] is not None])
    if not n:
        return ""
    if not m:
        return f"none of {n}"
    few = "" if len(m) == n else f" ({len(m)} of {n})"
    return f"{statistics.median(m):.{digits}f} · {m[-1]:.{digits}f}{few}"


def summary(rows):
    print("| kind | n | rate, s/d: beatwright | SciPy | aubio | beat error, ms: beatwright | SciPy | aubio | amplitude, °: beatwright | SciPy |")
    print("|---|---|---|---|---|---|---|---|---|---|")
    for kind in KINDS + ["others", "all"]:
        of = [r for r in rows if kind in (r["kind"], "all")]
        cells = [kind, str(len(of))] + [spread(of, k, t, d) for k, d, n in (("rate", 3, 3), ("error", 3, 3), ("amp", 1, 2)) for t in range(n)]
        print("| " + " | ".join(cells) + " |")


def closing(rows):
    amps = [r for r in rows if r["amp"] is not None]
    for t in (0, 1):
        told = [r for r in amps if not math.isnan(r["got_amp"][t]) and (t or r["standing"] == "measured")]
        wrong = [r for r in told if abs(r["got_amp"][t] - r["amp"]) > WRONG]
        high = sum(r["got_amp"][t] > r["amp"] for r in wrong)
        print(f"- Amplitude, {TOOLS[t]}: {len(told)} of {len(amps)} shown as measured, {len(wrong)} of them off by more than {WRONG}°, {high} of these too high.")
    bounds = [r for r in amps if r["standing"] == "at_most"]
    print(f"- Amplitude, beatwright: {len(bounds)} bounds, {sum(r['got_amp'][0] < r['amp'] for r in bounds)} of them below the truth.")
    whole, work = (statistics.median(r["times"][i] for r in rows) for i in (0, 1))
    print(f"- Wall time, beatwright over the SciPy script, median of the files, one after the other on the same machine: {whole:.2f} as commands, {work:.2f} without the start of Python.")


def main():
    rows = [parse(text) for text in sys.stdin]
    print(f"# Beside general tools, made by `docs/compare/run` on {datetime.date.today()}\n")
    print("""The hearings are simulated by another hand and are not part of the project.
SciPy stands for [plain.py](plain.py), an afternoon's script whose settings were
chosen, of a few tried, on these very hearings; aubio for the onset detector
`aubioonset`, with the best of eight settings tried and the script's regression
behind it. Both are general tools, not made for watches; neither gives an
uncertainty.

Needed: Debian's `python3-scipy`, `python3-soundfile` and `aubio-tools`, Go, and
the shared hearings. Rate and beat error are shown as answer less truth; *none*:
no answer, or a beat farther than 2 % from every common one. An amplitude shown
as measured is **wrong** when off by more than 10°; the script shows all of its
own so. The run-down has no single amplitude, so those cells are blank.
""")
    print("| hearing | rate, s/d: true | beatwright | SciPy | aubio | beat error, ms: true | beatwright | SciPy | aubio | amplitude, °: true | beatwright | SciPy |")
    print("|---|---|---|---|---|---|---|---|---|---|---|---|")
    for r in rows:
        print(line(r))
    print("\nAbsolute errors, median · worst, and how many answers where not all:\n")
    summary(rows)
    print()
    closing(rows)


main()
