"""pandas reads every file that is written, and the user's locale changes no byte.

usage: test_pandas.py RECORD_WRITER
"""

import os
import shutil
import subprocess
import sys
import tempfile

import pandas

WRITER = os.path.abspath(sys.argv[1])
ROOT = tempfile.mkdtemp(prefix="omogon-pandas-")
MOVEMENTS, FRAMES = 3, 6

SESSION_TEXTS = """id person visit started movement side source position mode view arms placement
reference stopped_by end_feel rater set_up trace version status note""".split()
SESSION_COUNTS = ["repetitions"]
SESSION_EMPTY = ["replaces"]
TRACE_TEXTS = ["reference", "quality"]
ROLES = ["shoulder", "elbow", "wrist", "hip", "chest", "acromion"]
TRACE_COUNTS = ["frame", "picture_width_px", "picture_height_px"] + [r + "_seen" for r in ROLES]


# Of every other table: its shape with two rows, and its columns that are not text.
TABLES = {
    "steps.csv": ((2, 41), """repetitions clockwise counter_clockwise unknown_way diameter_cm
        diameter_growth_cm loose_ratio held_s breaths ease_ups stop_deg stop_u95_deg gain_deg
        target_deg ceiling_deg tenderness_before tenderness_after pain_start pain_most pain_end
        load_kg"""),
    "notes.csv": ((2, 12), "value"),
    "limits.csv": ((2, 13), "ceiling_deg load_kg"),
    "sheet.csv": ((2, 7), ""),
    "people.csv": ((2, 9), "birth_year height_cm"),
    "set-ups.csv": ((2, 18), """picture_width_px picture_height_px frames_per_second distance_m
        roll_deg pitch_deg marker_size_mm cutoff_hz"""),
    "changes.csv": ((2, 9), ""),
}


def write(folder, count=MOVEMENTS, **environment):
    said = ""
    for layout, rows in (("flat", count), ("tables", 2 * len(TABLES))):
        result = subprocess.run(
            [WRITER, folder, layout, "0", str(rows), str(FRAMES)], capture_output=True,
            text=True, env=dict(os.environ, **environment), check=False)
        assert result.returncode == 0, result.stderr
        said += result.stdout
    return said


def files_of(folder):
    return {name: open(os.path.join(folder, name), "rb").read() for name in os.listdir(folder)}


def check_dtypes(table, texts, counts, empty, name):
    for column in table.columns:
        want = ("object" if column in texts else "int64" if column in counts else "float64")
        got = str(table[column].dtype)
        assert got == want, "%s: column %s is %s, not %s" % (name, column, got, want)
        assert table[column].isna().all() == (column in empty), (
            "%s: column %s is empty or not as it should be" % (name, column))


def check_tables(folder):
    sessions = pandas.read_csv(os.path.join(folder, "sessions.csv"))
    assert sessions.shape == (MOVEMENTS, 42), sessions.shape
    check_dtypes(sessions, SESSION_TEXTS, SESSION_COUNTS, SESSION_EMPTY, "sessions.csv")
    assert list(sessions["max_deg"]) == [100.812, 101.812, 102.812]
    assert list(sessions["note"])[2] == 'an invented note, number 2'
    empty = ["hike_mm", "chest_x_px", "chest_y_px", "chest_diameter_px",
             "acromion_x_px", "acromion_y_px", "acromion_diameter_px"]
    for movement, name in enumerate(sessions["trace"]):
        trace = pandas.read_csv(os.path.join(folder, name))
        assert trace.shape == (FRAMES, 38), trace.shape
        check_dtypes(trace, TRACE_TEXTS, TRACE_COUNTS, empty, name)
        assert list(trace["angle_deg"]) == [movement + i / 8 for i in range(FRAMES)]
        assert trace["elbow_flexion_deg"].isna().sum() == 2
        assert pandas.to_datetime(sessions["started"]).notna().all()


def check_other_tables(folder):
    read = {name: pandas.read_csv(os.path.join(folder, name)) for name in TABLES}
    for name, (shape, numbers) in TABLES.items():
        table = read[name]
        assert table.shape == shape, "%s: %s" % (name, table.shape)
        for column in table.columns:
            if not table[column].isna().all():
                is_number = table[column].dtype.kind in "if"
                assert is_number == (column in numbers.split()), "%s: %s" % (name, column)
    assert list(read["steps.csv"]["diameter_cm"]) == [22.5] * 2
    assert list(read["notes.csv"]["text"]) == ["an invented note, quoted"] * 2
    assert pandas.to_datetime(read["limits.csv"]["valid_until"]).notna().all()
    assert list(read["people.csv"]["birth_year"]) == [1961] * 2


def german():
    """An environment with a German locale: the machine's own, or one made here."""
    listed = subprocess.run(["locale", "-a"], capture_output=True, text=True, check=False).stdout
    environment = {"LC_ALL": "de_DE.UTF-8"}
    if "de_DE.utf8" not in listed.split():
        place = os.path.join(ROOT, "locales")
        os.mkdir(place)
        try:
            subprocess.run(["localedef", "-i", "de_DE", "-f", "UTF-8", place + "/de_DE.UTF-8"],
                           capture_output=True, check=True)
        except (OSError, subprocess.CalledProcessError) as error:
            print("skipped: no German locale here and none could be made (%s)" % error)
            return None
        environment["LOCPATH"] = place
    point = subprocess.run(["locale", "decimal_point"], capture_output=True, text=True,
                           env=dict(os.environ, **environment), check=False).stdout.strip()
    assert point == ",", "the German locale is not in force"
    return environment


def main():
    try:
        plain = os.path.join(ROOT, "C")
        write(plain, LC_ALL="C")
        check_tables(plain)
        check_other_tables(plain)
        print("pandas: sessions.csv, %d traces and %d tables read with the dtypes they should "
              "have" % (MOVEMENTS, len(TABLES)))
        environment = german()
        if environment:
            other = os.path.join(ROOT, "de")
            write(other, **environment)
            assert files_of(other) == files_of(plain), "the locale has changed the files"
            # Reading goes on under the locale too.
            said = write(plain, count=MOVEMENTS + 1, **environment)
            assert said.count("known") == MOVEMENTS + 2 * len(TABLES) and said.count("saved") == 1, said
            print("LC_ALL=C and de_DE.UTF-8: the same bytes")
    finally:
        shutil.rmtree(ROOT)


main()
