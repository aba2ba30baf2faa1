#!/usr/bin/env python3
"""What the examples get out of an installed library is what the program writes.

Usage: test_library.py ROOT BUILD_FOLDER PREFIX PROGRAM SCENE_TOOL WORK_FOLDER
"""
import csv
import glob
import importlib.util
import math
import os
import shlex
import shutil
import subprocess
import sys
import unittest

ROOT, BUILD = (os.path.abspath(word) for word in sys.argv[1:3])
PREFIX = sys.argv[3]
PROGRAM, TOOL, WORK = (os.path.abspath(word) for word in sys.argv[4:7])
EXAMPLES = os.path.join(ROOT, "tests", "examples")
PLACE = os.path.join(WORK, "place")
THERE = PLACE + PREFIX
CLIP = os.path.join(WORK, "raise.mjpeg")
EXTRA = shlex.split(os.environ.get("EXTRA_FLAGS", ""))
# The mean of what was rounded to three decimals.
ROUNDED = 0.0005 + 1e-9


def run(*words, **more):
    done = subprocess.run(words, capture_output=True, text=True, timeout=300, **more)
    if done.returncode:
        raise AssertionError(f"{words[0]}: {done.stderr}")
    return done.stdout


def under_sanitizer():
    """A program that was built without a sanitizer has to load it first."""
    if not EXTRA:
        return {}
    libraries = [run("cc", "-print-file-name=lib" + name + ".so").strip()
                 for name in ("asan", "ubsan")]
    # What Python itself keeps until it ends is not the library's.
    return {"LD_PRELOAD": " ".join(libraries),
            "ASAN_OPTIONS": os.environ.get("ASAN_OPTIONS", "") + ":detect_leaks=0"}


def install():
    shutil.rmtree(PLACE, ignore_errors=True)
    run("meson", "install", "-C", BUILD, "--no-rebuild", "--destdir", PLACE)
    description = glob.glob(THERE + "/**/omogon.pc", recursive=True)[0]
    env = dict(os.environ, PKG_CONFIG_PATH=os.path.dirname(description))

    def flags(*words):
        return shlex.split(run("pkg-config", f"--define-variable=prefix={THERE}", *words,
                               "omogon", env=env))

    run(*shlex.split(os.environ.get("CC", "cc")), *EXTRA, "-std=c17", "-Wall", "-Wextra",
        "-Werror", os.path.join(EXAMPLES, "angles.c"), *flags("--cflags", "--libs"),
        "-o", os.path.join(WORK, "angles"))
    return flags("--variable=libdir")[0]


def traced():
    """What the program writes of the clip: frames, and the row of the whole."""
    out = os.path.join(WORK, "out")
    shutil.rmtree(out, ignore_errors=True)
    run(PROGRAM, "trace", CLIP, "-m", "flexion", "-s", "right", "--out", out)
    tables = []
    for name in ("raise.trace.csv", "sessions.csv"):
        with open(os.path.join(out, name), encoding="utf-8", newline="") as file:
            tables.append(list(csv.DictReader(file)))
    return tables[0], tables[1][0]


ARRAYS = """
import json, numpy, sys
sys.path.insert(0, sys.argv[1])
import angles
def cells(array):
    return [None if numpy.isnan(x) else float(x) for x in array]
angle = angles.Series(sys.argv[2], movement="flexion", side="right")["angle_deg"]
assert not angle.flags.writeable and angle[10:20].sum() == angle[10:20].copy().sum()
series = angles.Series(sys.argv[2], movement="flexion", side="right", start=1, end=2)
assert 0 < len(series) < len(angle) and series["time_s"][0] >= 1
series = angles.Series(sys.argv[2], movement="flexion", side="right")
assert numpy.array_equal(series["angle_deg"], angle, equal_nan=True)
for wrong in ({"movement": "flexion"}, {"movement": "waving", "side": "right"},
              {"movement": "flexion", "side": "right", "hat": "on"},
              {"movement": "flexion", "side": "right", "cutoff": "99"},
              {"movement": "flexion", "side": "right", "position": "prone"},
              {"movement": "flexion", "side": "right", "from": "behind"}):
    try:
        angles.Series(sys.argv[2], **wrong)
        raise AssertionError(wrong)
    except ValueError:
        pass
try:
    series["no-such"]
    raise AssertionError("a column that is none")
except KeyError:
    pass
json.dump({"columns": {name: cells(series[name]) for name in series.columns()},
           "words": {name: series.words(name) for name in ("quality", "reference")},
           "figures": {name: series.figure(name) for name in sys.argv[3].split(",")},
           "note": series.note()}, sys.stdout)
"""


