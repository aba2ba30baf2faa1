#!/usr/bin/env python3
"""omogon lens as a person uses it: the board is true to size, a lens is measured from
pictures, clips and a camera, a level from a board and a string, and what goes wrong is said.

    test_lens.py PROGRAM BOARD_TOOL SCENE_TOOL PLAYED_CAMERA ROOT WORK_FOLDER
"""
import configparser
import csv
import json
import os
import re
import shutil
import subprocess
import sys
import unittest

import numpy as np

PROGRAM, BOARD, SCENE, LIBRARY, ROOT, WORK = map(os.path.abspath, sys.argv[1:7])
sys.path.insert(0, os.path.join(ROOT, "tests"))
import played  # noqa: E402
import rendered  # noqa: E402

DATA = os.path.join(WORK, "data")
ENVIRONMENT = {**os.environ, "LC_ALL": "C.UTF-8", "LANGUAGE": "", "SDL_AUDIODRIVER": "dummy",
               "XDG_CONFIG_HOME": os.path.join(WORK, "config"),
               "XDG_DATA_HOME": os.path.join(WORK, "home")}
# The lens of tests/lens_fixture.c.
TRUTH = {"fx_px": 940, "fy_px": 944, "cx_px": 655, "cy_px": 349, "k1": -0.11, "k2": 0.05,
         "p1": 0.0011, "p2": -0.0008, "k3": 0}
# What a calibration of rendered pictures may be off: their corners are found to about
# 0.07 px, with a bias of the same size that blur and compression leave.
TOLERANCE = {"fx_px": 1.9, "fy_px": 1.9, "cx_px": 1.5, "cy_px": 1.5, "k1": 0.003, "k2": 0.006,
             "p1": 0.0004, "p2": 0.0004, "k3": 0}
# Over a line of 180 px, as an upper arm is, 0.3 px at either end is 0.1 degrees.
MAP_PX = 0.3
LEVEL_DEG = 0.1
DPI = 300
MM = DPI / 25.4


def pictures(kind, *more):
    """The files of one kind of photographs."""
    folder = rendered.once(WORK, "-".join([kind, *more]), ["board", kind, *more],
                           lambda path: subprocess.run([BOARD, kind, path, *more],
                                                       check=True))
    return sorted(os.path.join(folder, name) for name in os.listdir(folder))


def held():
    """A clip of the board that is held this way and that."""
    return rendered.once(WORK, "held.mjpeg", ["board", "held"],
                         lambda path: subprocess.run([BOARD, "held", path], check=True))


def run(*words, env=None, cwd=None, data=DATA):
    return subprocess.run([PROGRAM, "lens", *words, *(["--data", data] if data else [])],
                          capture_output=True, text=True, env=env or ENVIRONMENT, cwd=cwd,
                          timeout=300, check=False)


def profile(name, data=DATA):
    parser = configparser.ConfigParser(delimiters="=", interpolation=None)
    parser.optionxform = str
    with open(os.path.join(data, "lenses", name + ".ini"), encoding="utf-8") as file:
        parser.read_file(file)
    return parser["lens"]


def content(data):
    with open(os.path.join(data, "lenses", "desk.ini"), "rb") as file:
        return file.read()


def desk():
    """The profile most tests go by."""
    if not os.path.exists(os.path.join(DATA, "lenses", "desk.ini")):
        done = run(*pictures("many"), "--name", "desk")
        assert done.returncode == 0, done.stderr
    return profile("desk")


def distort(values, x, y):
    r2 = x * x + y * y
    s = 1 + r2 * (values["k1"] + r2 * (values["k2"] + r2 * values["k3"]))
    return (values["fx_px"] * (x * s + 2 * values["p1"] * x * y +
                               values["p2"] * (r2 + 2 * x * x)) + values["cx_px"],
            values["fy_px"] * (y * s + values["p1"] * (r2 + 2 * y * y) +
                               2 * values["p2"] * x * y) + values["cy_px"])


def shown(x, y, z, roll_deg, pitch_deg):
    """Pixel of a point of the room: right, down along gravity, ahead along the floor."""
    e, r = np.radians(pitch_deg), np.radians(roll_deg)
    ahead, below = z * np.cos(e) - y * np.sin(e), y * np.cos(e) + z * np.sin(e)
    across, down = x * np.cos(r) - below * np.sin(r), x * np.sin(r) + below * np.cos(r)
    return distort(TRUTH, across / ahead, down / ahead)


