#!/usr/bin/env python3
"""The program as a person or a script uses it: words, exit codes, files.

Usage: test_cli.py PROGRAM SCENE_TOOL WORK_FOLDER
Clips are rendered by the scene tool and packed by the ffmpeg command line.
"""
import csv
import filecmp
import json
import os
import shutil
import signal
import stat
import subprocess
import sys
import time
import unittest

PROGRAM, TOOL, WORK = (os.path.abspath(word) for word in sys.argv[1:4])

TRACE_HEADER = ["frame", "time_s", "angle_deg", "angle_raw_deg", "angle_image_deg",
                "angle_vertical_deg", "elbow_flexion_deg", "trunk_lean_deg", "hike_ratio",
                "hike_mm", "reference", "quality", "picture_width_px", "picture_height_px"]
for role in ("shoulder", "elbow", "wrist", "hip", "chest", "acromion"):
    TRACE_HEADER += [f"{role}_x_px", f"{role}_y_px", f"{role}_diameter_px", f"{role}_seen"]
SESSION_HEADER = (
    "id,person,visit,started,movement,side,source,position,mode,view,arms,placement,"
    "reference,max_deg,max_u95_deg,held_max_deg,mean_of_maxima_deg,max_before_hike_deg,"
    "rest_deg,repetitions,hike_at_max_ratio,lean_at_max_deg,trunk_rest_offset_deg,"
    "pivot_offset_ratio,plane_turn_deg,rotation_at_abduction_deg,pain_before,pain_at_max,"
    "pain_after,pain_onset_deg,pain_end_deg,stopped_by,end_feel,rater,set_up,seen_ratio,"
    "frames_per_second,trace,version,status,replaces,note").split(",")


def run(*words, env=None, cwd=None):
    full = dict(os.environ)
    full.update(env or {})
    return subprocess.run([PROGRAM, *words], capture_output=True, text=True, env=full,
                          cwd=cwd or WORK, timeout=300)


def rows(folder):
    with open(os.path.join(folder, "sessions.csv"), encoding="utf-8", newline="") as f:
        return list(csv.DictReader(f))


def trace(folder, name):
    with open(os.path.join(folder, name), encoding="utf-8", newline="") as f:
        return list(csv.DictReader(f))


def render(name, **settings):
    """Renders the plain scene once with some settings; (mjpeg path, truth rows)."""
    clip = os.path.join(WORK, name + ".mjpeg")
    if not os.path.exists(clip):
        subprocess.run([TOOL, "-", clip, *(f"{k}={v}" for k, v in settings.items())],
                       check=True, capture_output=True)
    with open(clip + ".truth.csv", encoding="utf-8") as f:
        return clip, list(csv.DictReader(f))


def pack(source, name, *options):
    """Packs rendered pictures into a container; `options` go before the output."""
    out = os.path.join(WORK, name)
    if not os.path.exists(out):
        subprocess.run(["ffmpeg", "-v", "error", "-y", "-framerate", "30", "-i", source,
                        *options, out], check=True)
    return out


def fresh(name):
    folder = os.path.join(WORK, "record-" + name)
    shutil.rmtree(folder, ignore_errors=True)
    return folder


def contents(folder):
    found = {}
    for name in os.listdir(folder):
        with open(os.path.join(folder, name), "rb") as f:
            found[name] = f.read()
    return found


def sustained_max(points):
    """The rule for maxima over (time, angle): largest a held for 0.2 s, gaps < 0.1 s."""
    best = float("nan")
    for i in range(len(points)):
        low = points[i][1]
        for k in range(i + 1, len(points)):
            if points[k][0] - points[k - 1][0] > 0.1:
                break
            low = min(low, points[k][1])
            if points[k][0] - points[i][0] >= 0.2 - 1e-9:
                best = low if not best > low else best
                break
    return best


def image_max(frames):
    """The highest angle before any correction, by the rule of maxima."""
    return sustained_max([(float(f["time_s"]), float(f["angle_image_deg"]))
                          for f in frames if f["angle_image_deg"]])


