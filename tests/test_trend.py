#!/usr/bin/env python3
"""Theil and Sen's slope and interval against SciPy's on random series, ties and all.

Usage: test_trend.py TREND_PROGRAM
"""
import random
import subprocess
import sys
import unittest

from scipy import stats

PROGRAM = sys.argv[1]


def series(rng):
    count = rng.randint(3, 60)
    t = [rng.choice((rng.randint(0, 40), rng.uniform(0, 40))) for _ in range(count)]
    t[0], t[1] = 0, 41
    y = [round(100 + 0.3 * x + rng.gauss(0, 4), rng.choice((0, 1, 6))) for x in t]
    return rng.choice((0.8, 0.9, 0.95, 0.99)), t, y


class AgainstSciPy(unittest.TestCase):
    def test_three_hundred_series(self):
        rng = random.Random(11)
        cases = [series(rng) for _ in range(300)]
        text = "".join(f"{c!r} {len(t)}\n" + "".join(f"{a!r} {b!r}\n" for a, b in zip(t, y))
                       for c, t, y in cases)
        said = subprocess.run([PROGRAM], input=text, capture_output=True, text=True,
                              check=True).stdout.splitlines()
        self.assertEqual(len(said), len(cases))
        for line, (confidence, t, y) in zip(said, cases):
            slope, low, high, intercept = map(float, line.split())
            want = stats.theilslopes(y, t, confidence)
            for ours, theirs in ((slope, want[0]), (intercept, want[1]), (low, want[2]),
                                 (high, want[3])):
                self.assertAlmostEqual(ours, theirs, delta=1e-9 * max(1, abs(theirs)))


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1], verbosity=2)