class Calibration(unittest.TestCase):
    def test_a_lens_is_measured_from_pictures(self):
        got = desk()
        self.assertEqual(got["source"], "calibrated")
        self.assertEqual((got["picture_width_px"], got["picture_height_px"]), ("1280", "720"))
        for key, value in TRUTH.items():
            self.assertLessEqual(abs(float(got[key]) - value), TOLERANCE[key], key)
        self.assertLess(float(got["reprojection_px"]), 0.15)
        values = {key: float(got[key]) for key in TRUTH}
        x, y = np.meshgrid(np.linspace(-0.69, 0.66, 30), np.linspace(-0.36, 0.39, 20))
        a, b = (np.array(distort(v, x, y)).reshape(2, -1) for v in (values, TRUTH))
        # A shift and one scale for both ways turn no line; what is left does.
        a, b = a - a.mean(axis=1, keepdims=True), b - b.mean(axis=1, keepdims=True)
        left = a - b * (a * b).sum() / (b * b).sum()
        print("lens apart from its truth by %.2f px" % np.hypot(*left).max())
        self.assertLess(np.hypot(*left).max(), MAP_PX)
        for key in ("roll_deg", "pitch_deg", "readout_s"):
            self.assertEqual(got[key], "")

    def test_figures_are_printed_and_as_json(self):
        desk()
        done = run(*pictures("many"), "--name", "again", "--readout", "21.5")
        self.assertEqual(done.returncode, 0, done.stderr)
        for part in ("field of view", "68.5 degrees", "focal length", "reprojection error",
                     "distortion", "views used", "--lens again", "21.5 ms"):
            self.assertIn(part, done.stdout)
        done = run(*pictures("many"), "--name", "again", "--replace", "--json")
        figures = json.loads(done.stdout)
        self.assertEqual(len(figures), 1)
        self.assertAlmostEqual(figures[0]["fx_px"], 940, delta=TOLERANCE["fx_px"])
        self.assertLess(figures[0]["fx_px_u"], 1)
        self.assertIsNone(figures[0]["roll_deg"])

    def test_the_same_pictures_give_the_same_profile(self):
        desk()
        first = content(DATA)
        other = os.path.join(WORK, "other")
        self.assertEqual(run(*pictures("many"), "--name", "desk", data=other).returncode, 0)
        self.assertEqual(first, content(other))

    def test_a_clip_does_as_well(self):
        clip = held()
        avi = os.path.join(WORK, "held.avi")
        subprocess.run(["ffmpeg", "-v", "error", "-y", "-framerate", "30", "-f", "mjpeg", "-i",
                        clip, "-c", "copy", avi], check=True)
        done = run(avi)
        self.assertEqual(done.returncode, 0, done.stderr)
        self.assertAlmostEqual(float(profile("held")["fx_px"]), 940, delta=TOLERANCE["fx_px"])

    def test_the_camera_asks_for_what_is_missing_and_is_remembered(self):
        clip = held()
        camera = played.Camera(LIBRARY, WORK, offer=f"MJPG:1280x720:30:{clip}", speed="0.3",
                               name="Desk camera", lead=1)
        env = camera.environment(PROGRAM, **{key: ENVIRONMENT[key] for key in
                                             ("LC_ALL", "LANGUAGE", "SDL_AUDIODRIVER",
                                              "XDG_CONFIG_HOME", "XDG_DATA_HOME")})
        done = run("--camera", env=env)
        self.assertEqual(done.returncode, 0, done.stderr)
        self.assertIn("Hold the board in the middle", done.stderr)
        self.assertIn("Tilt the board", done.stderr)
        got = profile("desk-camera")
        self.assertEqual(got["camera"], "Desk camera")
        # As soon as there is enough, fewer views than there are pictures of.
        self.assertAlmostEqual(float(got["fx_px"]), 940, delta=3 * TOLERANCE["fx_px"])
        check = subprocess.run([PROGRAM, "check", "--data", DATA, "--json"], text=True,
                               capture_output=True, env=env, timeout=120, check=False)
        lens = [item for item in json.loads(check.stdout) if item["check"] == "lens"]
        self.assertEqual(lens[0]["verdict"], "pass", lens)
        self.assertIn("desk-camera", lens[0]["text"])
        check = subprocess.run([PROGRAM, "check", "--data", DATA, "--json", "--lens", "none"],
                               text=True, capture_output=True, env=env, timeout=120,
                               check=False)
        lens = [item for item in json.loads(check.stdout) if item["check"] == "lens"]
        self.assertEqual(lens[0]["verdict"], "unknown", lens)


