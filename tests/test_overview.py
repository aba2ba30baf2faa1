#!/usr/bin/env python3
"""What a practitioner looks at first, against figures worked out by hand.

Usage: test_overview.py PROGRAM RECORD_WRITER WORK_FOLDER
"""
import csv
import datetime
import json
import os
import shutil
import subprocess
import sys
import unittest

PROGRAM, WRITER, WORK = (os.path.abspath(word) for word in sys.argv[1:4])
TODAY = datetime.datetime.now(datetime.timezone.utc)


def days_ago(days):
    return (TODAY - datetime.timedelta(days=days)).strftime("%Y-%m-%dT08:00:00Z")


def template():
    """An invented row of every table, as the project's own writer makes it."""
    path = os.path.join(WORK, "template")
    shutil.rmtree(path, ignore_errors=True)
    for words in (("flat", "0", "1", "4"), ("tables", "0", "7")):
        subprocess.run([WRITER, path, *words], check=True, capture_output=True)
    rows = {}
    for name in os.listdir(path):
        if name.endswith(".csv") and "trace" not in name:
            with open(os.path.join(path, name), encoding="utf-8", newline="") as file:
                rows[name] = next(csv.DictReader(file))
    return rows


def record(name, tables):
    path = os.path.join(WORK, name)
    shutil.rmtree(path, ignore_errors=True)
    os.makedirs(path)
    for table, rows in tables.items():
        empty = dict.fromkeys(ROWS[table], "")
        with open(os.path.join(path, table), "w", encoding="utf-8", newline="") as file:
            writer = csv.DictWriter(file, list(empty), lineterminator="\n")
            writer.writeheader()
            for number, row in enumerate(rows):
                key = {} if table == "people.csv" else {"id": f"{number + 1:032x}"}
                writer.writerow({**empty, **key, "person": "P1", **row})
    return path


def overview(path, *words):
    done = subprocess.run([PROGRAM, "people", "--data", path, "--person", "P1", "--overview",
                           *words], capture_output=True, text=True, timeout=60,
                          env=dict(os.environ, LC_ALL="C.UTF-8", LANGUAGE="en"))
    assert done.returncode == 0, done.stderr
    return done.stdout


def session(movement, side, ago, mean, **more):
    return {"movement": movement, "side": side, "started": days_ago(ago), "mode": "active",
            "position": "standing", "view": "side", "arms": "one", "status": "ok",
            "mean_of_maxima_deg": f"{mean:.3f}", "max_deg": f"{mean + 2:.3f}", **more}


def step(kind, ago, **more):
    return {"kind": kind, "step": kind, "started": days_ago(ago), "result": "done", **more}


def note(item, ago, value):
    return {"item": item, "written": days_ago(ago), "value": value, "status": "ok"}


