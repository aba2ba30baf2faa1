#!/usr/bin/env python3
"""The program on every movement of the table, and on both arms at once.

Usage: test_cli_arms.py PROGRAM SCENE_TOOL WORK_FOLDER
"""
import csv
import json
import os
import sys
import unittest

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
from called import (  # noqa: E402
    SESSION_HEADER, contents, fresh, image_max, main, pack, render, rows, run,
    sustained_max, trace
)

BOTH = ("--movement", "abduction", "--side", "both")


class BothArms(unittest.TestCase):
    """Two arms in one clip: two rows, two traces, and how far they are apart."""

    def clip(self, name, **settings):
        mjpeg, truth = render(name, movement="abduction", other_arm_moves="yes",
                              other_arm_markers="shoulder elbow wrist", repetitions="1",
                              markers="shoulder elbow wrist hip chest", rest_s="1.5",
                              **settings)
        return pack(mjpeg, name + ".avi", "-c", "copy"), truth

    def series(self, truth, *names):
        return [(float(t["time_s"]), sum(sign * float(t[n]) for sign, n in names))
                for t in truth]

    def test_each_arm_has_its_row_its_trace_and_its_own_truth(self):
        clip, truth = self.clip("apart", arc_deg="150", other_arc_deg="110")
        out = fresh("apart")
        got = run("trace", clip, *BOTH, "--out", out)
        self.assertEqual(got.returncode, 0, got.stderr)
        self.assertEqual([(r["side"], r["arms"], r["trace"]) for r in rows(out)],
                         [("right", "both", "apart-right.trace.csv"),
                          ("left", "both", "apart-left.trace.csv")])
        for row, name in zip(rows(out), ("angle_image_deg", "other_angle_image_deg")):
            joints = sustained_max(self.series(truth, (1, name.replace("_image", ""))))
            self.assertAlmostEqual(float(row["max_deg"]), joints, delta=1)
            self.assertEqual(row["reference"], "chest-hip")
            frames = trace(out, row["trace"])
            self.assertEqual(len(frames), len(truth))
            errors = sorted(abs(float(f["angle_image_deg"]) - float(t[name]))
                            for f, t in zip(frames, truth) if f["angle_image_deg"])
            self.assertGreater(len(errors), 0.95 * len(truth))
            self.assertLess(errors[len(errors) // 2], 0.15)
        self.assertIn("when the right arm was highest, the left one was 4", got.stdout)

    def test_the_difference_is_that_of_the_same_second_and_repeats(self):
        clip, truth = self.clip("apart", arc_deg="150", other_arc_deg="110")
        out = fresh("difference")
        got = run("trace", clip, *BOTH, "--json", "--out", out)
        right, left = json.loads(got.stdout)
        self.assertEqual(list(right)[:len(SESSION_HEADER)], SESSION_HEADER)
        both = [sustained_max(self.series(truth, (1, n)))
                for n in ("angle_deg", "other_angle_deg")]
        self.assertAlmostEqual(right["side_difference_deg"], both[0] - both[1], delta=0.5)
        self.assertAlmostEqual(right["side_difference_of_maxima_deg"],
                               right["max_deg"] - left["max_deg"], delta=0.002)
        widest = sustained_max(self.series(truth, (1, "angle_deg"),
                                           (-1, "other_angle_deg")))
        self.assertAlmostEqual(right["side_difference_largest_deg"], widest, delta=0.5)
        for key in right:
            if key.startswith("side_difference") and key[-6:] not in ("95_deg", "gest_s"):
                self.assertEqual(right[key], -left[key], key)
        self.assertIn("lower than the other arm in the same second", left["note"])
        before = contents(out)
        again = run("trace", clip, *BOTH, "--json", "--out", out)
        self.assertEqual(again.returncode, 0, again.stderr)
        self.assertEqual(again.stdout, got.stdout)
        self.assertEqual(contents(out), before)
        # one arm alone is another measurement, and a row of its own
        alone = run("trace", clip, "-m", "abduction", "-s", "right", "--arms", "both",
                    "--out", out)
        self.assertEqual(alone.returncode, 0, alone.stderr)
        self.assertEqual(len(rows(out)), 3)

    def test_an_arm_that_lags_is_not_lower_but_was_behind(self):
        clip, truth = self.clip("lag", arc_deg="140", other_arc_deg="140",
                                other_lag_s="0.5", hold_s="1")
        got = run("trace", clip, *BOTH, "--json", "--out", fresh("lag"))
        right, left = json.loads(got.stdout)
        self.assertLess(abs(right["side_difference_deg"]), 0.6)
        behind = max(sustained_max(self.series(truth, (s, "angle_deg"),
                                               (-s, "other_angle_deg")))
                     for s in (1, -1))
        self.assertGreater(behind, 40)
        self.assertAlmostEqual(abs(left["side_difference_largest_deg"]), behind, delta=1)

    def test_stickers_on_one_arm_alone_are_refused_for_both(self):
        mjpeg, _ = render("single", movement="abduction", repetitions="1", rest_s="1")
        clip = pack(mjpeg, "single.avi", "-c", "copy")
        out = fresh("single")
        got = run("trace", clip, *BOTH, "--out", out)
        self.assertEqual(got.returncode, 1)
        for side in ("right", "left"):
            self.assertIn(f"of the {side} arm was found", got.stderr)
        self.assertEqual(rows(out) if os.path.exists(os.path.join(out, "sessions.csv"))
                         else [], [])


# Elbow at the side, seen from in front: the arm hangs, then the hand lies on the belly.
FRONT = {"view": "front", "abduction_deg": 0, "shape": "band", "hang_s": 2, "rest_s": 4,
         "start_deg": -50}


class Movements(unittest.TestCase):
    """Each movement of the table from rendered pictures to its row."""

    def test_every_movement_meets_the_line_through_the_stickers(self):
        for movement, words, settings in (
                ("extension", (), {"arc_deg": 45, "start_deg": 3}),
                ("abduction", (), {"arc_deg": 110}),
                ("adduction", (), {"arc_deg": 30, "start_deg": 2}),
                ("external-rotation", ("--at-abduction", "90"), {"arc_deg": 70,
                                                                 "position": "supine"}),
                ("external-rotation", ("--at-abduction", "45"),
                 {"arc_deg": 40, "position": "supine", "abduction_deg": 45}),
                ("internal-rotation", ("--position", "standing", "--at-abduction", "90"),
                 {"arc_deg": 60}),
                ("external-rotation", ("--from", "front"), {**FRONT, "arc_deg": 45}),
                ("external-rotation", ("--from", "front", "--colours", "bands"),
                 {**FRONT, "arc_deg": 25, "side": "left"}),
                ("abduction", ("--position", "supine"), {"arc_deg": 110,
                                                         "position": "supine"}),
                ("flexion", ("--position", "supine"), {"position": "supine"}),
                ("flexion", ("--position", "side-lying"), {"position": "side-lying"}),
                ("abduction", ("--position", "side-lying"), {"arc_deg": 95,
                                                             "position": "side-lying"}),
                ("external-rotation", ("--position", "side-lying"),
                 {"arc_deg": 60, "position": "side-lying"}),
                ("abduction", ("--from", "behind"), {"arc_deg": 95,
                                                     "from_behind": "yes"})):
            with self.subTest(movement=movement, words=words):
                name = "m-" + movement + "".join(words).replace("--", "-") + \
                    str(settings.get("arc_deg", ""))
                front = "view" in settings
                mjpeg, truth = render(name, movement=movement,
                                      seconds=8 if front else 6, **settings)
                clip = pack(mjpeg, name + ".avi", "-c", "copy")
                out = fresh("movements")
                got = run("trace", clip, "--movement", movement, "--side",
                          settings.get("side", "right"), *words, "--out", out)
                self.assertEqual(got.returncode, 0, got.stderr)
                (row,) = rows(out)
                want = sustained_max([(float(t["time_s"]), float(t["angle_image_deg"]))
                                      for t in truth])
                # From in front a length and a wrist's thickness stand between. The line
                # through the stickers is not corrected towards the joints.
                self.assertAlmostEqual(image_max(trace(out, row["trace"])), want,
                                       delta=2.0 if front else 0.7)
                joints = sustained_max([(float(t["time_s"]), float(t["angle_deg"]))
                                        for t in truth])
                self.assertLessEqual(abs(float(row["max_deg"]) - joints),
                                     float(row["max_u95_deg"]))
                if "rotation" not in movement:
                    self.assertEqual(row["reference"], "hip")
                if "--at-abduction" in words:
                    at = words[words.index("--at-abduction") + 1]
                    self.assertEqual(row["rotation_at_abduction_deg"], at + ".000")
                    self.assertEqual("not at 90" in row["note"], at != "90")
                if front:
                    self.assertEqual(row["view"], "front")
                    self.assertEqual(row["movement"], "external-rotation")
                    self.assertNotIn("guessed", row["note"])
                    self.check_front_trace(out)

    def check_front_trace(self, out):
        """Blind near zero: an empty cell, never a guess; and none while the arm hangs."""
        (name,) = [n for n in os.listdir(out) if n.endswith(".trace.csv")]
        with open(os.path.join(out, name), encoding="utf-8") as f:
            trace = list(csv.DictReader(f))
        self.assertTrue(all(t["angle_deg"] == "" for t in trace
                            if float(t["time_s"]) < 2))
        hidden = [t for t in trace if float(t["time_s"]) > 4 and t["wrist_seen"] == "0"]
        self.assertGreater(len(hidden), 5)
        for t in hidden:
            self.assertEqual(t["angle_deg"], "")
            self.assertIn("no-wrist", t["quality"])


if __name__ == "__main__":
    main()
