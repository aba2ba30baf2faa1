"""How the tests of the program call it, and what it wrote.

A test's own arguments are: PROGRAM SCENE_TOOL WORK_FOLDER. Clips are rendered by the scene
tool and packed by the ffmpeg command line.
"""
import csv
import os
import shutil
import subprocess
import sys
import unittest

import rendered

PROGRAM, TOOL, WORK = (os.path.abspath(word) for word in sys.argv[1:4])

TRACE_HEADER = ["frame", "time_s", "angle_deg", "angle_raw_deg", "angle_image_deg",
                "angle_vertical_deg", "elbow_flexion_deg", "trunk_lean_deg", "hike_ratio",
                "hike_mm", "reference", "quality", "picture_width_px", "picture_height_px"]
for role in ("shoulder", "elbow", "wrist", "hip", "chest", "acromion"):
    TRACE_HEADER += [f"{role}_x_px", f"{role}_y_px", f"{role}_diameter_px", f"{role}_seen"]
SESSION_HEADER = (
    "id,person,visit,started,movement,side,source,position,mode,view,arms,placement,"
    "reference,max_deg,max_u95_deg,held_max_deg,mean_of_maxima_deg,max_before_hike_deg,"
    "rest_deg,repetitions,hike_at_max_ratio,lean_at_max_deg,trunk_rest_offset_deg,"
    "pivot_offset_ratio,plane_turn_deg,rotation_at_abduction_deg,pain_before,pain_at_max,"
    "pain_after,pain_onset_deg,pain_end_deg,stopped_by,end_feel,rater,set_up,seen_ratio,"
    "frames_per_second,trace,version,status,replaces,note").split(",")


def run(*words, env=None, cwd=None):
    full = dict(os.environ)
    full.update(env or {})
    return subprocess.run([PROGRAM, *words], capture_output=True, text=True, env=full,
                          cwd=cwd or WORK, timeout=300)


def rows(folder):
    with open(os.path.join(folder, "sessions.csv"), encoding="utf-8", newline="") as f:
        return list(csv.DictReader(f))


def trace(folder, name):
    with open(os.path.join(folder, name), encoding="utf-8", newline="") as f:
        return list(csv.DictReader(f))


def render(name, **settings):
    """Renders the plain scene with some settings; (mjpeg path, truth rows)."""
    words = [f"{k}={v}" for k, v in settings.items()]
    clip = rendered.once(
        WORK, name + ".mjpeg", ["scene", *words],
        lambda path: subprocess.run([TOOL, "-", path, *words], check=True,
                                    capture_output=True))
    with open(clip + ".truth.csv", encoding="utf-8") as f:
        return clip, list(csv.DictReader(f))


def pack(source, name, *options):
    """Packs rendered pictures into a container; `options` go before the output."""
    return rendered.once(
        WORK, name, ["packed", os.path.basename(os.path.dirname(source)), name, *options],
        lambda path: subprocess.run(["ffmpeg", "-v", "error", "-y", "-framerate", "30", "-i",
                                     source, *options, path], check=True))


def fresh(name):
    folder = os.path.join(WORK, "record-" + name)
    shutil.rmtree(folder, ignore_errors=True)
    return folder


def contents(folder):
    found = {}
    for name in os.listdir(folder):
        with open(os.path.join(folder, name), "rb") as f:
            found[name] = f.read()
    return found


def sustained_max(points):
    """The rule for maxima over (time, angle): largest a held for 0.2 s, gaps < 0.1 s."""
    best = float("nan")
    for i in range(len(points)):
        low = points[i][1]
        for k in range(i + 1, len(points)):
            if points[k][0] - points[k - 1][0] > 0.1:
                break
            low = min(low, points[k][1])
            if points[k][0] - points[i][0] >= 0.2 - 1e-9:
                best = low if not best > low else best
                break
    return best


def image_max(frames):
    """The highest angle before any correction, by the rule of maxima."""
    return sustained_max([(float(f["time_s"]), float(f["angle_image_deg"]))
                          for f in frames if f["angle_image_deg"]])


FLEXION = ("--movement", "flexion", "--side", "right")
TURN = ["--movement", "external-rotation", "--side", "right"]
BANDS = ["--colours", "bands"]


def main():
    """Runs the calling file's tests in an empty folder."""
    shutil.rmtree(WORK, ignore_errors=True)
    os.makedirs(WORK, exist_ok=True)
    unittest.main(argv=sys.argv[:1], verbosity=2)
