#!/usr/bin/env python3
"""Measuring with a camera: the played camera below, files and figures above.

Usage: test_measure.py PROGRAM SCENE_TOOL PLAYED_CAMERA WORK_FOLDER
The outside reference is the file's way through the same frames: what is measured live has
to equal it to the last digit.
"""
import csv
import json
import os
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

PROGRAM, TOOL, LIBRARY, WORK = (os.path.abspath(word) for word in sys.argv[1:5])
SANITIZED = bool(played.sanitizer(PROGRAM))
WIDTH, HEIGHT, RATE = 640, 360, 25
# Time stamps keep the scene's grid however fast the pictures come. A sanitizer needs time.
SPEED = "1.5" if SANITIZED else "4"
SCENE = {
    "movement": "flexion", "side": "right", "width": WIDTH, "height": HEIGHT, "fps": RATE,
    "arc_deg": 112, "speed_deg_per_s": 90, "repetitions": 2, "rest_s": 7, "hold_s": 0.5,
    "pause_s": 1.2, "markers": "shoulder elbow wrist hip", "noise": 2, "seed": 31,
}

# One raise of both arms, the left one, here the stiff side, ends lower.
BOTH_SCENE = dict(SCENE, movement="abduction", repetitions=1, other_arc_deg=86,
                  markers="shoulder elbow wrist hip chest", other_arm_moves="yes",
                  other_arm_markers="shoulder elbow wrist")

def render(name, scene):
    words = [f"{k}={v}" for k, v in scene.items()]
    return rendered.once(WORK, name, ["scene", *words],
                         lambda path: subprocess.run([TOOL, "-", path, *words], check=True,
                                                     capture_output=True))


def clip(scene=SCENE, name="raise"):
    """(JPEGs one after the other, AVI of the same bytes)."""
    mjpeg = render(name + ".mjpeg", scene)
    avi = os.path.join(WORK, name + ".avi")
    if not os.path.exists(avi):
        subprocess.run(["ffmpeg", "-v", "error", "-y", "-framerate", str(RATE), "-f", "mjpeg",
                        "-i", mjpeg, "-c", "copy", avi], check=True)
    return mjpeg, avi


def raw_clip():
    """(raw YUYV pictures, AVI of the same samples)."""
    _, avi = clip()
    raw = os.path.join(WORK, "raise.yuyv")
    raw_avi = os.path.join(WORK, "raise-yuyv.avi")
    if not os.path.exists(raw_avi):
        subprocess.run(["ffmpeg", "-v", "error", "-y", "-i", avi, "-pix_fmt", "yuyv422", "-f",
                        "rawvideo", raw], check=True)
        subprocess.run(["ffmpeg", "-v", "error", "-y", "-f", "rawvideo", "-pix_fmt", "yuyv422",
                        "-s", f"{WIDTH}x{HEIGHT}", "-framerate", str(RATE), "-i", raw, "-c",
                        "copy", raw_avi], check=True)
    return raw, raw_avi


def camera(**settings):
    settings.setdefault("offer", f"MJPG:{WIDTH}x{HEIGHT}:{RATE}:{clip()[0]}")
    settings.setdefault("lead", 1)
    settings.setdefault("end", "stall")
    settings.setdefault("speed", SPEED)
    return played.Camera(LIBRARY, WORK, **settings)


def words(out, *more):
    return [PROGRAM, "measure", "--movement", "flexion", "--side", "right", "--no-window",
            "--no-sound", "--out", os.path.join(WORK, out), *more]


def environment(played_camera, **more):
    more.setdefault("XDG_CONFIG_HOME", os.path.join(WORK, "config"))
    return played_camera.environment(PROGRAM, **more)


def measure(played_camera, out, *more, **variables):
    shutil.rmtree(os.path.join(WORK, out), ignore_errors=True)
    return subprocess.run(words(out, *more), capture_output=True, text=True,
                          env=environment(played_camera, **variables), timeout=300)


