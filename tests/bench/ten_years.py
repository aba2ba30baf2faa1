#!/usr/bin/env python3
"""A record of ten years: 5,000 sessions of 50 people, of whom one has 3,000, from the CSV alone.

Usage: ten_years.py PROGRAM RECORD_WRITER

Prints the seconds of each command, the best of five, and how many starts of the program
(`omogon --version`) that is. Everybody in it is invented.
"""
import csv
import datetime
import os
import random
import subprocess
import sys
import tempfile
import time

PROGRAM, WRITER = (os.path.abspath(word) for word in sys.argv[1:3])
SESSIONS, OF_ONE, OTHERS = 5000, 3000, 49
MOVEMENTS = [("flexion", "standing", "side"), ("abduction", "standing", "front"),
             ("external-rotation", "supine", "along-arm")]


def invented(folder):
    template = os.path.join(folder, "template")
    subprocess.run([WRITER, template, "flat", "0", "1", "4"], check=True, capture_output=True)
    with open(os.path.join(template, "sessions.csv"), encoding="utf-8", newline="") as file:
        reader = csv.DictReader(file)
        fields, row = reader.fieldnames, next(reader)
    record = os.path.join(folder, "record")
    os.makedirs(record)
    chance = random.Random(10)
    begin = datetime.datetime(2016, 8, 5, 8)
    with open(os.path.join(record, "sessions.csv"), "w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, fields, lineterminator="\n")
        writer.writeheader()
        for k in range(SESSIONS):
            one = k < OF_ONE
            movement = MOVEMENTS[0 if one else k // OTHERS % len(MOVEMENTS)]
            mean = 95 + 0.003 * k + chance.gauss(0, 4)
            writer.writerow(dict(
                row, id=f"{k:032x}", person="P01" if one else f"P{2 + k % OTHERS:02d}",
                movement=movement[0], position=movement[1], view=movement[2], mode="active",
                arms="one", side="right" if one or k // 147 % 2 else "left", status="ok",
                started=(begin + datetime.timedelta(days=k * (1.2 if one else 0.7))).strftime(
                    "%Y-%m-%dT%H:%M:%SZ"),
                mean_of_maxima_deg=f"{mean:.3f}", max_deg=f"{mean + 2:.3f}", replaces="",
                trace="", note=""))
    return record


def best(*words):
    seconds = []
    for _ in range(5):
        begin = time.perf_counter()
        subprocess.run([PROGRAM, *words], check=True, capture_output=True)
        seconds.append(time.perf_counter() - begin)
    return min(seconds)


with tempfile.TemporaryDirectory() as place:
    data = ["--data", invented(place)]
    out = os.path.join(place, "out")
    start = best("--version")
    print(f"start of the program: {start:.3f} s")
    for name, words in (
            ("people", ["people", *data]), ("progress, everybody", ["progress", *data]),
            ("progress, 3,000 of one", ["progress", *data, "--person", "P01"]),
            ("chart", ["progress", *data, "--person", "P01", "--force", "--chart",
                       out + ".svg"]),
            ("report, PDF and HTML", ["report", *data, "--person", "P01", "--force", "--out",
                                      out]),
            ("overview", ["people", *data, "--person", "P01", "--overview"])):
        took = best(*words)
        print(f"{name}: {took:.3f} s, {took / start:.1f} starts")
