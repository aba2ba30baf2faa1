#!/usr/bin/env python3
"""The printed sheet: true sizes, true colours, real text, and a finder that is not fooled
by rim and letters.

    test_stickers.py PROGRAM CENTROID_PROGRAM ROOT WORK_FOLDER
"""
import os
import re
import shutil
import subprocess
import sys

import numpy as np
from scipy import ndimage

program, centroid, root, work = map(os.path.abspath, sys.argv[1:5])
DPI = 300
MM = DPI / 25.4
# The colours of models/markers-default.ini.
COLOURS = {"S": (40, 170, 70), "E": (45, 60, 200), "W": (215, 30, 130),
           "H": (20, 175, 205)}
# What a sheet may be off and still count as true: of 100 mm and of a disc.
RULER_MM = DISC_MM = 0.2
ENVIRONMENT = {**os.environ, "LC_ALL": "C.UTF-8", "LANGUAGE": ""}


def run(*words, cwd=work, env=ENVIRONMENT):
    return subprocess.run([program, "stickers", *words], cwd=cwd, env=env,
                          capture_output=True, text=True)


def make(name, *words):
    path = os.path.join(work, name)
    done = run("--out", path, *words)
    assert done.returncode == 0, (words, done.stdout, done.stderr)
    return path


def tool(*words):
    return subprocess.run(words, capture_output=True, text=True, check=True).stdout


def picture(path, page, dpi=DPI):
    """A page of a PDF as an array of RGB."""
    stem = os.path.join(work, "page")
    subprocess.run(["pdftoppm", "-r", str(dpi), "-f", str(page), "-l", str(page),
                    "-singlefile", path, stem], check=True)
    with open(stem + ".ppm", "rb") as file:
        data = file.read()
    kind, width, height, _ = re.match(rb"(P6)\s+(\d+)\s+(\d+)\s+(\d+)\s", data).groups()
    pixels = np.frombuffer(data[-int(width) * int(height) * 3:], np.uint8)
    return pixels.reshape(int(height), int(width), 3)


def like(page, colour):
    """Where a page has a colour."""
    mask = np.ones(page.shape[:2], bool)
    for k in range(3):
        mask &= np.abs(page[:, :, k].astype(np.int16) - colour[k]) <= 3
    return mask


def patches(page):
    """[(colour, rows, columns, mask)] of the connected patches in a sticker's colour."""
    found = []
    for colour in set(COLOURS.values()):
        labels, _ = ndimage.label(like(page, colour))
        for k, (rows, columns) in enumerate(ndimage.find_objects(labels)):
            if (rows.stop - rows.start) < 10 * MM:
                continue
            found.append((colour, rows, columns, labels[rows, columns] == k + 1))
    return found


def check_paper(path, pages, width_pt, height_pt):
    told = tool("pdfinfo", path)
    assert re.search(r"Pages:\s+%d\b" % pages, told), told
    size = re.search(r"Page size:\s+([\d.]+) x ([\d.]+) pts", told).groups()
    assert abs(float(size[0]) - width_pt) < 0.1 and abs(float(size[1]) - height_pt) < 0.1
    # No date of making: the same sheet is the same file.
    assert "CreationDate" not in told, told
    checked = subprocess.run(["qpdf", "--check", path], capture_output=True, text=True)
    assert checked.returncode == 0, checked.stdout + checked.stderr


def paper_has_the_size_asked_for_and_is_sound():
    check_paper(make("a4.pdf"), 3, 595.276, 841.890)
    check_paper(make("letter.pdf", "--paper", "letter"), 3, 612, 792)
    check_paper(make("bands.pdf", "--bands"), 4, 595.276, 841.890)
    # Discs of 50 mm need a second page of stickers.
    check_paper(make("large.pdf", "--size", "50", "--paper", "letter"), 4, 612, 792)


