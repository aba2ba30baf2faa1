#!/usr/bin/env python3
"""The bench check on paper: true sizes, text that is text, and the sheet and the form that
are kept in assets.

    test_bench_paper.py PROGRAM ROOT WORK_FOLDER
"""
import csv
import math
import os
import re
import shutil
import subprocess
import sys

import numpy as np
from scipy import ndimage

program, root, work = map(os.path.abspath, sys.argv[1:4])
ENVIRONMENT = {**os.environ, "LC_ALL": "C.UTF-8", "LANGUAGE": ""}
DPI = 300
MM = DPI / 25.4
RULER_MM = 0.2
# A tick of 0.15 mm is 1.8 dots; half a dot at the edge is 0.03 degrees.
TICK_DEG = 0.06
SETS, YAWS = (30, 60, 90, 120, 150), (0, 15, 30)


def run(*words, env=ENVIRONMENT):
    return subprocess.run([program, *words], cwd=work, env=env, capture_output=True,
                          text=True, timeout=600)


def tool(*words):
    return subprocess.run(words, capture_output=True, text=True, check=True).stdout


def flowing(path, *pages):
    return re.sub(r"\s+", " ", tool("pdftotext", *pages, path, "-"))


def picture(path, page, dpi=DPI):
    stem = os.path.join(work, "page")
    subprocess.run(["pdftoppm", "-gray", "-r", str(dpi), "-f", str(page), "-l", str(page),
                    "-singlefile", path, stem], check=True)
    with open(stem + ".pgm", "rb") as file:
        data = file.read()
    width, height = map(int, re.match(rb"P5\s+(\d+)\s+(\d+)\s+\d+\s", data).groups())
    return np.frombuffer(data[-width * height:], np.uint8).reshape(height, width)


def sheets_are_made():
    for name, words in (("a4.pdf", ()), ("letter.pdf", ("--paper", "letter")),
                        ("left.pdf", ("--side", "left"))):
        done = run("stickers", "--bench-check", "--out", name, *words)
        assert done.returncode == 0, done.stderr
        told = tool("pdfinfo", os.path.join(work, name))
        assert re.search(r"Pages:\s+4\b", told) and "Bench check" in told, told
        assert "CreationDate" not in told
        checked = subprocess.run(["qpdf", "--check", os.path.join(work, name)],
                                 capture_output=True, text=True)
        assert checked.returncode == 0, checked.stdout + checked.stderr
    done = run("stickers", "--bench-check")
    assert done.returncode == 0 and os.path.exists(os.path.join(work, "bench-check.pdf"))
    assert "bench-check.pdf" in done.stdout


def rulers_are_100_mm():
    for name in ("a4.pdf", "letter.pdf"):
        for page in (1, 2):
            dark = picture(os.path.join(work, name), page) < 100
            longest = 0
            for row in dark[int(0.85 * dark.shape[0]):]:
                edges = np.flatnonzero(np.diff(np.concatenate(([0], row, [0]))))
                longest = max(longest, (edges[1::2] - edges[::2]).max(initial=0))
            assert abs(longest / MM - 100) < RULER_MM, (name, page, longest / MM)


def hinge_of(gray, side):
    """The cross: where the trunk's line, the longest upright, meets the short level one."""
    dark = gray < 128
    columns = np.flatnonzero(dark[int(45 * MM):int(230 * MM)].mean(axis=0) > 0.8)
    x = columns.mean()
    beside = dark[:, int(x - 3 * MM) if side > 0 else int(x + 3 * MM)]
    rows = np.flatnonzero(beside[int(120 * MM):int(160 * MM)]) + int(120 * MM)
    return x, rows.mean()


def ticks_stand_at_their_angles():
    """The picture is read along a circle near the outer edge, where every tick crosses."""
    for name, side in (("a4.pdf", 1), ("letter.pdf", 1), ("left.pdf", -1)):
        gray = picture(os.path.join(work, name), 1, 600)
        scale = 600 / DPI
        x, y = hinge_of(gray[::2, ::2], side)
        x, y = scale * x + 0.5, scale * y + 0.5
        degrees = np.arange(0.5, 179.5, 0.005)
        for radius in (92, 93.5):
            turn = np.radians(degrees)
            at = [y + radius * MM * scale * np.cos(turn),
                  x + side * radius * MM * scale * np.sin(turn)]
            ink = 255 - ndimage.map_coordinates(gray.astype(float), at, order=1)
            labels, count = ndimage.label(ink > 90)
            found = ndimage.center_of_mass(ink, labels, range(1, count + 1))
            found = degrees[0] + 0.005 * np.array(found)[:, 0]
            assert count == 179, (name, radius, count)
            worst = np.abs(found - np.arange(1, 180)).max()
            assert worst < TICK_DEG, (name, radius, worst)
        print("%s: 179 ticks within %.3f degrees" % (name, worst))


