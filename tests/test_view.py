#!/usr/bin/env python3
"""The window that steps through a clip: real keys and a real mouse, an optical reader, and what
comes of a marker placed by hand.

Usage: test_view.py PROGRAM SCENE_TOOL WORK_FOLDER
"""
import csv
import os
import shutil
import sys
import unittest

sys.argv[1:4] = [os.path.abspath(word) for word in sys.argv[1:4]]
sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
import page_reader  # noqa: E402
import test_manifest as study  # noqa: E402

PROGRAM, TOOL, WORK = sys.argv[1:4]


class View(unittest.TestCase):
    def opened(self, out):
        path = os.path.join(WORK, out)
        shutil.rmtree(path, ignore_errors=True)
        display = page_reader.Display(WORK, 1300, 1000)
        self.addCleanup(display.close)
        display.start(PROGRAM, "trace", os.path.join(study.clips(), "clip0.avi"), "-m",
                      "flexion", "-s", "right", "--out", path, "--view")
        self.read(display, "frame 0")
        return display, path

    def read(self, display, *wanted, absent=()):
        shot = os.path.join(WORK, "view.png")
        text = [""]

        def there():
            if display.program.poll() is not None:
                self.fail("it ended early: " + "".join(display.program.communicate()))
            text[0] = " ".join(display.text(display.shoot(shot)).split())
            return all(word in text[0] for word in wanted) and \
                not any(word in text[0] for word in absent)
        self.assertTrue(display.until(there, 60), (wanted, text[0]))
        return text[0]

    def ended(self, display):
        out, complained = display.program.communicate(timeout=60)
        self.assertEqual(display.program.returncode, 0, out + complained)

    def rows(self, path, name="sessions.csv"):
        with open(os.path.join(path, name), encoding="utf-8", newline="") as file:
            return list(csv.DictReader(file))

    def test_stepping_and_placing(self):
        display, path = self.opened("placed")
        display.do("key", "Right", "Right", "Right")
        self.read(display, "frame 3,")
        display.do("key", "Page_Down", "Left")
        self.read(display, "frame 12,")
        display.do("key", "End")
        self.read(display, "frame 167,")
        display.do("key", "Home")
        self.read(display, "frame 0,")
        for _ in range(7):
            display.do("key", "Page_Down")
        self.read(display, "frame 70,", "shoulder (seen)")
        display.do("key", "2")
        self.read(display, "elbow (seen)")
        # Twice a pixel to the right, half a pixel down, and one too many taken back.
        display.do("key", "shift+Right")
        self.read(display, "elbow (by hand)")
        display.do("key", "shift+Right")
        for _ in range(5):
            display.do("key", "ctrl+Down")
        display.do("key", "Right", "Delete")
        self.read(display, "frame 71,", "not seen")
        display.do("key", "u")
        self.read(display, "frame 71,", "elbow (seen)")
        display.do("key", "Escape")
        self.read(display, "Not saved yet")
        display.do("key", "s")
        self.ended(display)
        first, second, replaced, counts = self.rows(path)
        self.assertEqual((replaced["id"], replaced["status"]), (first["id"], "replaced"))
        self.assertEqual((counts["id"], counts["status"], counts["replaces"]),
                         (second["id"], "ok", first["id"]))
        before, after = (self.rows(path, row["trace"]) for row in (first, second))
        self.assertAlmostEqual(float(after[70]["elbow_x_px"]),
                               float(before[70]["elbow_x_px"]) + 2, delta=2e-3)
        self.assertAlmostEqual(float(after[70]["elbow_y_px"]),
                               float(before[70]["elbow_y_px"]) + 0.5, delta=2e-3)
        self.assertEqual(after[70]["elbow_seen"], "2")
        self.assertIn("edited", after[70]["quality"])
        self.assertEqual(after[71]["elbow_seen"], "1")
        self.assertEqual(before[71]["angle_image_deg"], after[71]["angle_image_deg"])
        self.assertEqual([row["what"] for row in self.rows(path, "changes.csv")], ["replace"])

    def test_by_mouse_and_left_without_saving(self):
        display, path = self.opened("left")
        # Where the window's picture lies: 1100 by 860, letterboxed, in the screen's middle.
        told = display.run("xwininfo", "-root", "-tree")
        window = next(line for line in told.splitlines() if "frame by frame" in line)
        size, x, y = window.split()[-2].split("+")[0], *window.split()[-1][1:].split("+")
        width, height = map(int, size.split("x"))
        # The strip is the lowest 150 of the picture's pixels; its middle is the clip's middle.
        display.do("mousemove", str(int(x) + width // 2), str(int(y) + height - 60), "click",
                   "1")
        said = self.read(display, "frame 8")
        self.assertRegex(said, r"frame 8[2-5],")
        display.do("key", "3")
        display.do("mousemove", str(int(x) + width // 2), str(int(y) + height // 4), "click",
                   "1")
        self.read(display, "wrist (by hand)")
        display.do("key", "Escape", "Escape")
        self.ended(display)
        self.assertEqual(len(self.rows(path)), 1)


if __name__ == "__main__":
    os.makedirs(WORK, exist_ok=True)
    unittest.main(argv=sys.argv[:1] + sys.argv[4:], verbosity=2)
