#!/usr/bin/env python3
"""What was measured drawn over the clip: as many frames at their times, marks where the trace
has them, the head covered unless asked otherwise, a frame without a head withheld. ffmpeg
reads what was written, tesseract its words.

Usage: test_overlay.py PROGRAM SCENE_TOOL WORK_FOLDER
"""
import csv
import json
import os
import shutil
import subprocess
import sys
import unittest

import numpy

sys.argv[1:4] = [os.path.abspath(word) for word in sys.argv[1:4]]
sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
import test_manifest as study  # noqa: E402

PROGRAM, TOOL, WORK = sys.argv[1:4]
FRAMES = (20, 70, 100)
EMPTY = 15  # frames of an empty room before the person is there


def run(*words, ok=True):
    return study.run(*words, ok=ok)


def frames(path, wanted=FRAMES):
    """{number: rows, columns, red green blue} of a video."""
    told = json.loads(run("ffprobe", "-v", "error", "-show_entries", "stream=width,height",
                          "-of", "json", path).stdout)["streams"][0]
    choose = "+".join(f"eq(n\\,{n})" for n in wanted)
    raw = subprocess.run(["ffmpeg", "-v", "error", "-i", path, "-vf", f"select={choose}",
                          "-vsync", "0", "-pix_fmt", "rgb24", "-f", "rawvideo", "-"],
                         check=True, capture_output=True).stdout
    shape = (len(wanted), told["height"], told["width"], 3)
    return dict(zip(wanted, numpy.frombuffer(raw, numpy.uint8).reshape(shape).astype(int)))


def times(path):
    told = run("ffprobe", "-v", "error", "-show_entries", "packet=pts_time", "-of", "csv=p=0",
               path).stdout.split()
    return [float(one.strip(",")) for one in told]


def enters_late(path):
    """The clip at `path` after EMPTY frames of a plain wall."""
    late = os.path.join(WORK, "late-clip.avi")
    if not os.path.exists(late):
        told = json.loads(run("ffprobe", "-v", "error", "-show_entries",
                              "stream=width,height,pix_fmt", "-of", "json",
                              path).stdout)["streams"][0]
        parts = [os.path.join(WORK, name) for name in ("wall.mjpeg", "person.mjpeg")]
        run("ffmpeg", "-v", "error", "-y", "-f", "lavfi", "-i",
            f"color=c=0x8c8c84:s={told['width']}x{told['height']}:r=25", "-frames:v",
            str(EMPTY), "-pix_fmt", told["pix_fmt"], "-q:v", "2", parts[0])
        run("ffmpeg", "-v", "error", "-y", "-i", path, "-c", "copy", parts[1])
        with open(WORK + "/both.mjpeg", "wb") as both:
            for part in parts:
                with open(part, "rb") as file:
                    shutil.copyfileobj(file, both)
        run("ffmpeg", "-v", "error", "-y", "-framerate", "25", "-f", "mjpeg", "-i",
            WORK + "/both.mjpeg", "-c", "copy", late)
    return late


def words_of(picture):
    """What tesseract reads from rows, columns, red green blue."""
    path = os.path.join(WORK, "words.ppm")
    with open(path, "wb") as file:
        file.write(b"P6 %d %d 255\n" % (picture.shape[1], picture.shape[0]))
        file.write(picture.astype(numpy.uint8).tobytes())
    return " ".join(run("tesseract", path, "-", "--psm", "6").stdout.split())


