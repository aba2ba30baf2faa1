"""Every call that changes a file goes wrong once, in every way, in turn.

usage: test_durability.py RECORD_WRITER PRELOAD_FAULTS

For each call of a run that records three movements, or rows of the tables beside
sessions.csv, and each kind of fault, checks that no row announced as saved is lost, that the next run goes on and ends with the complete
record, and that readers then see whole files and whole lines only. Then two programs
write into one record at once.
"""

import os
import re
import shutil
import stat
import subprocess
import sys
import tempfile

WRITER, PRELOAD = os.path.abspath(sys.argv[1]), os.path.abspath(sys.argv[2])
# Rows of a run: movements, or a row of each table and of three of them a second one.
COUNTS = {"flat": 3, "kept": 3, "tables": 10}
TABLES = ["steps.csv", "notes.csv", "limits.csv", "sheet.csv", "people.csv",
          "set-ups.csv", "changes.csv"]
HOWS = ["fail", "full", "dead", "kill", "half", "most"]
ROWS_EACH = 203
# Under a sanitizer a run takes ten times as long, and every call is tried without one.
STEP = 3 if "sanitize" in os.environ.get("EXTRA_FLAGS", "") else 1

# Memory, so that the syncs of some thousand runs take no time; they are counted all the same.
BASE = "/dev/shm" if os.access("/dev/shm", os.W_OK) else None
ROOT = tempfile.mkdtemp(prefix="omogon-durability-", dir=BASE)


def run(folder, layout, fault=None, log=None, first=0, count=None, frames=4):
    count = COUNTS[layout] if count is None else count
    environment = dict(os.environ, LC_ALL="C")
    if fault or log:
        environment["LD_PRELOAD"] = PRELOAD
        environment["ASAN_OPTIONS"] = "verify_asan_link_order=0:detect_leaks=0"
    if fault:
        environment["OMO_FAULT_AT"], environment["OMO_FAULT_HOW"] = str(fault[0]), fault[1]
    if log:
        environment["OMO_FAULT_LOG"] = log
    return subprocess.run(
        [WRITER, folder, layout, str(first), str(count), str(frames)],
        capture_output=True, text=True, env=environment, check=False)


def read(path):
    with open(path, "rb") as file:
        return file.read()


def is_table(path):
    return os.path.basename(path) in TABLES + ["sessions.csv"]


def rows_of(folder):
    """Whole lines of all tables by id; the cells of the writer hold no commas but one."""
    rows = {}
    for name in ["sessions.csv"] + TABLES:
        path = os.path.join(folder, name)
        if os.path.exists(path):
            whole = read(path).decode()
            whole = whole[: whole.rfind("\n") + 1]
            rows.update({line.split(",")[0]: line for line in whole.split("\n")[1:] if line})
    return rows


def trace_of(line):
    return re.search(r",((traces/)?clip[-0-9]*\.trace\.csv),", line).group(1)


def without_trace(line):
    return line.replace(trace_of(line), "TRACE")


def tree(folder):
    found = {}
    for place, _, names in os.walk(folder):
        for name in names:
            path = os.path.join(place, name)
            found[os.path.relpath(path, folder)] = read(path)
    return found


def announced(result):
    return [line.split()[1] for line in result.stdout.split("\n") if line.startswith("saved")]


def check_modes(folder):
    for place, _, names in os.walk(folder):
        assert stat.S_IMODE(os.stat(place).st_mode) == 0o700, place
        for name in names:
            mode = os.stat(os.path.join(place, name)).st_mode
            assert stat.S_IMODE(mode) == 0o600, name


class Expected:
    """What an undisturbed run leaves: each row, and the trace it names."""

    def __init__(self, layout):
        folder = tempfile.mkdtemp(dir=ROOT) + "/record"
        log = folder + "-calls"
        result = run(folder, layout, log=log)
        assert result.returncode == 0, result.stderr
        self.rows = {}
        for identity, line in rows_of(folder).items():
            self.rows[identity] = without_trace(line), read(os.path.join(folder, trace_of(line)))
        assert len(self.rows) == COUNTS[layout] == len(announced(result))
        self.header = read(os.path.join(folder, "sessions.csv")).split(b"\n")[0]
        self.calls = synced_calls(log, COUNTS[layout])

    def check_rows(self, folder, identities):
        rows = rows_of(folder)
        for identity in identities:
            assert identity in rows, "an announced row is lost"
            line, trace = self.rows[identity]
            assert without_trace(rows[identity]) == line, "an announced row has changed"
            assert read(os.path.join(folder, trace_of(rows[identity]))) == trace, (
                "the trace of an announced row is not the finished one")

    def check_complete(self, folder):
        self.check_rows(folder, self.rows)
        table = read(os.path.join(folder, "sessions.csv"))
        lines = table.split(b"\n")
        assert lines[0] == self.header and lines[-1] == b"", "not whole lines"
        assert len(lines) == len(self.rows) + 2, "a row too many"
        named = {trace_of(line) for line in rows_of(folder).values()}
        assert len(named) == len(self.rows), "two rows share a trace"
        files = set(tree(folder))
        assert files == named | {"sessions.csv", ".sessions.lock"}, (
            "left behind: %s" % (files - named))
        check_modes(folder)


