#!/usr/bin/env python3
"""The report: one page, the same on paper and screen, accepted by validators that are not ours.

Usage: test_report.py PROGRAM RECORD_WRITER ROOT BUILD_FOLDER WORK_FOLDER

HTML is judged by vnu (the W3C's checker), html-validate and axe-core in Chromium; PDF by qpdf,
pdfinfo, pdffonts and pdftotext. Each has to reject a broken copy first.
"""
import base64
import csv
import datetime
import glob
import html
import html.parser
import json
import os
import re
import shutil
import subprocess
import sys
import unittest

PROGRAM, WRITER, ROOT, BUILD, WORK = (os.path.abspath(word) for word in sys.argv[1:6])
sys.path.insert(0, os.path.join(ROOT, "tests"))
import npm_tools  # noqa: E402

VERBATIM = ("A measuring and record-keeping aid. Not certified as a medical device; do not "
            "decide treatment on it alone.")
FORBIDDEN = ("normal", "abnormal", "improved", "safe", "diagnos")
PAIRS = [("flexion", "standing", "side", 96, 0.12), ("extension", "standing", "side", 30, 0.02),
         ("abduction", "standing", "front", 78, 0.1),
         ("external-rotation", "supine", "along-arm", 12, 0.05),
         ("internal-rotation", "supine", "along-arm", 30, 0.04)]

# What programs of others say of the files is the same under a sanitizer, which judges ours.
judged_once = unittest.skipIf(os.environ.get("EXTRA_FLAGS"), "judged in the plain run")


def run(*words, env=None, cwd=None, ok=True):
    done = subprocess.run(words, capture_output=True, text=True, timeout=300, cwd=cwd,
                          env=dict(os.environ, **(env or {})))
    if ok and done.returncode:
        raise AssertionError(f"{words[:3]}: {done.stdout}{done.stderr}")
    return done


def template(folder):
    """A row that the project's own writer made: columns, and what to vary."""
    path = os.path.join(WORK, "template")
    shutil.rmtree(path, ignore_errors=True)
    os.makedirs(path)
    run(WRITER, path, "flat", "0", "1", "4")
    with open(os.path.join(path, "sessions.csv"), encoding="utf-8", newline="") as file:
        reader = csv.DictReader(file)
        return reader.fieldnames, next(reader)