class Level(unittest.TestCase):
    def test_roll_and_pitch_are_those_of_the_camera(self):
        desk()
        for roll, pitch in ((3, 10), (-4, -8), (0, 0)):
            done = run(*pictures("upright", str(roll), str(pitch)), "--level", "--lens",
                       "desk", "--name", "stand", "--replace")
            self.assertEqual(done.returncode, 0, done.stderr)
            got = profile("stand")
            self.assertAlmostEqual(float(got["roll_deg"]), roll, delta=LEVEL_DEG)
            self.assertAlmostEqual(float(got["pitch_deg"]), pitch, delta=LEVEL_DEG)
            self.assertGreater(float(got["roll_u_deg"]), 0.29)
            self.assertGreater(float(got["pitch_u_deg"]), 0.99)
            self.assertEqual(got["fx_px"], desk()["fx_px"])

    def test_without_a_profile_an_ordinary_lens_is_assumed_and_said(self):
        done = run(*pictures("upright", "3", "10"), "--level", "--name", "plain")
        self.assertEqual(done.returncode, 0, done.stderr)
        self.assertIn("ordinary lens", done.stderr)
        got = profile("plain")
        self.assertEqual(got["source"], "assumed")
        # 69 degrees stand for 68.5, and the axis for one 10 px off.
        self.assertAlmostEqual(float(got["roll_deg"]), 3, delta=0.3)
        self.assertAlmostEqual(float(got["pitch_deg"]), 10, delta=1.5)
        self.assertGreater(float(got["pitch_u_deg"]), 1.5)

    def test_a_hanging_string_gives_the_roll(self):
        desk()
        run(*pictures("upright", "3", "10"), "--level", "--lens", "desk", "--name", "hung",
            "--replace")
        # Another roll, the pitch as it was.
        top, low = shown(0.3, -0.5, 2, -2, 10), shown(0.3, 0.2, 2, -2, 10)
        done = run("--plumb", "%.1f,%.1f,%.1f,%.1f" % (*top, *low), "--lens", "hung")
        self.assertEqual(done.returncode, 0, done.stderr)
        got = profile("hung")
        self.assertAlmostEqual(float(got["roll_deg"]), -2, delta=0.1)
        self.assertAlmostEqual(float(got["pitch_deg"]), 10, delta=LEVEL_DEG)
        self.assertGreater(float(got["roll_u_deg"]), 0.2)

    def test_a_string_outside_the_picture_is_refused(self):
        desk()
        done = run("--plumb", "640,40,652,900", "--lens", "desk")
        self.assertEqual(done.returncode, 1)
        self.assertIn("outside the profile's picture of 1280 x 720", done.stderr)
        done = run("--plumb", "640,600,652,100", "--lens", "desk")
        self.assertEqual(done.returncode, 1)
        self.assertIn("no plumb line", done.stderr)


