"""The practitioner's side as a command: what is shown, what a change leaves in the files.

usage: test_people.py PROGRAM RECORD_WRITER WORK_FOLDER
"""

import csv
import json
import os
import shutil
import subprocess
import sys

PROGRAM, WRITER, WORK = (os.path.abspath(word) for word in sys.argv[1:4])
RECORD = os.path.join(WORK, "record")


def people(*words, code=0, **environment):
    done = subprocess.run(
        [PROGRAM, "people", "--data", RECORD, *words], capture_output=True, text=True,
        env=dict(os.environ, LC_ALL="C.UTF-8", LANGUAGE="", **environment), timeout=120,
        check=False)
    assert done.returncode == code, (words, done.returncode, done.stdout, done.stderr)
    if code == 0:
        assert done.stderr == "", done.stderr
    else:
        assert done.stdout == "" and done.stderr.count("\n") == 1, (done.stdout, done.stderr)
    return done.stdout if code == 0 else done.stderr


def rows(name):
    with open(os.path.join(RECORD, name), encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def tree():
    found = {}
    for name in os.listdir(RECORD):
        with open(os.path.join(RECORD, name), "rb") as file:
            found[name] = file.read()
    return found


def a_sheet_begins():
    assert "Nobody yet" in people()
    said = people("--person", "P001", "--add", "--affected", "right", "--birth-year", "1961",
                  "--set-by", "R1")
    assert "P001, by R1" in said and "born in: 1961 (before: nothing)" in said, said
    person, = rows("people.csv")
    assert (person["person"], person["set_by"], person["birth_year"]) == ("P001", "R1", "1961")
    assert person["set_on"].endswith("Z")


def every_change_is_a_row_and_said():
    said = people("--person", "P001", "--set-by", "R1", "--history", "clot", "--taught",
                  "armpit-back", "--arms", "one", "--programme", "regaining-range", "--note",
                  "=1+1", "--limit", "abduction:right:90:assisted", "--limit",
                  "flexion:right:120:active:1", "--valid-until", "2099-01-31")
    assert "up to 90.0 degrees" in said and "regaining-range" in said, said
    assert [row["item"] for row in rows("sheet.csv")] == [
        "history:clot", "taught:armpit-back", "programme", "arms"]
    assert [row["movement"] for row in rows("limits.csv")] == ["abduction", "flexion"]
    assert rows("notes.csv")[0]["text"] == "'=1+1"
    before = tree()
    said = people("--person", "P001", "--set-by", "R1", "--arms", "one")
    assert "Nothing to change" in said and tree() == before


def a_mistake_changes_nothing():
    before = tree()
    for words, wanted in (
            (["--person", "P001", "--set-by", "R1", "--weight", "1", "--sex", "x"], "--sex"),
            (["--person", "P001", "--weight", "1"], "--set-by"),
            (["--weight", "1", "--set-by", "R1"], "--person"),
            (["--person", "a name"], "not a code"),
            (["P001"], "not understood")):
        said = people(*words, code=2)
        assert wanted in said, said
    said = people("--person", "P009", code=1)
    assert "nothing is known" in said and "P009" not in said, said
    assert tree() == before


def an_expired_limit_stays_and_says_so():
    path = os.path.join(RECORD, "limits.csv")
    with open(path, encoding="utf-8") as file:
        text = file.read()
    with open(path, "w", encoding="utf-8") as file:
        file.write(text.replace("2099", "2020", 1))
    said = people("--person", "P001")
    line, = [l for l in said.split("\n") if "(abduction)" in l]
    assert "EXPIRED" in line and "still in force" in line, line
    line, = [l for l in said.split("\n") if "(flexion)" in l]
    assert "EXPIRED" not in line and "with up to 1.00 kg" in line, line
    sheet, = json.loads(people("--person", "P001", "--json"))
    assert [limit["expired"] for limit in sheet["limits"]] == [True, False]


def sessions_and_steps_are_shown():
    for layout in ("flat", "tables"):
        subprocess.run([WRITER, RECORD, layout, "0", "5", "4"], check=True,
                       capture_output=True)
    said = people("--person", "P001")
    for wanted in ("born in 1961", "one arm at a time", "2026-11-24", "circles 15 and 14",
                   "an invented note, quoted", "No movement has been measured on both"):
        assert wanted in said, (wanted, said)
    assert "P001" in people() and "2026-11-24" in people()
    sheet, = json.loads(people("--person", "P001", "--json"))
    assert sheet["birth_year"] == 1961 and sheet["sex"] == ""
    flexion, = [limit for limit in sheet["limits"] if limit["movement"] == "flexion"]
    assert flexion["expired"] is False and flexion["ceiling_deg"] == 120
    assert {"history:clot", "arms"} <= {fact["item"] for fact in sheet["sheet"]}
    assert len(sheet["sessions"]) == 5 and sheet["percent_of_other"] == []
    assert sheet["steps"][0]["clockwise"] == 15 and sheet["steps"][0]["stop_deg"] is None
    everybody = json.loads(people("--json"))
    assert [one["person"] for one in everybody] == ["P001", "P4"]


def a_damaged_table_is_one_sentence():
    with open(os.path.join(RECORD, "limits.csv"), "a", encoding="utf-8") as file:
        file.write("half\nmore\n")
    before = tree()
    assert "limits.csv is damaged in line" in people("--person", "P001", code=1)
    people("--person", "P001", "--weight", "1", "--set-by", "R1", code=1)
    assert tree() == before


shutil.rmtree(WORK, ignore_errors=True)
os.makedirs(WORK)
a_sheet_begins()
every_change_is_a_row_and_said()
a_mistake_changes_nothing()
an_expired_limit_stays_and_says_so()
sessions_and_steps_are_shown()
a_damaged_table_is_one_sentence()
print("a sheet begins, changes, is shown, and is left alone after mistakes")
