#!/usr/bin/env python3
"""Whole studies out of a table: resumed, sharded, gathered, made again, to the bit.

Usage: test_manifest.py PROGRAM SCENE_TOOL WORK_FOLDER
"""
import csv
import hashlib
import json
import math
import os
import random
import re
import shutil
import signal
import subprocess
import sys
import time
import unittest

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
import played  # noqa: E402
import rendered  # noqa: E402

PROGRAM, TOOL, WORK = (os.path.abspath(word) for word in sys.argv[1:4])
SANITIZED = bool(played.sanitizer(PROGRAM))
with open(os.path.join(os.path.dirname(os.path.abspath(__file__)), "fuzz", "corpus_lens",
                       "calibrated.ini"), encoding="utf-8") as lens_file:
    LENS = lens_file.read()
ROWS = 8 if SANITIZED else 24
COMMON = {"width": 640, "height": 360, "fps": 25, "speed_deg_per_s": 120, "repetitions": 2,
          "rest_s": 2, "hold_s": 0.3, "pause_s": 0.5, "markers": "shoulder elbow wrist hip",
          "noise": 2}
SCENES = [{"movement": movement, "side": side, "arc_deg": arc, "seed": seed}
          for seed, (movement, side, arc) in enumerate((
              ("flexion", "right", 96), ("flexion", "left", 120), ("abduction", "left", 150),
              ("abduction", "right", 88)), 7)]


def run(*words, ok=True, cwd=None):
    done = subprocess.run(words, capture_output=True, text=True, timeout=300, cwd=cwd,
                          env=dict(os.environ, LC_ALL="C.UTF-8", LANGUAGE="en"))
    if ok and done.returncode:
        raise AssertionError(f"{words}: {done.stdout}{done.stderr}")
    return done


def clips():
    """The clips of the study, in a folder of its own."""
    folder = os.path.join(WORK, "clips")
    os.makedirs(folder, exist_ok=True)
    for number, scene in enumerate(SCENES):
        settings = [f"{k}={v}" for k, v in {**COMMON, **scene}.items()]

        def make(path):
            mjpeg = path + ".mjpeg"
            run(TOOL, "-", mjpeg, *settings)
            run("ffmpeg", "-v", "error", "-y", "-framerate", "25", "-f", "mjpeg", "-i", mjpeg,
                "-c", "copy", path)
            os.remove(mjpeg)
        there = rendered.once(WORK, f"clip{number}.avi", ["manifest", *settings], make)
        mine = os.path.join(folder, f"clip{number}.avi")
        if not os.path.exists(mine):
            shutil.copy(there, mine)
            os.utime(mine, (1780000000 + number * 86400,) * 2)
    return folder


def manifest(name="study.csv", count=ROWS, change=None):
    """Rows over all clips, cut in ways of their own."""
    folder = clips()
    path = os.path.join(WORK, name)
    with open(path, "w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(["clip", "person", "visit", "movement", "side", "rater", "start",
                         "end"])
        for i in range(count):
            scene = SCENES[i % len(SCENES)]
            end = "" if i < len(SCENES) else f"{4.4 + 0.1 * (i // len(SCENES)):.1f}"
            row = [os.path.relpath(os.path.join(folder, f"clip{i % len(SCENES)}.avi"), WORK),
                   f"P{i % 5 + 1:02d}", f"V{i // 8 + 1}", scene["movement"], scene["side"],
                   f"R{i % 2 + 1}", "", end]
            writer.writerow(change(i, row) if change else row)
    return path


def trace(out, *words, ok=True, table=None):
    return run(PROGRAM, "trace", "--manifest", table or Study.table, "--out", out, *words, ok=ok)