class Thread(unittest.TestCase):
    """Two stickers that hang on a thread, photographed through the lens of TRUTH."""
    # Colours of models/markers-default.ini, and a wall and a dark thread of our choice.
    GREEN, BLUE, PINK = (40, 170, 70), (45, 60, 200), (215, 30, 130)
    WALL, STRING = (168, 164, 158), (60, 55, 50)
    TOP, LOW = (0.25, -0.28, 2.0), (0.25, 0.27, 2.0)  # m, as shown() takes them
    wall = None

    def polygon(self, picture, corners, colour):
        """A convex polygon, sampled 4 x 4 times a pixel."""
        corners = np.array(corners)
        low = np.maximum(np.floor(corners.min(axis=0)).astype(int) - 1, 0)
        high = np.minimum(np.ceil(corners.max(axis=0)).astype(int) + 2, (1280, 720))
        part = (np.arange(4) + 0.5) / 4 - 0.5
        x = (np.arange(low[0], high[0])[:, None] + part).ravel()
        y = (np.arange(low[1], high[1])[:, None] + part).ravel()
        x, y = np.meshgrid(x, y)
        sides = [(b[0] - a[0]) * (y - a[1]) - (b[1] - a[1]) * (x - a[0])
                 for a, b in zip(corners, np.roll(corners, -1, axis=0))]
        inside = (np.all(np.array(sides) >= 0, axis=0) | np.all(np.array(sides) <= 0, axis=0))
        cover = inside.reshape(high[1] - low[1], 4, high[0] - low[0], 4).mean(axis=(1, 3))
        patch = picture[low[1]:high[1], low[0]:high[0]]
        patch += cover[:, :, None] * (np.array(colour, float) - patch)

    def disc(self, picture, at, diameter_mm, colour, roll, pitch):
        turn = np.linspace(0, 2 * np.pi, 48, endpoint=False)
        r = diameter_mm / 2000
        self.polygon(picture, [shown(at[0] + r * np.cos(t), at[1] + r * np.sin(t), at[2],
                                     roll, pitch) for t in turn], colour)

    def picture(self, name, roll, pitch, swing=0.0, discs=None):
        """A JPEG of the thread; `swing` degrees off the vertical, about its upper end."""
        if Thread.wall is None:
            noise = np.random.default_rng(1).standard_normal((720, 1280, 3), np.float32)
            Thread.wall = np.array(self.WALL, np.float32) + 2 * noise
        picture = Thread.wall.copy()
        hook = np.array((self.TOP[0], self.TOP[1] - 0.05, self.TOP[2]))
        aside = np.tan(np.radians(swing))
        moved = lambda p: (p[0] + aside * (p[1] - hook[1]), p[1], p[2])
        end = moved((hook[0], self.LOW[1] + 0.06, hook[2]))
        self.polygon(picture, [shown(p[0] + w, p[1], p[2], roll, pitch)
                               for p, w in ((hook, -5e-4), (hook, 5e-4), (end, 5e-4),
                                            (end, -5e-4))], self.STRING)
        for at, size_mm, colour in discs or ((self.TOP, 32, self.GREEN),
                                             (self.LOW, 32, self.PINK)):
            self.disc(picture, moved(at), size_mm, colour, roll, pitch)
        path = os.path.join(WORK, name + ".jpg")
        data = np.clip(picture + 0.5, 0, 255).astype(np.uint8).tobytes()
        subprocess.run(["ffmpeg", "-v", "error", "-y", "-f", "rawvideo", "-pix_fmt", "rgb24",
                        "-s", "1280x720", "-i", "-", "-q:v", "3", "-pix_fmt", "yuvj420p",
                        path], input=data, check=True)
        return path

    def given(self, name, pitch="", pitch_u=""):
        """The profile of TRUTH, with this pitch."""
        parser = configparser.ConfigParser(delimiters="=", interpolation=None)
        parser.optionxform = str
        parser["lens"] = {"source": "calibrated", "picture_width_px": "1280",
                          "picture_height_px": "720",
                          **{key: str(value) for key, value in TRUTH.items()},
                          "pitch_deg": str(pitch), "pitch_u_deg": str(pitch_u),
                          **{"covariance_" + key: "0;" * 9 for key in TRUTH}}
        path = os.path.join(DATA, "lenses", name + ".ini")
        os.makedirs(os.path.dirname(path), exist_ok=True)
        with open(path, "w", encoding="utf-8") as file:
            parser.write(file, space_around_delimiters=False)

    def level(self, *words, name="thread"):
        done = run("--plumb", "stickers", *words, "--lens", name)
        self.assertEqual(done.returncode, 0, done.stderr)
        return profile(name), done

    def test_the_roll_is_the_cameras_and_the_pitch_stays(self):
        worst = 0
        for roll, pitch in ((3, 10), (-4, -8), (12, 5)):
            self.given("thread", pitch, 1)
            got, done = self.level(self.picture("hanging", roll, pitch))
            worst = max(worst, abs(float(got["roll_deg"]) - roll))
            self.assertEqual((got["pitch_deg"], got["pitch_u_deg"]), (str(pitch), "1"))
            self.assertIn("the pitch stays as the profile has it", done.stderr)
            # 0.2 of the thread itself and 0.24 of where on it the stickers are stuck.
            self.assertGreater(float(got["roll_u_deg"]), 0.25)
            self.assertLess(float(got["roll_u_deg"]), 0.6)
        print("roll off by %.3f degrees at most" % worst)
        self.assertLess(worst, LEVEL_DEG)

    def test_a_pitch_not_known_stays_so_and_widens_the_roll(self):
        self.given("thread")
        got, done = self.level(self.picture("hanging", 3, 6))
        self.assertEqual(got["pitch_deg"], "")
        self.assertIn("stays not known", done.stderr)
        u_deg = float(got["roll_u_deg"])
        # Seen 0.25 m beside the axis at 2 m, a pitch of 5 degrees turns it by 0.6.
        self.assertGreater(u_deg, 0.5)
        self.assertLess(abs(float(got["roll_deg"]) - 3), 2 * u_deg)
        self.assertIn("degrees to picture right", done.stdout)

    def test_a_sticker_stuck_beside_the_thread_is_within_the_uncertainty(self):
        self.given("thread", 10, 1)
        beside = (self.LOW[0] + 0.0016, *self.LOW[1:])
        got, _ = self.level(self.picture("beside", 3, 10, discs=(
            (self.TOP, 32, self.GREEN), (beside, 32, self.PINK))))
        off = abs(float(got["roll_deg"]) - 3)
        self.assertGreater(off, 0.05)
        self.assertLess(off, 2 * float(got["roll_u_deg"]))

    def test_a_thread_that_swings_is_averaged_and_widens_the_roll(self):
        self.given("thread", 10, 1)
        folder = os.path.join(WORK, "swinging")
        os.makedirs(folder, exist_ok=True)
        # Three swings of six pictures.
        swung = [self.picture("swing%d" % i, 3, 10, 1.5 * np.sin(2 * np.pi * i / 6))
                 for i in range(6)]
        for i in range(18):
            shutil.copy(swung[i % 6], os.path.join(folder, "%02d.jpg" % i))
        clip = os.path.join(WORK, "swinging.avi")
        subprocess.run(["ffmpeg", "-v", "error", "-y", "-framerate", "6", "-i",
                        os.path.join(folder, "%02d.jpg"), "-c", "copy", clip], check=True)
        got, _ = self.level(clip)
        u_deg = float(got["roll_u_deg"])
        # A sine's standard deviation is its height over the root of two.
        self.assertGreater(u_deg, 0.9)
        self.assertLess(u_deg, 1.4)
        self.assertLess(abs(float(got["roll_deg"]) - 3), u_deg)
        env = played.Camera(LIBRARY, WORK, offer=f"MJPG:1280x720:30:{self.joined(folder)}",
                            speed="1", name="Thread camera", lead=1).environment(
            PROGRAM, **{key: ENVIRONMENT[key] for key in
                        ("LC_ALL", "LANGUAGE", "SDL_AUDIODRIVER", "XDG_CONFIG_HOME",
                         "XDG_DATA_HOME")})
        self.given("filmed", 10, 1)
        done = run("--plumb", "stickers", "--camera", "--seconds", "1.5", "--lens", "filmed",
                   env=env)
        self.assertEqual(done.returncode, 0, done.stderr)
        got = profile("filmed")
        self.assertEqual(got["camera"], "Thread camera")
        self.assertLess(abs(float(got["roll_deg"]) - 3), 2 * float(got["roll_u_deg"]))

    def joined(self, folder):
        path = folder + ".mjpeg"
        with open(path, "wb") as out:
            for name in sorted(os.listdir(folder)):
                with open(os.path.join(folder, name), "rb") as file:
                    out.write(file.read())
        return path

    def test_without_a_profile_an_ordinary_lens_is_assumed_and_said(self):
        done = run("--plumb", "stickers", self.picture("hanging", 3, 0), "--name", "rough",
                   "--replace")
        self.assertEqual(done.returncode, 0, done.stderr)
        self.assertIn("ordinary lens", done.stderr)
        self.assertLess(abs(float(profile("rough")["roll_deg"]) - 3), 1)

    def test_what_is_no_thread_is_refused(self):
        green, pink = (self.TOP, 32, self.GREEN), (self.LOW, 32, self.PINK)
        left, right = (-0.4, 0, 2.0), (0.4, 0.02, 2.0)
        near = (self.TOP[0], self.TOP[1] + 0.06, 2.0)
        for discs, part in (
                ((green,), "no two stickers"),
                ((green, pink, ((-0.3, 0, 2), 32, self.BLUE)), "more than two stickers"),
                ((green, (self.LOW, 64, self.PINK)), "differ in size"),
                ((green, (near, 32, self.PINK)), "too close together"),
                (((left, 32, self.GREEN), (right, 32, self.PINK)), "no plumb line")):
            self.given("refused", 0, 1)
            before = dict(profile("refused"))
            done = run("--plumb", "stickers", self.picture("wrong", 0, 0, discs=discs),
                       "--lens", "refused")
            self.assertEqual(done.returncode, 1, (part, done.stdout))
            self.assertIn(part, done.stderr)
            self.assertEqual(len(done.stderr.strip().splitlines()), 1, done.stderr)
            self.assertEqual(dict(profile("refused")), before)


