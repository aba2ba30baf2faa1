#!/usr/bin/env python3
"""Changes of what was written down: never silent, whole or not at all.

Usage: test_edit.py PROGRAM RECORD_WRITER PRELOAD WORK_FOLDER
"""
import csv
import json
import os
import shutil
import subprocess
import sys
import unittest

PROGRAM, WRITER, PRELOAD, WORK = (os.path.abspath(word) for word in sys.argv[1:5])
OLD, NEW = "P001", "K12"


def run(path, *words, env=None):
    return subprocess.run([PROGRAM, "edit", "--data", path, *words], capture_output=True,
                          text=True, timeout=120,
                          env=dict(os.environ, LC_ALL="C.UTF-8", LANGUAGE="en", **(env or {})))


def record(name, layout="kept"):
    """Sessions with traces in a folder of their own, and rows in every table."""
    path = os.path.join(WORK, name)
    shutil.rmtree(path, ignore_errors=True)
    for words in ((layout, "0", "4", "4"), ("tables", "0", "14")):
        subprocess.run([WRITER, path, *words], check=True, capture_output=True)
    # Live traces bear the person's code; a still lies beside one.
    sessions = read(path, "sessions.csv")
    for number, row in enumerate(sessions):
        trace = f"traces/{row['person']}-2026112{number}T090000-flexion-right.trace.csv"
        os.rename(os.path.join(path, row["trace"]), os.path.join(path, trace))
        row["trace"] = trace
    with open(os.path.join(path, trace.replace(".trace.csv", ".highest.jpg")), "wb") as file:
        file.write(b"a still")
    write(path, "sessions.csv", sessions)
    # Somebody else, of whom nothing may change.
    for table in ("notes.csv", "sessions.csv"):
        rows = read(path, table)
        rows.append(dict(rows[0], person="Q9", id="f" * 32, trace="") if "trace" in rows[0]
                    else dict(rows[0], person="Q9", id="f" * 32))
        write(path, table, rows)
    return path


