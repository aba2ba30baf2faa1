#!/usr/bin/env python3
"""Whole sessions through the program: by keys alone, killed and gone on with, hands free.

Usage: test_session.py PROGRAM WORK_FOLDER
"""
import os
import re
import signal
import subprocess
import sys
import time
import unittest

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
import played  # noqa: E402
import session_parts  # noqa: E402
from session_parts import (  # noqa: E402
    PROGRAM, PROGRAMME, TOLD, WORK, folder, programme, rows)

SANITIZED = bool(played.sanitizer(PROGRAM))
# The clock runs faster than life; a sanitizer needs time for its pictures.
RATE = "20"


def environment(**more):
    env = dict(os.environ, OMOGON_CLOCK_RATE=RATE, LC_ALL="C.UTF-8", LANGUAGE="en",
               XDG_CONFIG_HOME=os.path.join(WORK, "config"))
    env.pop("DISPLAY", None)
    env.update(more)
    return env


def call(path, *more):
    return session_parts.call(path, "--no-window", *more)


class Keys:
    """Somebody at the keyboard who reads a page and types."""

    def __init__(self, words):
        self.process = subprocess.Popen(words, stdin=subprocess.PIPE, stdout=subprocess.PIPE,
                                        stderr=subprocess.PIPE, env=environment())
        os.set_blocking(self.process.stdout.fileno(), False)
        self.page = ""
        self.all = ""

    def read(self):
        """True: a page that waits for something is there."""
        try:
            got = self.process.stdout.read() or b""
        except BlockingIOError:
            got = b""
        text = got.decode()
        self.page += text
        self.all += text
        return re.search(r"^  \[.*\]$", self.page, re.M) is not None

    def type(self, line):
        self.page = ""
        self.process.stdin.write((line + "\n").encode())
        self.process.stdin.flush()

    def answer(self, answers, until=None, limit_s=120):
        """Types the answer whose pattern the page has, until the program ends or a page
        has `until`."""
        end = time.monotonic() + limit_s
        while time.monotonic() < end:
            waits = self.read()
            if until and re.search(until, self.page):
                return True
            if waits:
                for pattern, line in answers:
                    if re.search(pattern, self.page):
                        if line is not None:
                            self.type(line)
                        else:
                            self.page = ""
                        break
                else:
                    self.process.kill()
                    raise AssertionError("nobody knows what to type on:\n" + self.page)
            elif self.process.poll() is not None:
                self.read()
                return False
            time.sleep(0.02)
        self.process.kill()
        raise AssertionError("no end in sight:\n" + self.all)

    def close(self):
        for stream in (self.process.stdin, self.process.stdout, self.process.stderr):
            stream.close()
        self.process.wait()


ANSWERS = [
    (r"Which shoulder", "2"),
    (r"Anything new", "1"),
    (r"Do you have any of these", ""),
    (r"morning after", "0"),
    (r"How sore is the shoulder now", "1"),
    (r"last 24 hours", "2"),
    (r"wake you", "2"),
    (r"at rest, or all night", "2"),
    (r"before the arm reaches its end", "2"),
    (r"How tender is the place", "5"),
    (r"how tender is it now", "3"),
    (r"Find the place|Rest there|Rest here|up a little", None),
    (r"sore was it at most", "1"),
    (r"at the end\?", "1"),
    (r"note\?", "slept well; =1+1"),
    (r"yes|Yes", "1"),
    (r"Enter: go on", ""),
]