class Library(unittest.TestCase):
    def same(self, number, cell, what):
        if number is None or math.isnan(number):
            self.assertEqual(cell, "", what)
        else:
            self.assertLessEqual(abs(number - float(cell)), ROUNDED, what)

    def test_c(self):
        out = run(os.path.join(WORK, "angles"), CLIP, "flexion", "right", env=ENV)
        lines = list(csv.DictReader(out.splitlines()))
        self.assertEqual(len(lines), len(TRACE))
        for got, want in zip(lines, TRACE):
            self.same(float(got["time_s"]), want["time_s"], want)
            self.assertEqual((got["angle_deg"], got["quality"]),
                             (want["angle_deg"], want["quality"]))

    def test_c_says_what_is_wrong(self):
        for words, said in [((CLIP, "flexion"), "usage"), ((CLIP, "waving", "left"), "waving"),
                            (("none.mp4", "flexion", "left"), "none.mp4")]:
            done = subprocess.run([os.path.join(WORK, "angles"), *words], capture_output=True,
                                  text=True, env=ENV, timeout=60)
            self.assertIn(done.returncode, (1, 2))
            self.assertIn(said, done.stderr)
            self.assertEqual(len(done.stderr.splitlines()), 1)

    def test_python(self):
        figures = [name for name in ROW if ROW[name] and name.endswith(("_deg", "_ratio"))]
        out = run("/usr/bin/python3", "-c", ARRAYS, EXAMPLES, CLIP,
                  ",".join(figures + ["repetitions", "pain_before"]),
                  env=dict(ENV, **under_sanitizer(), OMOGON_LIBRARY=LIBRARY))
        import json
        got = json.loads(out)
        numbers = [name for name in TRACE[0] if name not in ("quality", "reference")]
        self.assertEqual(list(got["columns"]), numbers)
        for name in numbers:
            for number, row in zip(got["columns"][name], TRACE, strict=True):
                self.same(number, row[name], name)
        for name, words in got["words"].items():
            self.assertEqual(words, [row[name] for row in TRACE])
        for name in figures:
            self.same(got["figures"][name], ROW[name], name)
        self.assertEqual(got["figures"]["repetitions"], float(ROW["repetitions"]))
        self.assertTrue(math.isnan(got["figures"]["pain_before"]))
        self.assertEqual(got["note"], ROW["note"])

    def test_python_as_a_program(self):
        out = run("/usr/bin/python3", os.path.join(EXAMPLES, "angles.py"), CLIP, "flexion",
                  "right", env=dict(ENV, **under_sanitizer(), OMOGON_LIBRARY=LIBRARY))
        self.assertIn(f"highest {ROW['max_deg']} degrees", out)


if __name__ == "__main__":
    os.makedirs(WORK, exist_ok=True)
    libdir = install()
    LIBRARY = os.path.join(libdir, "libomogon.so.0")
    ENV = dict(os.environ, LD_LIBRARY_PATH=libdir,
               OMOGON_MODELS=os.path.join(THERE, "share", "omogon", "models"))
    run(TOOL, "-", CLIP, "width=640", "height=360", "seconds=8")
    TRACE, ROW = traced()
    unittest.main(argv=sys.argv[:1], verbosity=2)