def discs_have_their_size_and_colour_and_suffice():
    for size, paper in ((30, "a4"), (25, "letter"), (40, "a4"), (50, "letter")):
        path = make("size.pdf", "--size", str(size), "--paper", paper, "--force")
        pages = int(re.search(r"Pages:\s+(\d+)", tool("pdfinfo", path)).group(1)) - 2
        counts = {}
        for page in range(1, pages + 1):
            for colour, rows, columns, mask in patches(picture(path, page)):
                wide, high = columns.stop - columns.start, rows.stop - rows.start
                area = 2 * np.sqrt(mask.sum() / np.pi)
                # The outermost pixels are mixed with the rim: half a pixel each side.
                for across in (wide + 1, high + 1, area + 1):
                    assert abs(across / MM - size) < DISC_MM, (size, across / MM)
                counts[colour] = counts.get(colour, 0) + 1
        # A shoulder's set twice; the chest takes the hip's colour.
        assert counts[COLOURS["S"]] >= 2 and counts[COLOURS["E"]] >= 2, counts
        assert counts[COLOURS["W"]] >= 2 and counts[COLOURS["H"]] >= 4, counts
        assert sum(counts.values()) >= 12, counts
        print("%d mm on %s: %d discs" % (size, paper, sum(counts.values())))


def each_disc_is_one_colour_within_a_dark_rim():
    page = picture(os.path.join(work, "a4.pdf"), 1)
    found = patches(page)
    assert len(found) >= 12
    for colour, rows, columns, mask in found:
        assert ndimage.binary_fill_holes(mask).sum() == mask.sum(), "a hole in the colour"
        y, x = (rows.start + rows.stop - 1) / 2, (columns.start + columns.stop - 1) / 2
        radius = (rows.stop - rows.start) / 2
        for turn in np.linspace(0, 2 * np.pi, 72, endpoint=False):
            at = [int(round(v)) for v in (y + (radius + 0.7 * MM) * np.sin(turn),
                                          x + (radius + 0.7 * MM) * np.cos(turn))]
            assert page[at[0], at[1]].max() < 40, "the rim is not dark all round"


def the_ruler_is_100_mm(path, page):
    dark = picture(path, page).max(axis=2) < 100
    foot = dark[int(0.85 * dark.shape[0]):]
    longest = 0
    for row in foot:
        edges = np.flatnonzero(np.diff(np.concatenate(([0], row.astype(int), [0]))))
        runs = edges[1::2] - edges[::2]
        longest = max(longest, runs.max(initial=0))
    assert abs(longest / MM - 100) < RULER_MM, longest / MM
    return longest / MM


def rulers_are_100_mm():
    for name in ("a4.pdf", "letter.pdf", "bands.pdf", "large.pdf"):
        path = os.path.join(work, name)
        pages = int(re.search(r"Pages:\s+(\d+)", tool("pdfinfo", path)).group(1)) - 2
        for page in range(1, pages + 1):
            print("%s page %d: ruler of %.2f mm" %
                  (name, page, the_ruler_is_100_mm(path, page)))


def bands_have_their_width_and_the_trunk_its_discs():
    path = os.path.join(work, "bands.pdf")
    strips, discs = {}, {}
    for page in (1, 2):
        for colour, rows, columns, _ in patches(picture(path, page)):
            wide, high = columns.stop - columns.start, rows.stop - rows.start
            assert abs((wide + 1) / MM - 30) < DISC_MM, (wide + 1) / MM
            of = strips if high > 3 * wide else discs
            of[colour] = of.get(colour, 0) + 1
            if high > 3 * wide:
                assert high / MM > 200, "a strip is too short to go round a wrist"
    assert strips == {COLOURS["S"]: 2, COLOURS["E"]: 2, COLOURS["W"]: 1}, strips
    assert set(discs) == {COLOURS["H"]} and discs[COLOURS["H"]] >= 4, discs


def acromion_stickers_are_printed_where_the_set_has_them():
    colour = (140, 50, 205)  # models/markers-bands-acromion.ini
    path = make("acromion.pdf", "--bands", "--colours", "bands-acromion")
    counts = [int(ndimage.label(ndimage.binary_opening(
        like(picture(path, page, 100), colour), iterations=20))[1]) for page in (1, 2)]
    assert sum(counts) >= 2, counts
    for path in (path, make("acromion-discs.pdf", "--colours", "acromion", "--size",
                            "25")):
        text = flowing(path)
        for part in ("A acromion", "on the bony edge itself, above S",
                     "front of the bony edge, above S", "A on the bony edge"):
            assert part in text, part
    letters = tool("pdftotext", "-l", "1", path, "-").split()
    assert letters.count("A") >= 8, letters
    assert "acromion" not in flowing(os.path.join(work, "a4.pdf"))


