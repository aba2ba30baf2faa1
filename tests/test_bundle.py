#!/usr/bin/env python3
"""A bundle for the clinic: all of one person, and back into another record, whole or not at all.

Usage: test_bundle.py PROGRAM RECORD_WRITER WORK_FOLDER

Its files are read here with Python's own tarfile, json and hashlib.
"""
import csv
import gzip
import hashlib
import io
import json
import os
import shutil
import subprocess
import sys
import tarfile
import unittest

PROGRAM, WRITER, WORK = (os.path.abspath(word) for word in sys.argv[1:4])


def run(*words, command="bundle"):
    return subprocess.run([PROGRAM, command, *words], capture_output=True, text=True,
                          timeout=120, env=dict(os.environ, LC_ALL="C.UTF-8", LANGUAGE="en"))


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
            with open(os.path.join(place, name), "rb") as file:
                found[os.path.relpath(os.path.join(place, name), path)] = file.read()
    found.pop(".sessions.lock", None)
    return found


def record(name):
    path = os.path.join(WORK, name)
    shutil.rmtree(path, ignore_errors=True)
    for words in (("kept", "0", "3", "4"), ("tables", "0", "14")):
        subprocess.run([WRITER, path, *words], check=True, capture_output=True)
    rows = read(path, "notes.csv")
    write(path, "notes.csv", rows + [dict(rows[0], person="Q9", id="f" * 32)])
    return path


def files_of(bundle):
    with tarfile.open(bundle, "r:gz") as archive:
        return {member.name: archive.extractfile(member).read() for member in archive}


def packed(name, files, members=()):
    """A bundle made by hand; `members` are added as they are."""
    path = os.path.join(WORK, name)
    with tarfile.open(path, "w:gz") as archive:
        for file, content in files.items():
            member = tarfile.TarInfo(file)
            member.size = len(content)
            archive.addfile(member, io.BytesIO(content))
        for member in members:
            archive.addfile(member)
    return path


def listed(files, **more):
    """The list of files as it should be, or with something else in it."""
    entries = [{"name": name, "bytes": len(content),
                "sha256": hashlib.sha256(content).hexdigest()}
               for name, content in files.items() if name != "manifest.json"]
    return json.dumps({"format": "omogon-bundle", "format_version": 1, "person": "P001",
                       "files": entries, **more}).encode()


