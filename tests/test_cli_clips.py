#!/usr/bin/env python3
"""The program on what phones and cameras do to a clip, on colours that are learnt from one,
and when it is killed.

Usage: test_cli_clips.py PROGRAM SCENE_TOOL WORK_FOLDER
"""
import os
import signal
import subprocess
import sys
import time
import unittest

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
from called import (  # noqa: E402
    FLEXION, PROGRAM, WORK, fresh, main, pack, render, rows, run, trace
)


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
        h264 = pack(mjpeg, "one.mp4", "-c:v", "libx264", "-preset", "ultrafast",
                    "-crf", "16", "-pix_fmt", "yuv420p")
        hlg = pack(mjpeg, "hlg.mov", "-c:v", "libx265", "-preset", "ultrafast",
                   "-x265-params", "log-level=none", "-crf", "16", "-tag:v", "hvc1", "-vf",
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
                        "-preset", "ultrafast", "-crf", "16", "-pix_fmt", "yuv420p")
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
            self.assertNotIn("sessions.csv", got.stdout)  # there is none


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


if __name__ == "__main__":
    main()