def flowing(path):
    return re.sub(r"\s+", " ", tool("pdftotext", path, "-"))


def text_is_text():
    text = flowing(os.path.join(work, "a4.pdf"))
    for sentence in ("This line must be exactly 100 mm long; print at 100 %, not fitted to "
                     "the page.",
                     "Where the stickers go: your right side", "Seen from the front",
                     "Seen from the side", "notch at the top of the breastbone",
                     "Alone, with one stiff arm", "Stop at pain.", "plaster allergy",
                     "wear bands over a", "not a medical device",
                     "ask a licensed practitioner", "bony edge", "hip bone"):
        assert sentence in text, sentence
    letters = tool("pdftotext", "-l", "1", os.path.join(work, "a4.pdf"), "-").split()
    for letter in "SEWHC":
        assert letters.count(letter) >= 8, (letter, letters)
    assert not re.search(r"\bnormal|diagnos", text, re.IGNORECASE)
    assert "your left side" in flowing(make("left.pdf", "--side", "left"))
    bands = flowing(os.path.join(work, "bands.pdf"))
    assert bands.count("tab:") == 5
    for sentence in ("round the upper arm, close under the armpit", "round the wrist",
                     "Close each band to a loop"):
        assert sentence in bands, sentence


def no_text_leaves_the_page_or_meets_another():
    german = {**ENVIRONMENT, "LANGUAGE": "de"}
    for name, words in (("german.pdf", ()),
                        ("german-bands.pdf", ("--bands", "--paper", "letter")),
                        ("german-acromion.pdf", ("--colours", "acromion"))):
        done = run("--out", name, *words, env=german)
        assert done.returncode == 0, done.stderr
        assert "Schulter" in flowing(os.path.join(work, name))
    for name in ("a4.pdf", "letter.pdf", "bands.pdf", "large.pdf", "german.pdf",
                 "german-bands.pdf", "acromion.pdf", "german-acromion.pdf"):
        path = os.path.join(work, name)
        boxes = tool("pdftotext", "-bbox", path, "-")
        for page in boxes.split("<page ")[1:]:
            width, height = map(float, re.match(r'width="([\d.]+)" height="([\d.]+)"',
                                                page).groups())
            words = [tuple(map(float, w)) for w in
                     re.findall(r'<word xMin="([-\d.]+)" yMin="([-\d.]+)" '
                                r'xMax="([-\d.]+)" yMax="([-\d.]+)">', page)]
            assert len(words) > 20
            for left, top, right, bottom in words:
                assert 12 <= left and right <= width - 12, (name, left, right)
                assert 12 <= top and bottom <= height - 8, (name, top, bottom)
            words = np.array(words)
            # Boxes are as high as a line; ink is within their middle.
            slack = 0.3 * (words[:, 3] - words[:, 1])
            for i, (left, top, right, bottom) in enumerate(words):
                meets = ((words[:, 0] < right - 0.3) & (words[:, 2] > left + 0.3) &
                         (words[:, 1] + slack < bottom - slack[i]) &
                         (words[:, 3] - slack > top + slack[i]))
                assert meets.sum() == 1, (name, words[meets])


def the_other_body_and_side_change_the_pictures_only():
    plain = picture(os.path.join(work, "a4.pdf"), 2, 60)
    path = make("modest.pdf", "--modest")
    modest = picture(path, 2, 60)
    assert (plain != modest).any(axis=2).mean() > 0.01
    assert flowing(path) == flowing(os.path.join(work, "a4.pdf"))


def the_same_call_gives_the_same_file():
    for name in ("again.pdf", "again.svg", "again.png"):
        first = open(make(name), "rb").read()
        second = open(make(name, "--force"), "rb").read()
        assert first == second, name