def kill_ten_times(table, path, took_s, lot):
    """Runs a study and kills it ten times at moments drawn by `lot`; a run that came through
    before begins anew in an empty folder. Tells how often it was killed midway."""
    killed = 0
    for _ in range(60):
        process = subprocess.Popen(
            [PROGRAM, "trace", "--manifest", table, "--out", path, "--jobs", "2"],
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        try:
            process.wait(timeout=lot.uniform(0.02, took_s / 12))
            shutil.rmtree(path)
            killed = 0
        except subprocess.TimeoutExpired:
            process.send_signal(signal.SIGKILL)
            killed += 1
        process.wait()
        if killed == 10:
            break
    return killed


def tree(path):
    """Files and what is in them; locks and marks of the record left out."""
    found = {}
    for place, folders, names in os.walk(path):
        folders[:] = [name for name in folders if not name.startswith("shard-")]
        for name in names:
            if name.startswith("."):
                continue
            with open(os.path.join(place, name), "rb") as file:
                found[os.path.relpath(os.path.join(place, name), path)] = file.read()
    return found


def rows(path):
    with open(os.path.join(path, "sessions.csv"), encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


class Study(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.table = manifest()
        cls.whole = os.path.join(WORK, "whole")
        shutil.rmtree(cls.whole, ignore_errors=True)
        trace(cls.whole, "--jobs", "2")
        cls.files = tree(cls.whole)

    def test_every_row_is_there_in_its_order(self):
        there = rows(self.whole)
        with open(self.table, encoding="utf-8", newline="") as file:
            wanted = list(csv.DictReader(file))
        self.assertEqual([(r["person"], r["visit"], r["movement"], r["side"], r["rater"])
                          for r in there],
                         [(r["person"], r["visit"], r["movement"], r["side"], r["rater"])
                          for r in wanted])
        for row, one in zip(there, wanted):
            arc = SCENES[int(one["clip"][-5])]["arc_deg"]
            self.assertLess(abs(float(row["max_deg"]) - arc), 6, row)
            # A stretch ends where it says, so its trace does.
            if one["end"]:
                last = self.files[row["trace"]].splitlines()[-1].split(b",")[1]
                self.assertLessEqual(float(last), float(one["end"]))
        self.assertEqual(sum(name.endswith(".provenance.json") for name in self.files), ROWS)

    def test_again_it_changes_nothing(self):
        said = trace(self.whole).stdout
        self.assertEqual(said.count("measured before, nothing changed"), ROWS)
        self.assertEqual(tree(self.whole), self.files)

    def test_one_process_or_two_are_the_same(self):
        other = os.path.join(WORK, "single")
        shutil.rmtree(other, ignore_errors=True)
        trace(other, "--jobs", "1")
        self.assertEqual(tree(other), self.files)

    def test_killed_and_resumed_ten_times_it_is_the_same(self):
        lot = random.Random(11)
        path = os.path.join(WORK, "killed")
        shutil.rmtree(path, ignore_errors=True)
        begin = time.monotonic()
        run(PROGRAM, "trace", "--manifest", self.table, "--out", os.path.join(WORK, "timed"),
            "--jobs", "2")
        took_s = time.monotonic() - begin
        shutil.rmtree(os.path.join(WORK, "timed"))
        self.assertEqual(kill_ten_times(self.table, path, took_s, lot), 10)
        trace(path)
        self.assertEqual(tree(path), self.files)

    def test_shards_gathered_are_one_run(self):
        path = os.path.join(WORK, "sharded")
        shutil.rmtree(path, ignore_errors=True)
        processes = [subprocess.Popen(
            [PROGRAM, "trace", "--manifest", self.table, "--out", path, "--jobs", "1", "--shard",
             f"{i}/3"], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
            for i in (3, 1)]
        self.assertEqual([one.wait(timeout=300) for one in processes], [0, 0])
        self.assertEqual(len(rows(os.path.join(path, "shard-1-of-3"))), (ROWS + 2) // 3)
        # One shard never ran: what it should have measured is measured now.
        said = trace(path).stdout
        self.assertEqual(said.count("  gathered: "), ROWS - (ROWS + 1) // 3)
        self.assertEqual(said.count("  saved: "), (ROWS + 1) // 3)
        self.assertEqual(tree(path), self.files)

    def test_only_what_changed_is_measured_again(self):
        path = os.path.join(WORK, "changed")
        shutil.rmtree(path, ignore_errors=True)
        shutil.copytree(self.whole, path)

        def change(i, row):
            if i == 5:
                row[7] = "4.3"
            if i == 6:
                row[1] = "P99"
            return row
        said = trace(path, table=manifest("changed.csv", change=change)).stdout
        self.assertEqual(said.count("  saved: "), 2)
        said = trace(path, "--cutoff", "5", table=manifest("study5.csv", 4)).stdout
        self.assertEqual(said.count("  saved: "), 4)

    def test_a_start_leaves_out_what_is_before(self):
        path = os.path.join(WORK, "started")
        shutil.rmtree(path, ignore_errors=True)

        def change(_, row):
            row[6:8] = ["1.2", ""]
            return row
        trace(path, table=manifest("started.csv", 1, change))
        (row,) = rows(path)
        with open(os.path.join(path, row["trace"]), encoding="utf-8") as file:
            first = next(csv.DictReader(file))
        # Pictures are 40 ms apart; the first one that counts is at 1.2 s.
        self.assertAlmostEqual(float(first["time_s"]), 1.2, delta=1e-6)
        whole = rows(self.whole)[0]
        self.assertNotEqual(row["id"], whole["id"])
        self.assertLess(abs(float(row["max_deg"]) - float(whole["max_deg"])), 1)

    def test_another_content_or_another_model_is_measured_again(self):
        path = os.path.join(WORK, "contents")
        shutil.rmtree(path, ignore_errors=True)
        clip = os.path.join(WORK, "clips", "content.avi")
        shutil.copy(os.path.join(WORK, "clips", "clip0.avi"), clip)
        os.utime(clip, (1780000000,) * 2)

        def change(_, row):
            row[0] = os.path.relpath(clip, WORK)
            return row
        table = manifest("content.csv", 1, change)
        self.assertEqual(trace(path, table=table).stdout.count("  saved: "), 1)
        # The same name, size and day, but another clip's bytes.
        about = os.stat(clip)
        with open(clip, "r+b") as file:
            content = bytearray(file.read())
            at = content.rindex(b"\xff\xd9", 0, len(content) // 2)
            content[at - 20] ^= 0x10
            file.seek(0)
            file.write(content)
        os.utime(clip, ns=(about.st_atime_ns, about.st_mtime_ns))
        self.assertEqual(os.stat(clip).st_size, about.st_size)
        self.assertEqual(trace(path, table=table).stdout.count("  saved: "), 1)
        self.assertIn("nothing changed", trace(path, table=table).stdout)
        # Other beliefs beforehand: what was measured with the first ones does not count.
        models = os.path.join(WORK, "models")
        shutil.rmtree(models, ignore_errors=True)
        shutil.copytree(os.path.join(os.path.dirname(os.path.abspath(__file__)), "..",
                                     "models"), models)
        with open(os.path.join(models, "pivot.ini"), encoding="utf-8") as file:
            beliefs = file.read()
        with open(os.path.join(models, "pivot.ini"), "w", encoding="utf-8") as file:
            file.write(re.sub(r"share_mean=.*", "share_mean=0.30", beliefs))
        os.environ["OMOGON_MODELS"] = models
        try:
            self.assertEqual(trace(path, table=table).stdout.count("  saved: "), 1)
            done = run(PROGRAM, "trace", "--again",
                       os.path.join(path, "content.provenance.json"), clip, ok=False)
        finally:
            del os.environ["OMOGON_MODELS"]
        self.assertEqual(done.returncode, 1)
        self.assertEqual(len(rows(path)), 3)

    def test_again_needs_neither_the_colours_nor_the_lens(self):
        folder = os.path.join(WORK, "own")
        shutil.rmtree(folder, ignore_errors=True)
        os.makedirs(folder)
        models = os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "models")
        colours, lens = (os.path.join(folder, name) for name in ("mine.ini", "camera.ini"))
        shutil.copy(os.path.join(models, "markers-default.ini"), colours)
        with open(lens, "w", encoding="utf-8") as file:
            file.write(LENS)
        clip = os.path.join(folder, "clip.avi")
        shutil.copy(os.path.join(clips(), "clip1.avi"), clip)
        other = os.path.join(WORK, "rise")
        shutil.rmtree(other, ignore_errors=True)
        run(PROGRAM, "trace", os.path.join(clips(), "clip0.avi"), "-m", "flexion", "-s",
            "right", "--out", other)
        out = os.path.join(folder, "out")
        run(PROGRAM, "trace", clip, "-m", "flexion", "-s", "left", "--out", out, "--colours",
            colours, "--lens", lens, "--rise-from", os.path.join(other, "clip0.trace.csv"),
            "--provenance", "--marker-size", "30")
        provenance = os.path.join(out, "clip.provenance.json")
        with open(provenance, encoding="utf-8") as file:
            told = json.load(file)
        with open(colours, encoding="utf-8") as file:
            self.assertEqual(told["colours_text"], file.read())
        self.assertEqual(told["lens_text"], LENS)
        self.assertGreater(len(told["expected_rise"]), 3)
        for name, digest in told["models_sha256"].items():
            with open(os.path.join(models, name), "rb") as file:
                self.assertEqual(hashlib.sha256(file.read()).hexdigest(), digest)
        os.remove(colours)
        os.remove(lens)
        shutil.rmtree(other)
        done = run(PROGRAM, "trace", "--again", provenance, clip)
        self.assertEqual((done.stdout.strip(), done.stderr),
                         ("the same trace, to the bit", ""))
        # Without the lens it is another trace, and that it is another setting is said.
        del told["lens_text"], told["options"]["lens"]
        with open(provenance, "w", encoding="utf-8") as file:
            json.dump(told, file)
        done = run(PROGRAM, "trace", "--again", provenance, clip, ok=False)
        self.assertEqual((done.returncode, done.stdout.strip()), (1, "another trace"))
        self.assertIn("settings are not", done.stderr)

    def test_a_trace_can_be_made_again_from_its_provenance(self):
        name = rows(self.whole)[5]["trace"].replace(".trace.csv", ".provenance.json")
        path = os.path.join(self.whole, name)
        clip = os.path.join(WORK, "clips", json.loads(self.files[name])["clip"])
        done = run(PROGRAM, "trace", "--again", path, clip)
        self.assertEqual(done.stdout.strip(), "the same trace, to the bit")
        told = json.loads(self.files[name])
        for secret in (WORK, "P0", os.uname().nodename, "R1", "R2"):
            self.assertNotIn(secret, self.files[name].decode().replace("PROVENANCE", ""))
        # Told from another: other settings, another clip, another trace.
        other = os.path.join(WORK, "other.provenance.json")
        for spoil, said in ((lambda t: t["options"].update(cutoff="3"), "settings are not"),
                            (lambda t: t.update(clip_sha256="0" * 64), "not the clip"),
                            (lambda t: t.update(trace_sha256="0" * 64), "")):
            copy = json.loads(json.dumps(told))
            spoil(copy)
            with open(other, "w", encoding="utf-8") as file:
                json.dump(copy, file)
            done = run(PROGRAM, "trace", "--again", other, clip, ok=False)
            self.assertEqual(done.returncode, 1, done.stdout)
            self.assertIn(said, done.stderr)
        self.assertIn("another trace", done.stdout)  # the last of them
        done = run(PROGRAM, "trace", "--again", self.table, clip, ok=False)
        self.assertIn("no provenance", done.stderr)

    def test_what_differs_from_the_protocol_is_named(self):
        protocol = os.path.join(WORK, "protocol.ini")
        with open(protocol, "w", encoding="utf-8") as file:
            file.write("[protocol]\nposition=standing\nview=side\narms=one\nrepetitions=2\n"
                       "cutoff_hz=6\nframes_per_second=24\nseen_ratio=0.5\n"
                       "outcome=mean_of_maxima_deg\n")
        path = os.path.join(WORK, "protocolled")
        shutil.rmtree(path, ignore_errors=True)
        shutil.copytree(self.whole, path)
        done = trace(path, "--protocol", protocol)
        with open(os.path.join(path, "deviations.csv"), encoding="utf-8", newline="") as file:
            found = list(csv.DictReader(file))
        with open(self.table, encoding="utf-8", newline="") as file:
            wanted = list(csv.DictReader(file))
        # Abduction is seen from the front; a stretch of 4.5 s has one whole repetition.
        self.assertEqual({int(one["line"]) for one in found if one["what"] == "view"},
                         {i + 2 for i, one in enumerate(wanted)
                          if one["movement"] == "abduction"})
        few = {i + 2 for i, row in enumerate(rows(path)) if int(row["repetitions"] or 0) < 2}
        self.assertEqual({int(one["line"]) for one in found if one["what"] == "repetitions"},
                         few)
        self.assertGreater(len(few), 0)
        self.assertIn(f"{len(found)} things differ", done.stderr)
        for bad, said in (("[protocol]\nfoot=left\n", "no \"foot\""), ("x=1\n", "protocol"),
                          ("[protocol]\noutcome=best\n", "no column"),
                          ("[protocol]\nrepetitions=few\n", "no number")):
            with open(protocol, "w", encoding="utf-8") as file:
                file.write(bad)
            done = trace(path, "--protocol", protocol, ok=False)
            self.assertEqual((done.returncode, len(done.stderr.splitlines())), (1, 1))
            self.assertIn(said, done.stderr)

    def test_a_mistake_has_its_line_and_nothing_is_measured(self):
        path = os.path.join(WORK, "mistaken")
        shutil.rmtree(path, ignore_errors=True)
        bad = os.path.join(WORK, "bad.csv")
        for text, said in (
                ("clip,person\n", "no row"), ("person,side\nP1,left\n", 'no column "clip"'),
                ("clip,colour\nx,red\n", 'no column "colour"'),
                ("clip,clip\nx,y\n", "twice"), ("clip,side\n,left\n", "bad.csv:2"),
                ("clip,side\nx,left\ny,left,z\n", "bad.csv:3"),
                ("clip,start\nx,soon\n", "bad.csv:2"),
                ("clip,start,end\nx,3,2\n", "not after"),
                ("clip,mirrored\nx,maybe\n", "yes or no"),
                ("clip,movement,side\nx,flexion,left\ny,flapping,left\n", "bad.csv:3"),
                ('clip,movement\n"x,flexion\n', "line")):
            with open(bad, "w", encoding="utf-8") as file:
                file.write(text)
            done = trace(path, ok=False, table=bad)
            self.assertIn(done.returncode, (1, 2))
            self.assertIn(said, done.stderr)
            self.assertLessEqual(len(done.stderr.splitlines()), 2)
            self.assertFalse(os.path.exists(path))
        for words in (("--shard", "3/2"), ("--shard", "x"), ("--start", "3"), ("clip.avi",)):
            done = trace(path, *words, ok=False)
            self.assertEqual((done.returncode, len(done.stderr.splitlines())), (2, 1))
        done = run(PROGRAM, "trace", "--shard", "1/2", ok=False)
        self.assertEqual(done.returncode, 2)
        # A clip that is not there costs its own row alone.
        with open(bad, "w", encoding="utf-8") as file:
            file.write("clip,person,movement,side\nclips/none.avi,P1,flexion,right\n"
                       "clips/clip0.avi,P1,flexion,right\n")
        done = trace(path, ok=False, table=bad)
        self.assertEqual(done.returncode, 1)
        self.assertIn("none.avi", done.stderr)
        self.assertEqual(len(rows(path)), 1)


class Corrections(unittest.TestCase):
    """A marker placed by hand changes its own frame, as geometry says, and nothing is lost."""

    def measured(self, name, *words):
        out = os.path.join(WORK, name)
        shutil.rmtree(out, ignore_errors=True)
        run(PROGRAM, "trace", os.path.join(clips(), "clip0.avi"), "-m", "flexion", "-s", "right",
            "--out", out, *words)
        with open(os.path.join(out, "clip0.trace.csv"), encoding="utf-8", newline="") as file:
            return list(csv.DictReader(file)), rows(out)[0], out

    def corrections(self, text):
        path = os.path.join(WORK, "corrections.csv")
        with open(path, "w", encoding="utf-8") as file:
            file.write("frame,marker,x_px,y_px\n" + text)
        return path

    def test_a_marker_placed_by_hand(self):
        before, first, _ = self.measured("uncorrected")
        at = max(range(len(before)), key=lambda i: float(before[i]["angle_deg"] or 0)) - 20
        row = before[at]
        s, e = ((float(row[f"{role}_x_px"]), float(row[f"{role}_y_px"]))
                for role in ("shoulder", "elbow"))
        # The elbow 8 px off, across the arm.
        along = math.hypot(e[0] - s[0], e[1] - s[1])
        across = (-(e[1] - s[1]) / along, (e[0] - s[0]) / along)
        placed = (e[0] + 8 * across[0], e[1] + 8 * across[1])
        path = self.corrections(f"{row['frame']},elbow,{placed[0]:.3f},{placed[1]:.3f}\n")
        after, second, out = self.measured("corrected", "--corrections", path)
        self.assertNotEqual(first["id"], second["id"])
        turned = math.degrees(math.atan2(8, along))
        change = abs(float(after[at]["angle_image_deg"]) - float(row["angle_image_deg"]))
        self.assertAlmostEqual(change, turned, delta=0.01)
        self.assertEqual(after[at]["elbow_seen"], "2")
        self.assertIn("edited", after[at]["quality"].split("+"))
        for k, (one, other) in enumerate(zip(before, after)):
            if k != at:
                self.assertEqual(one["angle_image_deg"], other["angle_image_deg"])
                self.assertNotIn("edited", other["quality"])
        provenance = os.path.join(out, "clip0.provenance.json")
        with open(provenance, encoding="utf-8") as file:
            (kept,) = json.load(file)["markers_placed_by_hand"]
        for name, cell in (("measured_x_px", "elbow_x_px"), ("measured_y_px", "elbow_y_px")):
            self.assertAlmostEqual(kept[name], float(row[cell]), delta=6e-4)
        done = run(PROGRAM, "trace", "--again", provenance,
                   os.path.join(clips(), "clip0.avi"))
        self.assertEqual(done.stdout.strip(), "the same trace, to the bit")

    def test_a_marker_taken_away_leaves_an_empty_cell(self):
        before, _, _ = self.measured("uncorrected")
        frame = before[60]["frame"]
        after, _, _ = self.measured("taken", "--corrections",
                                    self.corrections(f"{frame},elbow,,\n"))
        self.assertEqual((after[60]["elbow_seen"], after[60]["angle_deg"]), ("0", ""))
        self.assertIn("edited", after[60]["quality"].split("+"))
        self.assertNotEqual(before[60]["angle_deg"], "")

    def test_mistakes(self):
        for text, said in (("x,elbow,1,2\n", "no number of a frame"),
                           ("3,elbow,1,2\n3,wrist,1,2\n3,elbow,,\n", "twice"),
                           ("1,nose,1,2\n", 'no marker "nose"'),
                           ("1,elbow,1,\n", "both are empty"), ("1,elbow,a,2\n", "numbers")):
            done = run(PROGRAM, "trace", os.path.join(clips(), "clip0.avi"), "-m", "flexion",
                       "-s", "right", "--out", os.path.join(WORK, "mistakes"), "--corrections",
                       self.corrections(text), ok=False)
            self.assertEqual((done.returncode, len(done.stderr.splitlines())), (1, 1))
            self.assertIn(said, done.stderr)
            self.assertRegex(done.stderr, r"corrections.csv:[24]:")


if __name__ == "__main__":
    os.makedirs(WORK, exist_ok=True)
    unittest.main(argv=sys.argv[:1] + sys.argv[4:], verbosity=2)