def turn_lines_have_their_angles():
    gray = picture(os.path.join(work, "a4.pdf"), 2)
    dark = gray < 128
    middle = 105 * MM
    # On two upright cuts left and right of the lines' cross.
    for cut_mm in (35, 55):
        heights = []
        for side in (-1, 1):
            labels, count = ndimage.label(dark[int(155 * MM):int(255 * MM),
                                               int(round(middle + side * cut_mm * MM))])
            assert count == 5, (cut_mm, side, count)
            heights.append([np.flatnonzero(labels == k + 1).mean() for k in range(count)])
        for one in heights:
            angles = np.degrees(np.arctan2(np.array(one) - one[2], cut_mm * MM))
            assert np.abs(angles - [-30, -15, 0, 15, 30]).max() < 0.15, angles


def text_is_text_and_stays_on_the_page():
    german = {**ENVIRONMENT, "LANGUAGE": "de"}
    for name, words in (("german.pdf", ()), ("german-letter.pdf", ("--paper", "letter"))):
        assert run("stickers", "--bench-check", "--out", name, *words,
                   env=german).returncode == 0
    assert "Winkelmesser" in flowing(os.path.join(work, "german.pdf"))
    text = flowing(os.path.join(work, "a4.pdf"))
    left = flowing(os.path.join(work, "left.pdf"))
    assert left.count("--side left") == 2 and "--side right" not in left
    assert text.count("--side right") == 2
    for part in ("omogon check --bench bench-check.csv", "elbow 310 mm and wrist 560 mm",
                 "chest 170 mm and hip 490 mm", "says nothing about stickers"):
        assert part in text, part
    for name in ("a4.pdf", "letter.pdf", "left.pdf", "german.pdf", "german-letter.pdf"):
        boxes = tool("pdftotext", "-bbox", os.path.join(work, name), "-")
        for page in boxes.split("<page ")[1:]:
            width, height = map(float, re.match(r'width="([\d.]+)" height="([\d.]+)"',
                                                page).groups())
            words = np.array([tuple(map(float, w)) for w in
                              re.findall(r'<word xMin="([-\d.]+)" yMin="([-\d.]+)" '
                                         r'xMax="([-\d.]+)" yMax="([-\d.]+)">', page)])
            assert len(words) > 20
            assert words[:, 0].min() >= 12 and words[:, 2].max() <= width - 12, name
            assert words[:, 1].min() >= 12 and words[:, 3].max() <= height - 8, name
            slack = 0.3 * (words[:, 3] - words[:, 1])
            for i, (left, top, right, bottom) in enumerate(words):
                meets = ((words[:, 0] < right - 0.3) & (words[:, 2] > left + 0.3) &
                         (words[:, 1] + slack < bottom - slack[i]) &
                         (words[:, 3] - slack > top + slack[i]))
                assert meets.sum() == 1, (name, words[meets])


def form_rows(path):
    with open(path, encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def form_and_table_ask_for_the_same():
    table = form_rows(os.path.join(root, "assets", "bench-check.csv"))
    want = [(s, y) for y in YAWS for s in SETS]
    assert [(float(r["set_deg"]), float(r["yaw_deg"])) for r in table] == want
    assert all(r["clip"] == "" for r in table), "the form is not unfilled"
    page = flowing(os.path.join(work, "a4.pdf"), "-f", "4", "-l", "4")
    numbers = []
    for s, y in want:
        a, p = math.radians(s), math.radians(y)
        numbers.append("%d %d %.1f" % (y, s, math.degrees(
            math.atan2(math.sin(a) * math.cos(p), math.cos(a)))))
    assert all(n in page for n in numbers), page


def sheet_in_assets_is_what_the_program_makes():
    kept, made = os.path.join(root, "assets", "bench-check.pdf"), os.path.join(work, "a4.pdf")
    assert flowing(kept) == flowing(made), "assets/bench-check.pdf is old: make it again"
    for page in (1, 2, 3, 4):
        a, b = (picture(p, page, 75).astype(int) for p in (kept, made))
        assert np.abs(a - b).mean() < 0.5, "page %d differs" % page


def main():
    shutil.rmtree(work, ignore_errors=True)
    os.makedirs(work)
    for step in (sheets_are_made, rulers_are_100_mm, ticks_stand_at_their_angles,
                 turn_lines_have_their_angles, form_and_table_ask_for_the_same,
                 text_is_text_and_stays_on_the_page,
                 sheet_in_assets_is_what_the_program_makes):
        step()
        print("ok: " + step.__name__.replace("_", " "), flush=True)


main()