FLEXION = ("--movement", "flexion", "--side", "right")
TURN = ["--movement", "external-rotation", "--side", "right"]
BANDS = ["--colours", "bands"]


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
                (["measure", "-m", "abduction", "-s", "both"], "omogon trace"),
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
                                ["one.trace.csv", "sessions.csv"]))
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

    def test_any_number_of_jobs_gives_the_same_files_in_the_order_of_arguments(self):
        names = []
        for i, arc in enumerate((60, 95, 130)):
            mjpeg, _ = render(f"jobs{i}", arc_deg=arc, seconds=7)
            folder = os.path.join(WORK, f"jobs{i}")
            os.makedirs(folder, exist_ok=True)
            names.append(pack(mjpeg, os.path.join(folder, "arm.avi"), "-c", "copy"))
        names.insert(1, os.path.join(WORK, "missing.avi"))
        one, four = fresh("jobs-one"), fresh("jobs-four")
        a = run("trace", *names, *FLEXION, "--jobs", "1", "--out", one)
        b = run("trace", *names, *FLEXION, "--jobs", "4", "--out", four)
        self.assertEqual((a.returncode, b.returncode), (1, 1))
        self.assertIn("missing.avi", a.stderr)
        visible = sorted(n for n in os.listdir(one) if not n.startswith("."))
        self.assertEqual(visible, ["arm-2.trace.csv", "arm-3.trace.csv", "arm.trace.csv",
                                   "sessions.csv"])
        for name in visible:
            self.assertTrue(filecmp.cmp(os.path.join(one, name), os.path.join(four, name),
                                        shallow=False), name)
        highest = [float(r["max_deg"]) for r in rows(one)]
        self.assertEqual(highest, sorted(highest))
        # A folder and a list name the same clips.
        with open(os.path.join(WORK, "list.txt"), "w") as f:
            f.write("\n".join(names[:1] + names[2:]) + "\n")
        listed = fresh("jobs-list")
        got = run("trace", "--list", os.path.join(WORK, "list.txt"), *FLEXION, "--out",
                  listed)
        self.assertEqual(got.returncode, 0, got.stderr)
        self.assertEqual([r["id"] for r in rows(listed)], [r["id"] for r in rows(one)])
        foldered = fresh("jobs-folder")
        got = run("trace", os.path.join(WORK, "jobs1"), *FLEXION, "--out", foldered)
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


