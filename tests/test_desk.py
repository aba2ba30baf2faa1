#!/usr/bin/env python3
"""The desk check as a person has it: buttons or typed answers, at an interval or once.

Usage: test_desk.py PROGRAM MOCK_NOTICES WORK_FOLDER ROOT
"""
import csv
import math
import os
import shutil
import signal
import subprocess
import sys
import time
import unittest

PROGRAM, MOCK, WORK, ROOT = (os.path.abspath(word) for word in sys.argv[1:5])
ITEMS = ["desk-shoulder-up", "desk-elbow-tight", "desk-arm-tense"]
# A second of the program's clock is so much shorter: an answer's two minutes take a second.
FAST = {"OMOGON_CLOCK_RATE": "120"}


def environment(more=None):
    full = {k: v for k, v in os.environ.items() if not k.startswith("DBUS_")}
    full.pop("DISPLAY", None)  # or a bus is started by itself
    full.update({"XDG_RUNTIME_DIR": WORK, "XDG_CONFIG_HOME": WORK, "LC_ALL": "C.UTF-8"})
    full.update(more or {})
    return full


def fresh(name):
    folder = os.path.join(WORK, name)
    shutil.rmtree(folder, ignore_errors=True)
    return folder


def desk(*words, typed="", env=None, prefix=()):
    return subprocess.run([*prefix, PROGRAM, "desk", *words], input=typed, text=True,
                          capture_output=True, env=environment(env), timeout=300)


def notes(folder):
    path = os.path.join(folder, "notes.csv")
    if not os.path.exists(path):
        return []
    with open(path, encoding="utf-8", newline="") as f:
        return list(csv.DictReader(f))


def answers(folder):
    return [(row["item"], float(row["value"])) for row in notes(folder)]


class Terminal(unittest.TestCase):
    def test_what_is_typed_is_written_down(self):
        folder = fresh("typed")
        got = desk("--once", "--terminal", "--data", folder, "--person", "P07", "--side",
                   "left", typed="n y n\n")
        self.assertEqual((got.returncode, got.stderr), (0, ""))
        self.assertEqual(answers(folder), list(zip(ITEMS, [0, 1, 0])))
        for row in notes(folder):
            self.assertEqual((row["person"], row["side"], row["status"]), ("P07", "left", "ok"))
        self.assertEqual(len(got.stdout.strip().splitlines()), 1)

    def test_signs_may_stand_together_and_one_may_be_left_out(self):
        folder = fresh("left-out")
        self.assertEqual(desk("--once", "--terminal", "--data", folder,
                              typed="Y-n\n").returncode, 0)
        self.assertEqual(answers(folder), [(ITEMS[0], 1), (ITEMS[2], 0)])

    def test_what_is_no_answer_is_asked_again(self):
        folder = fresh("again")
        got = desk("--once", "--terminal", "--data", folder, typed="maybe\nnnnn\nnnn\n")
        self.assertEqual(got.returncode, 0)
        self.assertEqual(answers(folder), list(zip(ITEMS, [0, 0, 0])))
        self.assertEqual(len(got.stdout.strip().splitlines()), 3)

    def test_without_an_answer_nothing_is_written(self):
        for typed in ("", "\n", "y n"):  # ended, an empty line, ended within a line
            folder = fresh("none")
            got = desk("--once", "--terminal", "--data", folder, typed=typed)
            self.assertEqual((got.returncode, got.stderr), (0, ""))
            self.assertEqual(notes(folder), [])

    def test_without_a_bus_it_is_the_terminal(self):
        folder = fresh("no-bus")
        desk("--once", "--data", folder, typed="yyy\n")
        self.assertEqual(answers(folder), list(zip(ITEMS, [1, 1, 1])))

    def test_wrong_words_are_refused_with_one_sentence(self):
        for words, says in ((["--every", "0"], "--every"), (["--every", "often"], "--every"),
                            (["--programme", "sore-weeks"], "no step of kind desk"),
                            (["more"], "takes no"), (["--side", "up"], "side"),
                            (["--simulated", "desk", "--device", "/dev/video0"], "exclude")):
            got = desk("--once", "--terminal", *words)
            self.assertNotEqual(got.returncode, 0, words)
            self.assertIn(says, got.stderr)
            self.assertEqual(len(got.stderr.strip().splitlines()), 1, got.stderr)

    def test_a_folder_that_cannot_be_written_is_said_at_once(self):
        got = desk("--terminal", "--data", "/proc/none")
        self.assertEqual(got.returncode, 1)
        self.assertEqual(len(got.stderr.strip().splitlines()), 1, got.stderr)

    def test_a_programme_gives_its_guidance(self):
        got = desk("--once", "--terminal", "--programme", "desk-days", "--data",
                   fresh("guided"), typed="\n")
        self.assertIn("Let both shoulders sink.", got.stdout)


class Interval(unittest.TestCase):
    def start(self, *words, env=None):
        return subprocess.Popen([PROGRAM, "desk", *words], stdin=subprocess.PIPE,
                                stdout=subprocess.PIPE, text=True, env=environment(env))

    def test_it_asks_again_and_a_signal_ends_it(self):
        for number in (signal.SIGTERM, signal.SIGINT, signal.SIGHUP):
            folder = fresh("interval")
            process = self.start("--terminal", "--every", "1", "--data", folder, env=FAST)
            for typed in ("nnn\n", "yyy\n"):
                self.assertIn("Desk check", process.stdout.readline())
                process.stdin.write(typed)
                process.stdin.flush()
            self.assertIn("Desk check", process.stdout.readline())
            process.send_signal(number)
            self.assertEqual(process.wait(timeout=20), 0)
            process.stdin.close()
            process.stdout.close()
            self.assertEqual([value for _, value in answers(folder)], [0] * 3 + [1] * 3)

    def test_between_two_checks_it_sleeps(self):
        process = self.start("--terminal", "--data", fresh("sleeps"))
        try:
            deadline = time.monotonic() + 60
            while started(process.pid) and time.monotonic() < deadline:
                pass
            before, began = ticks(process.pid), time.monotonic()
            time.sleep(4)
            used_s = (ticks(process.pid) - before) / os.sysconf("SC_CLK_TCK")
            self.assertLess(used_s / (time.monotonic() - began), 0.01)
        finally:
            process.terminate()
            self.assertEqual(process.wait(timeout=20), 0)
            process.stdin.close()
            process.stdout.close()