class Bundle(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.record = record("home")
        cls.bundle = os.path.join(WORK, "sent.tar.gz")
        done = run("--data", cls.record, "--person", "P001", "--out", cls.bundle, "--force")
        assert done.returncode == 0, done.stderr
        cls.files = files_of(cls.bundle)

    def test_what_is_sent(self):
        self.assertEqual(os.stat(self.bundle).st_mode & 0o777, 0o600)
        manifest = json.loads(self.files["manifest.json"])
        self.assertEqual((manifest["format"], manifest["person"]), ("omogon-bundle", "P001"))
        self.assertEqual({entry["name"]: entry["sha256"] for entry in manifest["files"]},
                         {name: hashlib.sha256(content).hexdigest()
                          for name, content in self.files.items() if name != "manifest.json"})
        traces = {row["trace"] for row in read(self.record, "sessions.csv")}
        self.assertLessEqual(traces, set(self.files))
        self.assertTrue({"report.html", "report.pdf", "README.txt"} <= set(self.files))
        self.assertFalse([name for name in self.files
                          if name.endswith((".jpg", ".mp4", ".mjpeg", ".png"))])
        for name, content in self.files.items():
            if name.endswith(".csv"):
                self.assertNotIn(b"Q9", content, name)
                rows = list(csv.DictReader(io.StringIO(content.decode())))
                self.assertTrue(rows, name)
        self.assertNotIn(os.path.expanduser("~").encode() + b"/", b"".join(
            self.files.values()))

    def test_the_same_record_is_the_same_bundle(self):
        again = os.path.join(WORK, "again.tar.gz")
        run("--data", self.record, "--person", "P001", "--out", again, "--force")
        with open(again, "rb") as one, open(self.bundle, "rb") as other:
            self.assertEqual(one.read(), other.read())

    def test_received_elsewhere(self):
        away = os.path.join(WORK, "away")
        shutil.rmtree(away, ignore_errors=True)
        done = run("--data", away, "--open", self.bundle)
        self.assertEqual((done.returncode, done.stderr), (0, ""))
        for table in ("sessions.csv", "steps.csv", "limits.csv", "notes.csv"):
            mine = [row for row in read(self.record, table) if row["person"] == "P001"]
            self.assertEqual(read(away, table), mine, table)
        for row in read(away, "sessions.csv"):
            self.assertEqual(tree(away)[row["trace"]], tree(self.record)[row["trace"]])
        before = tree(away)
        done = run("--data", away, "--open", self.bundle)
        self.assertEqual(done.returncode, 0)
        self.assertIn("Nothing new", done.stdout)
        self.assertEqual(tree(away), before)
        done = run("--data", away, "--open", self.bundle, "--as", "K99")
        self.assertIn("as P001", done.stdout)
        self.assertEqual(tree(away), before)

    def test_received_beside_somebody_of_that_code(self):
        busy = record("busy")
        # Another person's sessions have other ids.
        write(busy, "sessions.csv", [dict(row, id=row["id"][::-1])
                                     for row in read(busy, "sessions.csv")])
        before = tree(busy)
        done = run("--data", busy, "--open", self.bundle)
        self.assertEqual((done.returncode, len(done.stderr.splitlines())), (2, 1))
        self.assertIn("--as", done.stderr)
        self.assertEqual(tree(busy), before)
        done = run("--data", busy, "--open", self.bundle, "--as", "K12")
        self.assertEqual((done.returncode, done.stderr), (0, ""))
        after = tree(busy)
        for name, content in before.items():
            self.assertTrue(after[name].startswith(content), name)  # nothing is changed
        theirs = [row for row in read(busy, "sessions.csv") if row["person"] == "K12"]
        self.assertEqual([row["max_deg"] for row in theirs],
                         [row["max_deg"] for row in read(self.record, "sessions.csv")])
        for row in theirs:
            self.assertIn(row["trace"], after)
        self.assertNotIn("K12", {row["person"] for row in read(self.record, "sessions.csv")})

    def test_one_that_went_out_from_here(self):
        before = tree(self.record)
        done = run("--data", self.record, "--open", self.bundle, "--as", "K12")
        self.assertEqual((done.returncode, len(done.stderr.splitlines())), (2, 1))
        self.assertIn("here already as one of P001", done.stderr)
        self.assertEqual(tree(self.record), before)

    def test_an_interrupted_receiving_is_gone_on_with(self):
        part = os.path.join(WORK, "part")
        shutil.rmtree(part, ignore_errors=True)
        self.assertEqual(run("--data", part, "--open", self.bundle).returncode, 0)
        whole = {table: read(part, table) for table in ("sessions.csv", "notes.csv")}
        # As a run leaves it that was killed before its last row and its last trace.
        os.remove(os.path.join(part, whole["sessions.csv"][-1]["trace"]))
        write(part, "sessions.csv", whole["sessions.csv"][:-1])
        sheet = read(part, "sheet.csv")
        self.assertTrue(sheet[-1]["value"].startswith("done "))
        write(part, "sheet.csv", sheet[:-1])
        done = run("--data", part, "--open", self.bundle)
        self.assertEqual((done.returncode, done.stderr), (0, ""))
        self.assertEqual({table: read(part, table) for table in whole}, whole)
        self.assertIn(whole["sessions.csv"][-1]["trace"], tree(part))

    def test_a_bundle_that_is_not_one_adds_nothing(self):
        fresh = {name: content for name, content in self.files.items()
                 if name != "manifest.json"}
        good = {"manifest.json": listed(fresh), **fresh}
        link = tarfile.TarInfo("sessions.csv")
        link.type, link.linkname = tarfile.SYMTYPE, "/etc/hostname"
        changed = dict(good, **{"sessions.csv": good["sessions.csv"].replace(b"ok", b"no")})
        csvs = dict(fresh, **{"sessions.csv": b"not,a,table\n1,2\n"})
        others = dict(fresh, **{"notes.csv": fresh["notes.csv"].replace(b"P001", b"P002")})
        steps = next(name for name in fresh if name.endswith(".trace.csv"))
        trace = dict(fresh, **{steps: b"time_s\n1\n"})
        with open(self.bundle, "rb") as file:
            whole = file.read()
        cases = [
            (packed("sum.tar.gz", changed), "not what it was"),
            (packed("less.tar.gz", {k: v for k, v in good.items() if k != "notes.csv"}),
             "missing"),
            (packed("more.tar.gz", {**good, "traces/extra.trace.csv": b"x\n"}), "more than"),
            (packed("name.tar.gz", {"manifest.json": listed({"../x.csv": b"x"}),
                                    "../x.csv": b"x"}), "no bundle of omogon has"),
            (packed("root.tar.gz", {"manifest.json": listed({"/x.trace.csv": b"x"}),
                                    "/x.trace.csv": b"x"}), "no bundle of omogon has"),
            (packed("link.tar.gz", {"manifest.json": good["manifest.json"]}, [link]),
             "no bundle of omogon has"),
            (packed("twice.tar.gz", {**good, "manifest.json": good["manifest.json"]},
                    [tarfile.TarInfo("sessions.csv")]), "no bundle of omogon has"),
            (packed("version.tar.gz", {**good, "manifest.json": listed(
                fresh, format_version=9)}), "another version"),
            (packed("format.tar.gz", {**good, "manifest.json": listed(fresh, format="x")}),
             "no bundle"),
            (packed("json.tar.gz", {**good, "manifest.json": b"{"}), "no bundle"),
            (packed("none.tar.gz", fresh), "no bundle"),
            (packed("table.tar.gz", {"manifest.json": listed(csvs), **csvs}), "other columns"),
            (packed("whose.tar.gz", {"manifest.json": listed(others), **others}),
             "somebody else"),
            (packed("trace.tar.gz", {"manifest.json": listed(trace), **trace}), "no trace")]
        for name, content, said in (("cut.tar.gz", whole[:len(whole) // 2], "no bundle|damaged"),
                                    ("text.tar.gz", b"no archive", "no bundle"),
                                    ("empty.tar.gz", b"", "no bundle"),
                                    ("bomb.tar.gz", self.bomb(), "damaged|larger")):
            path = os.path.join(WORK, name)
            with open(path, "wb") as file:
                file.write(content)
            cases.append((path, said))
        cases.append((os.path.join(WORK, "not-there.tar.gz"), "cannot be opened"))
        away = os.path.join(WORK, "untouched")
        shutil.rmtree(away, ignore_errors=True)
        subprocess.run([WRITER, away, "kept", "7", "1", "4"], check=True, capture_output=True)
        before = tree(away)
        for path, said in cases:
            done = run("--data", away, "--open", path, "--as", "K12")
            self.assertEqual((done.returncode, len(done.stderr.splitlines())), (1, 1),
                             (path, done.stdout, done.stderr))
            self.assertRegex(done.stderr, said, path)
            self.assertEqual(tree(away), before, path)

    @staticmethod
    def bomb():
        """A file of 600 MB of nothing, in a few hundred kB."""
        out = io.BytesIO()
        with gzip.GzipFile(fileobj=out, mode="wb", compresslevel=1) as file:
            member = tarfile.TarInfo("manifest.json")
            member.size = 600 << 20
            file.write(member.tobuf())
            for _ in range(16):
                file.write(bytes(1 << 20))
        return out.getvalue()

    def test_words(self):
        for words, code in (((), 2), (("--person", "P001", "--open", "x"), 2),
                            (("--person", "P001", "--as", "K1"), 2),
                            (("--person", "Jane Doe"), 2), (("extra",), 2),
                            (("--person", "NONE"), 1),
                            (("--person", "P001", "--out", self.bundle), 1)):
            done = run("--data", self.record, *words)
            self.assertEqual((done.returncode, len(done.stderr.splitlines())), (code, 1),
                             (words, done.stderr))
        said = run("--list", self.bundle).stdout
        self.assertIn("sessions.csv", said)
        self.assertIn("A bundle of P001", said)


if __name__ == "__main__":
    os.makedirs(WORK, exist_ok=True)
    unittest.main(argv=sys.argv[:1], verbosity=2)