def pictures_say_how_large_they_are():
    with open(os.path.join(work, "again.png"), "rb") as file:
        data = file.read()
    at = data.index(b"pHYs")
    assert at < data.index(b"IDAT")
    dots = int.from_bytes(data[at + 4:at + 8], "big")
    assert dots == round(DPI / 0.0254) and data[at + 12] == 1
    assert int.from_bytes(data[16:20], "big") == round(210 * MM)
    with open(os.path.join(work, "again.svg"), encoding="utf-8") as file:
        head = file.read(600)
    width = float(re.search(r'width="([\d.]+)pt"', head).group(1))
    assert abs(width - 595.276) < 0.01, head
    for page in ("again-2.png", "again-3.svg"):
        assert os.path.getsize(os.path.join(work, page)) > 1000


# ---- the finder on what is printed ----

def centre_of_a_printed_disc_is_found():
    """A printed disc on skin, seen at 20 px across: rim, letters and cut line included."""
    dpi = 600
    page = picture(os.path.join(work, "a4.pdf"), 1, dpi)
    # Skin and a wall, so that whatever lies beyond the cut line has a colour too.
    skin = np.array([205.0, 155.0, 130.0])
    fine = dpi / 25.4 * 30 / 20  # picture dots a pixel
    rng = np.random.default_rng(20261125)
    cut = (30 / 2 + 6) * dpi / 25.4
    worst = 0.0
    for letter, colour in COLOURS.items():
        labels, _ = ndimage.label(like(page, colour))
        spots = [s for s in ndimage.find_objects(labels)
                 if s[0].stop - s[0].start > 10 * dpi / 25.4]
        y, x = (np.mean([s.start, s.stop - 1]) for s in spots[0])
        # A piece around it is enough, and all of the sheet as numbers is much.
        top, left, half = int(y), int(x), int(40 * fine)
        piece = page[max(top - half, 0):top + half, max(left - half, 0):left + half]
        piece = piece.astype(float)
        y, x = y - max(top - half, 0), x - max(left - half, 0)
        planes, truth = [], []
        for _ in range(8):
            where = 30 + rng.random(2)
            count = 64
            step = np.arange(count * 8) / 8 - 0.4375  # eight samples a pixel
            rows = (step - where[1]) * fine + y
            columns = (step - where[0]) * fine + x
            grid = np.meshgrid(rows, columns, indexing="ij")
            seen = np.stack([ndimage.map_coordinates(piece[:, :, c], grid, order=1,
                                                     mode="nearest") for c in range(3)], 2)
            outside = np.hypot(grid[0] - y, grid[1] - x) > cut
            seen[outside] = skin
            seen = seen.reshape(count, 8, count, 8, 3).mean(axis=(1, 3))
            red, green, blue = seen[..., 0], seen[..., 1], seen[..., 2]
            cb = 128 - 0.168736 * red - 0.331264 * green + 0.5 * blue
            cr = 128 + 0.5 * red - 0.418688 * green - 0.081312 * blue
            planes.append(np.rint(cb).astype(np.uint8).tobytes() +
                          np.rint(cr).astype(np.uint8).tobytes())
            truth.append(where)
        out = subprocess.run([centroid, "64", "64", *map(str, colour)],
                             input=b"".join(planes), stdout=subprocess.PIPE, check=True)
        lines = out.stdout.decode().split("\n")[:8]
        for line, where in zip(lines, truth):
            seen, found_x, found_y = line.split()
            assert seen == "1", "the %s disc is not found" % letter
            off = max(abs(float(found_x) - where[0]), abs(float(found_y) - where[1]))
            worst = max(worst, off)
            assert off < 0.1, (letter, line, where)
    print("centre of a printed disc, 20 px across: off by %.3f px at most" % worst)


# ---- mistakes ----

def refuses(code, part, *words, **how):
    done = run(*words, **how)
    assert done.returncode == code, (words, done.returncode, done.stderr)
    assert part in done.stderr and done.stderr.count("\n") == 1, (words, done.stderr)


