#!/usr/bin/env python3
"""Whole sessions in the real window: without a hand on the keyboard from the simulated
camera, by keys alone, and killed in the middle and gone on with.

Usage: test_session_window.py PROGRAM WORK_FOLDER
"""
import os
import re
import signal
import sys
import time
import unittest

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
import page_reader  # noqa: E402
import played  # noqa: E402
import session_parts  # noqa: E402
from session_parts import PROGRAM, TOLD, WORK, call, rows  # noqa: E402

SANITIZED = bool(played.sanitizer(PROGRAM))
RATE = "6"
# A step that measures, and one that is paced by breaths.
PROGRAMME = session_parts.PROGRAMME.replace(
    "guidance=Slide up the wall.\n",
    "pace=paced\nguidance=Slide up the wall.\n"
    "[far]\ngroup=reach\nkind=measure\nmovement=flexion\nrepetitions=2\n")
# What a page asks and the keys that answer it; the first one that fits.
ANSWERS = [
    (r"Which shoulder", ["2"]),
    (r"Anything new", ["1"]),
    (r"any of these", ["Return"]),
    (r"morning after", ["0"]),
    (r"How sore is the shoulder now", ["1"]),
    (r"last 24 hours", ["2"]),
    (r"wake you", ["2"]),
    (r"at rest, or all night", ["2"]),
    (r"before the arm reaches", ["2"]),
    (r"How tender is the place", ["5"]),
    (r"how tender is it now", ["3"]),
    (r"sore was it at most", ["1"]),
    (r"at the end\?", ["1"]),
    (r"come to the", ["1"]),
    (r"note\?|[Ww]rite (it )?down|your note", ["s", "o", "space", "s", "o", "Return"]),
    # The lit choice is dark on light, which the reader does not see: by the page's title.
    (r"Gently\.|A calm day|Press lightly|Let the arm hang|Reach to where|That is it",
     ["Return"]),
]


def folder(name, text=PROGRAMME):
    path = session_parts.folder(name)
    session_parts.programme(path, text)
    return path


