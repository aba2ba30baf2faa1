#!/usr/bin/env python3
"""Repetitions of traces whose course is known in closed form.

Usage: test_analyse.py PROGRAM WORK_FOLDER

Raises of minimum jerk (Flash and Hogan 1985, from memory): from rest by an amplitude A in T
seconds the angle is A (10 u^3 - 15 u^4 + 6 u^5), its greatest speed 1.875 A / T.
"""
import csv
import json
import os
import subprocess
import sys
import unittest

import numpy
from scipy import signal

PROGRAM, WORK = (os.path.abspath(word) for word in sys.argv[1:3])


def raised(t, amplitude, duration):
    u = numpy.clip(t / duration, 0, 1)
    return amplitude * (10 * u**3 - 15 * u**4 + 6 * u**5)


def course(rate, repetitions=3, up=2.0, held=0.6, down=1.5, still=1.0, amplitude=90.0, low=5.0):
    period = up + held + down + still
    t = numpy.arange(0, still + repetitions * period + 1e-9, 1 / rate)
    angle = numpy.full_like(t, low)
    for k in range(repetitions):
        begin = still + k * period
        angle += (raised(t - begin, amplitude, up)
                  - raised(t - begin - up - held, amplitude, down))
    return t, angle


def trace(name, t, angle, raw=None, hike=None, drop=()):
    path = os.path.join(WORK, name)
    with open(path, "w", encoding="utf-8") as file:
        file.write("frame,time_s,angle_deg,angle_raw_deg,trunk_lean_deg,hike_ratio\n")
        for i, (at, deg) in enumerate(zip(t, angle)):
            cell = "" if i in drop else f"{deg:.6f}"
            one = cell if raw is None else f"{raw[i]:.6f}"
            rise = 0 if hike is None else hike[i]
            file.write(f"{i},{at:.6f},{cell},{one},2.5,{rise:.4f}\n")
    return path


def run(*words):
    return subprocess.run([PROGRAM, "analyse", *words], capture_output=True, text=True,
                          timeout=60, env=dict(os.environ, LC_ALL="C.UTF-8", LANGUAGE="en"))


def found(*words):
    done = run(*words, "--json")
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


