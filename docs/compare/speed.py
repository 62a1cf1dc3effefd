#!/usr/bin/env python3
"""Times beatwright on a seamless simulated hour beside ffmpeg's high-pass over
the same file, by turns in one run, and measures the peak memory for one hour,
for six through a pipe and for 24 through a pipe; each answer is held against
the truth. Needs Go and ffmpeg; 400 MB of temporary room.

    docs/compare/speed.py [--rounds 5] [--hours 1,6,24]

Wall time is noisy where others use the machine: the processor's time, user and
system, is less so.
"""
import argparse
import json
import os
import pathlib
import shutil
import statistics
import subprocess
import sys
import tempfile
import time

ROOT = pathlib.Path(__file__).resolve().parents[2]
RATE, ERROR, SWING = 12.0, 0.6, 281.0  # s/d, ms, degrees
WATCH = ["--encoding", "s16le", "--beats-per-hour", "28800", "--rate", str(RATE), "--beat-error", str(ERROR),
         "--amplitude", str(SWING), "--jitter", "0.03", "--noise", "30", "--seed", "5"]
MOST = {"rate": 0.001, "error": 0.03, "swing": 3}  # off by no more than this
LIMIT = 64  # MiB


def timed(args, env=None, stdin=None):
    """Runs a command: its output, wall and processor seconds, peak MiB."""
    out = tempfile.TemporaryFile()
    start = time.monotonic()
    p = subprocess.Popen(args, env={**os.environ, **(env or {})}, stdin=stdin or subprocess.DEVNULL,
                         stdout=out, stderr=subprocess.PIPE)
    said = p.stderr.read()
    _, status, use = os.wait4(p.pid, 0)
    wall = time.monotonic() - start
    if status:
        sys.exit(f"{args[0]} failed: {said.decode()[-300:]}")
    out.seek(0)
    return out.read().decode(), wall, use.ru_utime + use.ru_stime, use.ru_maxrss / 1024


def check(text, hours):
    """The answer beside the truth, as words; ends the run if it is wrong."""
    w = json.loads(text)
    off = {"rate": w["rate_s_per_day"]["value"] - RATE, "error": w["beat_error_ms"]["value"] - ERROR,
           "swing": (w["amplitude_deg"]["value"] or 0) - SWING}
    due = hours * 28800 * (1 + RATE / 86400)
    got = w["beats"] + w["beats_rejected"]
    said = (f"rate off by {off['rate']:+.6f} s/d, beat error by {off['error']:+.4f} ms, swing by {off['swing']:+.2f}° "
            f"({w['amplitude_deg']['standing']}), {got} beats of {due:.0f}")
    if any(abs(off[k]) > MOST[k] for k in MOST) or abs(got - due) > 8 or w["amplitude_deg"]["standing"] != "measured":
        sys.exit("wrong answer: " + said)
    return said


def race(rounds, hour, ours):
    """By turns, so that what else the machine does hits all alike."""
    rival = ["ffmpeg", "-nostdin", "-loglevel", "error", "-i", hour, "-af", "highpass=f=2500", "-f", "null", "-"]
    runs = {"ffmpeg": [], "all cores": [], "one core": []}
    for _ in range(rounds):
        runs["ffmpeg"].append(timed(rival))
        runs["all cores"].append(timed([ours, "measure", "--json", hour]))
        runs["one core"].append(timed([ours, "measure", "--json", hour], {"GOMAXPROCS": "1"}))
    print("| an hour, median of %d | wall, s | processor, s | wall, times ffmpeg's | processor, times ffmpeg's | peak, MiB |" % rounds)
    print("|---|---|---|---|---|---|")
    for name, rs in runs.items():
        ratio = lambda i: statistics.median(r[i] / f[i] for r, f in zip(rs, runs["ffmpeg"]))
        print(f"| {name} | {statistics.median(r[1] for r in rs):.2f} | {statistics.median(r[2] for r in rs):.2f} "
              f"| {ratio(1):.2f} | {ratio(2):.2f} | {max(r[3] for r in rs):.0f} |", flush=True)
    print("\nAnswer:", check(runs["all cores"][-1][0], 1), flush=True)
    return max(r[3] for r in runs["all cores"] + runs["one core"])


def piped(hours, ours):
    """Measures a sound that is made while it is heard."""
    source = subprocess.Popen([ours, "synth", "-", "--duration", f"{hours}h", *WATCH],
                              stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL)
    text, wall, cpu, peak = timed([ours, "measure", "--json", "-"], stdin=source.stdout)
    source.stdout.close()
    source.wait()
    print(f"{hours} h through a pipe: {wall:.0f} s wall, {cpu:.0f} s of processor, peak {peak:.0f} MiB; {check(text, hours)}", flush=True)
    return peak


def main():
    ask = argparse.ArgumentParser()
    ask.add_argument("--rounds", type=int, default=5)
    ask.add_argument("--hours", default="1,6,24")
    a = ask.parse_args()
    if not shutil.which("ffmpeg"):
        sys.exit("install ffmpeg")
    with tempfile.TemporaryDirectory() as tmp:
        ours, hour = str(pathlib.Path(tmp) / "beatwright"), str(pathlib.Path(tmp) / "hour.wav")
        subprocess.run(["go", "build", "-o", ours, "./cmd/beatwright"], cwd=ROOT, check=True)
        peaks = []
        for hours in map(int, a.hours.split(",")):
            if hours > 1:
                peaks.append(piped(hours, ours))
                continue
            timed([ours, "synth", hour, "--duration", "1h", *WATCH])
            peaks.append(race(a.rounds, hour, ours))
        print(f"\nHighest peak {max(peaks):.0f} MiB, {'under' if max(peaks) < LIMIT else 'NOT under'} {LIMIT} MiB")


if __name__ == "__main__":
    main()
