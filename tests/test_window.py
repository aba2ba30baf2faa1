#!/usr/bin/env python3
"""The whole program in a real window: a played camera, real keys, an optical reader.

Usage: test_window.py PROGRAM SCENE_TOOL PLAYED_CAMERA WORK_FOLDER
"""
import csv
import json
import math
import os
import re
import shutil
import subprocess
import sys
import time
import unittest

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
import played  # noqa: E402
import rendered  # noqa: E402
import x_server  # noqa: E402

# The optical reader's threads wait for each other by spinning.
os.environ["OMP_THREAD_LIMIT"] = "1"
PROGRAM, TOOL, LIBRARY, WORK = (os.path.abspath(word) for word in sys.argv[1:5])
SANITIZED = bool(played.sanitizer(PROGRAM))
RATE = 15
# Under a sanitizer everything takes several times as long.
SPEED = "0.4" if SANITIZED else "1"
# One raise that is held for nine seconds: time to look at the window.
SCENE = {"movement": "flexion", "side": "right", "width": 640, "height": 360, "fps": RATE,
         "arc_deg": 104, "speed_deg_per_s": 60, "repetitions": 1, "rest_s": 7, "hold_s": 9,
         "pause_s": 3, "markers": "shoulder elbow wrist hip", "noise": 2, "seed": 7}
HELD = int(RATE * (7 + 104 / 60 + 4))  # a picture in the middle of the hold
AFTER = int(RATE * (7 + 2 * 104 / 60 + 9 + 1))


def clip():
    words = [f"{k}={v}" for k, v in SCENE.items()]
    return rendered.once(WORK, "hold.mjpeg", ["scene", *words],
                         lambda path: subprocess.run([TOOL, "-", path, *words], check=True,
                                                     capture_output=True))


def models_without_doubt():
    """The program's data, in which every marker is believed to sit on its joint. While an
    arm is up, what else is believed is still being learnt, and a figure that was shown
    then is not the trace's; without it the two have to be the same."""
    folder = os.path.join(WORK, "models")
    shutil.copytree(os.environ["OMOGON_MODELS"], folder, dirs_exist_ok=True)
    path = os.path.join(folder, "pivot.ini")
    with open(path, encoding="utf-8") as file:
        text = file.read()
    text = re.sub(r"(?m)^((?:up|ahead)_mean_mm)=.*$", r"\1=0", text)
    text = re.sub(r"(?m)^((?:up_|ahead_|turn_|drift_)?sd_(?:mm|deg)|share_sd|\w*turn_mm)=.*$",
                  r"\1=0.001", text)
    with open(path, "w", encoding="utf-8") as file:
        file.write(text)
    return folder