class ByKeys(unittest.TestCase):
    def test_a_whole_programme_without_a_camera(self):
        path = folder("keys")
        programme(path)
        keys = Keys(call(path, "--no-camera"))
        self.assertFalse(keys.answer(ANSWERS))
        self.assertEqual(keys.process.returncode, 0, keys.all)
        said = keys.all
        keys.close()
        self.assertIn("not a medical device", said)
        self.assertIn("That is it for today", said)
        result = {row["step"]: row["result"] for row in rows(path)}
        self.assertEqual(result, {"place": "done", "swing": "done", "up": "done",
                                  "mouth": "done", "word": "done", "": "done"})
        place = next(row for row in rows(path) if row["step"] == "place")
        self.assertEqual(place["tenderness_before"][0], "5")
        self.assertEqual(place["tenderness_after"][0], "3")
        notes = {row["item"]: row for row in rows(path, "notes.csv")}
        self.assertEqual(notes["hand-to-mouth"]["text"], "yes")
        self.assertEqual(notes["note"]["text"], "slept well; =1+1")
        self.assertEqual(float(notes["pain-worst-24h"]["value"]), 2)
        self.assertEqual(float(notes["pain-after"]["value"]), 1)

    def test_killed_in_the_middle_it_goes_on_at_the_step(self):
        path = folder("killed")
        programme(path)
        keys = Keys(call(path, "--no-camera"))
        self.assertTrue(keys.answer(ANSWERS, until=r"circles the other way"))
        keys.process.send_signal(signal.SIGKILL)
        keys.close()
        before = rows(path)
        self.assertEqual([row["step"] for row in before], ["", "place"])
        keys = Keys(call(path, "--no-camera"))
        self.assertFalse(keys.answer(ANSWERS))
        said = keys.all
        keys.close()
        self.assertIn("it goes on at its step", said)
        self.assertNotIn("How sore is the shoulder now", said)
        self.assertNotIn("How tender", said)
        after = rows(path)
        self.assertEqual(after[:2], before)
        self.assertEqual([row["step"] for row in after], ["", "place", "swing", "up", "mouth",
                                                          "word", ""])
        self.assertEqual(len({row["session"] for row in after}), 1)
        # And then it is over: the next one is another.
        keys = Keys(call(path, "--no-camera"))
        self.assertTrue(keys.answer(ANSWERS, until=r"Step 1 of"))
        keys.type("q")
        self.assertFalse(keys.answer(ANSWERS))
        keys.close()
        self.assertEqual(len({row["session"] for row in rows(path)}), 2)

    def test_enough_is_one_press_at_any_step(self):
        path = folder("enough")
        programme(path)
        keys = Keys(call(path, "--no-camera"))
        self.assertTrue(keys.answer(ANSWERS, until=r"Find the place"))
        keys.type("e")
        self.assertFalse(keys.answer(ANSWERS))
        self.assertEqual(keys.process.returncode, 0)
        keys.close()
        self.assertEqual([(row["step"], row["result"]) for row in rows(path)],
                         [("", "begun"), ("place", "part"), ("", "enough")])

    def test_what_is_not_understood_is_said(self):
        path = folder("what")
        programme(path)
        keys = Keys(call(path, "--no-camera"))
        self.assertTrue(keys.answer(ANSWERS, until=r"How sore is the shoulder now"))
        keys.type("11")
        self.assertTrue(keys.answer([], until=r'"11" is not understood here'))
        keys.type("q")
        self.assertFalse(keys.answer(ANSWERS))
        keys.close()
        self.assertEqual(rows(path), [])


class HandsFree(unittest.TestCase):
    def test_a_whole_programme_from_the_simulated_camera(self):
        path = folder("hands-free")
        text = PROGRAMME.replace("[mouth]", "[far]\ngroup=reach\nkind=measure\n"
                                 "movement=flexion\nrepetitions=2\n[mouth]")
        programme(path, text)
        done = subprocess.run(call(path, "--simulated", "session", "--size", "640x360",
                                   "--hands-free",
                                   "--affected", "right", *TOLD),
                              stdin=subprocess.DEVNULL, capture_output=True, text=True,
                              env=environment(), timeout=500)
        self.assertEqual(done.returncode, 0, done.stdout + done.stderr)
        result = {row["step"]: row for row in rows(path)}
        self.assertEqual(list(result), ["", "place", "swing", "up", "far", "mouth", "word"])
        self.assertEqual(result["place"]["result"], "done")
        self.assertEqual(result["up"]["result"], "done", result["up"])
        self.assertEqual(result["far"]["result"], "done", result["far"])
        self.assertIn(result["swing"]["result"], ("done", "part"))
        # The invented person swings five circles one way and four the other.
        self.assertEqual((result["swing"]["clockwise"],
                          result["swing"]["counter_clockwise"]), ("5", "4"))
        # What nobody answered has no value.
        self.assertEqual(result["place"]["tenderness_before"], "")
        self.assertEqual(result["mouth"]["result"], "skipped")
        sessions = rows(path, "sessions.csv")
        self.assertEqual([row["id"] for row in sessions], [result["far"]["measured"]])
        self.assertEqual(result[""]["result"], "done")