def read(path, table):
    with open(os.path.join(path, table), encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def write(path, table, rows):
    with open(os.path.join(path, table), "w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, list(rows[0]), lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)


def tree(path):
    found = {}
    for place, _, names in os.walk(path):
        for name in names:
            whole = os.path.join(place, name)
            with open(whole, "rb") as file:
                found[os.path.relpath(whole, path)] = file.read()
    return found


def mentions(path, code):
    """Files whose name or content has the code as a word of its own."""
    return sorted(name for name, content in tree(path).items()
                  if name != "changes.csv"
                  and (f"{code}-" in name or f",{code}," in content.decode(errors="replace")
                       or f"\n{code}," in content.decode(errors="replace")))


def counted(path):
    said = subprocess.run([PROGRAM, "progress", "--data", path, "--json"], check=True,
                          capture_output=True, text=True, timeout=60).stdout
    return sorted(one for course in json.loads(said) for one in course["ids"])


class Sessions(unittest.TestCase):
    def test_withdrawn_and_restored(self):
        path = record("withdraw")
        before = read(path, "sessions.csv")
        one = before[0]["id"]
        self.assertIn(one, counted(path))
        done = run(path, "--withdraw", one[:8], "--reason", "=the sticker fell off", "--by",
                   "R1")
        self.assertEqual((done.returncode, done.stderr), (0, ""))
        self.assertIn("withdrawn: " + one[:8], done.stdout)
        after = read(path, "sessions.csv")
        self.assertEqual(after[:len(before)], before, "nothing is changed in place")
        self.assertEqual((after[-1]["id"], after[-1]["status"]), (one, "withdrawn"))
        self.assertTrue(after[-1]["note"].endswith(
            "Withdrawn by R1: =the sticker fell off."))
        self.assertNotIn(one, counted(path))
        change = read(path, "changes.csv")[-1]
        self.assertEqual(
            [change[k] for k in ("person", "changed_by", "what", "row", "old_value",
                                 "new_value", "reason")],
            [OLD, "R1", "withdraw", one, "ok", "withdrawn", "'=the sticker fell off"])
        again = run(path, "--withdraw", one[:8], "--reason", "x", "--by", "R1")
        self.assertEqual(again.returncode, 2)
        self.assertIn("already", again.stderr)
        self.assertIn("(withdrawn)", run(path).stdout)
        self.assertEqual(run(path, "--restore", one[:8], "--by", "R1").returncode, 0)
        self.assertIn(one, counted(path))

    def test_the_last_one_is_discarded(self):
        path = record("last")
        done = run(path, "--person", OLD, "--withdraw", "last", "--reason", "x", "--by", "R1")
        self.assertEqual(done.returncode, 0, done.stderr)
        self.assertEqual(read(path, "sessions.csv")[-1]["id"],
                         read(path, "sessions.csv")[3]["id"])
        run(path, "--person", OLD, "--withdraw", "last", "--reason", "x", "--by", "R1")
        self.assertEqual(read(path, "sessions.csv")[-1]["id"],
                         read(path, "sessions.csv")[2]["id"], "the last that counts")

    def test_replaced(self):
        path = record("replace")
        older, newer = (row["id"] for row in read(path, "sessions.csv")[:2])
        done = run(path, "--replace", older, "--with", newer, "--reason", "again", "--by", "R1")
        self.assertEqual(done.returncode, 0, done.stderr)
        rows = {row["id"]: row for row in read(path, "sessions.csv")}  # the last one counts
        self.assertEqual((rows[older]["status"], rows[newer]["status"]), ("replaced", "ok"))
        self.assertEqual(rows[newer]["replaces"], older)
        self.assertNotIn(older, counted(path))
        self.assertIn(newer, counted(path))
        for words in ((newer, newer), (older, "f" * 32)):
            done = run(path, "--replace", words[0], "--with", words[1], "--reason", "x", "--by",
                       "R1")
            self.assertEqual((done.returncode, len(done.stderr.splitlines())), (2, 1))


class People(unittest.TestCase):
    def test_renamed_everywhere(self):
        path = record("rename")
        others = [row for row in read(path, "sessions.csv") if row["person"] == "Q9"]
        before = tree(path)
        done = run(path, "--rename", OLD, "--to", NEW, "--by", "R1")
        self.assertEqual((done.returncode, done.stderr), (0, ""))
        self.assertEqual(mentions(path, OLD), [])
        self.assertEqual([row for row in read(path, "sessions.csv") if row["person"] == "Q9"],
                         others)
        for row in read(path, "sessions.csv"):
            if row["trace"]:
                self.assertIn(NEW + "-", row["trace"])
                old = row["trace"].replace(NEW, OLD)
                self.assertEqual(tree(path)[row["trace"]], before[old])
        self.assertEqual(sum(name.endswith(".highest.jpg") for name in tree(path)), 1)
        change = read(path, "changes.csv")[-1]
        self.assertEqual((change["what"], change["old_value"], change["new_value"]),
                         ("rename", OLD, NEW))
        self.assertNotIn(".change", tree(path))
        for name in tree(path):
            self.assertEqual(os.stat(os.path.join(path, name)).st_mode & 0o777, 0o600
                             if not name.endswith(".jpg") else
                             os.stat(os.path.join(path, name)).st_mode & 0o777)

    def test_deleted_wholly(self):
        path = record("delete")
        done = run(path, "--delete", OLD, "--yes-delete", OLD, "--by", "R1")
        self.assertEqual((done.returncode, done.stderr), (0, ""))
        for name, content in tree(path).items():
            self.assertNotIn(OLD, name)
            self.assertNotIn(OLD.encode(), content, name)
        self.assertEqual([row["person"] for row in read(path, "sessions.csv")], ["Q9"])
        self.assertEqual([row["person"] for row in read(path, "notes.csv")], ["Q9"])
        self.assertEqual([(row["what"], row["person"]) for row in read(path, "changes.csv")],
                         [("delete", "")])
        self.assertIn("not reached", done.stdout)

    def test_what_is_refused(self):
        path = record("refused")
        before = tree(path)
        for words, said in (
                (("--rename", OLD, "--to", "Q9", "--by", "R1"), "taken"),
                (("--rename", "NOBODY", "--to", "X1", "--by", "R1"), "nobody"),
                (("--rename", OLD, "--to", "Jane Doe", "--by", "R1"), "no code"),
                (("--rename", OLD, "--to", "", "--by", "R1"), "no code"),
                (("--rename", OLD, "--by", "R1"), "--to"),
                (("--delete", OLD, "--by", "R1"), "--yes-delete " + OLD),
                (("--delete", OLD, "--yes-delete", "P002", "--by", "R1"), "--yes-delete"),
                (("--delete", OLD, "--yes-delete", OLD), "--by"),
                (("--withdraw", "zzzz", "--reason", "x", "--by", "R1"), "no session"),
                (("--withdraw", "f", "--reason", "x", "--by", "R1"), "no session"),
                (("--withdraw", "last", "--by", "R1"), "--reason"),
                (("--withdraw", "last", "--restore", "last", "--by", "R1"), "one change"),
                (("extra",), "extra")):
            done = run(path, *words)
            self.assertEqual((done.returncode, len(done.stderr.splitlines())), (2, 1),
                             (words, done.stderr))
            self.assertIn(said, done.stderr)
        self.assertEqual({k: v for k, v in tree(path).items() if k != ".sessions.lock"},
                         {k: v for k, v in before.items() if k != ".sessions.lock"})

    @unittest.skipIf(os.environ.get("EXTRA_FLAGS"), "a preloaded fault needs a plain program")
    def test_killed_anywhere_it_is_whole_or_not_begun(self):
        whole = record("whole")
        self.killed_everywhere(whole, ("--rename", OLD, "--to", NEW), "kill", 2)
        self.killed_everywhere(whole, ("--delete", OLD, "--yes-delete", OLD), "half", 3)

    def killed_everywhere(self, whole, words, how, stride):
        step, ended = 1, False
        begun = {True: 0, False: 0}
        before = {row["id"] for row in read(whole, "changes.csv")}
        while not ended:
            path = os.path.join(WORK, "killed")
            shutil.rmtree(path, ignore_errors=True)
            shutil.copytree(whole, path)
            done = run(path, *words, "--by", "R1",
                       env={"LD_PRELOAD": PRELOAD, "OMO_FAULT_AT": str(step),
                            "OMO_FAULT_HOW": how})
            ended = done.returncode == 0
            journal = os.path.exists(os.path.join(path, ".change"))
            again = run(path)  # any command that opens the record ends what was begun
            self.assertEqual(again.returncode, 0, again.stderr)
            self.assertFalse(os.path.exists(os.path.join(path, ".change")))
            left = mentions(path, OLD)
            # Rows of nobody are half changed: the code is everywhere, or nowhere.
            people = {table: {row["person"] for row in read(path, table)}
                      for table in ("sessions.csv", "steps.csv", "notes.csv", "limits.csv",
                                    "sheet.csv")}
            if left:
                self.assertFalse(journal, step)
                for table, codes in people.items():
                    self.assertIn(OLD, codes, (step, how, table))
                    self.assertNotIn(NEW, codes, (step, how, table))
            traces = [row["trace"] for row in read(path, "sessions.csv") if row["trace"]]
            for trace in traces:
                self.assertTrue(os.path.exists(os.path.join(path, trace)), (step, trace))
            files = [name for name in tree(path) if name.startswith("traces/")]
            self.assertEqual(len(files), len(traces) + bool(traces), (step, how, files))
            # Never silent: the change has its row, once, when it is made.
            made = [row for row in read(path, "changes.csv") if row["id"] not in before]
            self.assertEqual([row["what"] for row in made], [words[0][2:]] * (not left),
                             (step, how))
            begun[not left] += 1
            step += stride
            self.assertLess(step, 400)
        self.assertGreater(begun[True], 3, "kills fell into the change")
        self.assertGreater(begun[False], 0)


    @unittest.skipIf(os.environ.get("EXTRA_FLAGS"), "a preloaded fault needs a plain program")
    def test_a_session_is_replaced_whole_or_not_at_all(self):
        whole = record("whole_sessions")
        older, newer = (row["id"] for row in read(whole, "sessions.csv")[:2])
        made, step, ended = set(), 1, False
        while not ended:
            path = os.path.join(WORK, "killed_sessions")
            shutil.rmtree(path, ignore_errors=True)
            shutil.copytree(whole, path)
            done = run(path, "--replace", older, "--with", newer, "--reason", "again", "--by",
                       "R1", env={"LD_PRELOAD": PRELOAD, "OMO_FAULT_AT": str(step),
                                  "OMO_FAULT_HOW": ("kill", "half")[step % 2]})
            ended = done.returncode == 0
            self.assertEqual(run(path).returncode, 0)
            rows = {row["id"]: row for row in read(path, "sessions.csv")}
            change = os.path.join(path, "changes.csv")
            said = [row["what"] for row in read(path, "changes.csv")].count("replace") \
                if os.path.exists(change) else 0
            state = (rows[older]["status"], rows[newer]["replaces"], said)
            self.assertIn(state, (("ok", "", 0), ("replaced", older, 1)), step)
            self.assertEqual(len(read(path, "sessions.csv")),
                             len(read(whole, "sessions.csv")) + 2 * said)
            made.add(state)
            step += 1
            self.assertLess(step, 200)
        self.assertEqual(len(made), 2)


if __name__ == "__main__":
    os.makedirs(WORK, exist_ok=True)
    unittest.main(argv=sys.argv[:1], verbosity=2)
