#!/usr/bin/env python3
"""Limits of agreement of repeated pairs, against R's lme4 and SciPy.

Usage: test_agreement_pairs.py PROGRAM WORK_FOLDER
"""
import csv
import os
import sys
import unittest
import xml.etree.ElementTree

import numpy
from scipy import stats

from test_agreement import MINI, WORK, WRIGHT, file_of, found, r_says, run


class Pairs(unittest.TestCase):
    def test_r_limits_of_repeated_pairs(self):
        """lme4's REML of the paired differences; the intervals from its definition."""
        random = numpy.random.default_rng(13)
        for people, sides, most, spread in ((12, 2, 3, 3), (15, 2, 3, 0), (14, 1, 4, 3),
                                            (20, 2, 1, 3)):
            rows, pairs, values = [], [], 0
            for i in range(people):
                of_person = random.normal(2, spread)
                for side in ("left", "right")[:sides]:
                    of_side, level = random.normal(0, 1.5), random.normal(120, 15)
                    for _ in range(random.integers(1, most + 1)):
                        b = round(level + random.normal(0, 4), 2)
                        a = round(b + of_person + of_side + random.normal(0, 2), 2)
                        lost = random.uniform() < .1
                        rows += [[f"P{i}", side, "A", a], [f"P{i}", side, "B", "" if lost else b]]
                        values += 1 if lost else 2
                        if not lost:
                            pairs.append([f"P{i}", side, round(a - b, 2)])
            # The order of one rater's rows is what pairs, not how the raters' rows mix.
            rows.sort(key=lambda row: row[2], reverse=people == 12)
            rater = "BA" if people == 12 else "AB"
            sign = 1 if rater == "AB" else -1
            path = file_of("repeated.csv", "person,side,rater,deg", rows)
            words = (path, "--value", "deg", *(["--components"] if sides == 2 else []))
            got = found(*words)["pair_limits"]
            self.assertEqual((got["pairs"], got["unmatched"]),
                             (len(pairs), values - 2 * len(pairs)))
            apart = file_of("apart.csv", "person,side,d", pairs)
            terms = ["(1|person)"] + ["(1|person:side)"] * (sides == 2 and most > 1)
            names = ["variance_person", "variance_side"][:len(terms)] + ["variance_within"]
            told = r_says(f"""suppressMessages(library(lme4)); d <- read.csv("{apart}")
                m <- lmer(d ~ 1 + {" + ".join(terms)}, data=d,
                          control=lmerControl(optimizer="bobyqa", optCtrl=list(rhoend=1e-10)))
                v <- as.data.frame(VarCorr(m)); rownames(v) <- v$grp
                v["person:side","vcov"] -> s
                cat(format(c(v["person","vcov"], if ({len(terms)} == 2) s,
                             v["Residual","vcov"], fixef(m), coef(summary(m))[2]),
                           digits=15))""")[0]
            *variances, bias, error = map(float, told)
            bias *= sign
            for name, value in zip(names, variances):
                self.assertAlmostEqual(got[name], value, delta=2e-4 * max(1, value),
                                       msg=(name, people))
            self.assertEqual(got["variance_side"] is None, len(terms) == 1)
            reach = 1.96 * sum(variances) ** .5
            for name, value in (("bias", bias), ("lower", bias - reach), ("upper", bias + reach)):
                self.assertAlmostEqual(got[name], value, delta=2e-4, msg=(name, people))
            said = run(*words).stdout
            block = said[said.index("of single pairs"):]
            self.assertIn(f"single pairs, {rater[0]} less {rater[1]}", block)
            for name, value in (("lower", bias - reach), ("upper", bias + reach)):
                self.assertIn(f"{name} limit {value:.2f} (", block)
            self.check_intervals(got, pairs, [got[name] for name in names], error)

    def check_intervals(self, got, pairs, variances, error):
        """Satterthwaite's degrees of freedom from REML's expected information, written with
        whole matrices (from memory), and MOVER from SciPy's distributions."""
        groups = [[row[0] for row in pairs], [row[0] + row[1] for row in pairs]]
        parts = [numpy.equal.outer(*[numpy.array(group)] * 2).astype(float)
                 for group in groups[:len(variances) - 1]] + [numpy.eye(len(pairs))]
        inverse = numpy.linalg.inv(sum(v * part for v, part in zip(variances, parts)))
        ones = numpy.ones((len(pairs), 1))
        share = inverse @ ones
        squared = 1 / (ones.T @ share).item()
        self.assertAlmostEqual(squared ** .5, error, delta=2e-4)
        project = inverse - squared * share @ share.T
        information = numpy.array([[.5 * numpy.trace(project @ one @ project @ other)
                                    for other in parts] for one in parts])
        spread = numpy.linalg.inv(information)
        freedom = 2 * sum(variances) ** 2 / spread.sum()
        self.assertAlmostEqual(got["df"], freedom, delta=1e-4 * freedom)
        slope = numpy.array([(share.T @ part @ share).item() * squared ** 2 for part in parts])
        reach = stats.t.ppf(.975, 2 * squared ** 2 / (slope @ spread @ slope)) * squared ** .5
        self.assertAlmostEqual(got["bias_high"], got["bias"] + reach, delta=1e-4)
        self.assertAlmostEqual(got["bias_low"], got["bias"] - reach, delta=1e-4)
        wide, narrow = (got["sd"] * (freedom / stats.chi2.ppf(tail, freedom)) ** .5
                        for tail in (.025, .975))
        chance = stats.norm.ppf(.975) ** 2 * squared
        out = (chance + 1.96 ** 2 * (wide - got["sd"]) ** 2) ** .5
        inside = (chance + 1.96 ** 2 * (got["sd"] - narrow) ** 2) ** .5
        for name, value in (("upper_high", got["upper"] + out),
                            ("upper_low", got["upper"] - inside),
                            ("lower_low", got["lower"] - out),
                            ("lower_high", got["lower"] + inside)):
            self.assertAlmostEqual(got[name], value, delta=1e-4, msg=name)

    def test_one_pair_a_person_has_the_ordinary_limits_alone(self):
        rows = [[f"P{i}", r, value] for i, pair in enumerate(zip(WRIGHT, MINI))
                for r, value in zip("AB", pair)]
        path = file_of("once.csv", "person,rater,deg", rows)
        got = found(path, "--value", "deg", "--components")
        self.assertNotIn("pair_limits", got)
        self.assertAlmostEqual(got["limits"]["upper"], 73.8620075, delta=1e-6)
        said = run(path, "--value", "deg", "--components").stdout
        self.assertIn("Limits of agreement, A less B:", said)
        self.assertNotIn("single pairs", said)

    def test_a_row_of_the_wide_form_is_a_pair(self):
        rows = [["P0", 10, ""], ["P0", 12, 11], ["P1", 15, 11], ["P1", 17, 15], ["P2", "", 9],
                ["P2", 22, 21], ["P2", 25, 19]]
        path = file_of("rows.csv", "person,a,b", rows)
        got = found(path, "--wide", "a,b")["pair_limits"]
        self.assertEqual((got["pairs"], got["people"], got["unmatched"]), (5, 3, 2))
        swapped = found(path, "--wide", "b,a")["pair_limits"]
        self.assertAlmostEqual(swapped["lower"], -got["upper"], delta=1e-6)
        self.assertAlmostEqual(swapped["upper_high"], -got["lower_low"], delta=1e-6)

    def test_files_of_repeated_pairs(self):
        rows = [[f"P{i}", s, r, 100 + 7 * i + (r == "A") * (2 + i % 3 + (s == "left") * (i % 2))
                 + trial * (1 + (r == "A") * (i % 4) * .5)]
                for i in range(6) for s in ("left", "right") for trial in (0, 1) for r in "AB"]
        path = file_of("both.csv", "person,side,rater,deg", rows)
        got = found(path, "--value", "deg", "--components")["pair_limits"]
        out, plot, sheet = (os.path.join(WORK, name)
                            for name in ("pairs.csv", "pairs.svg", "pairs.txt"))
        done = run(path, "--value", "deg", "--components", "--csv", out, "--plot", plot,
                   "--sheet", sheet, "--force")
        self.assertEqual(done.returncode, 0, done.stderr)
        with open(out, encoding="utf-8", newline="") as file:
            table = {row["name"]: row for row in csv.DictReader(file)}
        for name, row, kind in (("lower", "pair_lower_limit", "value"),
                                ("upper_high", "pair_upper_limit", "high"),
                                ("bias_low", "pair_bias", "low"), ("pairs", "pairs", "value"),
                                ("variance_side", "pair_variance_side", "value")):
            self.assertEqual(float(table[row][kind]), got[name], name)
        root = xml.etree.ElementTree.parse(plot).getroot()
        words = " ".join(root.itertext())
        self.assertIn(f"upper limit {got['upper']:.1f}", words)
        self.assertIn("24 of 6 people", words)
        self.assertEqual(sum(one.tag.endswith("circle") for one in root.iter()) % 24, 0)
        with open(sheet, encoding="utf-8") as file:
            said = file.read()
        self.assertIn(f"of a single pair {got['lower']:.2f} ({got['lower_low']:.2f} to", said)
        self.assertIn("Zou 2013", said)

    def test_repeated_pairs_that_have_no_limits(self):
        rows = [["P0", r, 10 + trial + (r == "B")] for trial in range(3) for r in "AB"]
        rows += [["P1", r, 20 + trial + (r == "B")] for trial in range(3) for r in "AB"]
        rows += [["P2", "A", 30], ["P2", "B", 34]]
        path = file_of("level.csv", "person,rater,deg", rows)
        got = found(path, "--value", "deg")
        self.assertIsNone(got["pair_limits"])  # within a person no difference differs
        self.assertIn("single pairs: none; ", run(path, "--value", "deg").stdout)
        sides = file_of("level_sides.csv", "person,side,rater,deg",
                        [[p, s, r, v + 2 * (r == "B")] for p, v in (("P", 3), ("Q", 9))
                         for s in "lr" for v in (v + (s == "l"), v + 3) for r in "AB"])
        plot = os.path.join(WORK, "none.svg")
        done = run(sides, "--value", "deg", "--components", "--plot", plot)
        self.assertEqual((done.returncode, len(done.stderr.splitlines())), (1, 1), done.stderr)
        self.assertIn("have none", done.stderr)
        self.assertFalse(os.path.exists(plot))


if __name__ == "__main__":
    os.makedirs(WORK, exist_ok=True)
    unittest.main(argv=sys.argv[:1], verbosity=2)