class Overview(unittest.TestCase):
    def test_figures(self):
        path = record("whole", {
            "people.csv": [{"set_on": days_ago(30), "affected_side": "right"}],
            "sheet.csv": [{"set_on": days_ago(30), "set_by": "R1", "item": "activity:1",
                           "value": "comb my hair"}],
            "sessions.csv": [
                session("flexion", "right", 10, 90, stopped_by="pain"),
                session("flexion", "right", 3, 100, stopped_by="stiff",
                        max_before_hike_deg="80", pain_onset_deg="70", pain_at_max="4"),
                session("flexion", "left", 5, 160),
                session("flexion", "right", 2, 130, mode="assisted"),
                session("extension", "right", 2, 30), session("extension", "left", 2, 50)],
            "steps.csv": [
                step("press", 40), step("press", 5, area="upper-back", tenderness_before="6",
                                        tenderness_after="4"),
                step("press", 1, area="upper-back", tenderness_before="5",
                     tenderness_after="3"),
                step("pendulum", 20, diameter_cm="20"), step("pendulum", 2, diameter_cm="26"),
                step("stay", 2, result="skipped"), step("stay", 1, result="part")],
            "notes.csv": [note("woken", 3, 1), note("woken", 2, 0), note("woken", 1, 1),
                          note("activity-1", 20, 2), note("activity-1", 1, 5)]})
        (found,) = json.loads(overview(path, "--json"))
        self.assertEqual(found["person"], "P1")
        percent = found["percent_of_other"]
        # The mean of a session: 30 / 50 and 100 / 160; of both modes the active one.
        self.assertEqual([(one["percent"], one["affected_deg"], one["other_deg"])
                          for one in percent], [(60, 30, 50), (62.5, 100, 160)])
        self.assertEqual([(one["day"], one["rows"], one["other_day"], one["other_rows"])
                          for one in percent],
                         [(days_ago(2)[:10], 1, days_ago(2)[:10], 1),
                          (days_ago(3)[:10], 2, days_ago(5)[:10], 1)])
        (lift,) = found["before_lift"]
        self.assertEqual((lift["max_before_hike_deg"], lift["max_deg"], lift["rows"]),
                         (80, 102, 2))
        (stopped,) = found["stopped_by"]
        self.assertEqual((stopped["stiff"], stopped["pain"], stopped["weak"]), (1, 1, 0))
        (began,) = found["pain_began"]
        self.assertEqual((began["pain_onset_deg"], began["pain_at_max"]), (70, 4))
        (modes,) = found["active_assisted"]
        self.assertEqual((modes["active_deg"], modes["assisted_deg"],
                          modes["difference_deg"]), (100, 130, 30))
        (nights,) = found["nights"]
        self.assertEqual((nights["woken"], nights["asked"]), (2, 3))
        self.assertEqual([(one["what"], one["steps"]) for one in found["steps"]],
                         [("press and rest", 2), ("pendulum", 2), ("reach and rest", 1)])
        (circles,) = found["pendulum"]
        self.assertEqual((circles["diameter_cm"], circles["first_diameter_cm"],
                          circles["day"]), (26, 20, days_ago(2)[:10]))
        (activity,) = found["activities"]
        self.assertEqual((activity["what"], activity["score"], activity["first_score"]),
                         ("1. comb my hair", 5, 2))
        said = overview(path)
        self.assertIn("60 % (30.0 of 50.0 degrees)", said)
        self.assertIn("active 100.0, assisted 130.0 degrees: 30.0 apart", said)
        self.assertIn(f"[newest of 2: {days_ago(3)[:10]}, against the newest of 1: {days_ago(5)[:10]}]",
                      said)
        # From 20 degrees on, as models/care.ini has it.
        self.assertIn("Tell a clinician: assisted goes further than active, by 30 degrees", said)
        for word in ("normal", "improved", "safe", "should"):
            self.assertNotRegex(said.lower(), rf"\b{word}\b")

    def test_tenderness_by_area(self):
        area = subprocess.run([PROGRAM, "people", "--help"], capture_output=True, text=True,
                              check=True).stdout.split("Areas that have to be taught:")[1]
        area = area.split()[0]
        path = record("areas", {"steps.csv": [
            step("press", 5, area=area, tenderness_before="6", tenderness_after="4"),
            step("press", 1, area=area, tenderness_before="5", tenderness_after="3"),
            step("press", 2, area=area, side="left", tenderness_before="2")]})
        left, one = json.loads(overview(path, "--json"))[0]["tenderness"]
        self.assertEqual((one["tenderness_before"], one["tenderness_after"], one["rows"],
                          one["day"]), (5, 3, 2, days_ago(1)[:10]))
        # The sides are apart, and what was not told is no figure.
        self.assertEqual((left["tenderness_before"], left["tenderness_after"], left["rows"]),
                         (2, None, 1))
        self.assertIn("before 2, after not told", overview(path))

    def test_missing_is_blank_with_its_reason(self):
        path = record("both", {
            "sheet.csv": [{"item": "history:both-sides", "value": "yes", "set_by": "R1",
                           "set_on": days_ago(1)}],
            "people.csv": [{"affected_side": "both", "set_on": days_ago(1)}],
            "sessions.csv": [session("flexion", "right", 3, 100),
                             session("flexion", "left", 3, 160)]})
        said = overview(path)
        self.assertIn("both sides are affected", said)
        (found,) = json.loads(overview(path, "--json"))
        empty = [key for key, value in found.items() if value == []]
        self.assertEqual(len(empty), 10)
        self.assertEqual(list(found["blank"]), empty)
        self.assertIn("both sides are affected", found["blank"]["percent_of_other"])
        for reason in found["blank"].values():
            self.assertIn(reason, said)

    def test_what_is_wrong(self):
        path = record("wrong", {"sessions.csv": [session("flexion", "right", 3, 100)]})
        for words, code in ((["--overview"], 2), (["--overview", "--person", "NONE"], 1),
                            (["--overview", "--person", "P1", "--add", "--set-by", "R1"], 2)):
            done = subprocess.run([PROGRAM, "people", "--data", path, *words],
                                  capture_output=True, text=True, timeout=60)
            self.assertEqual((done.returncode, len(done.stderr.splitlines())), (code, 1),
                             done.stderr)


if __name__ == "__main__":
    os.makedirs(WORK, exist_ok=True)
    ROWS = template()
    unittest.main(argv=sys.argv[:1], verbosity=2)
