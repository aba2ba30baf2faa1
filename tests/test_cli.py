#!/usr/bin/env python3
"""The program as a person or a script uses it: words, exit codes, files.

Usage: test_cli.py PROGRAM SCENE_TOOL WORK_FOLDER
"""
import csv
import filecmp
import json
import os
import stat
import subprocess
import sys
import unittest

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
from called import (  # noqa: E402
    BANDS, FLEXION, SESSION_HEADER, TRACE_HEADER, TURN, WORK, contents, fresh, image_max,
    main, pack, render, rows, run, sustained_max, trace
)


class Words(unittest.TestCase):
    """Exit codes and sentences for calls that cannot work."""

    def expect(self, code, words, says):
        got = run(*words)
        self.assertEqual(got.returncode, code, got.stderr)
        self.assertIn(says, got.stderr + (got.stdout if code == 0 else ""))
        if code:
            self.assertEqual(got.stdout, "")
            self.assertEqual(len(got.stderr.strip().splitlines()), 1, got.stderr)

    def test_help_teaches_and_warns(self):
        for words in ([], ["--help"], ["trace", "--help"], ["demo", "--help"],
                      ["colours", "--help"]):
            got = run(*words)
            self.assertEqual(got.returncode, 0)
            self.assertIn("omogon", got.stdout)
        self.assertIn("not a medical device", run("--help").stdout)
        self.assertIn("Stop at pain", run("trace", "--help").stdout)

    def test_wrong_words_exit_2_with_one_sentence(self):
        for words, says in (
                (["wave"], "no command"),
                (["trace", "--colour", "x"], "--help"),
                (["trace"], "no clip"),
                (["trace", "a.mp4"], "--movement is missing"),
                (["trace", "a.mp4", "--movement", "flexion"], "--side is missing"),
                (["trace", "a.mp4", "--movement", "waving", "--side", "left"], "unknown"),
                (["trace", "a.mp4", "--movement", "flexion", "--side", "up"], "unknown"),
                (["trace", "a.mp4", *FLEXION, "--position", "floating"], "unknown"),
                (["trace", "a.mp4", *FLEXION, "--mode", "fast"], "unknown"),
                (["trace", "a.mp4", *FLEXION, "--from", "behind"], "--facing"),
                (["trace", "a.mp4", *FLEXION, "--jobs", "0"], "--jobs"),
                (["trace", "a.mp4", *FLEXION, "--start", "x"], "seconds"),
                (["trace", "a.mp4", *FLEXION, "--start", "5", "--end", "2"], "not after"),
                (["trace", "a.mp4", *FLEXION, "--person", "Ann Other"], "not a code"),
                (["trace", "a.mp4", *FLEXION, "--cutoff", "900"], "frequency"),
                (["trace", "a.mp4", *FLEXION, "--at-abduction", "45"], "rotation"),
                (["trace", "a.mp4", *TURN, "--at-abduction", "x"], "0 to 180"),
                (["trace", "a.mp4", *FLEXION, "--forearm", "250"], "--from front"),
                (["trace", "a.mp4", *TURN, "--from", "front", "--colours", "default"],
                 "bands"),
                (["trace", "a.mp4", *TURN, *BANDS, "--from", "behind"], "hides the hand"),
                (["trace", "a.mp4", *TURN, *BANDS, "--from", "front", "--forearm", "20"],
                 "100 to 400"),
                (["trace", "a.mp4", *TURN, *BANDS, "--from", "front", "--position",
                  "supine"], "not measured supine"),
                (["trace", "a.mp4", "--movement", "internal-rotation", "--side", "left",
                  "--from", "front"], "belly"),
                (["trace", "a.mp4", *FLEXION, "--marker-size", "2"], "5 to 200"),
                (["trace", "a.mp4", *FLEXION, "--data", "a", "--out", "b"], "exclude"),
                (["trace", "a.mp4", "-m", "flexion", "-s", "both"], "front view"),
                (["trace", "a.mp4", "-m", "abduction", "-s", "both", "--arms", "one"],
                 "--arms one"),
                (["trace", "a.mp4", "-m", "abduction", "-s", "both", "--position",
                  "side-lying"], "on the side"),
                (["colours"], "name one"),
                (["colours", "a.jpg", "--point", "elbow"], "NAME=X,Y"),
        ):
            with self.subTest(words=words):
                self.expect(2, words, says)

    def test_unusable_files_exit_1_with_one_sentence(self):
        os.makedirs(os.path.join(WORK, "bad", "folder"), exist_ok=True)
        bad = os.path.join(WORK, "bad")
        open(os.path.join(bad, "empty.mp4"), "w").close()
        with open(os.path.join(bad, "text.mp4"), "w") as f:
            f.write("this is no film\n" * 100)
        subprocess.run(["ffmpeg", "-v", "error", "-y", "-f", "lavfi", "-i", "sine",
                        "-t", "1", os.path.join(bad, "tone.wav")], check=True)
        for name in ("missing.mp4", "folder", "empty.mp4", "text.mp4", "tone.wav"):
            with self.subTest(name=name):
                got = run("trace", os.path.join(bad, name), *FLEXION, "--out",
                          fresh("bad"))
                self.assertEqual(got.returncode, 1, got.stderr)
                self.assertIn(name, got.stderr)
                self.assertEqual(len(got.stderr.strip().splitlines()), 1, got.stderr)