class Pictures(unittest.TestCase):
    """What phones and cameras do to a clip leaves the angle alone."""

    def highest(self, clip, *words):
        out = fresh("pictures")
        got = run("trace", clip, *FLEXION, *words, "--out", out)
        self.assertEqual(got.returncode, 0, got.stderr)
        (row,) = rows(out)
        return float(row["max_deg"])

    def test_codecs_turns_and_mirrors_agree(self):
        mjpeg, _ = render("one")
        plain = self.highest(pack(mjpeg, "one.avi", "-c", "copy"))
        h264 = pack(mjpeg, "one.mp4", "-c:v", "libx264", "-crf", "16", "-pix_fmt",
                    "yuv420p")
        hlg = pack(mjpeg, "hlg.mov", "-c:v", "libx265", "-x265-params", "log-level=none",
                   "-crf", "16", "-tag:v", "hvc1", "-vf",
                   "scale=out_color_matrix=bt2020:out_range=tv,format=yuv420p10le",
                   "-color_primaries", "bt2020", "-color_trc", "arib-std-b67",
                   "-colorspace", "bt2020nc")
        webm = pack(mjpeg, "one.webm", "-c:v", "libvpx", "-b:v", "6M", "-deadline",
                    "realtime", "-cpu-used", "8")
        mirrored = pack(mjpeg, "mirrored.avi", "-vf", "hflip", "-c:v", "mjpeg", "-q:v",
                        "2")
        late = pack(mjpeg, "late.mkv", "-c", "copy", "-output_ts_offset", "12.5")
        for name, clip, words, within in (("h264", h264, (), 0.6),
                                          ("hevc 10 bit", hlg, (), 0.8),
                                          ("webm", webm, (), 0.8),
                                          ("late", late, (), 0.05),
                                          ("mirrored", mirrored, ("--mirrored",), 0.6)):
            with self.subTest(name=name):
                self.assertAlmostEqual(self.highest(clip, *words), plain, delta=within)
        # Stored lying on its side, with the container's word to turn it back.
        sideways = pack(mjpeg, "sideways.mp4", "-vf", "transpose=1", "-c:v", "libx264",
                        "-crf", "16", "-pix_fmt", "yuv420p")
        turned = os.path.join(WORK, "turned.mp4")
        subprocess.run(["ffmpeg", "-v", "error", "-y", "-i", sideways, "-c", "copy",
                        "-metadata:s:v:0", "rotate=90", turned], check=True)
        self.assertAlmostEqual(self.highest(turned), plain, delta=0.6)

    def test_time_is_the_containers(self):
        mjpeg, _ = render("one")
        late = pack(mjpeg, "late.mkv", "-c", "copy", "-output_ts_offset", "12.5")
        out = fresh("late")
        self.assertEqual(run("trace", late, *FLEXION, "--out", out).returncode, 0)
        self.assertAlmostEqual(float(trace(out, "late.trace.csv")[0]["time_s"]), 12.5,
                               delta=0.05)

    def test_a_mirrored_clip_without_the_word_is_reported_not_flipped(self):
        mjpeg, _ = render("one")
        mirrored = pack(mjpeg, "mirrored.avi", "-vf", "hflip", "-c:v", "mjpeg", "-q:v",
                        "2")
        out = fresh("wrong-way")
        got = run("trace", mirrored, *FLEXION, "--out", out)
        said = got.stderr + got.stdout
        self.assertTrue("--mirrored" in said or "--facing" in said, said)
        (row,) = rows(out)
        self.assertEqual(row["max_deg"], "")
        self.assertIn("against the stated direction", row["note"])

    def test_a_clip_cut_short_is_saved_with_a_note_and_exit_1(self):
        mjpeg, truth = render("one")
        whole = pack(mjpeg, "whole.avi", "-c", "copy")
        cut = os.path.join(WORK, "cut.avi")
        with open(whole, "rb") as f, open(cut, "wb") as g:
            g.write(f.read(os.path.getsize(whole) * 2 // 3))
        out = fresh("cut")
        got = run("trace", cut, *FLEXION, "--out", out)
        self.assertEqual(got.returncode, 1, got.stderr)
        (row,) = rows(out)
        frames = len(trace(out, row["trace"]))
        self.assertIn(str(frames), row["note"])
        self.assertGreater(frames, len(truth) // 2)

    def test_no_marker_keeps_the_trace_and_gives_no_row(self):
        blank = os.path.join(WORK, "blank.mp4")
        subprocess.run(["ffmpeg", "-v", "error", "-y", "-f", "lavfi", "-i",
                        "testsrc2=size=640x480:rate=30", "-vf", "hue=s=0", "-t", "1",
                        "-pix_fmt", "yuv420p", blank], check=True)
        out = fresh("blank")
        got = run("trace", blank, *FLEXION, "--out", out)
        self.assertEqual(got.returncode, 1)
        self.assertIn("no shoulder and elbow marker was found", got.stderr)
        self.assertEqual(len(trace(out, "blank.trace.csv")), 30)
        self.assertFalse(os.path.exists(os.path.join(out, "sessions.csv")) and rows(out))

    def test_tiny_and_huge_pictures_end_in_a_sentence(self):
        for size in ("1x1", "5400x3800"):
            picture = os.path.join(WORK, f"size-{size}.jpg")
            subprocess.run(["ffmpeg", "-v", "error", "-y", "-f", "lavfi", "-i",
                            "color=gray:size=32x32", "-vf",
                            "scale=" + size.replace("x", ":"), "-pix_fmt", "yuvj444p",
                            "-frames:v", "1", picture], check=True)
            got = run("trace", picture, *FLEXION, "--out", fresh("size"))
            self.assertEqual(got.returncode, 1, size)
            self.assertEqual(len(got.stderr.strip().splitlines()), 1, got.stderr)


class Lasting(unittest.TestCase):
    def test_a_killed_run_leaves_whole_files_and_the_next_one_goes_on(self):
        clips, lengths = [], []
        for i, arc in enumerate((60, 95, 130)):
            mjpeg, truth = render(f"jobs{i}", arc_deg=arc, seconds=7)
            clips.append(pack(mjpeg, f"kill{i}.avi", "-c", "copy"))
            lengths.append(len(truth))
        out = fresh("kill")
        process = subprocess.Popen([PROGRAM, "trace", *clips, *FLEXION, "--jobs", "1",
                                    "--out", out], stdout=subprocess.PIPE, text=True)
        while "saved" not in process.stdout.readline():
            pass
        time.sleep(0.05)
        process.send_signal(signal.SIGKILL)
        process.wait()
        process.stdout.close()
        saved = rows(out)
        self.assertGreaterEqual(len(saved), 1)
        for name in os.listdir(out):
            if name.endswith(".csv"):
                with open(os.path.join(out, name), "rb") as f:
                    self.assertTrue(f.read().endswith(b"\n") or name != "sessions.csv")
        got = run("trace", *clips, *FLEXION, "--jobs", "1", "--out", out)
        self.assertEqual(got.returncode, 0, got.stderr)
        self.assertEqual([r["source"] for r in rows(out)],
                         ["kill0.avi", "kill1.avi", "kill2.avi"])
        self.assertEqual(sorted(r["trace"] for r in rows(out)),
                         [f"kill{i}.trace.csv" for i in range(3)])
        for row, length in zip(rows(out), lengths):
            self.assertEqual(len(trace(out, row["trace"])), length)


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


class Colours(unittest.TestCase):
    def test_a_set_learnt_by_points_measures_like_the_built_in_one(self):
        mjpeg, truth = render("one")
        clip = pack(mjpeg, "one.avi", "-c", "copy")
        learnt = os.path.join(WORK, "learnt.ini")
        words = ["colours", clip, "--save", learnt, "--replace"]
        # A frame in which the arm is away from the hip, so that all markers show.
        frame = next(t for t in truth
                     if float(t["angle_deg"]) > 60 and
                     all(float(t[f"{r}_visible_ratio"]) > 0.95
                         for r in ("shoulder", "elbow", "wrist", "hip")))
        for role in ("shoulder", "elbow", "wrist", "hip"):
            words += ["--point", "%s=%.1f,%.1f@%s" % (role, float(frame[f"{role}_x_px"]),
                                                      float(frame[f"{role}_y_px"]),
                                                      frame["frame"])]
        got = run(*words)
        self.assertEqual(got.returncode, 0, got.stderr)
        self.assertIn("Separability", got.stdout)
        a, b = fresh("colours-a"), fresh("colours-b")
        self.assertEqual(run("trace", clip, *FLEXION, "--out", a).returncode, 0)
        got = run("trace", clip, *FLEXION, "--colours", learnt, "--out", b)
        self.assertEqual(got.returncode, 0, got.stderr)
        self.assertAlmostEqual(float(rows(a)[0]["max_deg"]), float(rows(b)[0]["max_deg"]),
                               delta=0.2)
        self.assertEqual(run("colours", clip, "--save", learnt).returncode, 1)

    def test_colours_are_found_without_points_and_never_in_a_room(self):
        mjpeg, _ = render("one")
        clip = pack(mjpeg, "one.avi", "-c", "copy")
        learnt, out = os.path.join(WORK, "found.ini"), fresh("found")
        got = run("colours", clip, "--save", learnt, "--replace")
        self.assertEqual(got.returncode, 0, got.stderr)
        for role in ("shoulder", "elbow", "wrist"):
            self.assertIn(role, got.stdout)
        got = run("trace", clip, *FLEXION, "--colours", learnt, "--out", out)
        self.assertEqual(got.returncode, 0, got.stderr)
        bare, _ = render("bare", markers="none", seconds=2)
        got = run("colours", pack(bare, "bare.avi", "-c", "copy"), "--save", learnt,
                  "--replace")
        self.assertEqual(got.returncode, 1)
        self.assertIn("--point", got.stderr)

    def test_stickers_only_writes_positions_without_a_body(self):
        mjpeg, truth = render("one")
        clip = pack(mjpeg, "one.avi", "-c", "copy")
        out = fresh("stickers")
        got = run("trace", clip, "--stickers-only", "--out", out)
        self.assertEqual(got.returncode, 0, got.stderr)
        table = trace(out, "one.stickers.csv")
        self.assertEqual(len(table), len(truth))
        errors = sorted(((float(r["elbow_x_px"]) - float(t["elbow_x_px"])) ** 2 +
                         (float(r["elbow_y_px"]) - float(t["elbow_y_px"])) ** 2) ** 0.5
                        for r, t in zip(table, truth) if r["elbow_seen"] == "1")
        self.assertGreater(len(errors), 0.9 * len(truth))
        self.assertLess(errors[len(errors) // 2], 0.2)


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
    shutil.rmtree(WORK, ignore_errors=True)
    os.makedirs(WORK, exist_ok=True)
    unittest.main(argv=sys.argv[:1], verbosity=2)
