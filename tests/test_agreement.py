#!/usr/bin/env python3
"""Agreement of a CSV file, against published tables and SciPy.

Usage: test_agreement.py PROGRAM WORK_FOLDER
"""
import json
import os
import subprocess
import sys
import unittest

import numpy
from scipy import stats

PROGRAM, WORK = (os.path.abspath(word) for word in sys.argv[1:3])

# Shrout and Fleiss, Psychological Bulletin 86 (1979), 420, table 2.
JUDGES = [[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8], [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]]
# Bland and Altman, Lancet 1986, 307.
WRIGHT = [494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427]
MINI = [512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451]


def file_of(name, header, rows):
    path = os.path.join(WORK, name)
    with open(path, "w", encoding="utf-8") as file:
        file.write("\n".join([header] + [",".join(map(str, row)) for row in rows]) + "\n")
    return path


def run(*words):
    return subprocess.run([PROGRAM, "agreement", *words], capture_output=True, text=True,
                          timeout=60, env=dict(os.environ, LC_ALL="C.UTF-8", LANGUAGE="en"))


def found(*words):
    done = run(*words, "--json")
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)[0]


class Agreement(unittest.TestCase):
    def test_published_tables(self):
        path = file_of("judges.csv", "who,a,b,c,d",
                       [[f"P{i}", *row] for i, row in enumerate(JUDGES)])
        got = found(path, "--person", "who", "--wide", "a,b,c,d")
        for name, value in (("icc_1_1", .17), ("icc_2_1", .29), ("icc_3_1", .71),
                            ("icc_1_k", .44), ("icc_2_k", .62), ("icc_3_k", .91)):
            self.assertAlmostEqual(got[name]["value"], value, delta=.005)
        self.assertNotIn("limits", got)
        long = file_of("long.csv", "person,rater,mean_of_maxima_deg",
                       [[f"P{i}", f"R{j}", value] for i, pair in enumerate(zip(WRIGHT, MINI))
                        for j, value in enumerate(pair)])
        limits = found(long)["limits"]
        self.assertAlmostEqual(limits["bias"], -2.1176470588, delta=1e-8)
        self.assertAlmostEqual(limits["sd"], 38.7651298736, delta=1e-8)
        self.assertAlmostEqual(limits["upper"], 73.8620075, delta=1e-6)

    def test_scipy(self):
        random = numpy.random.default_rng(11)
        for people, raters in ((5, 2), (12, 3), (40, 2), (9, 6)):
            values = (random.normal(100, 15, (people, 1)) + random.normal(0, 3, (1, raters))
                      + random.normal(0, 5, (people, raters))).round(4)
            path = file_of("random.csv", "person," + ",".join(f"r{j}" for j in range(raters)),
                           [[f"P{i}", *row] for i, row in enumerate(values.tolist())])
            got = found(path, "--wide", ",".join(f"r{j}" for j in range(raters)))
            n, k = values.shape
            between = k * values.mean(axis=1).var(ddof=1)
            within = values.var(axis=1, ddof=1).mean()
            judge = n * values.mean(axis=0).var(ddof=1)
            error = ((n * k - 1) * values.var(ddof=1) - (n - 1) * between
                     - (k - 1) * judge) / ((n - 1) * (k - 1))
            for name, value in (("between_ms", between), ("within_ms", within),
                                ("rater_ms", judge), ("error_ms", error)):
                self.assertAlmostEqual(got[name], value, delta=1e-6)
            # The interval of the consistency form from the F distribution.
            ratio = between / error
            df = (n - 1, (n - 1) * (k - 1))
            low = ratio / stats.f.ppf(.975, *df)
            high = ratio * stats.f.ppf(.975, df[1], df[0])
            self.assertAlmostEqual(got["icc_3_1"]["low"], (low - 1) / (low + k - 1), delta=1e-7)
            self.assertAlmostEqual(got["icc_3_k"]["high"], 1 - 1 / high, delta=1e-7)
            # Absolute agreement, with the degrees of freedom as Shrout and Fleiss write them.
            icc = (between - error) / (between + (k - 1) * error + k * (judge - error) / n)
            rest, share = n * (1 + (k - 1) * icc) - k * icc, k * icc * judge / error
            freedom = (n - 1) * (k - 1) * (share + rest) ** 2 / ((n - 1) * share ** 2 + rest ** 2)
            high, low = stats.f.ppf(.975, n - 1, freedom), stats.f.ppf(.975, freedom, n - 1)
            spread = k * judge + (k * n - k - n) * error
            self.assertAlmostEqual(got["icc_2_1"]["low"], n * (between - high * error)
                                   / (high * spread + n * between), delta=1e-7)
            self.assertAlmostEqual(got["icc_2_1"]["high"], n * (low * between - error)
                                   / (spread + n * low * between), delta=1e-7)
            if k == 2:
                line = stats.linregress(values.mean(axis=1), values[:, 0] - values[:, 1])
                self.assertAlmostEqual(got["limits"]["slope"], line.slope, delta=1e-8)
                self.assertAlmostEqual(got["limits"]["slope_p"], line.pvalue, delta=1e-8)
                reach = stats.t.ppf(.975, n - 1) * stats.sem(values[:, 0] - values[:, 1])
                self.assertAlmostEqual(got["limits"]["bias_high"] - got["limits"]["bias"], reach,
                                       delta=1e-7)

    def test_missing_and_repeated_trials_are_counted(self):
        rows = [["P1", "A", 100], ["P1", "B", 102], ["P2", "A", 90], ["P2", "A", 94],
                ["P2", "B", 95], ["P3", "A", 80], ["P3", "B", ""], ["P4", "A", 70],
                ["P4", "B", 73]]
        path = file_of("gaps.csv", "person,rater,deg", rows)
        got = found(path, "--value", "deg")
        self.assertEqual((got["people"], got["left_out"], got["repeated"]), (3, 1, 1))
        # P2's two trials by A are averaged: differences -2, -3, -3
        self.assertAlmostEqual(got["limits"]["bias"], -8 / 3, delta=1e-8)
        said = run(path, "--value", "deg").stdout
        self.assertIn("1 people left out", said)
        self.assertIn("1 further trials averaged", said)

    def test_two_sides_of_one_person_are_not_two_people(self):
        rows = [[p, s, r, 100 + 10 * i + (s == "left") * 5 + j]
                for i, p in enumerate(("P1", "P2", "P3")) for s in ("left", "right")
                for j, r in enumerate(("A", "B"))]
        rows[0][3] += 1
        path = file_of("sides.csv", "person,side,rater,deg", rows)
        done = run(path, "--value", "deg")
        self.assertEqual((done.returncode, len(done.stderr.splitlines())), (1, 1))
        self.assertIn("--where side=left", done.stderr)
        done = run(path, "--value", "deg", "--where", "hat=1")
        self.assertEqual((done.returncode, len(done.stderr.splitlines())), (2, 1))
        self.assertEqual(found(path, "--value", "deg", "--where", "side=left")["people"], 3)

    def test_what_a_record_no_longer_holds_is_not_counted(self):
        rows = [[f"P{i}", r, value, "ok"] for i, pair in enumerate(zip(WRIGHT, MINI))
                for r, value in zip("AB", pair)]
        rows += [["P0", "A", 20, "withdrawn"], ["P1", "B", 900, "replaced"],
                 ["P2", "", 500, "ok"]]
        path = file_of("record.csv", "person,rater,mean_of_maxima_deg,status", rows)
        got = found(path)
        self.assertEqual((got["people"], got["raters"], got["repeated"]), (17, 2, 0))
        self.assertEqual((got["withdrawn"], got["nameless"]), (2, 1))
        self.assertAlmostEqual(got["limits"]["bias"], -2.1176470588, delta=1e-8)
        self.assertAlmostEqual(got["mdc90_agreement"] / got["sem_agreement"],
                               stats.norm.ppf(.95) * 2 ** .5, delta=1e-6)
        said = run(path).stdout
        self.assertIn("2 rows withdrawn or replaced", said)
        self.assertIn("1 rows without a rater", said)
        # Whoever chooses by the status gets what was chosen.
        self.assertEqual(found(path, "--where", "status=ok")["withdrawn"], 0)

    def test_different_quantities_are_not_averaged(self):
        rows = [[p, m, mode, r, 100 + 10 * i + 3 * j * i + (m == "flexion") * 30]
                for i, p in enumerate(("P1", "P2", "P3")) for m in ("flexion", "abduction")
                for mode in ("active", "passive") for j, r in enumerate("AB")]
        path = file_of("quantities.csv", "person,movement,mode,rater,mean_of_maxima_deg", rows)
        for where, said in (([], "several movements"), (["movement=flexion"], "passive"),
                            (["mode=active"], "--where movement=flexion")):
            done = run(path, *(word for one in where for word in ("--where", one)))
            self.assertEqual((done.returncode, len(done.stderr.splitlines())), (1, 1))
            self.assertIn(said, done.stderr)
        both = ("--where", "movement=flexion", "--where", "mode=active")
        self.assertEqual(found(path, *both)["repeated"], 0)
        # Modes against each other are what a rater's column may hold.
        one = ("--where", "movement=flexion", "--where", "rater=A")
        self.assertEqual(run(path, "--rater", "mode", *one).returncode, 1)  # no difference
        self.assertIn("no error", run(path, "--rater", "mode", *one).stderr)

    def test_what_is_wrong(self):
        path = file_of("few.csv", "person,rater,deg", [["P1", "A", 1], ["P1", "B", "x"]])
        same = file_of("same.csv", "person,rater,deg",
                       [[p, r, 5] for p in "PQR" for r in "AB"])
        for words, code, said in (
                ((path, "--value", "deg"), 1, "line 3"), ((path,), 2, "mean_of_maxima_deg"),
                ((path, "--value", "deg", "--where", "deg"), 2, "COLUMN=TEXT"),
                ((path, "--value", "deg", "--where", "hat=1"), 2, "hat"),
                ((same, "--value", "deg"), 1, "no error"), ((), 2, "one CSV file"),
                ((os.path.join(WORK, "none.csv"),), 1, "cannot be opened"),
                ((same, "--value", "deg", "--confidence", "100"), 2, "percentage"),
                ((same, "--wide", "deg", "--value", "deg"), 2, "--wide")):
            done = run(*words)
            self.assertEqual((done.returncode, len(done.stderr.splitlines())), (code, 1),
                             (words, done.stderr))
            self.assertIn(said, done.stderr)


if __name__ == "__main__":
    os.makedirs(WORK, exist_ok=True)
    unittest.main(argv=sys.argv[:1], verbosity=2)