class Measuring(unittest.TestCase):
    """A clip through a profile: other angles, the same places, another row."""

    def clip(self):
        words = ["arc_deg=90", "repetitions=1", "rest_s=2", "fps=15",
                 "markers=shoulder elbow wrist hip"]
        return rendered.once(WORK, "raise.mjpeg", ["scene", *words],
                             lambda path: subprocess.run([SCENE, "-", path, *words],
                                                         check=True, capture_output=True))

    def trace(self, *more, code=0):
        out = os.path.join(WORK, "rows")
        done = subprocess.run([PROGRAM, "trace", self.clip(), "--movement", "flexion", "--side",
                               "right", "--out", out, "--json", *more], capture_output=True,
                              text=True, env=self.env(), timeout=300, check=False)
        self.assertEqual(done.returncode, code, done.stderr)
        return done, out

    def env(self):
        return {**ENVIRONMENT, "XDG_DATA_HOME": os.path.join(WORK, "share")}

    def lens_file(self, **changes):
        """A profile as a file of its own: the ordinary lens, levelled by hand."""
        got = dict(desk())
        got.update({key: str(value) for key, value in changes.items()})
        path = os.path.join(WORK, "lens-%s.ini" % "-".join(sorted(changes)))
        with open(path, "w", encoding="utf-8") as file:
            file.write("[lens]\n" + "".join(f"{k}={v}\n" for k, v in got.items()))
        return path

    def test_the_set_up_names_lens_level_and_distance(self):
        level = self.lens_file(roll_deg=4, roll_u_deg=0.3, pitch_deg=-2, pitch_u_deg=1)
        done, out = self.trace("--lens", level, "--marker-size", "32")
        with open(os.path.join(out, "set-ups.csv"), encoding="utf-8", newline="") as file:
            set_ups = {s["id"]: s for s in csv.DictReader(file)}
        got = set_ups[json.loads(done.stdout)[0]["set_up"]]
        self.assertTrue(got["lens"].startswith("lens-"))
        self.assertEqual(len(got["lens_mark"]), 32)
        self.assertEqual((got["roll_deg"], got["pitch_deg"], got["marker_size_mm"]),
                         ("4.000", "-2.000", "32.000"))
        # The scene's shoulder is 1.9 m away, and its lens not quite the profile's.
        self.assertIn(got["distance_m"], ("1.5", "2.0"))

    def test_angles_change_and_places_stay(self):
        plain, out = self.trace()
        plain = json.loads(plain.stdout)[0]
        level = self.lens_file(roll_deg=4, roll_u_deg=0.3, pitch_deg=0, pitch_u_deg=1)
        bent = json.loads(self.trace("--lens", level)[0].stdout)[0]
        self.assertNotEqual(plain["id"], bent["id"])
        self.assertIn("Lens profile lens-", bent["note"])
        self.assertNotIn("Lens profile", plain["note"])
        rows = []
        for row in (plain, bent):
            with open(os.path.join(out, row["trace"]), encoding="utf-8", newline="") as file:
                rows.append(list(csv.DictReader(file)))
        turns = []
        for a, b in zip(*rows):
            self.assertEqual(a["elbow_x_px"], b["elbow_x_px"])
            self.assertEqual(a["shoulder_y_px"], b["shoulder_y_px"])
            if a["angle_vertical_deg"] and b["angle_vertical_deg"]:
                turns.append(float(b["angle_vertical_deg"]) - float(a["angle_vertical_deg"]))
        self.assertGreater(len(turns), 50)
        self.assertGreater(np.abs(turns).max(), 0.2)
        # Measured again: the same row.
        again = json.loads(self.trace("--lens", level)[0].stdout)[0]
        self.assertEqual(again["id"], bent["id"])
        none = json.loads(self.trace("--lens", "none")[0].stdout)[0]
        self.assertEqual(none["id"], plain["id"])

    def test_a_lens_of_another_shape_is_refused(self):
        square = self.lens_file(picture_width_px=720, cx_px=360)
        done, _ = self.trace("--lens", square, code=1)
        self.assertIn("another shape", done.stderr)
        self.assertEqual(json.loads(done.stdout), [])

    def test_a_simulated_person_is_measured_live_through_a_profile(self):
        out = os.path.join(WORK, "live")
        level = self.lens_file(roll_deg=4, roll_u_deg=0.3)
        done = subprocess.run([PROGRAM, "measure", "-m", "flexion", "-s", "right",
                               "--simulated", "live", "--no-window", "--no-sound", "--out",
                               out, "--json", "--lens", level],
                              env={**self.env(), "OMOGON_CLOCK_RATE": "20"}, text=True,
                              capture_output=True, timeout=300, check=False)
        self.assertEqual(done.returncode, 0, done.stderr)
        self.assertIn("Lens profile lens-", json.loads(done.stdout)[0]["note"])