class Sessions(unittest.TestCase):
    def display(self, path):
        one = page_reader.Display(path, OMOGON_CLOCK_RATE=RATE,
                                  XDG_CONFIG_HOME=os.path.join(path, "config"),
                                  XDG_DATA_HOME=os.path.join(path, "home"))
        self.addCleanup(one.close)
        return one

    def ended(self, display):
        out, complained = display.program.communicate(timeout=60)
        self.assertEqual(display.program.returncode, 0, out + complained)

    def answer(self, display, path, until=None, seconds=120):
        """Types what a page asks for, until the program ends or a page has `until`."""
        shot = os.path.join(path, "page.png")
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            if display.program.poll() is not None:
                return False
            try:
                page = " ".join(display.text(display.shoot(shot)).split())
            except Exception:  # the window went while it was read
                continue
            if until and re.search(until, page):
                return True
            for pattern, keys in ANSWERS:
                if re.search(pattern, page):
                    display.do("key", "--delay", "60", *keys)
                    # The answer is not given twice to a page that is still on its way out.
                    display.until(lambda: self.other_page(display, path, page), 5)
                    break
        display.program.kill()
        self.fail("no end in sight:\n" + page)

    @staticmethod
    def other_page(display, path, page):
        if display.program.poll() is not None:
            return True
        try:
            shot = display.shoot(os.path.join(path, "next.png"))
            return " ".join(display.text(shot).split()) != page
        except Exception:
            return True

    def test_without_a_hand_on_the_keyboard(self):
        # Pictures come too late under a sanitizer for what is counted and for the reader.
        path = folder("hands-free", re.sub(r"\[swing\].*?(?=\[mouth\])", "", PROGRAMME,
                                           flags=re.S) if SANITIZED else PROGRAMME)
        display = self.display(path)
        display.start(*call(path, "--simulated", "session", "--size", "640x360",
                            "--hands-free", "--affected", "right", *TOLD))
        shots = []
        while display.program.poll() is None:
            try:
                shots.append(display.shoot(os.path.join(path, f"{len(shots):03d}.png")))
            except Exception:
                break
            time.sleep(0.6)
        self.ended(display)
        if SANITIZED:
            self.assertEqual([row["step"] for row in rows(path)],
                             ["", "place", "mouth", "word", ""])
            return
        result = {row["step"]: row for row in rows(path)}
        self.assertEqual(list(result), ["", "place", "swing", "up", "far", "mouth", "word"])
        for step in ("place", "up", "far", ""):
            self.assertEqual(result[step]["result"], "done", result[step])
        self.assertEqual((result["swing"]["clockwise"],
                          result["swing"]["counter_clockwise"]), ("5", "4"))
        self.assertGreater(float(result["up"]["stop_deg"]), 120)
        # What nobody answered has no value, and is there all the same.
        self.assertEqual((result["mouth"]["result"], result["word"]["result"]),
                         ("skipped", "skipped"))
        (session,) = rows(path, "sessions.csv")
        self.assertEqual(session["id"], result["far"]["measured"])
        self.largest_is_what_to_do(display, shots)

    def largest_is_what_to_do(self, display, shots):
        """Of each kind of step the one instruction is the largest line on the screen."""
        kinds = {"press": r"Rest there|lean in lightly|Press lightly",
                 "tenderness": r"tender", "pendulum": r"circle|clockwise",
                 "stay": r"Rest here|where it stops", "finding": r"hand come to|mouth\?",
                 "note": r"Anything to|note\?"}
        seen = {kind: 0 for kind in kinds}
        for shot in shots:
            lines = display.lines(shot)
            if not lines:
                continue
            for kind, pattern in kinds.items():
                if seen[kind] < 2 and re.search(pattern, lines[0][1]):
                    # A line of a size of its own: nothing else comes near it.
                    others = [h for h, words in lines[1:] if not re.search(pattern, words)]
                    self.assertGreater(lines[0][0], 1.05 * max(others, default=0),
                                       (shot, lines[:3]))
                    seen[kind] += 1
        self.assertTrue(all(seen.values()), seen)

    @unittest.skipIf(SANITIZED, "the keys go by what an optical reader sees, in time")
    def test_by_keys_alone(self):
        text = re.sub(r"\[far\].*?(?=\[mouth\])", "", PROGRAMME, flags=re.S)
        path = folder("keys", text)
        display = self.display(path)
        display.start(*call(path, "--no-camera"))
        self.assertFalse(self.answer(display, path))
        self.ended(display)
        result = {row["step"]: row["result"] for row in rows(path)}
        self.assertEqual(result, {"place": "done", "swing": "done", "up": "done",
                                  "mouth": "done", "word": "done", "": "done"})
        place = next(row for row in rows(path) if row["step"] == "place")
        self.assertEqual((float(place["tenderness_before"]), float(place["tenderness_after"])),
                         (5, 3))
        notes = {row["item"]: row for row in rows(path, "notes.csv")}
        self.assertEqual(notes["hand-to-mouth"]["text"], "yes")
        self.assertEqual(notes["note"]["text"], "so so")

    @unittest.skipIf(SANITIZED, "the keys go by what an optical reader sees, in time")
    def test_killed_in_the_middle_it_goes_on_at_the_step(self):
        text = re.sub(r"\[far\].*?(?=\[mouth\])", "", PROGRAMME, flags=re.S)
        path = folder("killed", text)
        display = self.display(path)
        display.start(*call(path, "--no-camera", "--affected", "right", *TOLD))
        self.assertTrue(self.answer(display, path, until=r"Step 2 of 5"))
        display.program.send_signal(signal.SIGKILL)
        display.program.communicate()
        before = rows(path)
        self.assertEqual([row["step"] for row in before], ["", "place"])
        display.start(*call(path, "--no-camera", "--affected", "right"))
        self.assertTrue(self.answer(display, path, until=r"Step 2 of 5"))
        self.assertFalse(self.answer(display, path))
        self.ended(display)
        after = rows(path)
        self.assertEqual(after[:2], before)
        self.assertEqual([row["step"] for row in after],
                         ["", "place", "swing", "up", "mouth", "word", ""])
        self.assertEqual(len({row["session"] for row in after}), 1)


if __name__ == "__main__":
    os.makedirs(WORK, exist_ok=True)
    unittest.main(argv=sys.argv[:1] + sys.argv[3:], verbosity=2)