def record(name, days, person="P07", sides=("right", "left"), more=None, movements=PAIRS):
    """A record of an invented person, measured on these days."""
    path = os.path.join(WORK, name)
    shutil.rmtree(path, ignore_errors=True)
    os.makedirs(path)
    fields, row = template(path)
    begin = datetime.datetime(2026, 8, 5, 8, 0, 0)
    number = 0
    with open(os.path.join(path, "sessions.csv"), "w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, fields, lineterminator="\n")
        writer.writeheader()
        for day in days:
            for movement, position, view, base, slope in movements:
                for side in sides:
                    mean = (170 if side == "left" else base) + slope * day + day * 37 % 7 - 3
                    values = dict(
                        row, id=f"{number:032x}", person=person, movement=movement, side=side,
                        mode="active", position=position, view=view, arms="one", visit="V1",
                        started=(begin + datetime.timedelta(days=day)).strftime(
                            "%Y-%m-%dT%H:%M:%SZ"),
                        max_deg=f"{mean + 2.5:.3f}", mean_of_maxima_deg=f"{mean:.3f}",
                        max_before_hike_deg=f"{mean - 18:.3f}", pain_at_max="3",
                        stopped_by="stiff", set_up="", status="ok", replaces="")
                    writer.writerow({**values, **(more(number) if more else {})})
                    number += 1
    return path


def set_up(path, number):
    """Adds a set-up with an id of its own to the record, as the program reads them."""
    with open(os.path.join(ROOT, "src/record/forms.c"), encoding="utf-8") as file:
        columns = re.search(r"#define SET_UP_COLUMNS\(.*?\n((?:.*\\\n)*.*\n)", file.read())[1]
    names = re.findall(r"\b[TNC]\((\w+)", columns)
    there = os.path.join(path, "set-ups.csv")
    new = not os.path.exists(there)
    values = dict(id=f"{number:032x}", camera=f"invented camera {number}",
                  picture_width_px="1280", picture_height_px="720", colours="default",
                  version="0.1.0")
    with open(there, "a", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, names, lineterminator="\n", restval="")
        if new:
            writer.writeheader()
        writer.writerow(values)


def report(path, name, *words, env=None):
    """Both files of a report; (HTML text, PDF path, HTML path)."""
    stem = os.path.join(WORK, name)
    run(PROGRAM, "report", "--data", path, "--out", stem, "--force", *words,
        env=env or {"LC_ALL": "C.UTF-8", "LANGUAGE": "en"})
    with open(stem + ".html", encoding="utf-8") as file:
        return file.read(), stem + ".pdf", stem + ".html"


class Text(html.parser.HTMLParser):
    """The words of a page outside its figures, and whatever could fetch something."""

    def __init__(self, page):
        super().__init__()
        self.words, self.fetches, self.inside = [], [], []
        self.feed(page)

    def handle_starttag(self, tag, attributes):
        if tag not in ("meta", "br", "path", "circle"):
            self.inside.append(tag)
        for name, value in attributes:
            if name in ("src", "href", "srcset", "action", "data", "xlink:href"):
                self.fetches.append((tag, name, value))

    def handle_startendtag(self, tag, attributes):
        pass

    def handle_endtag(self, tag):
        while self.inside and self.inside.pop() != tag:
            pass

    def handle_data(self, data):
        if "svg" not in self.inside and "style" not in self.inside and data.strip():
            self.words.append(data.strip())


def words_of_pdf(path):
    """As one line, hyphens at line ends not joined, ligatures taken apart."""
    text = run("pdftotext", "-raw", path, "-").stdout
    return " ".join(text.replace("\ufb02", "fl").replace("\ufb01", "fi").split())


def german():
    """A German locale, made if the system has none."""
    if "de_DE.utf8" in run("locale", "-a").stdout.split():
        return {"LC_ALL": "de_DE.UTF-8", "LANGUAGE": "de"}
    place = os.path.join(WORK, "locales")
    os.makedirs(place, exist_ok=True)
    run("localedef", "-i", "de_DE", "-f", "UTF-8", place + "/de_DE.UTF-8", ok=False)
    return {"LC_ALL": "de_DE.UTF-8", "LANGUAGE": "de", "LOCPATH": place}


class Report(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.course = record("course", range(0, 84, 3), more=lambda n: {"set_up": "1".zfill(32)})
        set_up(cls.course, 1)
        cls.day = record("day", [80])
        cls.crowd = record(
            "crowd", range(0, 30, 3), person="P234567890123456",
            more=lambda n: {"mode": ("active", "assisted", "passive")[n % 3],
                            "set_up": f"{n % 11 + 1:032x}",
                            "stopped_by": ("stiff", "pain", "weak", "limit")[n % 4]},
            movements=PAIRS + [("adduction", "standing", "front", 30, 0),
                               ("scaption", "standing", "front", 90, 0)])
        for number in range(1, 12):
            set_up(cls.crowd, number)
        # Only what is told of the affected side is set against the other one.
        run(PROGRAM, "people", "--data", cls.course, "--person", "P07", "--add", "--affected",
            "right", "--set-by", "R1")
        run(PROGRAM, "people", "--data", cls.day, "--person", "P07", "--add", "--affected",
            "both", "--set-by", "R1")
        cls.pages = {}
        for name in ("course", "day", "crowd"):
            cls.pages[name] = report(getattr(cls, name), "report-" + name)
        cls.pages["german"] = report(cls.course, "report-german", env=german())

    def test_paper_and_screen_say_the_same(self):
        for name, (page, pdf, _) in self.pages.items():
            on_paper = words_of_pdf(pdf)
            for words in Text(page).words:
                self.assertIn(" ".join(words.split()), on_paper, f"{name}: not on paper")

    def test_nothing_is_fetched(self):
        for page, _, _ in self.pages.values():
            self.assertEqual([one for one in Text(page).fetches
                              if not one[2].startswith("data:image/jpeg;base64,")], [])
            self.assertEqual(set(re.findall(r"https?://[^\"' ]*", page)),
                             {"http://www.w3.org/2000/svg"})
            self.assertNotIn("<script", page)
            self.assertNotIn("url(", page)

    def test_the_cautions_are_there_and_no_judgement(self):
        for name in ("course", "day", "crowd"):
            page = self.pages[name][0]
            self.assertIn(VERBATIM, page)
            self.assertIn("Stop at pain", page)
            self.assertIn("no matching published range", page)
            for word in FORBIDDEN:
                self.assertNotRegex(page.lower(), rf"\b{word}")
        self.assertIn("Nicht als Medizinprodukt zertifiziert", self.pages["german"][0])
        self.assertIn('<html lang="de">', self.pages["german"][0])

    def test_figures_of_the_table(self):
        page = self.pages["course"][0]
        words = Text(page).words
        # day 81: 81 * 37 % 7 - 3 = -2, so that the mean is 96 + 0.12 * 81 - 2, and the other
        # side's 170 + 0.12 * 81 - 2 = 177.7
        at = words.index("right", words.index("arm to the front (flexion); active, standing; "
                                              "sessions: 28"))
        self.assertEqual(words[at:at + 8], ["right", "103.7", "106.2 \u00b1 3.2", "85.7",
                                            "58 %", "3", "stiff", words[at + 7]])
        self.assertRegex(words[at + 7], r"^\+.*measuring error \(")
        for name, count in (("course", len(PAIRS)), ("day", 0), ("crowd", 0)):
            told = [word for word in Text(self.pages[name][0]).words
                    if re.fullmatch(r"\d+ %", word)]
            self.assertEqual(len(told), count, name)
        # both ends at day 81: 30 + 1.62 - 2 = 29.6 and 103.7; rotations 14.05, 31.24
        self.assertIn("extension/flexion 30-0-104 (S: 30-0-104)", page)
        self.assertIn("external/internal rotation 14-0-31 (R(F90): 14-0-31)", page)
        self.assertIn("A course from 2026-08-05 to 2026-10-25.", page)
        self.assertIn("A set of one day, 2026-10-24.", self.pages["day"][0])
        self.assertEqual(self.pages["day"][0].count("<svg"), 4)

    def test_what_finds_no_room_is_named(self):
        page = self.pages["crowd"][0]
        rows = page.count("<tr>") - 1
        left = int(re.search(r"Left out for want of room: (\d+)", page)[1])
        courses = json.loads(run(PROGRAM, "progress", "--data", self.crowd, "--json").stdout)
        self.assertEqual(rows + left, len(courses))
        self.assertGreater(left, 0)
        self.assertNotIn("Left out", self.pages["day"][0])
        # Three charts of as many courses as have two sessions and more; lists of seven lines.
        without = int(re.search(r"Charts without room here: (\d+)", page)[1])
        self.assertEqual(without, sum(one["sessions"] > 1 for one in courses) - 3)
        self.assertNotIn("Charts without", self.pages["day"][0])
        for name, courses in (("crowd", len(courses)), ("day", 10), ("course", 10)):
            lines = self.lists(name)
            shown = sum("shoulder raised by" in line for line in lines["Pain and compensation"])
            missing = self.missing(lines["Pain and compensation"])
            self.assertEqual(shown + missing, courses, name)
        # Two lines of explanation, each set-up of a newest row once, three views.
        how = self.lists("crowd")["How it was measured"]
        courses = json.loads(run(PROGRAM, "progress", "--data", self.crowd, "--json").stdout)
        set_ups = {int(one["ids"][-1], 16) % 11 for one in courses}
        self.assertGreater(len(set_ups), 5)
        self.assertEqual(len([line for line in how if "without room" not in line])
                         + self.missing(how), 2 + len(set_ups) + 3)

    def lists(self, name):
        return self.lists_of(self.pages[name][0])

    def lists_of(self, page):
        """Title of a list: its lines."""
        return {re.sub("<.*?>", "", title): [html.unescape(one) for one in
                                             re.findall(r"<li>(.*?)</li>", body, re.S)]
                for title, body in re.findall(r"<h2[^>]*>(.*?)</h2>\s*<ul>(.*?)</ul>",
                                              page, re.S)}

    def missing(self, lines):
        told = [re.search(r"Further lines without room here: (\d+)", line) for line in lines]
        return sum(int(one[1]) for one in told if one)

    def test_how_it_was_measured_is_told_before_what_can_be_spared(self):
        how = self.lists("course")["How it was measured"]
        self.assertIn("Set-up: invented camera 1, 1280 x 720, markers default, omogon 0.1.0.",
                      [re.sub(r"omogon [^ ]*$", "omogon 0.1.0.", line) for line in how])
        for view in ("from the side", "from the front", "along the arm"):
            self.assertTrue(any(view in line for line in how), view)

    def test_one_page_of_paper(self):
        for name, (_, pdf, _) in self.pages.items():
            run("qpdf", "--check", pdf)
            info = run("pdfinfo", pdf).stdout
            self.assertRegex(info, r"Pages: +1\n", name)
            self.assertRegex(info, r"\(A4\)", name)
            self.assertRegex(info, r"Title: +\S", name)
            self.assertRegex(info, r"Tagged: +yes", name)
            self.assertRegex(info, r"JavaScript: +no", name)
            # What a reading aid asks for: the language, and every figure in words.
            objects = json.loads(run("qpdf", "--json", pdf).stdout)["qpdf"][1].values()
            objects = [one["value"] for one in objects if isinstance(one.get("value"), dict)]
            (catalog,) = [one for one in objects if one.get("/Type") == "/Catalog"]
            self.assertEqual(catalog["/Lang"], "u:de" if name == "german" else "u:en")
            self.assertEqual(catalog["/ViewerPreferences"], {"/DisplayDocTitle": True})
            told = {one["/Alt"] for one in objects if one.get("/S") == "/Figure"}
            captions = re.findall("<figcaption>(.*?)</figcaption>", self.pages[name][0])
            self.assertEqual(told, {"u:" + html.unescape(one) for one in captions})
            self.assertGreater(len(told), 0)
            fonts = run("pdffonts", pdf).stdout.splitlines()[2:]
            self.assertGreater(len(fonts), 0)
            for font in fonts:
                self.assertRegex(font, r" yes +yes +yes ", "embedded, subset, to Unicode")
            # Ink stays within the margins of 10 mm: 28 points, at 50 dots an inch 19.
            picture = os.path.join(WORK, name)
            run("pdftoppm", "-r", "50", "-gray", pdf, picture)
            with open(glob.glob(picture + "-*.pgm")[0], "rb") as file:
                _, size, _ = (file.readline() for _ in range(3))
                width, height = map(int, size.split())
                pixels = file.read()
            lines = [min(pixels[y * width:(y + 1) * width]) for y in range(height)]
            inked = [y for y, darkest in enumerate(lines) if darkest < 128]
            self.assertGreater(inked[0], 18)
            self.assertLess(inked[-1], height - 18)
            columns = [min(pixels[x::width]) for x in range(width)]
            inked = [x for x, darkest in enumerate(columns) if darkest < 128]
            self.assertGreater(inked[0], 18)
            self.assertLess(inked[-1], width - 18)

    @judged_once
    def test_broken_paper_is_rejected(self):
        with open(self.pages["day"][1], "rb") as file:
            bytes_there = file.read()
        broken = os.path.join(WORK, "broken.pdf")
        with open(broken, "wb") as file:
            file.write(bytes_there[:len(bytes_there) // 2])
        self.assertNotEqual(run("qpdf", "--check", broken, ok=False).returncode, 0)

    @judged_once
    def test_other_paper_is_told_from_ours(self):
        """What pdfinfo, pdffonts and pdftotext say of pages that lack what ours has."""
        one = self.pages["day"][1]
        two = os.path.join(WORK, "two-pages.pdf")
        run("qpdf", "--empty", "--pages", one, one, "--", two)
        info = run("pdfinfo", two).stdout
        self.assertNotRegex(info, r"Pages: +1\n")
        self.assertNotRegex(info, r"Title: +\S")
        self.assertNotRegex(info, r"Tagged: +yes")
        # Letters of a font that is not in the file, and not of our writing.
        plain = os.path.join(WORK, "plain.pdf")
        content = b"BT /F1 12 Tf 50 700 Td (Shoulder) Tj ET"
        objects = [b"<</Type/Catalog/Pages 2 0 R>>", b"<</Type/Pages/Kids[3 0 R]/Count 1>>",
                   b"<</Type/Page/Parent 2 0 R/MediaBox[0 0 612 792]/Contents 4 0 R/Resources"
                   b"<</Font<</F1 5 0 R>>>>>>",
                   b"<</Length %d>>stream\n%s\nendstream" % (len(content), content),
                   b"<</Type/Font/Subtype/Type1/BaseFont/Helvetica>>"]
        whole = b"%PDF-1.4\n"
        at = []
        for number, body in enumerate(objects, 1):
            at.append(len(whole))
            whole += b"%d 0 obj%s endobj\n" % (number, body)
        start = len(whole)
        whole += b"xref\n0 6\n0000000000 65535 f \n" + b"".join(b"%010d 00000 n \n" % o
                                                               for o in at)
        whole += b"trailer<</Size 6/Root 1 0 R>>\nstartxref\n%d\n%%%%EOF\n" % start
        with open(plain, "wb") as file:
            file.write(whole)
        run("qpdf", "--check", plain)
        self.assertNotRegex(run("pdffonts", plain).stdout.splitlines()[2], r" yes +yes +yes ")
        self.assertNotRegex(run("pdfinfo", plain).stdout, r"\(A4\)")
        self.assertNotIn("Stop at pain", words_of_pdf(plain))

    def test_both_files_or_none(self):
        stem = os.path.join(WORK, "half")
        os.makedirs(stem + ".html", exist_ok=True)  # a folder cannot be replaced by a file
        done = run(PROGRAM, "report", "--data", self.day, "--out", stem, "--force", ok=False)
        self.assertEqual(done.returncode, 1)
        self.assertEqual(len(done.stderr.splitlines()), 1, done.stderr)
        self.assertFalse(os.path.exists(stem + ".pdf"))
        os.rmdir(stem + ".html")

    def test_a_picture_only_with_consent(self):
        there = os.path.join(WORK, "picture.jpg")
        secret = "Somewhere 52.5N"
        run("ffmpeg", "-v", "error", "-y", "-f", "lavfi", "-i", "testsrc=size=1800x1000:rate=1",
            "-frames:v", "1", "-pix_fmt", "yuvj420p", there)
        with open(there, "rb") as file:
            jpeg = file.read()
        note = secret.encode()
        with open(there, "wb") as file:  # a comment after the file's first mark
            file.write(jpeg[:2] + b"\xff\xfe" + (len(note) + 2).to_bytes(2, "big") + note
                       + jpeg[2:])
        for words in (("--still", there), ("--consent",)):
            done = run(PROGRAM, "report", "--data", self.day, "--out", WORK + "/never", *words,
                       ok=False)
            self.assertEqual((done.returncode, len(done.stderr.splitlines())), (2, 1))
            self.assertIn("agreed", done.stderr)
        done = run(PROGRAM, "report", "--data", self.day, "--out", WORK + "/never", "--still",
                   self.pages["day"][1], "--consent", ok=False)
        self.assertEqual((done.returncode, len(done.stderr.splitlines())), (1, 1))
        for name, record_path, drawings in (("day", self.day, 3), ("course", self.course, 3)):
            page, pdf, path = report(record_path, "report-still-" + name, "--still", there,
                                     "--consent")
            self.assertIn("agreed to its use", page)
            self.assertIn("agreed to its use", words_of_pdf(pdf))
            self.assertEqual(page.count("<svg"), drawings)
            inside = re.search(r'src="data:image/jpeg;base64,([^"]*)"', page)[1]
            for whole in (base64.b64decode(inside), open(pdf, "rb").read()):
                self.assertNotIn(note, whole)
            picture = os.path.join(WORK, "inside.jpg")
            with open(picture, "wb") as file:
                file.write(base64.b64decode(inside))
            size = run("identify", "-format", "%w %h", picture).stdout
            self.assertEqual(size, "900 500")
            # The same picture in both, and it is the one that was given.
            listed = run("pdfimages", "-list", pdf).stdout.splitlines()[2:]
            self.assertEqual([line.split()[3:5] + [line.split()[8]] for line in listed],
                             [["900", "500", "jpeg"]])
            small = os.path.join(WORK, "small.png")
            run("convert", there, "-resize", "50%", small)
            difference = run("compare", "-metric", "RMSE", picture, small, "null:", ok=False)
            self.assertLess(float(re.search(r"\(([\d.e-]+)\)", difference.stderr)[1]), 0.03)
            self.assertRegex(run("pdfinfo", pdf).stdout, r"Pages: +1\n")
            self.__class__.pages["still-" + name] = (page, pdf, path)

    def test_ways_of_measuring_are_told_apart(self):
        path = record("ways", [0, 7], more=lambda n: {
            "mode": ("active", "assisted", "passive")[n % 3], "movement": "flexion",
            "side": "right", "view": "side", "position": ("standing", "supine")[n // 3 % 2]})
        page = report(path, "report-ways")[0]
        lines = [line.split(",  highest")[0].split(": shoulder")[0] for line in
                 self.lists_of(page)["Pain and compensation"] if "shoulder raised" in line]
        self.assertGreater(len(lines), 4)
        self.assertEqual(len(set(lines)), len(lines))
        titles = re.findall(r"<title id=[^>]*>([^<]*)<", page)
        self.assertEqual(len(set(titles[:-1])), 3, titles)  # the last one is a drawing

    def test_no_trend_without_an_interval(self):
        page = report(record("four", [0, 3, 6, 9]), "report-four")[0]
        self.assertNotIn("a month", page)
        page = report(record("five", [0, 3, 6, 9, 12]), "report-five")[0]
        self.assertIn("a month", page)

    def test_a_visit_has_its_own_days(self):
        path = record("visits", [0, 14], more=lambda n: {"visit": "V2" if n >= 10 else "V1"})
        steps = os.path.join(path, "steps")
        run(WRITER, steps, "tables", "0", "14")
        with open(os.path.join(steps, "steps.csv"), encoding="utf-8", newline="") as file:
            reader = csv.DictReader(file)
            row, fields = next(reader), reader.fieldnames
        with open(os.path.join(path, "steps.csv"), "w", encoding="utf-8", newline="") as file:
            writer = csv.DictWriter(file, fields, lineterminator="\n")
            writer.writeheader()
            for number, day in enumerate(("05", "05", "12", "19")):
                writer.writerow(dict(row, id=f"{number:032x}", person="P07", kind="pendulum",
                                     result="done", started=f"2026-08-{day}T09:00:00Z"))
        shutil.rmtree(steps)
        for words, count in (((), 4), (("--visit", "V1"), 2), (("--visit", "V2"), 1)):
            self.assertIn(f"pendulum {count}.", report(path, "report-visit", *words)[0])

    @unittest.skipIf(os.environ.get("EXTRA_FLAGS"), "the pages are those of the plain build")
    @judged_once
    def test_validators(self):
        tools = npm_tools.installed(BUILD)
        with open(os.path.join(tools, ".htmlvalidate.json"), "w", encoding="utf-8") as file:
            json.dump({"root": True,
                       "extends": ["html-validate:recommended", "html-validate:a11y"]}, file)
        vnu = ["java", "-jar", os.path.join(tools, "node_modules/vnu-jar/build/dist/vnu.jar")]
        check = [os.path.join(tools, "node_modules/.bin/html-validate"), "--config",
                 os.path.join(tools, ".htmlvalidate.json")]
        paths = [path for _, _, path in self.pages.values()]
        broken = os.path.join(WORK, "broken.html")
        with open(paths[0], encoding="utf-8") as file:
            page = file.read()
        with open(broken, "w", encoding="utf-8") as file:
            file.write(page.replace("<title>", "<tite>").replace("</title>", "</tite>")
                       .replace("<main>", "<main><img src='https://example.org/x.png'>"
                                "<script>1</script>").replace("#4a4a4a", "#dddddd"))
        self.assertNotEqual(run(*vnu, broken, ok=False).returncode, 0)
        self.assertNotEqual(run(*check, broken, ok=False).returncode, 0)
        run(*vnu, *paths)
        run(*check, *paths)
        pictures = os.path.join(WORK, "pictures")
        os.makedirs(pictures, exist_ok=True)
        chromium = shutil.which("chromium") or "/usr/bin/chromium"
        seen = json.loads(run("node", os.path.join(ROOT, "tests/validators/page.mjs"), chromium,
                              pictures, broken, *paths, cwd=tools).stdout)
        self.assertGreater(len(seen[0]["violations"]), 1)
        self.assertEqual(len(seen[0]["outside"]), 1)
        self.assertEqual(seen[0]["scripts"], 1)
        self.assertEqual(len(seen), len(paths) + 1)
        for one in seen[1:]:
            self.assertEqual((one["violations"], one["outside"], one["scripts"]), ([], [], 0),
                             one["file"])
            # Nothing has to be read by moving the page sideways, at 200 % and at 400 %.
            self.assertEqual(one["wide"], [1280, 640, 320], one["file"])

    def test_the_same_record_is_the_same_page(self):
        again, pdf, _ = report(self.course, "report-again")
        self.assertEqual(again, self.pages["course"][0])
        with open(pdf, "rb") as one, open(self.pages["course"][1], "rb") as other:
            self.assertEqual(one.read(), other.read())
        for path in (pdf, pdf.replace(".pdf", ".html")):
            self.assertEqual(os.stat(path).st_mode & 0o777, 0o600)

    def test_texts_of_the_record_are_never_markup(self):
        path = record("markup", [0], more=lambda n: {"placement": "<b>&\"'"})
        page, pdf, _ = report(path, "report-markup")
        self.assertNotIn("<b>", page)
        self.assertIn("&lt;b&gt;&amp;&quot;&apos;", page)
        self.assertIn("<b>&\"'", words_of_pdf(pdf))

    def test_narrowed(self):
        page, _, _ = report(self.course, "report-narrow", "--since", "2026-10-01", "--until",
                            "2026-10-10")
        self.assertIn("A course from 2026-10-01 to 2026-10-10.", page)
        self.assertIn("sessions: 4", page)
        page, pdf, _ = report(self.course, "report-one", "--movement", "flexion", "--side",
                            "right")
        self.assertEqual(page.count("<tr>"), 2)
        self.assertIn("58 %", page)  # of the other side, which has no row here
        self.assertIn("this report is of one movement alone", page)
        self.assertNotIn("abduction", page)
        # The largest text: no head of the table is broken within a word.
        for words in Text(page).words:
            self.assertIn(" ".join(words.split()), words_of_pdf(pdf))

    def test_what_is_wrong_is_said_once_and_nothing_is_written(self):
        there = sorted(os.listdir(WORK))
        two = record("two", [0])
        with open(os.path.join(two, "sessions.csv"), encoding="utf-8") as file:
            lines = file.read()
        with open(os.path.join(two, "sessions.csv"), "a", encoding="utf-8") as file:
            file.write(lines.split("\n")[1].replace("P07", "P08").replace("0" * 31, "f" * 31)
                       + "\n")
        name = os.path.join(WORK, "never")
        for words, code, said in (
                (("--data", two), 2, "--person"),
                (("--data", self.course, "--person", "NOBODY"), 1, "nothing was measured"),
                (("--data", self.course, "--since", "yesterday"), 2, "no day"),
                (("--data", self.course, "--since", "2026-02-30"), 2, "no day"),
                (("--data", self.course, "--visit", "V9"), 1, "nothing was measured"),
                (("--data", os.path.join(WORK, "none")), 1, "no record"),
                (("--data", self.course, "extra"), 2, "extra")):
            done = run(PROGRAM, "report", "--out", name, *words, ok=False)
            self.assertEqual((done.returncode, len(done.stderr.splitlines())), (code, 1),
                             done.stderr)
            self.assertIn(said, done.stderr)
        for out, code in ((name + ".doc", 2), (os.path.join(WORK, "none", "x"), 1),
                          (os.path.join(WORK, "report-day.pdf"), 1)):
            done = run(PROGRAM, "report", "--data", self.day, "--out", out, ok=False)
            self.assertEqual((done.returncode, len(done.stderr.splitlines())), (code, 1),
                             done.stderr)
        self.assertEqual(sorted(set(os.listdir(WORK)) - {"two"}),
                         sorted(set(there) - {"two"}))


if __name__ == "__main__":
    os.makedirs(WORK, exist_ok=True)
    unittest.main(argv=sys.argv[:1], verbosity=2)