class Mistakes(unittest.TestCase):
    """One sentence, the exit code, nothing written."""

    def refused(self, code, part, *words, lines=1):
        empty = os.path.join(WORK, "empty")
        done = run(*words, data=empty)
        self.assertEqual(done.returncode, code, (words, done.stdout, done.stderr))
        said = done.stderr.strip().splitlines()
        self.assertEqual(len(said), lines, said)
        self.assertIn(part, said[-1])
        lenses = os.path.join(empty, "lenses")
        self.assertEqual(os.listdir(lenses) if os.path.isdir(lenses) else [], [])

    def test_boards_that_tell_too_little(self):
        self.refused(1, "always held flat", *pictures("flat"))
        self.refused(1, "4 views of the board that differ", *pictures("few"))
        self.refused(1, "not enough yet. Next:", *pictures("corner"))
        self.refused(1, "no board with 9 x 6 inner corners", *pictures("blank"))
        self.refused(1, "no board with 7 x 5", "--corners", "7x5", *pictures("few"))

    def test_files_that_are_none(self):
        self.refused(1, "missing.jpg", os.path.join(WORK, "missing.jpg"))
        text = os.path.join(WORK, "text.jpg")
        with open(text, "w", encoding="ascii") as file:
            file.write("no picture\n")
        self.refused(1, "text.jpg", text)
        self.refused(1, "640 x 480 px, what came before it 1280 x 720", pictures("few")[0],
                     pictures("small")[0])

    def test_levels_that_are_none(self):
        self.refused(1, "no board that holds still", "--level", *pictures("blank"))
        self.refused(1, "does not stand upright", "--level", *pictures("upright", "0", "60"),
                     lines=2)
        self.refused(1, "there is no lens profile", "--level", "--lens", "nothere",
                     *pictures("few"))
        self.refused(1, "needs a profile", "--plumb", "1,2,3,400")

    def test_calls_that_are_wrong(self):
        self.refused(2, "or use --camera")
        self.refused(2, "exclude each other", "x.jpg", "--camera")
        self.refused(2, "exclude each other", "--level", "--list")
        self.refused(2, "look at no picture", "--list", "x.jpg")
        self.refused(2, "--corners", "--corners", "2x9", "x.jpg")
        self.refused(2, "--corners", "--corners", "nine", "x.jpg")
        self.refused(2, "--plumb", "--plumb", "1,2,3", "--lens", "desk")
        self.refused(2, "picture or a clip of the stickers", "--plumb", "stickers")
        self.refused(2, "--colours goes with", "--colours", "default", "x.jpg")
        self.refused(2, "look at no picture", "--plumb", "1,2,3,4", "x.jpg")
        self.refused(2, "nosuchset", "--plumb", "stickers", "--colours", "nosuchset", "x.jpg")
        self.refused(2, "no name for a profile", "--name", "../desk", "x.jpg")
        self.refused(2, "no name for a profile", "--name", "none", "x.jpg")
        self.refused(2, "--readout", "--readout", "-1", "x.jpg")
        self.refused(2, "--seconds", "--seconds", "soon", "--camera")
        self.refused(2, "--size", "--size", "big", "--camera")
        self.refused(2, "--wrong", "--wrong")
        self.refused(2, "a4 or letter", "--board", "x.pdf", "--paper", "a3")
        self.refused(2, "end it in .pdf", "--board", "x.png")
        self.refused(1, "missing", "--board", os.path.join(WORK, "missing", "x.pdf"))

    def test_a_profile_is_not_written_over_unasked(self):
        desk()
        done = run(*pictures("many"), "--name", "desk")
        self.assertEqual(done.returncode, 1)
        self.assertIn("--replace", done.stderr)

    def test_a_broken_profile_is_named_with_its_fault(self):
        desk()
        broken = os.path.join(WORK, "broken", "lenses")
        os.makedirs(broken, exist_ok=True)
        with open(os.path.join(DATA, "lenses", "desk.ini"), encoding="utf-8") as file:
            whole = file.read()
        for name, text, part in (
                ("word", re.sub(r"fx_px=.*", "fx_px=wide", whole, count=1), "\"fx_px\""),
                ("short", re.sub(r"covariance_k1=.*", "covariance_k1=1;2;", whole),
                 "\"covariance_k1\""),
                ("fold", re.sub(r"\nk1=.*", "\nk1=-3", whole), "describe no lens"),
                ("tilt", whole.replace("roll_deg=", "roll_deg=80"), "describe no lens"),
                ("junk", "no key file\n", "no lens profile")):
            with open(os.path.join(broken, name + ".ini"), "w", encoding="utf-8") as file:
                file.write(text)
            done = subprocess.run([PROGRAM, "trace", "x.avi", "-m", "flexion", "-s", "right",
                                   "--lens", name, "--data", os.path.join(WORK, "broken")],
                                  capture_output=True, text=True, env=ENVIRONMENT, check=False)
            self.assertEqual(done.returncode, 2, (name, done.stderr))
            self.assertIn(part, done.stderr)
            self.assertEqual(len(done.stderr.strip().splitlines()), 1, done.stderr)
        done = run("--list", data=os.path.join(WORK, "broken"))
        self.assertEqual(done.returncode, 1)

    def test_profiles_are_listed(self):
        done = run("--list", data=os.path.join(WORK, "none-yet"))
        self.assertEqual(done.returncode, 0)
        self.assertIn("No lens profile yet", done.stdout)
        desk()
        self.assertIn("desk: calibrated", run("--list").stdout)

    def test_help_teaches(self):
        done = run("--help", data=None)
        self.assertEqual(done.returncode, 0)
        for part in ("--board", "--level", "--plumb stickers", "12 views", "Examples:",
                     "Exit:", "shows the roll alone", "Never use a person"):
            self.assertIn(part, done.stdout)