def started(pid):
    """Whether it is still at its start: it has run within half a second."""
    before = ticks(pid)
    time.sleep(0.5)
    return ticks(pid) != before or before == 0


def ticks(pid):
    """User's and system's time of all its threads."""
    with open(f"/proc/{pid}/stat", encoding="ascii") as f:
        fields = f.read().rsplit(")", 1)[1].split()
    return int(fields[11]) + int(fields[12])


class Notices(unittest.TestCase):
    """With a session bus of its own and a mock that presses buttons."""

    def ask(self, folder, pressed, capabilities="body,actions", typed="", env=None):
        script = ('"$0" "$1" "$2" > "$3" & mock=$!; '
                  'while ! grep -q ready "$3"; do sleep 0.05; done; shift 3; '
                  '"$@"; code=$?; kill $mock; exit $code')
        self.log = os.path.join(WORK, "notices.txt")
        open(self.log, "w", encoding="utf-8").close()
        return desk("--once", "--data", folder, typed=typed, env=env,
                    prefix=["dbus-run-session", "--", "sh", "-c", script, MOCK, pressed,
                            capabilities, self.log])

    def shown(self):
        with open(self.log, encoding="utf-8") as f:
            return [line for line in f.read().splitlines() if line != "ready"]

    def test_buttons_answer(self):
        folder = fresh("buttons")
        got = self.ask(folder, "yny")
        self.assertEqual((got.returncode, got.stdout), (0, ""))
        self.assertEqual(answers(folder), list(zip(ITEMS, [1, 0, 1])))
        shown = self.shown()
        self.assertEqual(len(shown), 3)
        for line, words in zip(shown, ("shoulder", "elbow", "arm")):
            self.assertIn(words, line)
            self.assertIn("'suppress-sound': <true>", line)

    def test_closed_leaves_the_rest_open(self):
        folder = fresh("closed")
        self.assertEqual(self.ask(folder, "nc").returncode, 0)
        self.assertEqual(answers(folder), [(ITEMS[0], 0)])
        self.assertEqual(len(self.shown()), 2)

    def test_what_nobody_answers_is_taken_away(self):
        folder = fresh("nobody")
        self.assertEqual(self.ask(folder, "w", env=FAST).returncode, 0)
        self.assertEqual(notes(folder), [])
        self.assertEqual([line.split()[0] for line in self.shown()], ["Notify", "Close"])

    def test_a_desktop_without_buttons_leaves_it_to_the_terminal(self):
        folder = fresh("no-buttons")
        got = self.ask(folder, "", capabilities="body", typed="nyn\n")
        self.assertIn("Desk check", got.stdout)
        self.assertEqual(answers(folder), list(zip(ITEMS, [0, 1, 0])))
        self.assertEqual(self.shown(), [])

    def test_a_bus_that_shows_nothing_leaves_it_to_the_terminal(self):
        folder = fresh("bare-bus")
        got = desk("--once", "--data", folder, typed="yyn\n",
                   prefix=["dbus-run-session", "--"])
        self.assertIn("Desk check", got.stdout)
        self.assertEqual(answers(folder), list(zip(ITEMS, [1, 1, 0])))


class Camera(unittest.TestCase):
    def test_shoulder_and_elbow_are_measured_against_the_arm_let_go(self):
        """models/scenes/desk.ini: a tenth of the upper arm up, elbow at 22 degrees."""
        folder, scene = fresh("camera"), os.path.join(WORK, "desk-small.ini")
        with open(os.path.join(ROOT, "models", "scenes", "desk.ini"), encoding="utf-8") as f:
            text = f.read()
        with open(scene, "w", encoding="utf-8") as f:
            f.write(text + "width = 640\nheight = 360\nfps = 15\n")
        got = desk("--once", "--terminal", "--simulated", scene, "--side", "right",
                   "--data", folder, typed="ynn\n", env={"OMOGON_CLOCK_RATE": "4"})
        self.assertEqual((got.returncode, got.stderr), (0, ""))
        self.assertIn("Let the shoulder sink", got.stdout)
        found = dict(answers(folder))
        self.assertAlmostEqual(found["desk-hike-ratio"], 0.1, delta=0.02)
        self.assertAlmostEqual(found["desk-elbow-distance-ratio"],
                               math.sin(math.radians(22)), delta=0.04)
        self.assertEqual(found[ITEMS[0]], 1)

    def test_without_a_camera_the_questions_are_asked_all_the_same(self):
        folder = fresh("no-camera")
        got = desk("--once", "--terminal", "--device", "/dev/video99", "--data", folder,
                   typed="nnn\n")
        self.assertEqual(got.returncode, 0)
        self.assertEqual(len(got.stderr.strip().splitlines()), 1, got.stderr)
        self.assertEqual(answers(folder), list(zip(ITEMS, [0, 0, 0])))


if __name__ == "__main__":
    os.makedirs(WORK, exist_ok=True)
    result = unittest.main(argv=sys.argv[:1], exit=False).result
    sys.exit(not result.wasSuccessful())