class Window(unittest.TestCase):
    def setUp(self):
        self.server = x_server.Server(1280, 720, managed=False)
        self.addCleanup(self.server.close)
        self.env = dict(os.environ, DISPLAY=self.server.name, SDL_VIDEODRIVER="x11",
                        SDL_RENDER_DRIVER="software", SDL_AUDIODRIVER="dummy",
                        # No graphics driver is tried: Mesa's own leaves memory behind when
                        # it is unloaded, and then no suppression can name it.
                        LIBGL_DRIVERS_PATH=WORK,
                        OMOGON_MODELS=models_without_doubt(),
                        XDG_CONFIG_HOME=os.path.join(WORK, "config"),
                        XDG_DATA_HOME=os.path.join(WORK, "data"))

    def key(self, name):
        subprocess.run(["xdotool", "key", name], check=True, env=self.env)

    def screenshot(self, name):
        path = os.path.join(WORK, name + ".png")
        subprocess.run(["import", "-window", "root", path], check=True, env=self.env)
        return path

    def read(self, path, area, mode):
        """The characters that tesseract reads in a part of a picture."""
        part = path + ".part.png"
        subprocess.run(["convert", path, "-crop", area, "+repage", "-colorspace", "Gray",
                        "-negate", "-resize", "50%", part], check=True)
        done = subprocess.run(["tesseract", part, "-", "--psm", mode], capture_output=True,
                              text=True, check=True)
        return done.stdout.strip()

    def until(self, condition, seconds, what):
        deadline = time.monotonic() + seconds * (5 if SANITIZED else 1)
        while time.monotonic() < deadline:
            found = condition()
            if found:
                return found
            self.assertIsNone(self.program.poll(), "the program ended early")
            time.sleep(0.1)
        self.fail(what)

    def start(self, out, *more, **settings):
        self.out = os.path.join(WORK, out)
        shutil.rmtree(self.out, ignore_errors=True)
        self.camera = played.Camera(LIBRARY, WORK, offer=f"MJPG:640x360:{RATE}:{clip()}",
                                    lead=1, speed=SPEED, **settings)
        self.program = subprocess.Popen(
            [PROGRAM, "measure", "-m", "flexion", "-s", "right", "--software", "--out",
             self.out, *more], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
            env=self.camera.environment(PROGRAM, **self.env))
        self.addCleanup(self.program.kill)

    def rows(self):
        path = os.path.join(self.out, "sessions.csv")
        if not os.path.exists(path):
            return []
        with open(path, encoding="utf-8", newline="") as file:
            return list(csv.DictReader(file))

    def test_a_measurement_by_keys_and_what_is_read_from_the_screen(self):
        self.start("keys", end="stall")
        self.until(lambda: len(self.camera.pictures()) > HELD, 60, "the hold never came")
        shot = self.screenshot("held")
        seen_until = len(self.camera.pictures())
        self.key("space")
        self.key("p")
        self.until(lambda: [n for n in os.listdir(self.out) if n.endswith(".still-1.jpg")],
                   20, "no still was kept")
        self.until(lambda: len(self.camera.pictures()) > AFTER, 60, "the raise never ended")
        self.key("e")
        row = self.until(self.rows, 30, "no row was saved")[0]
        self.screenshot("result")
        self.key("2")
        said, complained = self.program.communicate(timeout=60)
        self.assertEqual(self.program.returncode, 0, complained)

        self.assertEqual(row["stopped_by"], "chose")
        self.assertEqual(row["repetitions"], "1")
        with open(os.path.join(self.out, row["trace"]), encoding="utf-8", newline="") as file:
            trace = {int(r["frame"]): r["angle_deg"] for r in csv.DictReader(file)}
        shown = {f"{math.floor(float(trace[n]) + 0.5)}" for n in trace
                 if seen_until - 12 <= n <= seen_until + 1 and trace[n]}
        # The figure has the right half of the upper quarter.
        read = re.sub(r"\D*$", "", self.read(shot, "400x150+722+0", "7").replace(" ", ""))
        self.assertTrue(any(read.startswith(degrees) for degrees in shown),
                        f"read {read!r}, the trace says {shown}")
        # The key marked pain at the height of the hold, on the way up or at its end.
        marks = [row["pain_onset_deg"], row["pain_end_deg"]]
        self.assertTrue(any(m and abs(float(m) - float(trace[HELD])) < 3 for m in marks), marks)
        still = os.path.join(self.out, [n for n in os.listdir(self.out)
                                        if n.endswith(".jpg")][0])
        self.assertEqual(os.stat(still).st_mode & 0o777, 0o600)
        # A line drawing: hardly any colour outside its few lines.
        mean = subprocess.run(["convert", still, "-colorspace", "HSL", "-channel", "G",
                               "-separate", "-format", "%[fx:mean]", "info:"],
                              capture_output=True, text=True, check=True).stdout
        self.assertLess(float(mean), 0.1)
        self.assertIn("First ringed marker on screen", said)

    def test_the_camera_that_is_pulled_out_is_named_in_the_window(self):
        self.start("pulled", "--patience", "60", end="again")
        self.until(lambda: len(self.camera.pictures()) > RATE * 3, 60, "no pictures")
        self.camera.command("unplug")
        time.sleep(3 if not SANITIZED else 10)
        shot = self.screenshot("pulled")
        text = self.read(shot, "1280x160+0+500", "6").lower()
        self.assertIn("unplugged", text)
        self.key("Escape")
        time.sleep(1)
        self.key("2")
        self.program.communicate(timeout=60)
        self.assertEqual(self.program.returncode, 0)

    def test_the_start_page_leads_to_a_measurement_and_back(self):
        shutil.rmtree(self.env["XDG_DATA_HOME"], ignore_errors=True)
        self.camera = played.Camera(LIBRARY, WORK, offer=f"MJPG:640x360:{RATE}:{clip()}",
                                    lead=1, speed=SPEED)
        self.program = subprocess.Popen(
            [PROGRAM], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
            env=self.camera.environment(PROGRAM, **self.env))
        self.addCleanup(self.program.kill)

        def reads(word):
            shot = self.screenshot("start")
            done = subprocess.run(["tesseract", shot, "-", "--psm", "6"], text=True,
                                  capture_output=True, check=True)
            return word in done.stdout.lower()

        self.until(lambda: reads("measure"), 20, "no start page")
        self.key("1")
        self.until(lambda: reads("abduction"), 20, "no list of movements")
        self.key("1")
        self.until(lambda: reads("your left"), 20, "no question for the side")
        self.key("2")
        self.until(lambda: len(self.camera.pictures()) > RATE, 60, "the camera was not opened")
        self.until(lambda: reads("standing"), 20, "no measuring page")
        self.key("h")
        self.until(lambda: reads("where the markers go"), 20, "no help")
        self.key("Escape")
        self.until(lambda: reads("standing"), 20, "no way back from the help")
        self.until(lambda: len(self.camera.pictures()) > AFTER, 60, "the raise never ended")
        self.key("e")
        self.until(lambda: reads("measure again"), 20, "no page after the measurement")
        self.out = os.path.join(self.env["XDG_DATA_HOME"], "omogon")
        self.assertEqual([row["status"] for row in self.rows()], ["ok"])
        self.key("3")
        self.until(lambda: reads("counts no longer"), 20, "it was not discarded")
        self.assertEqual([row["status"] for row in self.rows()], ["ok", "withdrawn"])
        self.key("3")
        self.until(lambda: reads("discard this one"), 20, "it was not taken back")
        self.assertEqual([row["status"] for row in self.rows()], ["ok", "withdrawn", "ok"])
        self.key("2")
        self.until(lambda: reads("your right"), 20, "the choice was not remembered")
        self.key("q")
        _, complained = self.program.communicate(timeout=60)
        self.assertEqual(self.program.returncode, 0, complained)
        controls = self.camera.controls()
        self.assertEqual(controls[0], controls[-1])

    def test_a_person_at_a_glance(self):
        env = dict(self.env, XDG_CONFIG_HOME=os.path.join(WORK, "glance-config"),
                   XDG_DATA_HOME=os.path.join(WORK, "glance"), LC_ALL="C.UTF-8", LANGUAGE="en")
        subprocess.run([PROGRAM, "people", "--person", "P42", "--add", "--affected", "both",
                        "--set-by", "R1"], env=env, check=True, capture_output=True)
        self.program = subprocess.Popen([PROGRAM], stdout=subprocess.PIPE,
                                        stderr=subprocess.PIPE, text=True, env=env)
        self.addCleanup(self.program.kill)

        def reads(pattern):
            part = self.screenshot("glance") + ".part.png"
            subprocess.run(["convert", part[:-9], "-crop", "1280x420+0+0", "+repage", part],
                           check=True)
            done = subprocess.run(["tesseract", part, "-", "--psm", "11"], text=True,
                                  capture_output=True, check=True)
            return re.search(pattern, " ".join(done.stdout.lower().split()))

        self.until(lambda: reads("a person at a glance"), 20, "no start page")
        self.key("4")
        self.until(lambda: reads("p42 at a glance.*not asked about yet"), 20, "no overview")
        self.key("1")
        self.until(lambda: reads("left blank: both sides are affected"), 20, "no reason")
        self.key("q")
        _, complained = self.program.communicate(timeout=60)
        self.assertEqual((self.program.returncode, complained), (0, ""))


if __name__ == "__main__":
    shutil.rmtree(WORK, ignore_errors=True)
    os.makedirs(WORK)
    unittest.main(argv=[sys.argv[0], "-v", *sys.argv[5:]])
