#!/usr/bin/env python3
"""Centres against scipy.ndimage.center_of_mass, an independent reference.

Usage: test_centroid_reference.py CENTROID_PROGRAM
Discs are painted here with NumPy, every sample by the share of its area that is covered.
"""
import subprocess
import sys

import numpy as np
from scipy import ndimage

WIDTH, HEIGHT, FINE = 160, 120, 16
# JFIF / BT.601 full range of sRGB 40 170 70.
CB = -0.168736 * 40 - 0.331264 * 170 + 0.5 * 70
CR = 0.5 * 40 - 0.418688 * 170 - 0.081312 * 70
# Two estimators of one noise-free centre, each good to about 0.02 px (rounding to whole
# grey levels included).
TOLERANCE_PX = 0.05


def cover(x, y, diameter):
    step = (np.arange(FINE) + 0.5) / FINE - 0.5
    xs = (np.arange(WIDTH)[:, None] + step).ravel() - x
    ys = (np.arange(HEIGHT)[:, None] + step).ravel() - y
    inside = (xs[None, :] ** 2 + ys[:, None] ** 2 < (diameter / 2) ** 2).astype(float)
    return inside.reshape(HEIGHT, FINE, WIDTH, FINE).mean(axis=(1, 3))


def check(rng, diameter, count):
    """Largest difference over `count` random places of one disc."""
    pictures, want, truth = [], [], []
    for _ in range(count):
        x, y = 70 + rng.random() * 3, 55 + rng.random() * 3
        share = cover(x, y, diameter)
        cb = np.floor(128.5 + CB * share).astype(np.uint8)
        cr = np.floor(128.5 + CR * share).astype(np.uint8)
        amplitude = np.hypot(cb.astype(float) - 128, cr.astype(float) - 128)
        row, column = ndimage.center_of_mass(amplitude)
        pictures.append(cb.tobytes() + cr.tobytes())
        want.append((column, row))
        truth.append((x, y))
    out = subprocess.run([sys.argv[1], str(WIDTH), str(HEIGHT)], input=b"".join(pictures),
                         stdout=subprocess.PIPE, check=True).stdout.decode().split("\n")
    lines = [line.split() for line in out if line]
    assert len(lines) == len(want), (len(lines), len(want))
    worst = 0.0
    for line, reference, true in zip(lines, want, truth):
        assert line[0] == "1", "a disc of %d px was not seen at %s" % (diameter, true)
        got = float(line[1]), float(line[2])
        off = max(abs(got[0] - reference[0]), abs(got[1] - reference[1]))
        worst = max(worst, off)
        assert off < TOLERANCE_PX, (diameter, got, reference, true)
    return worst


def main():
    rng = np.random.default_rng(20261125)
    for diameter in (8, 10, 13, 16, 20):
        print("%2d px across: largest difference %.4f px" %
              (diameter, check(rng, diameter, 12)))


main()