class Analyse(unittest.TestCase):
    def test_speeds_of_minimum_jerk(self):
        path = trace("three.trace.csv", *course(60))
        rows = found(path)
        self.assertEqual([row["repetition"] for row in rows], [1, 2, 3])
        for row in rows:
            self.assertAlmostEqual(row["max_deg"], 95, delta=0.01)
            self.assertAlmostEqual(row["range_deg"], 90, delta=0.3)
            self.assertAlmostEqual(row["raising_peak_deg_per_s"], 1.875 * 90 / 2, delta=0.3)
            self.assertAlmostEqual(row["lowering_peak_deg_per_s"], 1.875 * 90 / 1.5, delta=0.6)
            self.assertEqual((row["raising_speed_peaks"], row["lowering_speed_peaks"]), (1, 1))
            self.assertAlmostEqual(row["lean_at_peak_deg"], 2.5)
            self.assertAlmostEqual(row["duration_s"], row["raising_s"] + row["lowering_s"],
                                   delta=1e-6)

    def test_smoothness_tells_a_broken_raise(self):
        t, angle = course(60, repetitions=1)
        shaken = angle + 1.5 * numpy.sin(2 * numpy.pi * 4 * t) * (angle > 10) * (angle < 90)
        (smooth,), (broken,) = (found(trace("a.trace.csv", t, angle)),
                                found(trace("b.trace.csv", t, shaken)))
        self.assertGreater(smooth["raising_sparc"], broken["raising_sparc"] + 0.2)
        self.assertGreater(smooth["raising_ldlj"], broken["raising_ldlj"] + 1)
        self.assertGreater(broken["raising_speed_peaks"], 1)

    def test_too_few_pictures_tell_no_speed(self):
        for rate in (20, 24.9):
            (row,) = found(trace("slow.trace.csv", *course(rate, repetitions=1)))
            self.assertIsNone(row["raising_peak_deg_per_s"])
            self.assertIsNone(row["raising_sparc"])
            self.assertAlmostEqual(row["max_deg"], 95, delta=0.05)
        # Just 25 is enough, as far as six decimals of a time stamp tell it.
        (row,) = found(trace("just.trace.csv", *course(25, repetitions=1)))
        self.assertAlmostEqual(row["raising_peak_deg_per_s"], 1.875 * 90 / 2, delta=0.6)
        self.assertIsNotNone(row["raising_sparc"])

    def test_gaps(self):
        t, angle = course(60, repetitions=1)
        short = {90, 91, 92}  # 1.5 s: in the middle of the raise
        (row,) = found(trace("short.trace.csv", t, angle, drop=short))
        self.assertAlmostEqual(row["raising_peak_deg_per_s"], 1.875 * 90 / 2, delta=1.5)
        (row,) = found(trace("long.trace.csv", t, angle, drop=set(range(90, 110))))
        self.assertIsNone(row["raising_peak_deg_per_s"])
        self.assertIsNotNone(row["lowering_peak_deg_per_s"])

    def test_hike_against_the_angle(self):
        t, angle = course(60, repetitions=1)
        hike = 0.2 * numpy.clip((angle - 55) / 40, 0, 1)  # from 55 to 95 degrees
        (row,) = found(trace("hike.trace.csv", t, angle, hike=hike))
        self.assertAlmostEqual(row["hike_onset_deg"], 75, delta=1.5)
        self.assertAlmostEqual(row["hike_at_peak_ratio"], 0.2, delta=0.001)

    def test_residual_analysis(self):
        """As the same rule gives it with SciPy's own zero-lag filter."""
        rate = 60
        t, angle = course(rate)
        raw = angle + numpy.random.default_rng(5).normal(0, 0.3, len(t))
        (row, *_) = found(trace("noise.trace.csv", t, angle, raw=raw), "--residual")
        at = rate / 2 * 0.8 * (numpy.arange(40) + 1) / 40
        rest = []
        for cutoff in at:
            # Both passes together have -3 dB at the cut-off.
            warped = numpy.tan(numpy.pi * cutoff / rate) / (2**0.5 - 1)**0.25
            b, a = signal.butter(2, numpy.arctan(warped) * 2 / numpy.pi)
            rest.append(numpy.sqrt(numpy.mean((raw - signal.filtfilt(b, a, raw))**2)))
        rest = numpy.array(rest)
        noise = numpy.polyfit(at[at >= 0.4 * rate / 2], rest[at >= 0.4 * rate / 2], 1)[1]
        k = next(i for i in range(1, 40) if rest[i - 1] >= noise > rest[i])
        want = at[k - 1] + (at[k] - at[k - 1]) * (rest[k - 1] - noise) / (rest[k - 1] - rest[k])
        self.assertAlmostEqual(row["residual_cutoff_hz"], want, delta=0.15)
        self.assertTrue(1 < want < 6, want)

    def test_a_table_of_several(self):
        paths = [trace(f"t{i}.trace.csv", *course(60, repetitions=i)) for i in (1, 2)]
        out = os.path.join(WORK, "table.csv")
        if os.path.exists(out):
            os.remove(out)
        done = run(*paths, "--out", out)
        self.assertEqual((done.returncode, done.stderr), (0, ""))
        self.assertEqual(os.stat(out).st_mode & 0o777, 0o600)
        with open(out, encoding="utf-8", newline="") as file:
            rows = list(csv.DictReader(file))
        self.assertEqual([(row["trace"], row["repetition"]) for row in rows],
                         [("t1.trace.csv", "1"), ("t2.trace.csv", "1"), ("t2.trace.csv", "2")])
        self.assertNotIn("residual_cutoff_hz", rows[0])
        self.assertEqual(run(*paths, "--out", out).returncode, 1)
        self.assertEqual(run(*paths).stdout.count("\n"), 4)

    def test_what_is_wrong(self):
        flat = trace("flat.trace.csv", numpy.arange(0, 5, 0.02), numpy.full(250, 5.0))
        none = trace("none.trace.csv", numpy.arange(0, 5, 0.02), numpy.full(250, 5.0),
                     drop=set(range(250)))
        done = run(flat)
        self.assertEqual((done.returncode, done.stdout), (0, ""))
        self.assertIn("no whole repetition", done.stderr)
        for words, code, said in (((none,), 1, "no angle"), ((), 2, "one trace"),
                                  ((os.path.join(WORK, "x.csv"),), 1, "cannot be opened"),
                                  ((flat, "--json", "--out", "x"), 2, "--json")):
            done = run(*words)
            self.assertEqual((done.returncode, len(done.stderr.splitlines())), (code, 1),
                             done.stderr)
            self.assertIn(said, done.stderr)


if __name__ == "__main__":
    os.makedirs(WORK, exist_ok=True)
    unittest.main(argv=sys.argv[:1], verbosity=2)