class ExpectedTables:
    """What an undisturbed run leaves of the tables beside sessions.csv: every byte."""

    def __init__(self, layout):
        folder = tempfile.mkdtemp(dir=ROOT) + "/record"
        log = folder + "-calls"
        result = run(folder, layout, log=log)
        assert result.returncode == 0, result.stderr
        self.rows, self.tree = rows_of(folder), tree(folder)
        assert set(self.tree) == set(TABLES) | {".sessions.lock"}, self.tree.keys()
        assert len(self.rows) == COUNTS[layout] == len(announced(result))
        self.calls = synced_calls(log, COUNTS[layout])

    def check_rows(self, folder, identities):
        rows = rows_of(folder)
        for identity in identities:
            assert rows.get(identity) == self.rows[identity], "an announced row is lost"

    def check_complete(self, folder):
        assert tree(folder) == self.tree, "not what an undisturbed run leaves"
        check_modes(folder)


def synced_calls(path, count):
    """The calls of a run, once it is checked that what it announced was synced."""
    with open(path, encoding="utf-8") as file:
        log = [line.rstrip("\n").split(" ", 2) for line in file]
    check_synced_before_said(log, count)
    return [name for number, name, _ in log if number != "0"]


def check_synced_before_said(log, count):
    """When a row is announced, all that it needs would outlast a power cut."""
    unsynced, said, moved = set(), 0, {}
    for _, name, path in log:
        folder, base = os.path.split(path)
        needed = base.endswith((".csv", ".omogon-tmp"))
        if name in ("write", "pwrite", "ftruncate") and needed:
            unsynced.add(path)
        elif name in ("fsync", "fdatasync"):
            unsynced = {p for p in unsynced if p != path and p != "entry of " + path}
        elif name == "open" and base.endswith(".omogon-tmp"):
            moved[folder] = path
        elif name == "rename":
            assert moved[folder] not in unsynced, "renamed before it was synced"
            unsynced.discard(path)  # the file it replaces
            unsynced.add("entry of " + folder)
        elif name == "mkdir":
            unsynced.add("entry of " + folder)
        elif name == "said":
            said += 1
            assert not unsynced, "announced before a sync of %s" % unsynced
    assert said == count


def check_sentences(result, how):
    """A program that lives on says something, and never a row's own data."""
    for line in result.stderr.split("\n"):
        assert "P001" not in line and "invented note" not in line, line
    if how in ("fail", "full", "dead") and result.returncode != 0:
        assert result.stderr.strip(), "failed without a word"
        assert len(result.stderr.strip().split("\n")) <= 2 * max(COUNTS.values()), result.stderr


def check_whole_lines(folder):
    """What a reader finds: whole lines of one width, in every file."""
    for name, content in tree(folder).items() if os.path.exists(folder) else ():
        if not name.endswith(".csv"):
            continue
        assert content.endswith(b"\n"), "%s ends with half a line" % name
        lines = content.decode().replace('"an invented note, ', "").split("\n")[:-1]
        widths = {line.count(",") for line in lines}
        assert len(widths) == 1, "%s has half a line" % name


def was_synced(log, number):
    """Whether the last call on the table before call `number` was its sync."""
    with open(log, encoding="utf-8") as file:
        calls = [line.split() for line in file if is_table(line.rstrip())]
    return bool(calls) and calls[-1][1] == "fsync" and int(calls[-1][0]) < number


def check_known_is_synced(result, log, saved):
    """A row that the run before wrote but never announced is synced before it counts."""
    known = [line.split()[1] for line in result.stdout.split("\n") if line.startswith("known")]
    if set(known) <= set(saved):
        return
    with open(log, encoding="utf-8") as file:
        calls = [line.split()[1:3] for line in file]
    before = calls[: calls.index(["said"])]
    assert any(call[0] == "fsync" and is_table(call[1]) for call in before), (
        "a row counts as saved without a sync")


