#!/usr/bin/env python3
"""What stands beside a course of weeks: the published range, the pairs of movements, and
the window's page that shows it, with real keys, a real mouse and an optical reader.

Usage: test_course_page.py PROGRAM RECORD_WRITER WORK_FOLDER
"""
import csv
import json
import os
import shutil
import subprocess
import sys
import time
import unittest
import xml.etree.ElementTree

HERE = os.path.dirname(os.path.abspath(__file__))
sys.path.insert(0, os.path.join(HERE, "bench"))
import invented_weeks  # noqa: E402

PROGRAM, WRITER, WORK = (os.path.abspath(word) for word in sys.argv[1:4])
RECORD = os.path.join(WORK, "data", "omogon")
TOP = "720x400+0+0"  # the page's title and sentences
PATIENCE_S = 100  # far more than a sanitizer needs


def progress(*words, folder=RECORD):
    return subprocess.run([PROGRAM, "progress", "--data", folder, *words], check=True,
                          capture_output=True, text=True, timeout=60,
                          env=dict(os.environ, LC_ALL="C.UTF-8", LANGUAGE="en")).stdout


def changed(name, **cells):
    """A copy of the record whose sessions have other cells, or people.csv is missing."""
    folder = os.path.join(WORK, name)
    shutil.rmtree(folder, ignore_errors=True)
    shutil.copytree(RECORD, folder)
    path = os.path.join(folder, "sessions.csv")
    with open(path, encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    with open(path, "w", encoding="utf-8", newline="") as file:
        out = csv.DictWriter(file, rows[0].keys(), lineterminator="\n")
        out.writeheader()
        out.writerows(dict(row, **cells) for row in rows)
    return folder


class Beside(unittest.TestCase):
    def test_a_range_stands_only_where_all_matches(self):
        courses = json.loads(progress("--json"))
        self.assertEqual(len(courses), 8)
        right, left = (next(c for c in courses if c["movement"] == "flexion" and
                            c["side"] == side) for side in ("right", "left"))
        # Vairo et al. 2012, table 4, women: dominant and other arm.
        self.assertEqual((right["range_low_deg"], right["range_high_deg"]), (155, 180))
        self.assertEqual((left["range_low_deg"], left["range_high_deg"]), (155, 180))
        self.assertIn("Vairo", right["range_source"])
        back = next(c for c in courses if c["movement"] == "extension")
        self.assertEqual([back[k] for k in ("range_low_deg", "range_source")], [None, None])
        said = progress("-m", "flexion", "-s", "right")
        self.assertIn("155 to 180 degrees, nine of ten people (female, aged 17 to 20)", said)
        self.assertIn("its source: Vairo", said)
        for cells in ({"position": "standing"}, {"mode": "assisted"}, {"reference": "hip"}):
            said = progress("-m", "flexion", "-s", "right",
                            folder=changed("otherwise", **cells))
            self.assertIn("no matching published range", said)
            self.assertNotIn("Vairo", said)
        folder = changed("nobody")
        os.remove(os.path.join(folder, "people.csv"))
        self.assertIn("no matching published range", progress(folder=folder))

    def test_the_chart_has_the_range_with_its_source(self):
        path = os.path.join(WORK, "range.svg")
        progress("-m", "flexion", "-s", "right", "--chart", path, "--force")
        words = " ".join(xml.etree.ElementTree.parse(path).getroot().itertext())
        self.assertIn("published range, female, aged 17 to 20; Vairo", words)
        progress("-m", "extension", "-s", "right", "--chart", path, "--force")
        words = " ".join(xml.etree.ElementTree.parse(path).getroot().itertext())
        self.assertNotIn("published", words)

    def test_the_report_has_ranges_and_says_where_there_is_none(self):
        pages = []
        for folder in (RECORD, changed("standing", position="standing")):
            path = os.path.join(WORK, "report.html")
            subprocess.run([PROGRAM, "report", "--data", folder, "--out", path, "--force"],
                           check=True, capture_output=True, timeout=60,
                           env=dict(os.environ, LC_ALL="C.UTF-8", LANGUAGE="en"))
            with open(path, encoding="utf-8") as file:
                pages.append(file.read())
        for page, there, absent in (
                (pages[0], ("155 to 180 degrees, nine of ten people",
                            "grey: published range, Vairo"), "no matching published range"),
                (pages[1], ("There is no matching published range",), "Vairo")):
            for words in there:
                self.assertTrue(words in page, words)
            self.assertFalse(absent in page, absent)

    def test_both_directions_give_the_short_forms(self):
        courses = json.loads(progress("--json"))
        means = {}
        with open(os.path.join(RECORD, "sessions.csv"), encoding="utf-8", newline="") as file:
            for row in csv.DictReader(file):  # the newest is the last
                means[row["movement"], row["side"]] = round(float(row["mean_of_maxima_deg"]))
        want = f"{means['extension', 'right']}-0-{means['flexion', 'right']}"
        turned = (f"{means['external-rotation', 'right']}-0-"
                  f"{means['internal-rotation', 'right']}")
        for course in courses:
            if course["side"] == "right":
                zero = turned if "rotation" in course["movement"] else want
                plane = "R(F90): " if "rotation" in course["movement"] else "S: "
                self.assertEqual((course["neutral_zero"], course["sftr"]),
                                 (zero, plane + zero))
        said = progress()
        self.assertEqual(said.count("extension/flexion"), 2)  # once a side
        self.assertIn(f"right, active: extension/flexion {want} (S: {want}); "
                      f"external/internal rotation {turned} (R(F90): {turned})", said)
        # One direction alone has no short form.
        alone, = json.loads(progress("--json", "-m", "flexion", "-s", "right"))
        self.assertEqual((alone["neutral_zero"], alone["sftr"]), (None, None))
        self.assertNotIn("Neutral Zero", progress("-m", "flexion"))


class Page(unittest.TestCase):
    def setUp(self):
        reading, writing = os.pipe()
        self.server = subprocess.Popen(
            ["Xvfb", "-displayfd", str(writing), "-screen", "0", "1280x720x24", "-nolisten",
             "tcp"], pass_fds=[writing], stderr=subprocess.DEVNULL)
        os.close(writing)
        self.addCleanup(self.server.wait)
        self.addCleanup(self.server.terminate)
        with os.fdopen(reading) as told:
            display = ":" + told.readline().strip()
        self.env = dict(os.environ, DISPLAY=display, SDL_VIDEODRIVER="x11",
                        SDL_RENDER_DRIVER="software", SDL_AUDIODRIVER="dummy",
                        LIBGL_DRIVERS_PATH=WORK, LC_ALL="C.UTF-8", LANGUAGE="en",
                        # Threads of the reader only wait for each other.
                        OMP_THREAD_LIMIT="1",
                        XDG_CONFIG_HOME=os.path.join(WORK, "config"),
                        XDG_DATA_HOME=os.path.join(WORK, "data"))
        self.program = subprocess.Popen([PROGRAM], env=self.env, stdout=subprocess.PIPE,
                                        stderr=subprocess.PIPE, text=True)
        self.addCleanup(self.program.kill)

    def do(self, *words):
        subprocess.run(["xdotool", *words], check=True, env=self.env)

    def until_read(self, *wanted, area="1280x720+0+0"):
        deadline = time.monotonic() + PATIENCE_S
        text = ""
        shot = os.path.join(WORK, "page.png")
        while time.monotonic() < deadline:
            subprocess.run(["import", "-window", "root", "-crop", area, "+repage",
                            "-colorspace", "Gray", "-negate", shot], check=True,
                           env=self.env)
            text = subprocess.run(["tesseract", shot, "-", "--psm", "11"], text=True,
                                  capture_output=True, check=True, env=self.env).stdout.lower()
            if all(word in text for word in wanted):
                return
            self.assertIsNone(self.program.poll(), "the program ended early")
        self.fail(f"{wanted} is not in: {text}")

    def test_stepping_through_the_movements_by_key_and_mouse(self):
        self.until_read("how it went", area="640x480+0+240")
        self.do("key", "3")
        self.until_read("how it went: 1 of 8", "more than measuring error",
                        "the other side", "pain at the highest", "2026-03-30",
                        "155 to 180")
        self.do("key", "1")
        self.until_read(": 2 of 8", "left", area=TOP)
        self.do("mousemove", "300", "436", "click", "1")  # the first choice again
        self.until_read(": 3 of 8", "extension", "no matching published", area=TOP)
        self.do("key", "2")
        self.until_read(": 2 of 8", area=TOP)
        self.do("key", "Escape")
        self.until_read("how it went", area="640x480+0+240")
        self.do("key", "q")
        _, complained = self.program.communicate(timeout=PATIENCE_S)
        self.assertEqual(self.program.returncode, 0, complained)


if __name__ == "__main__":
    shutil.rmtree(WORK, ignore_errors=True)
    os.makedirs(os.path.join(WORK, "data"))
    sys.argv[1:] = [PROGRAM, WRITER, RECORD]
    invented_weeks.main()
    unittest.main(argv=sys.argv[:1], verbosity=2)
