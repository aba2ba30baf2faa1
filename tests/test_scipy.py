#!/usr/bin/python3
"""Compares the low-pass with SciPy's, an implementation that shares nothing with it.

test_scipy.py FILTER_PROGRAM
"""
import math
import random
import subprocess
import sys

import numpy
from scipy import signal

TOLERANCE_DEG = 1e-9


def run(program, cutoff_hz, rate_hz, values):
    text = f"{cutoff_hz!r} {rate_hz!r} {len(values)}\n"
    text += "\n".join(repr(float(v)) for v in values)
    done = subprocess.run([program], input=text, text=True, capture_output=True,
                          check=True)
    lines = done.stdout.split("\n")
    columns = numpy.array([[float(x) for x in line.split()] for line in lines[2:] if line])
    return [float(x) for x in lines[0].split()], int(lines[1]), columns


def scipy_coefficients(cutoff_hz, rate_hz):
    """butter() at the cut-off that two passes of it bring back to cutoff_hz."""
    correction = (math.sqrt(2) - 1) ** 0.25
    moved = math.atan(math.tan(math.pi * cutoff_hz / rate_hz) / correction) / math.pi
    return signal.butter(2, 2 * moved)


def series(kind, rate_hz, count, rng):
    t = numpy.arange(count) / rate_hz
    if kind == "raise":
        return 60 - 60 * numpy.cos(2 * math.pi * 0.25 * t)
    if kind == "noise":
        return numpy.array([rng.gauss(90, 3) for _ in range(count)])
    return numpy.where(t < t[-1] / 2, 5.0, 150.0)


def main():
    program = sys.argv[1]
    rng = random.Random(1)
    checked = 0
    for cutoff_hz, rate_hz in ((6, 30), (6, 60), (6, 100), (4, 30), (2.5, 240), (6, 25)):
        b, a = scipy_coefficients(cutoff_hz, rate_hz)
        for kind in ("raise", "noise", "step"):
            for count in (12, 50, 400):
                values = series(kind, rate_hz, count, rng)
                own, pad, columns = run(program, cutoff_hz, rate_hz, values)
                numpy.testing.assert_allclose(own[:3], b, rtol=0, atol=1e-12)
                numpy.testing.assert_allclose(own[3:], -a[1:], rtol=0, atol=1e-12)
                once = signal.lfilter(b, a, values)
                twice = signal.filtfilt(b, a, values, padtype="odd", padlen=pad)
                for got, want in ((columns[:, 0], once), (columns[:, 1], twice)):
                    worst = float(numpy.max(numpy.abs(got - want)))
                    assert worst < TOLERANCE_DEG, (kind, cutoff_hz, rate_hz, count, worst)
                    checked += count
    print(f"{checked} values agree with SciPy within {TOLERANCE_DEG:g}")


if __name__ == "__main__":
    main()
