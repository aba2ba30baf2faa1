#!/usr/bin/env python3
"""Twelve weeks of a person who does not exist, as a record to try charts and reports on.

Usage: invented_weeks.py PROGRAM RECORD_WRITER NEW_FOLDER
Then:  omogon progress --data NEW_FOLDER
All figures come from a generator with a fixed seed; nobody was measured.
"""
import csv
import datetime
import os
import random
import subprocess
import sys

PERSON = "INVENTED"
DAYS = 84
# movement, position, held abduction, right then left: degrees at the start, a month, noise
COURSES = (("flexion", "supine", "", (104, 13, 4), (168, 0, 3), 3),
           ("extension", "prone", "", (31, 3, 3), (58, 0, 3), 12),
           ("external-rotation", "supine", "88.000", (38, 7, 4), (93, 0, 4), 6),
           ("internal-rotation", "supine", "88.000", (41, 4, 4), (61, 0, 4), 6))


def columns(writer, folder):
    """The columns of sessions.csv with a filled row, from the project's own writer."""
    seen = os.path.join(folder, "columns")
    os.makedirs(seen)
    subprocess.run([writer, seen, "flat", "0", "1", "4"], check=True, capture_output=True)
    with open(os.path.join(seen, "sessions.csv"), encoding="utf-8", newline="") as file:
        reader = csv.DictReader(file)
        names, row = reader.fieldnames, next(reader)
    for name in os.listdir(seen):
        os.remove(os.path.join(seen, name))
    os.rmdir(seen)
    return names, row


def sessions(row):
    rng = random.Random(20260105)
    begin = datetime.datetime(2026, 1, 5, 8, 0, 0)
    for day in range(0, DAYS + 1):
        for movement, position, held, right, left, every in COURSES:
            for side, (start, month, noise) in (("right", right), ("left", left)):
                # The good side is looked at once a fortnight.
                if day % (every if side == "right" else 14):
                    continue
                mean = start + month * day / 30.4375 + rng.gauss(0, noise)
                pain = max(0, round(6 - 4 * day / DAYS + rng.gauss(0, 0.8)))
                stiff = side == "right"
                yield dict(
                    row, id=f"{rng.getrandbits(128):032x}", person=PERSON, visit="",
                    started=(begin + datetime.timedelta(days=day)).strftime(
                        "%Y-%m-%dT%H:%M:%SZ"),
                    movement=movement, side=side, position=position, mode="active",
                    arms="one", view="side", reference="none", source="invented",
                    mean_of_maxima_deg=f"{mean:.3f}", max_deg=f"{mean + 2 + rng.random():.3f}",
                    max_u95_deg="4.500", rotation_at_abduction_deg=held,
                    max_before_hike_deg=f"{mean - rng.uniform(5, 20):.3f}"
                    if stiff and movement == "flexion" else "",
                    pain_at_max=str(pain) if stiff else "0",
                    stopped_by="stiff" if stiff else "chose", trace="", status="ok",
                    replaces="", set_up="", note="invented")


def main():
    program, writer, folder = sys.argv[1:4]
    os.makedirs(folder, mode=0o700)
    names, row = columns(writer, folder)
    path = os.path.join(folder, "sessions.csv")
    with open(path, "w", encoding="utf-8", newline="") as file:
        out = csv.DictWriter(file, names, lineterminator="\n")
        out.writeheader()
        out.writerows(sessions(row))
    os.chmod(path, 0o600)
    subprocess.run([program, "people", "--data", folder, "--person", PERSON, "--add",
                    "--birth-year", "2007", "--sex", "female", "--dominant", "right",
                    "--affected", "right", "--set-by", "INVENTED"],
                   check=True, capture_output=True)


if __name__ == "__main__":
    main()