class Overlay(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.clip = os.path.join(study.clips(), "clip0.avi")
        for name in ("covered", "shown", "late", "wrong"):
            shutil.rmtree(os.path.join(WORK, name), ignore_errors=True)
            for kind in (".mkv", ".avi", ".jpg"):
                there = os.path.join(WORK, name + kind)
                if os.path.exists(there):
                    os.remove(there)
        cls.trace("covered", "--overlay", WORK + "/covered.mkv", "--contact-sheet",
                  WORK + "/covered.jpg")
        cls.trace("shown", "--overlay", WORK + "/shown.avi", "--show-head")
        with open(WORK + "/covered/clip0.trace.csv", encoding="utf-8", newline="") as file:
            cls.rows = list(csv.DictReader(file))
        cls.late = enters_late(cls.clip)
        # What a killed run left, open to everybody.
        with open(WORK + "/.late.mkv.writing", "wb"):
            os.chmod(WORK + "/.late.mkv.writing", 0o644)
        cls.said = cls.trace("late", "--overlay", WORK + "/late.mkv", clip=cls.late).stderr

    @classmethod
    def trace(cls, out, *words, ok=True, clip=None):
        return run(PROGRAM, "trace", clip or cls.clip, "-m", "flexion", "-s", "right",
                   "--out", os.path.join(WORK, out), *words, ok=ok)

    def test_every_frame_at_its_time(self):
        for name in ("covered.mkv", "shown.avi"):
            path = os.path.join(WORK, name)
            at = times(path)
            self.assertEqual(len(at), len(self.rows))
            for one, row in zip(at, self.rows):
                self.assertAlmostEqual(one - at[0], float(row["time_s"])
                                       - float(self.rows[0]["time_s"]), delta=1.1e-3)
            self.assertEqual(os.stat(path).st_mode & 0o777, 0o600)

    def test_marks_are_where_the_trace_has_them(self):
        drawn = frames(WORK + "/shown.avi")
        source = frames(self.clip)
        for number in FRAMES:
            row, picture = self.rows[number], source[number]
            factor = drawn[number].shape[1] // picture.shape[1]
            large = picture.repeat(factor, axis=0).repeat(factor, axis=1)
            changed = abs(drawn[number][:large.shape[0]] - large).max(axis=2) > 60
            y, x = numpy.nonzero(changed)
            for role in ("shoulder", "elbow", "wrist"):
                self.assertEqual(row[role + "_seen"], "1")
                at_x, at_y = ((float(row[f"{role}_{axis}_px"]) + 0.5) * factor - 0.5
                              for axis in "xy")
                near = numpy.hypot(x - at_x, y - at_y)
                self.assertLess(near.min(), 16, (number, role))
                # A ring: marks all round the marker, in each quarter.
                ring = near < 26
                quarters = {(a > at_x, b > at_y) for a, b in zip(x[ring], y[ring])}
                self.assertEqual(len(quarters), 4, (number, role))

    def test_the_head_is_covered_unless_asked_otherwise(self):
        covered, shown = frames(WORK + "/covered.mkv"), frames(WORK + "/shown.avi")
        for number in FRAMES:
            row = self.rows[number]
            arm = numpy.hypot(*(float(row[f"shoulder_{a}_px"]) - float(row[f"elbow_{a}_px"])
                                for a in "xy"))
            factor = covered[number].shape[1] // 640
            # Where a head is above its shoulder: half to a whole upper arm up.
            x = int(float(row["shoulder_x_px"]) * factor)
            top = int((float(row["shoulder_y_px"]) - 0.95 * arm) * factor)
            low = int((float(row["shoulder_y_px"]) - 0.75 * arm) * factor)
            place = (slice(max(top, 0), low), slice(x - 20, x + 20))
            self.assertLess(covered[number][place].std(axis=(0, 1)).max(), 4)
            self.assertGreater(shown[number][place].std(axis=(0, 1)).max(), 8)

    def test_frames_before_the_first_head_are_there_and_withheld(self):
        at = times(WORK + "/late.mkv")
        self.assertEqual(len(at), len(times(self.late)))
        self.assertEqual(len(at), EMPTY + len(times(self.clip)))
        self.assertEqual(at[0], 0)
        self.assertAlmostEqual(at[EMPTY], EMPTY / 25, delta=1.1e-3)
        self.assertEqual(os.stat(WORK + "/late.mkv").st_mode & 0o777, 0o600)
        wanted = (0, EMPTY - 1, EMPTY + 70)
        drawn = frames(WORK + "/late.mkv", wanted)
        for number in wanted[:2]:
            picture = drawn[number]
            ground = numpy.median(picture, axis=(0, 1))
            self.assertLess(numpy.ptp(ground), 3)  # grey: no channel stands out
            away = abs(picture - ground).max(axis=2) > 4
            y, x = numpy.nonzero(away)
            self.assertGreater(len(y), 100)
            # All that is not the ground lies in a band of two lines of words.
            self.assertLess(numpy.ptp(y), 0.2 * picture.shape[0])
            self.assertLess(away.mean(), 0.05)
            self.assertIn("withheld: the head cannot be located", words_of(picture))
            self.assertIn(f"frame {number}, {number / 25:.2f} s", words_of(picture))
        # With the person there the picture is theirs.
        self.assertGreater(drawn[wanted[2]].std(), 20)
        self.assertNotIn("withheld", words_of(drawn[wanted[2]]))

    def test_how_many_are_withheld_is_said(self):
        numbers = range(len(times(WORK + "/late.mkv")))
        drawn = frames(WORK + "/late.mkv", numbers[:EMPTY + 20])
        plain = sum(bool((abs(one - numpy.median(one, axis=(0, 1))).max(axis=2) > 4).mean()
                         < 0.05) for one in drawn.values())
        self.assertGreaterEqual(plain, EMPTY)
        self.assertIn(f"{plain} of {len(numbers)} frames are withheld", self.said)

    def test_the_sheet_has_a_picture_for_each_repetition(self):
        said = run("identify", "-format", "%w %h", WORK + "/covered.jpg").stdout
        width, height = map(int, said.split())
        one = frames(WORK + "/covered.mkv", (0,))[0].shape
        shrink = round(one[1] / 560)
        # The first frame and two repetitions, side by side.
        self.assertEqual((width, height), (3 * (one[1] // shrink), one[0] // shrink))

    def test_what_is_wrong(self):
        for words, code, said in (
                (("--overlay", WORK + "/x.mp4"), 2, ".mkv or .avi"),
                (("--overlay", WORK + "/mkv"), 2, ".mkv or .avi"),
                (("--contact-sheet", WORK + "/x.png"), 2, ".jpg or .jpeg"),
                (("--overlay", WORK + "/covered.mkv"), 2, "exists"),
                (("--contact-sheet", WORK + "/covered.jpg"), 2, "exists"),
                (("--overlay", WORK + "/x.mkv", "--start", "0", "--end", "3", "--start", "3",
                  "--end", "6"), 2, "one clip"),
                # This one measures, so it comes last.
                (("--overlay", WORK + "/none/x.mkv"), 1, "cannot be written")):
            done = self.trace("wrong", *words, ok=False)
            self.assertEqual(done.returncode, code, (words, done.stderr))
            self.assertIn(said, done.stderr)
            if code == 2:  # refused before anything was measured
                self.assertEqual(len(done.stderr.strip().splitlines()), 1, done.stderr)
                self.assertFalse(os.path.exists(WORK + "/wrong/sessions.csv"), words)
                self.assertFalse(os.path.exists(WORK + "/wrong/clip0.trace.csv"), words)
        # What was measured is there, so that its absence above says something.
        self.assertTrue(os.path.exists(WORK + "/wrong/sessions.csv"))
        self.assertTrue(os.path.exists(WORK + "/wrong/clip0.trace.csv"))
        self.assertFalse([name for name in os.listdir(WORK) if name.endswith(".writing")])


if __name__ == "__main__":
    os.makedirs(WORK, exist_ok=True)
    unittest.main(argv=sys.argv[:1] + sys.argv[4:], verbosity=2)