class Board(unittest.TestCase):
    def make(self, name, *more):
        path = os.path.join(WORK, name)
        done = run("--board", path, "--replace", *more, data=None)
        self.assertEqual(done.returncode, 0, done.stderr)
        return path

    def page(self, path, dpi=DPI):
        stem = os.path.join(WORK, "page")
        subprocess.run(["pdftoppm", "-gray", "-r", str(dpi), "-singlefile", path, stem],
                       check=True)
        with open(stem + ".pgm", "rb") as file:
            data = file.read()
        _, width, height, _ = re.match(rb"(P5)\s+(\d+)\s+(\d+)\s+(\d+)\s", data).groups()
        pixels = np.frombuffer(data[-int(width) * int(height):], np.uint8)
        return pixels.reshape(int(height), int(width))

    def true_to_size(self, path, width_pt, height_pt):
        told = subprocess.run(["pdfinfo", path], capture_output=True, text=True,
                              check=True).stdout
        size = re.search(r"Page size:\s+([\d.]+) x ([\d.]+) pts", told).groups()
        self.assertAlmostEqual(float(size[0]), width_pt, delta=0.1)
        self.assertAlmostEqual(float(size[1]), height_pt, delta=0.1)
        self.assertNotIn("CreationDate", told)
        dark = self.page(path) < 128
        # The squares: rows of the page that are half black over 220 mm.
        half = dark.sum(axis=1) > 0.4 * 220 * MM
        rows = np.flatnonzero(half)
        rows = rows[: np.flatnonzero(np.diff(rows) > 3)[0] + 1] if (np.diff(rows) > 3).any() \
            else rows
        self.assertAlmostEqual((rows[-1] - rows[0] + 1) / MM, 7 * 22, delta=0.2)
        line = dark[rows[0] + int(11 * MM)]
        edges = np.flatnonzero(np.diff(line.astype(int))) / MM
        self.assertEqual(len(edges), 10)
        np.testing.assert_allclose(np.diff(edges), 22, atol=0.1)
        # White around, a square wide at least on three sides and half of one above.
        self.assertGreater(edges[0], 22)
        above = dark[rows[0] - int(9 * MM):rows[0] - 2]
        self.assertFalse(above.any())
        # The ruler below: the longest dark run in any row.
        runs = [np.diff(np.flatnonzero(np.diff(np.concatenate(([0], r.astype(int), [0])))))
                [::2].max(initial=0) for r in dark[rows[-1] + int(5 * MM):]]
        self.assertAlmostEqual(max(runs) / MM, 100, delta=0.2)

    def test_it_is_true_to_size(self):
        self.true_to_size(self.make("a4.pdf"), 841.890, 595.276)
        self.true_to_size(self.make("letter.pdf", "--paper", "letter"), 792, 612)

    def test_the_same_call_gives_the_same_file(self):
        with open(self.make("one.pdf"), "rb") as a, open(self.make("two.pdf"), "rb") as b:
            self.assertEqual(a.read(), b.read())

    def test_the_board_in_assets_is_what_the_program_makes(self):
        kept = os.path.join(ROOT, "assets", "board.pdf")
        a, b = (self.page(p, 75).astype(int) for p in (kept, self.make("a4.pdf")))
        self.assertEqual(a.shape, b.shape)
        self.assertLess(np.abs(a - b).mean(), 0.5, "assets/board.pdf is old: make it again")

    def test_the_program_finds_the_board_it_prints(self):
        picture = os.path.join(WORK, "printed.png")
        subprocess.run(["pdftoppm", "-png", "-r", "100", "-singlefile", self.make("a4.pdf"),
                        picture[:-4]], check=True)
        done = run(picture)
        self.assertEqual(done.returncode, 1)
        self.assertIn("1 views of the board", done.stderr)

    def test_an_existing_file_survives(self):
        path = self.make("kept.pdf")
        done = run("--board", path, data=None)
        self.assertEqual(done.returncode, 1)
        self.assertIn("--replace", done.stderr)


if __name__ == "__main__":
    shutil.rmtree(WORK, ignore_errors=True)
    os.makedirs(WORK)
    unittest.main(argv=sys.argv[:1] + sys.argv[7:], verbosity=2)