class Measuring(unittest.TestCase):
    def test_one_clip_gives_one_row_and_one_trace_that_agree_with_the_truth(self):
        mjpeg, truth = render("one")
        clip = pack(mjpeg, "one.avi", "-c", "copy")
        out = fresh("one")
        got = run("trace", clip, *FLEXION, "--person", "P01", "--out", out)
        self.assertEqual(got.returncode, 0, got.stderr)
        self.assertIn("saved", got.stdout)
        self.assertEqual(sorted(os.listdir(out)),
                         sorted([n for n in os.listdir(out) if n.startswith(".")] +
                                ["one.trace.csv", "sessions.csv", "set-ups.csv"]))
        with open(os.path.join(out, "sessions.csv"), encoding="utf-8") as f:
            self.assertEqual(f.readline().rstrip("\n").split(","), SESSION_HEADER)
        with open(os.path.join(out, "one.trace.csv"), encoding="utf-8") as f:
            self.assertEqual(f.readline().rstrip("\n").split(","), TRACE_HEADER)
        (row,) = rows(out)
        frames = trace(out, "one.trace.csv")
        self.assertEqual(len(frames), len(truth))
        self.assertEqual((row["person"], row["movement"], row["side"], row["status"],
                          row["source"], row["trace"]),
                         ("P01", "flexion", "right", "ok", "one.avi", "one.trace.csv"))
        want = sustained_max([(float(t["time_s"]), float(t["angle_image_deg"]))
                              for t in truth])
        # Uncorrected, the line through the stickers; corrected, the joints.
        self.assertAlmostEqual(image_max(frames), want, delta=0.5)
        joints = sustained_max([(float(t["time_s"]), float(t["angle_deg"]))
                                for t in truth])
        self.assertLessEqual(abs(float(row["max_deg"]) - joints),
                             float(row["max_u95_deg"]))
        errors = sorted(abs(float(f["angle_image_deg"]) - float(t["angle_image_deg"]))
                        for f, t in zip(frames, truth) if f["angle_image_deg"])
        self.assertGreater(len(errors), 0.9 * len(truth))
        self.assertLess(errors[len(errors) // 2], 0.15)

    def test_measuring_again_changes_nothing_and_other_settings_add(self):
        mjpeg, _ = render("one")
        clip = pack(mjpeg, "one.avi", "-c", "copy")
        out = fresh("again")
        self.assertEqual(run("trace", clip, *FLEXION, "--out", out).returncode, 0)
        before = contents(out)
        got = run("trace", clip, *FLEXION, "--out", out)
        self.assertEqual(got.returncode, 0)
        self.assertIn("nothing changed", got.stdout)
        self.assertEqual(before, contents(out))
        got = run("trace", clip, *FLEXION, "--cutoff", "4", "--out", out)
        self.assertEqual(got.returncode, 0, got.stderr)
        self.assertEqual([r["trace"] for r in rows(out)],
                         ["one.trace.csv", "one-2.trace.csv"])
        self.assertEqual(contents(out)["one.trace.csv"], before["one.trace.csv"])
        # Another filter is another set-up, and each has its row.
        with open(os.path.join(out, "set-ups.csv"), encoding="utf-8", newline="") as f:
            set_ups = list(csv.DictReader(f))
        self.assertEqual([s["id"] for s in set_ups], [r["set_up"] for r in rows(out)])
        self.assertEqual([s["cutoff_hz"] for s in set_ups], ["6.000", "4.000"])
        for s in set_ups:
            self.assertEqual((s["camera"], s["picture_width_px"], s["picture_height_px"],
                              s["frames_per_second"], s["protocol"], s["distance_m"]),
                             ("clip", "1280", "720", "30.000", "skin", ""))
            self.assertIn("elbow disc", s["markers"])

    def test_any_number_of_jobs_gives_the_same_files_in_the_order_of_arguments(self):
        names = []
        for i, arc in enumerate((60, 95, 130)):
            mjpeg, _ = render(f"jobs{i}", arc_deg=arc, seconds=7)
            names.append(pack(mjpeg, "arm.avi", "-c", "copy"))
        names.insert(1, os.path.join(WORK, "missing.avi"))
        one, four = fresh("jobs-one"), fresh("jobs-four")
        a = run("trace", *names, *FLEXION, "--jobs", "1", "--out", one)
        b = run("trace", *names, *FLEXION, "--jobs", "4", "--out", four)
        self.assertEqual((a.returncode, b.returncode), (1, 1))
        self.assertIn("missing.avi", a.stderr)
        visible = sorted(n for n in os.listdir(one) if not n.startswith("."))
        self.assertEqual(visible, ["arm-2.trace.csv", "arm-3.trace.csv", "arm.trace.csv",
                                   "sessions.csv", "set-ups.csv"])
        for name in visible:
            self.assertTrue(filecmp.cmp(os.path.join(one, name), os.path.join(four, name),
                                        shallow=False), name)
        highest = [float(r["max_deg"]) for r in rows(one)]
        self.assertEqual(highest, sorted(highest))
        self.assertEqual(len({r["set_up"] for r in rows(one)}), 1)
        # A folder and a list name the same clips.
        with open(os.path.join(WORK, "list.txt"), "w") as f:
            f.write("\n".join(names[:1] + names[2:]) + "\n")
        listed = fresh("jobs-list")
        got = run("trace", "--list", os.path.join(WORK, "list.txt"), *FLEXION, "--out",
                  listed)
        self.assertEqual(got.returncode, 0, got.stderr)
        self.assertEqual([r["id"] for r in rows(listed)], [r["id"] for r in rows(one)])
        foldered = fresh("jobs-folder")
        got = run("trace", os.path.dirname(names[2]), *FLEXION, "--out", foldered)
        self.assertEqual(got.returncode, 0, got.stderr)
        self.assertEqual(rows(foldered)[0]["id"], rows(one)[1]["id"])

    def test_files_are_the_owners_alone_and_the_same_under_another_locale(self):
        mjpeg, _ = render("one")
        clip = pack(mjpeg, "one.avi", "-c", "copy")
        plain, german = fresh("plain"), fresh("german")
        run("trace", clip, *FLEXION, "--picture", "--out", plain, env={"LC_ALL": "C"})
        run("trace", clip, *FLEXION, "--picture", "--out", german,
            env={"LC_ALL": "de_DE.UTF-8"})
        self.assertEqual(stat.S_IMODE(os.stat(plain).st_mode), 0o700)
        for name in os.listdir(plain):
            path = os.path.join(plain, name)
            self.assertEqual(stat.S_IMODE(os.stat(path).st_mode), 0o600, name)
            self.assertTrue(filecmp.cmp(path, os.path.join(german, name), shallow=False),
                            name)

    def test_json_has_the_columns_as_keys(self):
        mjpeg, _ = render("one")
        clip = pack(mjpeg, "one.avi", "-c", "copy")
        got = run("trace", clip, *FLEXION, "--json", "--out", fresh("json"))
        (movement,) = json.loads(got.stdout)
        self.assertEqual(list(movement), SESSION_HEADER)
        self.assertIsInstance(movement["max_deg"], float)
        self.assertLessEqual(movement["max_before_hike_deg"], movement["max_deg"])
        self.assertIsNone(movement["pain_before"])
        self.assertEqual(movement["side"], "right")

    def test_a_budget_adds_up_to_what_the_row_says(self):
        mjpeg, _ = render("one")
        clip = pack(mjpeg, "one.avi", "-c", "copy")
        out = fresh("budget")
        got = run("trace", clip, *FLEXION, "--budget", "--json", "--out", out)
        self.assertEqual(got.returncode, 0, got.stderr)
        (movement,) = json.loads(got.stdout)
        for column in ("max", "held_max", "mean_of_maxima"):
            budget = movement["budget"][column + "_deg"]
            variance = 0
            for line in budget["lines"]:
                self.assertAlmostEqual(line["u_deg"], line["input_u"] *
                                       line["sensitivity_deg_per_unit"], delta=1e-3)
                self.assertTrue(line["unit"] and line["origin"] and line["distribution"])
                if not line["beyond_definition"]:
                    variance += line["u_deg"] ** 2
            self.assertAlmostEqual(budget["u_deg"], variance ** 0.5, delta=1e-5)
            self.assertAlmostEqual(budget["u95_deg"], budget["u_deg"] *
                                   budget["coverage_factor"], delta=1e-4)
        highest = movement["budget"]["max_deg"]
        self.assertAlmostEqual(highest["u95_deg"], movement["max_u95_deg"], delta=6e-4)
        # Against the chest itself a person who does not stand upright counts as well.
        self.assertGreater(highest["thorax_u95_deg"], highest["u95_deg"])

        # The same clip again, as a table: nothing changes, and the budget is there.
        before = contents(out)
        got = run("trace", clip, *FLEXION, "--budget", "--out", out)
        self.assertEqual(got.returncode, 0, got.stderr)
        self.assertEqual(contents(out), before)
        self.assertIn("measured before, nothing changed", got.stdout)
        for line in highest["lines"]:
            if "-" in line["name"]: # told in words
                self.assertNotIn(line["name"], got.stdout)
            self.assertIn(f"{line['u_deg']:8.2f}  ", got.stdout)
        self.assertRegex(got.stdout, rf"either way: times 2\.00, for 95 % *"
                                     rf"{highest['u95_deg']:.2f}\n")
        self.assertNotIn("normal", got.stdout.lower())
        # Without the word there is none.
        got = run("trace", clip, *FLEXION, "--json", "--out", out)
        self.assertNotIn("budget", json.loads(got.stdout)[0])

    def test_bands_and_sleeves_are_worth_what_they_are(self):
        mjpeg, _ = render("one")
        clip = pack(mjpeg, "one.avi", "-c", "copy")

        def lines(clip, *words):
            got = run("trace", clip, *FLEXION, "--budget", "--json", "--out",
                      fresh("worth"), *words)
            self.assertEqual(got.returncode, 0, got.stderr)
            (movement,) = json.loads(got.stdout)
            budget = movement["budget"]["max_deg"]
            return {line["name"]: line["u_deg"] for line in budget["lines"]}, \
                budget["u95_deg"]

        stickers, u95 = lines(clip)
        sleeve, sleeve_u95 = lines(clip, "--placement", "sleeve")
        self.assertGreater(sleeve["elbow-marker"], stickers["elbow-marker"])
        self.assertGreater(sleeve_u95, u95)
        self.assertGreater(stickers["axial-rotation"], 1)
        mjpeg, _ = render("bands", shape="band", sleeve="long")
        bands, bands_u95 = lines(pack(mjpeg, "bands.avi", "-c", "copy"), "--colours",
                                 "bands")
        self.assertNotIn("axial-rotation", bands)
        self.assertLess(bands["elbow-marker"], stickers["elbow-marker"])
        self.assertLess(bands_u95, u95)

    def test_the_rise_is_judged_against_another_trace(self):
        mjpeg, _ = render("one")
        clip = pack(mjpeg, "one.avi", "-c", "copy")
        out = fresh("rise")
        run("trace", clip, *FLEXION, "--out", out)
        (first,) = rows(out)
        own = os.path.join(out, first["trace"])
        got = run("trace", clip, *FLEXION, "--rise-from", own, "--out", out)
        self.assertEqual(got.returncode, 0, got.stderr)
        _, second = rows(out)
        self.assertNotEqual(first["id"], second["id"])
        self.assertEqual(second["max_deg"], first["max_deg"])
        self.assertGreaterEqual(float(second["max_before_hike_deg"]),
                                float(first["max_before_hike_deg"]))
        for bad, words in ((os.path.join(out, "none.csv"), "cannot be opened"),
                           (os.path.join(out, "sessions.csv"), "is no trace"),
                           (clip, "is no trace")):
            got = run("trace", clip, *FLEXION, "--rise-from", bad, "--out", fresh("bad"))
            self.assertEqual(got.returncode, 1, bad)
            self.assertIn(words, got.stderr)
            self.assertEqual(len(got.stderr.strip().splitlines()), 1, got.stderr)

    def test_two_stretches_of_a_clip_are_two_movements(self):
        mjpeg, truth = render("one")
        clip = pack(mjpeg, "one.avi", "-c", "copy")
        out = fresh("stretches")
        last = float(truth[-1]["time_s"])
        got = run("trace", clip, *FLEXION, "--start", "0", "--end", f"{last / 2:.3f}",
                  "--start", f"{last / 2 + 0.001:.3f}", "--end", "1000", "--out", out)
        self.assertEqual(got.returncode, 0, got.stderr)
        first, second = rows(out)
        self.assertNotEqual(first["id"], second["id"])
        self.assertEqual(len(trace(out, first["trace"])) +
                         len(trace(out, second["trace"])), len(truth))

    def test_picture_shows_the_highest_frame(self):
        mjpeg, _ = render("one")
        clip = pack(mjpeg, "one.avi", "-c", "copy")
        out = fresh("picture")
        got = run("trace", clip, *FLEXION, "--picture", "--out", out)
        self.assertEqual(got.returncode, 0, got.stderr)
        with open(os.path.join(out, "one.highest.jpg"), "rb") as f:
            self.assertEqual(f.read(2), b"\xff\xd8")


class Demo(unittest.TestCase):
    def test_demo_does_the_whole_job_and_names_its_files(self):
        out = fresh("demo")
        got = run("demo", "--out", out)
        self.assertEqual(got.returncode, 0, got.stderr)
        (row,) = rows(out)
        self.assertEqual(row["person"], "DEMO")
        self.assertEqual(row["repetitions"], "3")
        for name in ("sessions.csv", row["trace"], "demo.highest.jpg"):
            self.assertTrue(os.path.exists(os.path.join(out, name)), name)
            self.assertIn(name, got.stdout)
        self.assertIn("invented", got.stdout)
        self.assertIn("not a medical device", got.stdout)


if __name__ == "__main__":
    main()