def mistakes_are_told_in_one_sentence():
    for size in ("24", "51", "big", "", "nan"):
        refuses(2, "25 to 50", "--size", size, "--out", "never.pdf")
    refuses(2, "a4 or letter", "--paper", "a3", "--out", "never.pdf")
    refuses(2, "left or right", "--side", "both", "--out", "never.pdf")
    refuses(2, "no ending that is known", "--out", "never.doc")
    refuses(2, "goes after --out", "never.pdf")
    refuses(2, "nothere", "--colours", "nothere", "--out", "never.pdf")
    refuses(2, "--wrong", "--wrong")
    refuses(1, "exists", "--out", "a4.pdf")
    os.makedirs(os.path.join(work, "folder.pdf"), exist_ok=True)
    refuses(1, "is a folder", "--out", "folder.pdf", "--force")
    refuses(1, "missing", "--out", "missing/sheet.pdf")
    # A folder nobody can write to, not even root.
    refuses(1, "nothing was saved in /proc", "--out", "/proc/sheet.pdf")
    if os.getuid() != 0:
        os.makedirs(os.path.join(work, "closed"), mode=0o500, exist_ok=True)
        refuses(1, "choose a folder that can be written to", "--out", "closed/sheet.pdf")
    # A later page in the way: nothing is written at all.
    open(os.path.join(work, "way-2.svg"), "w").close()
    refuses(1, "way-2.svg exists", "--out", "way.svg")
    assert not os.path.exists(os.path.join(work, "way.svg"))
    assert not os.path.exists(os.path.join(work, "never.pdf"))
    with open(os.path.join(work, "set.ini"), "w") as file:
        file.write("[set]\nname = short\n[shoulder]\nsrgb = 40 170 70\n")
    refuses(2, "no colour for the elbow", "--colours", "./set.ini", "--out", "never.pdf")


def an_existing_file_survives_without_force():
    path = os.path.join(work, "kept.pdf")
    with open(path, "w") as file:
        file.write("mine")
    refuses(1, "--force", "--out", path)
    assert open(path).read() == "mine"
    make("kept.pdf", "--force")
    assert open(path, "rb").read(4) == b"%PDF"
    left = [n for n in os.listdir(work) if n.endswith(".omogon-tmp")]
    assert not left, left


def other_colours_are_printed():
    path = make("green.pdf", "--colours", "swapped")
    wanted = dict(re.findall(r"\[(\w+)\]\s*srgb = ([\d ]+)",
                             open(os.path.join(root, "models",
                                               "markers-swapped.ini")).read()))
    page = picture(path, 1, 100)
    for role, colour in wanted.items():
        there = like(page, [int(v) for v in colour.split()])
        assert there.sum() > 2000, (role, colour)


def help_teaches():
    done = run("--help")
    assert done.returncode == 0
    for part in ("Examples:", "--size", "--bands", "100 mm", "S shoulder",
                 "not a medical device"):
        assert part in done.stdout, part


# ---- the sheet in assets ----

def the_sheet_in_assets_is_what_the_program_makes():
    kept = os.path.join(root, "assets", "stickers.pdf")
    made = os.path.join(work, "a4.pdf")
    assert flowing(kept) == flowing(made), "assets/stickers.pdf is old: make it again"
    for page in (1, 2, 3):
        a, b = (picture(p, page, 75).astype(int) for p in (kept, made))
        assert a.shape == b.shape
        assert np.abs(a - b).max(axis=2).mean() < 0.5, "page %d differs" % page


def main():
    shutil.rmtree(work, ignore_errors=True)
    os.makedirs(work)
    for step in (paper_has_the_size_asked_for_and_is_sound,
                 discs_have_their_size_and_colour_and_suffice,
                 each_disc_is_one_colour_within_a_dark_rim, rulers_are_100_mm,
                 bands_have_their_width_and_the_trunk_its_discs,
                 acromion_stickers_are_printed_where_the_set_has_them, text_is_text,
                 no_text_leaves_the_page_or_meets_another,
                 the_other_body_and_side_change_the_pictures_only,
                 the_same_call_gives_the_same_file, pictures_say_how_large_they_are,
                 centre_of_a_printed_disc_is_found, mistakes_are_told_in_one_sentence,
                 an_existing_file_survives_without_force, other_colours_are_printed,
                 help_teaches, the_sheet_in_assets_is_what_the_program_makes):
        step()
        print("ok: " + step.__name__.replace("_", " "))


main()
