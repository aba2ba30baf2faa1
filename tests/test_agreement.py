#!/usr/bin/env python3
"""Agreement of a CSV file, against published tables and SciPy.

Usage: test_agreement.py PROGRAM WORK_FOLDER
"""
import csv
import json
import os
import subprocess
import sys
import unittest
import xml.etree.ElementTree

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


def r_says(script):
    done = subprocess.run(["Rscript", "-e", script], capture_output=True, text=True, timeout=120)
    assert done.returncode == 0, done.stderr
    return [line.split() for line in done.stdout.splitlines() if line.strip()]


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
                reach = stats.t.ppf(.975, n - 2) * line.stderr
                self.assertAlmostEqual(got["limits"]["slope_high"], line.slope + reach,
                                       delta=1e-8)
                self.assertAlmostEqual(got["limits"]["slope_low"], line.slope - reach,
                                       delta=1e-8)
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

    def test_r(self):
        """psych's ICC, and lme4's REML with people, their sides and raters."""
        random = numpy.random.default_rng(5)
        tables = {"judges": numpy.array(JUDGES, float)}
        for people, raters in ((8, 2), (25, 3)):
            tables[f"lot{people}"] = (random.normal(100, 9, (people, 1))
                                      + random.normal(0, 2, (1, raters))
                                      + random.normal(0, 4, (people, raters))).round(3)
        for name, values in tables.items():
            raters = [f"r{j}" for j in range(values.shape[1])]
            path = file_of(f"{name}.csv", ",".join(["person", *raters]),
                           [[f"P{i}", *row] for i, row in enumerate(values.tolist())])
            got = found(path, "--wide", ",".join(raters))
            rows = r_says(f"""suppressMessages(library(psych)); d <- read.csv("{path}")[,-1]
                r <- ICC(d, lmer=FALSE)$results
                write.table(format(r[,c(2,7,8)], digits=15), col.names=F, quote=F)""")
            forms = ("icc_1_1", "icc_2_1", "icc_3_1", "icc_1_k", "icc_2_k", "icc_3_k")
            for form, row in zip(forms, rows):
                value, low, high = (float(cell) for cell in row[-3:])
                self.assertAlmostEqual(got[form]["value"], value, delta=1e-6)
                self.assertAlmostEqual(got[form]["low"], low, delta=1e-6)
                self.assertAlmostEqual(got[form]["high"], high, delta=1e-6)

    def test_r_mixed_model(self):
        random = numpy.random.default_rng(8)
        for people, drop, spread in ((20, 0, 4), (20, 9, 4), (12, 5, 0)):
            each = random.normal(0, 8, people)
            rows = [[f"P{i}", side, f"R{j}", round(120 + each[i] + random_side + 1.5 * j
                                                  + random.normal(0, 2), 3)]
                    for i in range(people) for side in ("left", "right")
                    for random_side in [random.normal(0, spread)] for j in range(3)]
            random.shuffle(rows)
            path = file_of("mixed.csv", "person,side,rater,deg", rows[drop:])
            got = found(path, "--value", "deg", "--components")["model"]
            told = r_says(f"""suppressMessages(library(lme4)); d <- read.csv("{path}")
                m <- lmer(deg ~ 1 + (1|person) + (1|person:side) + (1|rater), data=d,
                          control=lmerControl(optimizer="bobyqa", optCtrl=list(rhoend=1e-10)))
                v <- as.data.frame(VarCorr(m)); rownames(v) <- v$grp
                cat(format(c(v["person","vcov"], v["person:side","vcov"], v["rater","vcov"],
                             v["Residual","vcov"], logLik(m), fixef(m)), digits=15))""")[0]
            names = ("variance_person", "variance_side", "variance_rater",
                     "variance_residual", "log_likelihood", "mean")
            for name, value in zip(names, map(float, told)):
                self.assertAlmostEqual(got[name], value, delta=2e-4 * max(1, abs(value)),
                                       msg=(name, people, drop))
            # What follows from them.
            subject = got["variance_person"] + got["variance_side"]
            self.assertAlmostEqual(got["icc_agreement"], subject / (
                subject + got["variance_rater"] + got["variance_residual"]), delta=1e-6)
            self.assertAlmostEqual(got["sem_consistency"], got["variance_residual"] ** .5,
                                   delta=1e-6)

    def test_a_balanced_table_is_what_the_analysis_of_variance_says(self):
        """Where no component is nothing, REML of a balanced table is the classical estimate
        (Searle, Casella and McCulloch, Variance Components, 1992, from memory)."""
        path = file_of("balanced.csv", "person,rater,deg",
                       [[f"P{i}", f"R{j}", value] for i, row in enumerate(JUDGES)
                        for j, value in enumerate(row)])
        got = found(path, "--value", "deg", "--components")
        model = got["model"]
        self.assertAlmostEqual(model["variance_residual"], got["error_ms"], delta=1e-5)
        self.assertAlmostEqual(model["variance_person"],
                               (got["between_ms"] - got["error_ms"]) / 4, delta=1e-5)
        self.assertAlmostEqual(model["variance_rater"],
                               (got["rater_ms"] - got["error_ms"]) / 6, delta=1e-5)
        self.assertAlmostEqual(model["icc_agreement"], got["icc_2_1"]["value"], delta=1e-6)
        self.assertAlmostEqual(model["icc_consistency"], got["icc_3_1"]["value"], delta=1e-6)

    def test_files(self):
        path = file_of("pair.csv", "person,rater,deg",
                       [[f"P{i}", r, value] for i, pair in enumerate(zip(WRIGHT, MINI))
                        for r, value in zip(("first", "second"), pair)])
        got = found(path, "--value", "deg")
        out = os.path.join(WORK, "figures.csv")
        plots = [os.path.join(WORK, "plot." + kind) for kind in ("svg", "pdf", "png")]
        sheet = os.path.join(WORK, "sheet.txt")
        for plot in plots:
            done = run(path, "--value", "deg", "--csv", out, "--plot", plot, "--sheet", sheet,
                       "--force")
            self.assertEqual(done.returncode, 0, done.stderr)
            self.assertEqual(os.stat(plot).st_mode & 0o777, 0o600)
        with open(out, encoding="utf-8", newline="") as file:
            table = {row["name"]: row for row in csv.DictReader(file)}
        self.assertEqual(float(table["icc_2_1"]["value"]), got["icc_2_1"]["value"])
        self.assertEqual(float(table["icc_2_1"]["low"]), got["icc_2_1"]["low"])
        self.assertEqual(float(table["upper_limit"]["high"]), got["limits"]["upper_high"])
        self.assertEqual(float(table["mdc95_agreement"]["value"]), got["mdc95_agreement"])
        root = xml.etree.ElementTree.parse(plots[0]).getroot()
        words = " ".join(root.itertext())
        for wanted in ("first less second", "mean difference -2.1", "upper limit 73.9",
                       "lower limit -78.1"):
            self.assertIn(wanted, words)
        # A dot for each person, where its mean and its difference are.
        dots = [(float(one.get("cx")), float(one.get("cy"))) for one in root.iter()
                if one.tag.endswith("circle")]
        places = sorted({(round(x, 2), round(y, 2)) for x, y in dots})
        self.assertEqual(len(places), 17)
        means, apart = ((numpy.array(WRIGHT) + MINI) / 2, numpy.array(WRIGHT) - MINI)
        x, y = numpy.array(places).T
        order = numpy.argsort(means)
        self.assertGreater(numpy.corrcoef(x, means[order])[0, 1], 0.999999)
        self.assertLess(numpy.corrcoef(numpy.sort(y), numpy.sort(-apart))[0, 1] * -1, -0.999999)
        with open(sheet, encoding="utf-8") as file:
            said = file.read()
        self.assertIn("17 people with a value of each of 2 raters", said)
        self.assertIn("limits of agreement -78.10 to 73.86", said)
        self.assertGreater(said.count("......"), 8)  # what nobody can know but who did it
        self.assertNotIn(WORK, said)
        done = run(path, "--value", "deg", "--csv", out)
        self.assertIn("exists", done.stderr)

    def test_one_form_alone(self):
        path = file_of("judges.csv", "who,a,b,c,d",
                       [[f"P{i}", *row] for i, row in enumerate(JUDGES)])
        said = run(path, "--person", "who", "--wide", "a,b,c,d", "--form", "2,k").stdout
        self.assertIn("ICC(2,4)", said)
        self.assertEqual(said.count("ICC("), 1)

    def test_planning(self):
        said = run("--icc", "0.9", "--width", "0.2", "--raters", "2").stdout
        z = stats.norm.ppf(.975)
        bonett = 8 * z**2 * (1 - .9)**2 * (1 + .9)**2 / (2 * 1 * .2**2) + 1 + 5 * .9
        self.assertIn(f"{int(numpy.ceil(bonett))} people with 2 raters", said)

    def test_what_is_wrong(self):
        path = file_of("few.csv", "person,rater,deg", [["P1", "A", 1], ["P1", "B", "x"]])
        same = file_of("same.csv", "person,rater,deg",
                       [[p, r, 5] for p in "PQR" for r in "AB"])
        for words, code, said in (
                ((path, "--value", "deg"), 1, "line 3"), ((path,), 2, "mean_of_maxima_deg"),
                ((path, "--value", "deg", "--where", "deg"), 2, "COLUMN=TEXT"),
                ((path, "--value", "deg", "--where", "hat=1"), 2, "hat"),
                ((same, "--value", "deg"), 1, "no error"), ((), 2, "one CSV file"),
                ((file_of("wide.csv", "person,a,b", [["P1", 1, 2]]),), 2, "--wide"),
                ((file_of("none.csv", "x", []),), 2, "--person"),
                ((os.path.join(WORK, "not-there.csv"),), 1, "cannot be opened"),
                ((same, "--value", "deg", "--confidence", "100"), 2, "percentage"),
                ((same, "--wide", "deg", "--value", "deg"), 2, "--wide"),
                ((same, "--value", "deg", "--form", "4,1"), 2, "--form"),
                ((same, "--value", "deg", "--components"), 1, "no error"),
                (("--icc", "2", "--width", "0.2"), 2, "--icc"),
                (("--icc", "0.9"), 2, "--width"),
                ((file_of("three.csv", "person,rater,deg",
                          [[p, r, i * 3 + j * j] for i, p in enumerate("PQRS")
                           for j, r in enumerate("ABC")] + [["T", "A", 9], ["T", "B", 1],
                                                            ["T", "C", 5]]),
                  "--value", "deg", "--plot", WORK + "/x.svg"), 1, "two raters")):
            done = run(*words)
            self.assertEqual((done.returncode, len(done.stderr.splitlines())), (code, 1),
                             (words, done.stderr))
            self.assertIn(said, done.stderr)


if __name__ == "__main__":
    os.makedirs(WORK, exist_ok=True)
    unittest.main(argv=sys.argv[:1], verbosity=2)
