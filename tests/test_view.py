#!/usr/bin/env python3
"""The window that steps through a clip: real keys and a real mouse, an optical reader, and what
comes of a marker placed by hand.

Usage: test_view.py PROGRAM SCENE_TOOL WORK_FOLDER
"""
import csv
import json
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
    def opened(self, out, again=False, clip="clip0.avi"):
        path = os.path.join(WORK, out)
        if not again:
            shutil.rmtree(path, ignore_errors=True)
        display = page_reader.Display(WORK, 1300, 1000)
        self.addCleanup(display.close)
        display.start(PROGRAM, "trace", os.path.join(study.clips(), clip), "-m",
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

    def ended(self, display, code=0):
        out, complained = display.program.communicate(timeout=60)
        self.assertEqual(display.program.returncode, code, out + complained)
        return complained

    def window(self, display):
        """Left, top, width and height of the window's inside."""
        told = display.run("xwininfo", "-root", "-tree")
        window = next(line for line in told.splitlines() if "frame by frame" in line)
        size, x, y = window.split()[-2].split("+")[0], *window.split()[-1][1:].split("+")
        return (int(x), int(y), *map(int, size.split("x")))

    def counting(self, path):
        """What counts: (id, what was placed by hand in it) of every session."""
        last = {row["id"]: row for row in self.rows(path)}
        found = []
        for row in last.values():
            if row["status"] == "ok":
                stem = row["trace"].replace(".trace.csv", ".provenance.json")
                with open(os.path.join(path, stem), encoding="utf-8") as file:
                    placed = json.load(file)["markers_placed_by_hand"]
                found.append((row["id"], [(one["frame"], one["marker"]) for one in placed]))
        return found

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

    def test_one_session_counts_however_often_it_is_corrected(self):
        display, path = self.opened("often")
        display.do("key", "2", "shift+Right")
        self.read(display, "elbow (by hand)", "placed: 1")
        display.do("key", "s")
        self.ended(display)
        measured = self.rows(path)[0]["id"]
        ((second, placed),) = self.counting(path)
        self.assertEqual(placed, [(0, "elbow")])
        # It begins with what counts; that is not undone, what is done now is.
        display, path = self.opened("often", again=True)
        self.read(display, "placed: 1")
        display.do("key", "u", "Right", "3", "shift+Right")
        self.read(display, "frame 1,", "wrist (by hand)", "placed: 2")
        display.do("key", "Right", "Delete", "u")
        self.read(display, "frame 2,", "wrist (seen)", "placed: 2")
        display.do("key", "s")
        self.ended(display)
        ((third, placed),) = self.counting(path)
        self.assertEqual(placed, [(0, "elbow"), (1, "wrist")])
        self.assertNotIn(third, (measured, second))
        # Back to the first correction, by another way: the same session counts again.
        display, path = self.opened("often", again=True)
        display.do("key", "Right", "3", "m")
        self.read(display, "wrist (seen)", "placed: 1")
        display.do("key", "s")
        self.ended(display)
        ((again, placed),) = self.counting(path)
        self.assertEqual((again, placed), (second, [(0, "elbow")]))
        # And back to what was measured.
        display, path = self.opened("often", again=True)
        display.do("key", "2", "m")
        self.read(display, "elbow (seen)", "placed: 0")
        display.do("key", "s")
        self.ended(display)
        ((again, placed),) = self.counting(path)
        self.assertEqual((again, placed), (measured, []))

    def test_a_clip_without_an_angle_can_be_looked_at(self):
        folder = study.clips()
        blind = os.path.join(folder, "blind.avi")
        # The same movement without its colours: nothing is found, everything is to be seen.
        study.run("ffmpeg", "-v", "error", "-y", "-i", os.path.join(folder, "clip0.avi"),
                  "-vf", "hue=s=0", "-t", "1", "-c:v", "mjpeg", "-q:v", "3", "-threads", "1",
                  blind)
        display, path = self.opened("blind", clip="blind.avi")
        said = self.read(display, "shoulder (not seen)", "so it is not")
        self.assertIn("no angle", said)
        left, top, width, height = self.window(display)
        display.do("mousemove", str(left + width // 2), str(top + height // 4), "click", "1")
        self.read(display, "shoulder (by hand)")
        display.do("key", "u", "Escape")
        self.assertIn("no ", self.ended(display, code=1))
        self.assertEqual(self.rows(path) if os.path.exists(os.path.join(path, "sessions.csv"))
                         else [], [])

    def test_what_is_placed_in_a_table_is_not_mixed_with_the_window(self):
        done = study.run(PROGRAM, "trace", os.path.join(study.clips(), "clip0.avi"), "-m",
                         "flexion", "-s", "right", "--out", os.path.join(WORK, "mixed"),
                         "--view", "--corrections", self.table("0,elbow,1,2\n"), ok=False)
        self.assertEqual((done.returncode, len(done.stderr.splitlines())), (2, 1))

    def table(self, text):
        path = os.path.join(WORK, "placed.csv")
        with open(path, "w", encoding="utf-8") as file:
            file.write("frame,marker,x_px,y_px\n" + text)
        return path

    def test_by_mouse_and_left_without_saving(self):
        display, path = self.opened("left")
        left, top, width, height = self.window(display)
        # Above the three lines of words is the trace; its middle is the clip's.
        display.do("mousemove", str(left + width // 2), str(top + height * 7 // 8), "click",
                   "1")
        said = self.read(display, "frame 8")
        self.assertRegex(said, r"frame 8[2-5],")
        display.do("key", "3")
        # Into the bar beside the picture, and into the words below it: nothing is placed.
        display.do("mousemove", str(left + 4), str(top + height // 3), "click", "1")
        display.do("mousemove", str(left + width // 2), str(top + height * 3 // 4), "click", "1",
                   "key", "4")
        self.read(display, "hip (seen)", "placed: 0")
        display.do("key", "3", "mousemove", str(left + width // 2), str(top + height // 4),
                   "click", "1")
        self.read(display, "wrist (by hand)")
        display.do("key", "Escape", "Escape")
        self.ended(display)
        self.assertEqual(len(self.rows(path)), 1)


if __name__ == "__main__":
    os.makedirs(WORK, exist_ok=True)
    unittest.main(argv=sys.argv[:1] + sys.argv[4:], verbosity=2)
