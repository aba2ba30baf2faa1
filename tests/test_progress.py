#!/usr/bin/env python3
"""A course of weeks as a table, a trend and a judgement, against SciPy and by hand.

Usage: test_progress.py PROGRAM RECORD_WRITER WORK_FOLDER
"""
import csv
import datetime
import json
import os
import shutil
import subprocess
import sys
import unittest
import xml.etree.ElementTree

from scipy import stats

PROGRAM, WRITER, WORK = (os.path.abspath(word) for word in sys.argv[1:4])


def header():
    """The columns, from a record that the project's own writer made."""
    path = os.path.join(WORK, "header")
    shutil.rmtree(path, ignore_errors=True)
    os.makedirs(path)
    subprocess.run([WRITER, path, "flat", "0", "1", "4"], check=True, capture_output=True)
    with open(os.path.join(path, "sessions.csv"), encoding="utf-8", newline="") as file:
        reader = csv.DictReader(file)
        return reader.fieldnames, next(reader)


def record(name, sessions, **more):
    """A record whose only course has these (day, degrees)."""
    path = os.path.join(WORK, name)
    shutil.rmtree(path, ignore_errors=True)
    os.makedirs(path)
    begin = datetime.datetime(2026, 1, 5, 8, 0, 0)
    with open(os.path.join(path, "sessions.csv"), "w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, FIELDS, lineterminator="\n")
        writer.writeheader()
        for number, (day, degrees) in enumerate(sessions):
            row = dict(ROW, id=f"{number:032x}", person="P07", movement="flexion",
                       side="right", mode="active", position="standing", arms="one",
                       started=(begin + datetime.timedelta(days=day)).strftime(
                           "%Y-%m-%dT%H:%M:%SZ"),
                       mean_of_maxima_deg=f"{degrees:.3f}", status="ok", replaces="")
            row.update({key: value(number) if callable(value) else value
                        for key, value in more.items()})
            writer.writerow(row)
    return path


def progress(path, *words):
    return subprocess.run([PROGRAM, "progress", "--data", path, *words], capture_output=True,
                          text=True, check=True, timeout=60,
                          env=dict(os.environ, LC_ALL="C.UTF-8", LANGUAGE="en")).stdout


class Progress(unittest.TestCase):
    def test_the_trend_is_scipys(self):
        sessions = [(d, 100 + 0.1 * d + (d * 37 % 11) - 5) for d in range(0, 60, 3)]
        course, = json.loads(progress(record("trend", sessions), "--json"))
        want = stats.theilslopes([y for _, y in sessions], [d for d, _ in sessions], 0.95)
        for name, value in (("trend_deg_per_month", want[0]),
                            ("trend_low_deg_per_month", want[2]),
                            ("trend_high_deg_per_month", want[3])):
            self.assertAlmostEqual(course[name], value * 30.4375, delta=1e-6)
        self.assertEqual(course["sessions"], len(sessions))

    def test_a_leap_is_more_than_error_and_noise_is_not(self):
        leap = [(d, 100.0 if d < 10 else 130.0) for d in range(40)]
        course, = json.loads(progress(record("leap", leap), "--json"))
        self.assertEqual(course["change"], "more")
        self.assertAlmostEqual(course["change_deg"], 30, delta=1e-6)
        said = progress(record("leap", leap))
        self.assertIn("more than measuring error", said)
        self.assertIn("not a medical device", said)
        for word in ("normal", "improved", "safe"):
            self.assertNotIn(word, said.lower())
        noise = [(d, 100.0 + (d % 3)) for d in range(40)]
        said = progress(record("noise", noise))
        self.assertIn("within measuring error", said)
        self.assertIn("(28 earlier sessions: --all)", said)

    def test_few_sessions_are_not_judged(self):
        said = progress(record("few", [(0, 90.0), (1, 95.0)]))
        self.assertIn("judged from 6 sessions on", said)

    def test_what_was_measured_otherwise_is_another_course(self):
        path = record("modes", [(d, 100.0 + d) for d in range(6)],
                      mode=lambda n: ("active", "assisted")[n % 2])
        self.assertEqual([c["sessions"] for c in json.loads(progress(path, "--json"))], [3, 3])
        path = record("sides", [(d, 160.0 if d % 2 else 120.0) for d in range(6)],
                      side=lambda n: ("right", "left")[n % 2])
        said = progress(path, "--side", "right")
        self.assertNotIn("left,", said)
        self.assertIn("this one is 75 % of it", progress(path, "--side", "right"))
        path = record("withdrawn", [(0, 90.0), (1, 95.0)],
                      status=lambda n: ("ok", "withdrawn")[n])
        self.assertEqual(json.loads(progress(path, "--json"))[0]["sessions"], 1)

    def test_a_chart_for_each_course(self):
        path = record("charts", [(d, 160.0 if d % 2 else 120.0) for d in range(8)],
                      side=lambda n: ("right", "left")[n % 2])
        file = os.path.join(WORK, "charts", "course.svg")
        said = progress(path, "--chart", file)
        self.assertEqual(said.count("saved: "), 2)
        for name, side in ((file, "right"), (file.replace(".svg", "-2.svg"), "left")):
            self.assertEqual(os.stat(name).st_mode & 0o777, 0o600)
            tree = xml.etree.ElementTree.parse(name)  # well-formed, or it raises
            words = " ".join(tree.getroot().itertext())
            for part in ("P07", side, "4 sessions", "2026-01-0", "the other side", "\u00b0"):
                self.assertIn(part, words)
        for words, code, said in (
                (("--chart", file), 1, "exists"), (("--chart", "course.gif"), 2, ".svg"),
                (("--chart", file + "x.svg", "--person", "NONE"), 1, "no chart"),
                (("--chart", os.path.join(WORK, "not-there", "c.svg")), 1, "not-there")):
            done = subprocess.run([PROGRAM, "progress", "--data", path, *words],
                                  capture_output=True, text=True, timeout=60)
            self.assertEqual((done.returncode, len(done.stderr.splitlines())), (code, 1),
                             done.stderr)
            self.assertIn(said, done.stderr)
        self.assertEqual(sorted(n for n in os.listdir(path) if n.startswith("course")),
                         ["course-2.svg", "course.svg"])
        progress(path, "--chart", file, "--force", "--side", "left")
        self.assertIn("left", open(file, encoding="utf-8").read())

    def test_the_mark_of_a_calm_day(self):
        """The median of the last five comfortable sessions; none where nobody said how sore
        the days were."""
        path = record("mark", [(d, 90.0 + 2 * d) for d in range(8)], pain_before="0.0",
                      pain_at_max="1.0", pain_after="0.0")
        file = os.path.join(WORK, "mark", "chart.svg")

        def levels():
            progress(path, "--chart", file, "--force")
            root = xml.etree.ElementTree.parse(file).getroot()
            words = " ".join(root.itertext())
            marks = [line for line in root.iter("{http://www.w3.org/2000/svg}path")
                     if line.get("stroke-dasharray") == "3.60"]
            return "mark on a calm day" in words, marks

        self.assertEqual(levels(), (False, []))
        columns = ("id,person,session,written,item,side,detail,value,unit,text,status,"
                   "replaces").split(",")
        with open(os.path.join(path, "notes.csv"), "w", encoding="utf-8", newline="") as out:
            writer = csv.DictWriter(out, columns, lineterminator="\n")
            writer.writeheader()
            for day in range(8):
                for number, item in enumerate(("pain-now", "pain-worst-24h", "woken",
                                               "constant", "before-end")):
                    writer.writerow({"id": f"{day * 10 + number:032x}", "person": "P07",
                                     "written": f"2026-01-{5 + day:02d}T07:00:00Z",
                                     "item": item, "value": "0.000", "status": "ok"})
        there, marks = levels()
        self.assertTrue(there)
        # Means 96 to 104: their median is 100. The scale's lines tell where that is.
        (mark,) = marks
        height = float(mark.get("d").split(" ")[1].split("L")[0])
        root = xml.etree.ElementTree.parse(file).getroot()
        tick = {text.text: float(text.get("y"))
                for text in root.iter("{http://www.w3.org/2000/svg}text")}
        degrees = [(float(name[:-1]), y) for name, y in tick.items()
                   if name and name.endswith("\u00b0")]
        (low, y_low), (high, y_high) = min(degrees), max(degrees)
        size = 14.4  # of the figure's text: 720 px / 50
        at = low + (y_low - 0.35 * size - height) / (y_low - y_high) * (high - low)
        self.assertAlmostEqual(at, 100, delta=0.1)

    def test_a_chart_of_letters(self):
        path = record("letters", [(3 * d, 100 + d) for d in range(20)])
        lines = progress(path).splitlines()
        row = next(i for i, line in enumerate(lines) if "\u2514" in line)
        drawn = "".join(lines[row - 13:row])
        self.assertGreaterEqual(drawn.count("\u25cf"), 18)  # some share a place
        self.assertIn("2026-01-05", lines[row + 1])
        plain = subprocess.run([PROGRAM, "progress", "--data", path], capture_output=True,
                               check=True, timeout=60, env=dict(os.environ, LC_ALL="C")).stdout
        self.assertTrue(all(byte < 128 for byte in plain))
        self.assertLessEqual(max(len(line) for line in plain.splitlines()), 100)
        self.assertNotIn("\u2514", progress(path, "--no-chart"))

    def test_nothing_yet(self):
        self.assertIn("Nothing measured yet", progress(record("none", [])))


if __name__ == "__main__":
    os.makedirs(WORK, exist_ok=True)
    FIELDS, ROW = header()
    unittest.main(argv=sys.argv[:1], verbosity=2)