def disturb(expected, layout, number, how, second=None):
    folder, log = os.path.join(ROOT, "run"), os.path.join(ROOT, "run-calls")
    shutil.rmtree(folder, ignore_errors=True)
    hit_log = log + "-hit"
    for path in (log, hit_log):
        if os.path.exists(path):
            os.unlink(path)
    hit = run(folder, layout, fault=(number, how), log=hit_log)
    if how in ("kill", "half", "most"):
        assert hit.returncode == -9, "was not killed"
    check_sentences(hit, how)
    saved = announced(hit)
    expected.check_rows(folder, saved)
    if how in ("fail", "full"):
        assert set(rows_of(folder)) == set(saved), "a row stayed that was not announced"
        check_whole_lines(folder)
    if second:
        again = run(folder, layout, fault=second)
        saved += announced(again)
        expected.check_rows(folder, saved)
    opened = run(folder, layout, count=0, log=log)
    assert opened.returncode == 0, opened.stderr
    check_whole_lines(folder)
    after = run(folder, layout, log=log)
    assert after.returncode == 0, after.stderr
    if not second and not was_synced(hit_log, number):
        check_known_is_synced(after, log, saved)
    expected.check_complete(folder)
    before = tree(folder)
    repeated = run(folder, layout)
    assert repeated.returncode == 0 and not announced(repeated)
    assert tree(folder) == before, "a repeated run has changed something"


def every_call_in_every_way():
    runs = 0
    of_rows = {"write", "pwrite", "fsync", "rename", "ftruncate", "open", "mkdir"}
    of_traces = {"fdatasync", "unlink"}
    for layout in COUNTS:
        expected = ExpectedTables(layout) if layout == "tables" else Expected(layout)
        wanted = of_rows if layout == "tables" else of_rows | of_traces
        assert wanted <= set(expected.calls), set(expected.calls)
        for how in HOWS:
            for number in range(1, len(expected.calls) + 1, STEP):
                case(lambda: disturb(expected, layout, number, how),
                     layout, how, number, expected.calls)
                runs += 1
        print("%s: %d calls, each%s gone wrong in %d ways" %
              (layout, len(expected.calls), " third" if STEP == 3 else "", len(HOWS)))
    return runs


def the_next_run_is_killed_too():
    expected = Expected("flat")
    runs = 0
    for number in range(1, len(expected.calls) + 1, STEP):
        for how in ("half", "dead"):
            for again in range(1, 7):
                case(lambda: disturb(expected, "flat", number, how, (again, "half")),
                     "flat", "%s, then half at %d" % (how, again), number, expected.calls)
                runs += 1
    print("twice in a row: %d cases" % runs)
    return runs


def case(check, layout, how, number, calls):
    try:
        check()
    except AssertionError as error:
        sys.exit("%s: %s at call %d (%s): %s" % (layout, how, number, calls[number - 1], error))


def two_programs_at_once():
    """Beside a third that writes the other tables."""
    folder = os.path.join(ROOT, "both")
    third = subprocess.Popen([WRITER, folder, "tables", "0", str(ROWS_EACH)],
                             stdout=subprocess.DEVNULL)
    command = [WRITER, folder, "flat"]
    both = [subprocess.Popen(command + [str(first), str(ROWS_EACH), "2"],
                             stdout=subprocess.PIPE, text=True)
            for first in (1000, 2000)]
    saved = []
    for process in both:
        output, _ = process.communicate()
        assert process.returncode == 0
        saved += [line.split() for line in output.split("\n") if line.startswith("saved")]
    assert third.wait() == 0
    for name in TABLES:
        lines = read(os.path.join(folder, name)).decode().split("\n")
        assert len(lines) == ROWS_EACH / len(TABLES) + 2 and lines[-1] == "", name
    lines = read(os.path.join(folder, "sessions.csv")).decode().split("\n")
    assert len(lines) == 2 * ROWS_EACH + 2 and lines[-1] == "", len(lines)
    assert lines.count(lines[0]) == 1, "two headers"
    rows = rows_of(folder)
    assert len(rows) == 3 * ROWS_EACH and len(saved) == 2 * ROWS_EACH
    for _, identity, trace in saved:
        cells = rows[identity].split(",")
        assert trace_of(rows[identity]) == trace
        # The first frame's angle is the movement's number: each row has its own trace.
        frame = read(os.path.join(folder, trace)).decode().split("\n")[1].split(",")
        assert abs(float(cells[13]) - 100.8125 - float(frame[3])) < 0.001
        assert cells[-1].endswith(" number %d\"" % round(float(frame[3]))), cells[-1]
    turns = sum(int(float(a.split(",")[13]) < 2000) != int(float(b.split(",")[13]) < 2000)
                for a, b in zip(lines[1:-1], lines[2:-1]))
    print("programs at once: %d rows, %d turns taken" % (len(rows), turns))


def main():
    try:
        runs = every_call_in_every_way()
        runs += the_next_run_is_killed_too()
        two_programs_at_once()
        print("%d interrupted runs, no announced row lost, no half file or line" % runs)
    finally:
        shutil.rmtree(ROOT)


main()
