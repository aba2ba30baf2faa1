"""What the tests of whole sessions share: a programme, what is told beforehand, the tables.

A test's own arguments are: PROGRAM WORK_FOLDER.
"""
import csv
import os
import shutil
import sys

PROGRAM, WORK = (os.path.abspath(word) for word in sys.argv[1:3])
PROGRAMME = """[programme]
title=Of the tests
issue=1
made_by=tests
[place]
group=settle
kind=press
area=blade-back
hold_s=30
guidance=Lean on the ball.
[swing]
group=swing
kind=pendulum
circles=10
guidance=Let it hang.
[up]
group=reach
kind=stay
movement=flexion
hold_s=10
repetitions=1
ease_ups=1
guidance=Slide up the wall.
[mouth]
group=use
kind=finding
finding=hand-to-mouth
[word]
group=use
kind=note
"""
TOLD = ["--nothing-new", "--pain-now", "1", "--pain-worst", "2", "--woken", "no",
        "--rest-pain", "no", "--pain-before-end", "no"]


def folder(name):
    """An empty one."""
    path = os.path.join(WORK, name)
    shutil.rmtree(path, ignore_errors=True)
    os.makedirs(path)
    return path


def programme(path, text=PROGRAMME):
    """Written into the folder, where call() looks for it."""
    name = os.path.join(path, "of-the-tests.ini")
    with open(name, "w", encoding="utf-8") as file:
        file.write(text)
    return name


def call(path, *more):
    return [PROGRAM, "session", "--programme", os.path.join(path, "of-the-tests.ini"),
            "--person", "P01", "--data", os.path.join(path, "data"), "--no-sound", *more]


def rows(path, name="steps.csv"):
    """Of a table of the folder's record; none where there is no such table."""
    file_name = os.path.join(path, "data", name)
    if not os.path.exists(file_name):
        return []
    with open(file_name, encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))
