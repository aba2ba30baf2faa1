#!/usr/bin/env python3
"""Counts what `meson test` ran: count_tests.py TESTLOG.JSON EXIT_CODE.

Line 1 is for people, line 2 is "PASSED FAILED", then a line for each test that was
skipped or failed. A test written with Check counts its single checks, any other counts
as one. A log that is missing or that says nothing failed although meson did, is one
failure: silence never counts as a pass.
"""
import json
import re
import sys

CHECKS = re.compile(r"^\d+%: Checks: (\d+), Failures: (\d+), Errors: (\d+)$", re.M)


def count(entry):
    """(passed, failed) of one test."""
    suites = CHECKS.findall(entry.get("stdout") or "")
    ran = sum(int(s[0]) for s in suites)
    bad = sum(int(s[1]) + int(s[2]) for s in suites)
    if entry["result"] in ("OK", "EXPECTEDFAIL"):
        # The exit code vouches for the whole, so a failure in the text is a contradiction.
        return (ran - bad if ran else 1), bad
    return max(ran - bad, 0), max(bad, 1)


def main():
    path, ended = sys.argv[1], int(sys.argv[2])
    entries = []
    try:
        with open(path, encoding="utf-8", errors="replace") as log:
            for line in log:
                try:
                    entries.append(json.loads(line))
                except ValueError:
                    pass  # a line cut short by a killed run
    except OSError:
        pass
    passed = failed = 0
    said = []
    for entry in entries:
        if entry["result"] == "SKIP":
            output = (entry.get("stdout") or "") + (entry.get("stderr") or "")
            lines = [line for line in output.splitlines() if line.strip()]
            reason = ": " + lines[-1] if lines else ""
            said.append("skipped: " + entry["name"] + reason)
            continue
        good, bad = count(entry)
        passed += good
        failed += bad
        if bad:
            said.append("failed: %s (%s)" % (entry["name"], entry["result"].lower()))
    if not entries or (ended and not failed):
        failed += 1
        said.append("failed: meson test ended with %d and names no test" % ended)
    skipped = sum(1 for line in said if line.startswith("skipped"))
    print("%d tests, %d skipped: %d checks passed, %d failed"
          % (len(entries), skipped, passed, failed))
    print(passed, failed)
    for line in said:
        print(line)


main()
