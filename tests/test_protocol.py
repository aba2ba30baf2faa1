#!/usr/bin/env python3
"""The figures in the protocol for a reliability study come out of the formulas beside them,
and its sheet has the columns it speaks of.

    test_protocol.py ROOT
"""
import csv
import math
import os
import re
import sys

from scipy import stats

assets = os.path.join(sys.argv[1], "assets")
with open(os.path.join(assets, "reliability-protocol.md"), encoding="utf-8") as file:
    text = file.read()


def rows(first_cells):
    """The numbers of the table whose heading line begins with these cells."""
    lines = text.split("\n")
    at = lines.index(next(l for l in lines if l.startswith("| " + first_cells)))
    found = []
    for line in lines[at + 2:]:
        if not line.startswith("|"):
            return found
        found.append([float(c) for c in line.strip("|").split("|")])
    return found


def walter(r0, r1, n):
    z = stats.norm.ppf(0.95) + stats.norm.ppf(0.80)
    c = (1 + n * r0 / (1 - r0)) / (1 + n * r1 / (1 - r1))
    return math.ceil(1 + 2 * z * z * n / (math.log(c) ** 2 * (n - 1)))


def bonett(r, n, w):
    z = stats.norm.ppf(0.975)
    k = 1 + 8 * z * z * (1 - r) ** 2 * (1 + (n - 1) * r) ** 2 / (n * (n - 1) * w * w)
    return math.ceil(k + (5 * r if n == 2 and r >= 0.7 else 0))


sem = rows("v |")
assert len(sem) == 4
for v, low, high in sem:
    assert abs(low - math.sqrt(v / stats.chi2.ppf(0.975, v))) < 0.005, v
    assert abs(high - math.sqrt(v / stats.chi2.ppf(0.025, v))) < 0.005, v
tested = rows("r0 |")
assert len(tested) == 4
for r0, r1, n, persons in tested:
    assert walter(r0, r1, n) == persons, (r0, r1, n, walter(r0, r1, n))
wide = rows("r | n | w")
assert len(wide) == 3
for r, n, w, persons in wide:
    assert bonett(r, n, w) == persons, (r, n, w, bonett(r, n, w))
assert abs(math.sqrt(3 / 40) - 0.27) < 0.005
assert 40 * 2 * (2 - 1) == 80 and 45 >= 40 / (1 - 1 / 9)

with open(os.path.join(assets, "reliability-sheet.csv"), encoding="utf-8") as file:
    sheet = list(csv.reader(file))
assert len(sheet) == 1, "the sheet is not empty"
records = text.split("## 5. Records")[1].split("## 6.")[0]
named = re.findall(r"`(\w+)`", records.split("| column | meaning |")[1])
assert sorted(sheet[0]) == sorted(named), (sheet[0], named)
assert "____" in text and not re.search(r"\bnormal range|diagnos", text, re.IGNORECASE)
for part in ("ethics committee", "licensed practitioner", "stops at pain"):
    assert part in text, part
print("the protocol's figures come out")