class Limits(unittest.TestCase):
    """Measuring on its own goes by the sheet, too."""

    def limit(self, path, text):
        known = os.path.exists(os.path.join(path, "data", "people.csv"))
        subprocess.run([PROGRAM, "people", "--data", os.path.join(path, "data"), "--person",
                        "P01", *([] if known else ["--add"]), "--limit", text, "--set-by",
                        "S1"], check=True, capture_output=True, env=environment())

    def measure(self, path):
        return subprocess.run([PROGRAM, "measure", "--movement", "flexion", "--side", "right",
                               "--person", "P01", "--data", os.path.join(path, "data"),
                               "--simulated", "live", "--no-window", "--no-sound",
                               "--seconds", "1"],
                              capture_output=True, text=True, env=environment(), timeout=100)

    def test_what_is_not_allowed_is_not_measured(self):
        path = folder("limits")
        self.limit(path, "flexion:right:none:none")
        done = self.measure(path)
        self.assertEqual(done.returncode, 1, done.stdout)
        self.assertIn("omogon people --person P01", done.stderr)
        self.limit(path, "flexion:right:90:active")
        self.assertEqual(self.measure(path).returncode, 0)


class Files(unittest.TestCase):
    def run_words(self, *words):
        return subprocess.run([PROGRAM, "session", *words], capture_output=True, text=True,
                              env=environment(), timeout=60)

    def test_starters(self):
        done = self.run_words("--list")
        self.assertEqual(done.returncode, 0, done.stderr)
        names = [line.split()[0] for line in done.stdout.splitlines()[:3]]
        self.assertEqual(names, ["desk-days", "regaining-range", "sore-weeks"])
        for name in names:
            done = self.run_words("--check", name)
            self.assertEqual(done.returncode, 0, done.stderr)
            self.assertIn("no mistake found", done.stdout)

    def test_a_text_in_another_language(self):
        """The starters' own, and every text of them; the mark of a programme is one in all."""
        done = subprocess.run([PROGRAM, "session", "--list"], capture_output=True, text=True,
                              env=environment(LANGUAGE="de"), timeout=60)
        self.assertIn("Schmerzhafte Wochen", done.stdout)
        models = os.environ["OMOGON_MODELS"]
        for name in ("desk-days", "regaining-range", "sore-weeks"):
            with open(os.path.join(models, "programmes", name + ".ini"),
                      encoding="utf-8") as file:
                keys = re.findall(r"^(title|guidance|caution)(\[de\])?=", file.read(), re.M)
            self.assertGreater(len(keys), 8)
            self.assertEqual([k for k, language in keys if not language],
                             [k for k, language in keys if language])
        marks, words = [], []
        for language in ("en", "de"):
            path = folder("language-" + language)
            text = PROGRAMME[PROGRAMME.index("[word]"):] + "guidance=Write.\n" \
                "guidance[de]=Schreiben.\n"
            programme(path, PROGRAMME[:PROGRAMME.index("[place]")] + text)
            done = subprocess.run(call(path, "--no-camera", "--affected", "right", *TOLD),
                                  input="\n" * 4, capture_output=True, text=True,
                                  env=environment(LANGUAGE=language), timeout=60)
            self.assertEqual(done.returncode, 0, done.stderr)
            marks.append(rows(path)[0]["programme_mark"])
            words.append(done.stdout)
        self.assertEqual(marks[0], marks[1])
        self.assertIn("Write.", words[0])
        self.assertIn("Schreiben.", words[1])

    def test_a_mistake_has_its_line(self):
        path = folder("mistake")
        name = programme(path, PROGRAMME.replace("kind=pendulum", "kind=pendulm"))
        done = self.run_words("--check", name)
        self.assertEqual(done.returncode, 1)
        self.assertRegex(done.stderr, r"of-the-tests\.ini:13: .*pendulm")
        done = self.run_words("--programme", name, "--data", os.path.join(path, "data"),
                              "--no-window")
        self.assertEqual(done.returncode, 1)
        self.assertEqual(rows(path), [])

    def test_wrong_words(self):
        for words, said in ((("--pain-now", "12"), "no rating"), (("--woken", "2"), "yes or"),
                            (("--person", "Jane Doe"), "pseudonym"),
                            (("extra",), "--programme"),
                            (("--no-camera", "--simulated", "session"), "excludes")):
            done = self.run_words("--programme", "sore-weeks", "--out",
                                  os.path.join(WORK, "words"), "--no-window", *words)
            self.assertEqual(done.returncode, 2, words)
            self.assertIn(said, done.stderr)


if __name__ == "__main__":
    os.makedirs(WORK, exist_ok=True)
    unittest.main(argv=sys.argv[:1], verbosity=2)