def measure_calmly(make_camera, out):
    """A run that lost hardly a picture (the one before a damaged one may be lost). A machine
    that is busy with other things loses many and says so: then once more, slower."""
    for speed in (SPEED, "1", "0.5"):
        done = measure(make_camera(speed), out, "--patience", "3")
        dropped = re.search(r"(\d+) dropped", done.stdout)
        if dropped and int(dropped.group(1)) <= 2:
            break
    return done


def rows(out):
    path = os.path.join(WORK, out, "sessions.csv")
    if not os.path.exists(path):
        return []
    with open(path, encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def trace(out, name):
    with open(os.path.join(WORK, out, name), encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def traces(out):
    return sorted(name for name in os.listdir(os.path.join(WORK, out))
                  if name.endswith(".trace.csv"))


class LiveEqualsFile(unittest.TestCase):
    """The same frames give the same digits."""

    def measured_whole(self, make_camera, out):
        """(row, trace) of a run without a lost picture. A machine that is busy with other
        things loses some and says so: then once more, slower."""
        for speed in (SPEED, "1", "0.5", "0.25"):
            one = make_camera(speed)
            done = measure(one, out, "--patience", "2", "--json", "--budget")
            # The pictures end, so the camera is waited for and then given up.
            self.assertEqual(done.returncode, 1, done.stderr)
            live = rows(out)
            self.assertEqual(len(live), 1, done.stderr)
            (told,) = json.loads(done.stdout)
            self.assertEqual(told["id"], live[0]["id"])
            self.assertAlmostEqual(told["budget"]["max_deg"]["u95_deg"],
                                   float(live[0]["max_u95_deg"]), delta=6e-4)
            if "; 0 dropped" in done.stderr:
                return live, trace(out, live[0]["trace"])
        self.fail("pictures were dropped even at a quarter of the speed: " + done.stderr)

    def compare(self, make_camera, avi, out):
        live, live_trace = self.measured_whole(make_camera, out)
        self.assertGreater(len(live_trace), 8 * RATE)
        start, end = live_trace[0]["time_s"], live_trace[-1]["time_s"]
        file_out = out + "-file"
        shutil.rmtree(os.path.join(WORK, file_out), ignore_errors=True)
        subprocess.run([PROGRAM, "trace", avi, "--movement", "flexion", "--side", "right",
                        "--start", str(float(start) - 1e-4), "--end", str(float(end) + 1e-4),
                        "--out", os.path.join(WORK, file_out)], check=True,
                       capture_output=True)
        file_row = rows(file_out)[0]
        file_trace = trace(file_out, file_row["trace"])
        self.assertEqual(len(live_trace), len(file_trace))
        for one, other in zip(live_trace, file_trace):
            self.assertEqual(one, other)
        for column in ("max_deg", "max_u95_deg", "held_max_deg", "mean_of_maxima_deg",
                       "rest_deg", "repetitions", "hike_at_max_ratio", "lean_at_max_deg",
                       "trunk_rest_offset_deg", "seen_ratio", "reference"):
            self.assertEqual(live[0][column], file_row[column], column)
        self.assertEqual(live[0]["repetitions"], "2")
        self.assertEqual(live[0]["source"], "camera")
        with open(os.path.join(WORK, out, "set-ups.csv"), encoding="utf-8", newline="") as file:
            (set_up,) = csv.DictReader(file)
        self.assertEqual(set_up["id"], live[0]["set_up"])
        self.assertNotIn(set_up["camera"], ("", "clip", "camera"))
        self.assertEqual((set_up["exposure"], set_up["picture_width_px"],
                          set_up["frames_per_second"]), ("held", str(WIDTH), f"{RATE}.000"))

    def test_mjpeg(self):
        self.compare(lambda speed: camera(speed=speed), clip()[1], "mjpeg")

    def test_both_arms(self):
        mjpeg, avi = clip(BOTH_SCENE, "both")
        both = ["--movement", "abduction", "--side", "both"]
        for speed in (SPEED, "1", "0.5", "0.25"):
            one = camera(offer=f"MJPG:{WIDTH}x{HEIGHT}:{RATE}:{mjpeg}", speed=speed)
            done = measure(one, "both", *both, "--patience", "2", "--json")
            self.assertEqual(done.returncode, 1, done.stderr)
            if "; 0 dropped" in done.stderr:
                break
        else:
            self.fail("pictures were dropped even at a quarter of the speed: " + done.stderr)
        live = rows("both")
        self.assertEqual([(r["side"], r["arms"], r["repetitions"]) for r in live],
                         [("right", "both", "1"), ("left", "both", "1")], done.stderr)
        live_trace = [trace("both", row["trace"]) for row in live]
        start, end = (float(live_trace[0][k]["time_s"]) for k in (0, -1))
        shutil.rmtree(os.path.join(WORK, "both-file"), ignore_errors=True)
        filed = subprocess.run([PROGRAM, "trace", avi, *both, "--start", str(start - 1e-4),
                                "--end", str(end + 1e-4), "--json", "--out",
                                os.path.join(WORK, "both-file")], check=True,
                               capture_output=True, text=True)
        for k, file_row in enumerate(rows("both-file")):
            file_trace = trace("both-file", file_row["trace"])
            self.assertGreater(len(file_trace), 8 * RATE)
            self.assertEqual(len(live_trace[k]), len(file_trace))
            for ours, theirs in zip(live_trace[k], file_trace):
                self.assertEqual(ours, theirs)
            # A camera is another set-up than a clip.
            changing = ("id", "started", "source", "trace", "set_up")
            self.assertEqual({c: live[k][c] for c in file_row if c not in changing},
                             {c: file_row[c] for c in file_row if c not in changing})
        for ours, theirs in zip(json.loads(done.stdout), json.loads(filed.stdout)):
            apart = {k: v for k, v in theirs.items() if k.startswith("side_difference")}
            self.assertEqual(len(apart), 5)
            self.assertEqual({k: ours[k] for k in apart}, apart)
        self.assertIn("lower than the other arm in the same second", live[1]["note"])

    def test_yuyv(self):
        raw, avi = raw_clip()
        offer = f"YUYV:{WIDTH}x{HEIGHT}:{RATE}:{raw}"
        self.compare(lambda speed: camera(offer=offer, speed=speed), avi, "yuyv")


class Faults(unittest.TestCase):
    """Every fault has its sentence and exit code, and loses nothing that was measured."""

    def check_kept(self, out, said, until):
        """A row, and a trace that holds every picture from neutral to the fault, but for
        those that the program says it dropped."""
        live = rows(out)
        self.assertEqual(len(live), 1)
        frames = [int(row["frame"]) for row in trace(out, live[0]["trace"])]
        self.assertEqual(frames, sorted(set(frames)))
        dropped = int(re.search(r"(\d+) dropped", said).group(1))
        missing = frames[-1] - frames[0] + 1 - len(frames)
        self.assertLessEqual(missing, dropped)
        self.assertGreaterEqual(frames[-1], until - 2 - dropped)
        self.assertLessEqual(frames[0], RATE * 3)
        self.assertEqual(live[0]["repetitions"], "1")
        return live[0]

    # The first raise is over by picture 275: 7 s of rest, two ways of 1.3 s, half a second.
    AT = 275

    def test_an_unplugged_camera_is_waited_for_and_given_up(self):
        one = camera(faults=f"unplug@{self.AT}")
        done = measure(one, "unplug", "--patience", "1")
        self.assertEqual(done.returncode, 1)
        self.assertIn("The camera was unplugged. Plug it in again", done.stderr)
        self.assertIn("no picture for 1 seconds", done.stderr)
        self.check_kept("unplug", done.stdout, self.AT)

    def test_a_camera_that_comes_back_goes_on(self):
        one = camera(faults=f"unplug@{self.AT}:1.5", end="again")
        done = measure(one, "replug", "--seconds", "25" if SANITIZED else "12",
                       "--patience", "20")
        self.assertEqual(done.returncode, 0, done.stderr)
        self.assertIn("The camera was unplugged", done.stderr)
        self.assertIn("The camera gives pictures again.", done.stderr)
        live = rows("replug")
        self.assertEqual(len(live), 1)
        frames = [int(row["frame"]) for row in trace("replug", live[0]["trace"])]
        self.assertGreater(frames[-1], self.AT + RATE)

    def test_a_stalled_camera(self):
        one = camera(faults=f"stall@{self.AT}")
        done = measure(one, "stall", "--patience", "2")
        self.assertEqual(done.returncode, 1)
        self.assertIn("The camera sends no pictures.", done.stderr)
        self.check_kept("stall", done.stdout, self.AT)

    def test_pictures_of_another_size(self):
        other = render("other.mjpeg", dict(SCENE, width=320, height=240, rest_s=1,
                                           repetitions=1))
        one = camera(faults=f"resize@{self.AT}", other=other, end="again")
        done = measure(one, "resize", "--seconds", "20" if SANITIZED else "9",
                       "--patience", "4")
        self.assertIn("pictures of another size", done.stderr)
        self.assertIn("changed their size",
                      self.check_kept("resize", done.stdout, self.AT)["note"])

    def test_damaged_pictures_are_left_out_and_said(self):
        for fault in ("short", "junk") if SANITIZED else ("short", "corrupt", "junk", "empty"):
            with self.subTest(fault=fault):
                faults = f"{fault}@{self.AT}:200" if fault == "short" else f"{fault}@{self.AT}"
                done = measure_calmly(lambda speed: camera(faults=faults, speed=speed), fault)
                self.assertIn("arrived damaged", done.stderr)
                live = rows(fault)
                self.assertEqual(len(live), 1, done.stdout + done.stderr)
                self.assertEqual(live[0]["repetitions"], "2")
                for row in trace(fault, live[0]["trace"]):
                    if row["quality"] == "damaged":
                        self.assertEqual(row["angle_deg"], row["angle_raw_deg"])

    def test_dropped_pictures_are_gaps(self):
        one = camera(faults=f"drop@{self.AT}:5")
        done = measure(one, "drop", "--patience", "1")
        live = rows("drop")
        self.assertEqual(len(live), 1, done.stderr)
        times = [float(row["time_s"]) for row in trace("drop", live[0]["trace"])]
        longest = max(b - a for a, b in zip(times, times[1:]))
        self.assertGreaterEqual(longest, 6 / RATE - 1e-3)
        self.assertGreaterEqual(int(re.search(r"(\d+) dropped", done.stdout).group(1)), 5)

    def test_jittering_time_stamps_are_kept_as_they_are(self):
        one = camera(faults="jitter@100:4000")
        measure(one, "jitter", "--patience", "1")
        live = rows("jitter")
        self.assertEqual(len(live), 1)
        # OpenCV leaves the first picture out.
        stamps = [at for _, _, at, _, shown in one.pictures() if shown == "shown"][1:]
        steps = set()
        for row in trace("jitter", live[0]["trace"]):
            at = (stamps[int(row["frame"])] - stamps[0]) / 1e6
            self.assertAlmostEqual(float(row["time_s"]), at, places=6)
            steps.add(round(at * 1e6) % (1000000 // RATE))
        self.assertGreater(len(steps), 10)

    def test_cameras_that_cannot_be_opened(self):
        cases = {
            "missing": "No camera was found.",
            "denied": "may not use the camera",
            "busy": "Another program is using the camera",
        }
        for state, sentence in cases.items():
            with self.subTest(state=state):
                done = measure(camera(state=state), state)
                self.assertEqual(done.returncode, 1)
                self.assertIn(sentence, done.stderr)
                self.assertEqual(len(done.stderr.strip().splitlines()), 1, done.stderr)
                self.assertEqual(rows(state), [])

    def test_a_term_signal_saves_and_gives_the_camera_back(self):
        # Exposure is held some seconds after the camera was opened, by life's clock.
        one = camera(end="again", speed=1)
        out = "term"
        shutil.rmtree(os.path.join(WORK, out), ignore_errors=True)
        process = subprocess.Popen(words(out), stdout=subprocess.PIPE, stderr=subprocess.PIPE,
                                   text=True, env=environment(one))
        deadline = time.monotonic() + 120
        while time.monotonic() < deadline and len(one.pictures()) < self.AT:
            time.sleep(0.05)
        process.send_signal(signal.SIGTERM)
        said, complained = process.communicate(timeout=60)
        self.assertEqual(process.returncode, 0, complained)
        self.check_kept(out, said, self.AT - 10)
        self.assertIn("exposure and white balance held still", said)
        controls = one.controls()
        self.assertEqual(controls[0], controls[-1])
        self.assertNotEqual(len({str(sorted(c.items())) for c in controls}), 1)


class HandsFree(unittest.TestCase):
    """Nobody touches anything: neutral, raises, stillness, a saved row."""

    def test_a_whole_measurement_without_any_input(self):
        out = "handsfree"
        shutil.rmtree(os.path.join(WORK, out), ignore_errors=True)
        env = dict(os.environ, OMOGON_CLOCK_RATE="20")
        done = subprocess.run(words(out, "--simulated", "live"), capture_output=True, text=True,
                              env=env, timeout=600, stdin=subprocess.DEVNULL)
        self.assertEqual(done.returncode, 0, done.stderr)
        live = rows(out)
        self.assertEqual(len(live), 1, done.stdout)
        self.assertEqual(live[0]["repetitions"], "3")
        self.assertEqual(live[0]["stopped_by"], "")
        self.assertEqual(live[0]["pain_onset_deg"], "")
        self.assertIn("raise 3:", done.stdout)
        # The same scene again is the same row: nothing is added.
        again = subprocess.run(words(out, "--simulated", "live"), capture_output=True,
                               text=True, env=env, timeout=600)
        self.assertEqual(again.returncode, 0, again.stderr)
        self.assertEqual(rows(out), live)
        self.assertEqual(traces(out), [live[0]["trace"]])


class Words(unittest.TestCase):
    """Wrong words are told apart, nothing is begun."""

    def test_wrong_words(self):
        cases = [
            (["--size", "big"], "--size"),
            (["--movements", "0"], "--movements"),
            (["--patience", "-1"], "--patience"),
            (["--sound"], "exclude"),
            (["--scale", "x"], "--scale"),
            (["--simulated", "live", "--camera", "/dev/video9"], "exclude"),
            (["--simulated", "no-such-scene"], "no-such-scene"),
            (["clip.avi"], "omogon trace"),
        ]
        for more, sentence in cases:
            with self.subTest(more=more):
                done = subprocess.run(words("wrong", *more), capture_output=True, text=True,
                                      timeout=60)
                self.assertEqual(done.returncode, 2, done.stderr)
                self.assertIn(sentence, done.stderr)
                self.assertFalse(os.path.exists(os.path.join(WORK, "wrong")))

    def test_check_says_what_to_change(self):
        env = dict(os.environ, OMOGON_CLOCK_RATE="20")
        base = [PROGRAM, "check", "--movement", "flexion", "--side", "right", "--json"]
        done = subprocess.run([*base, "--simulated", "plain"], capture_output=True, text=True,
                              env=env, timeout=300)
        found = {item["check"]: item["verdict"] for item in json.loads(done.stdout)}
        self.assertEqual(found["marker-shoulder"], "pass", done.stdout)
        self.assertEqual(found["marker-elbow"], "pass")
        self.assertEqual(found["light"], "pass")
        self.assertEqual(found["distance"], "pass")
        self.assertEqual(found["surroundings"], "pass")
        done = subprocess.run([*base, "--simulated", "second-person"], capture_output=True,
                              text=True, env=env, timeout=300)
        found = {item["check"]: item["verdict"] for item in json.loads(done.stdout)}
        self.assertEqual(found["surroundings"], "remedy", done.stdout)
        self.assertEqual(done.returncode, 1)

    def test_a_display_that_is_not_there(self):
        env = {k: v for k, v in os.environ.items()
               if k not in ("DISPLAY", "WAYLAND_DISPLAY", "SDL_VIDEODRIVER")}
        call = [word for word in words("nodisplay") if word != "--no-window"]
        done = subprocess.run([*call, "--simulated", "live"], capture_output=True, text=True,
                              env=env, timeout=60)
        self.assertEqual(done.returncode, 1)
        self.assertIn("--no-window", done.stderr)


if __name__ == "__main__":
    shutil.rmtree(WORK, ignore_errors=True)
    os.makedirs(WORK)
    unittest.main(argv=[sys.argv[0], "-v", *sys.argv[5:]])
