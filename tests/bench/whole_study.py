#!/usr/bin/env python3
"""A study of 400 rows over 20 clips: killed and resumed ten times, and how two jobs of one
process fare against two processes of one job each, side by side, turn by turn.

Usage: whole_study.py PROGRAM SCENE_TOOL WORK_FOLDER [ROWS [TURNS]]
"""
import os
import random
import shutil
import subprocess
import sys
import time

PROGRAM, TOOL, WORK = (os.path.abspath(word) for word in sys.argv[1:4])
ROWS = int(sys.argv[4]) if len(sys.argv) > 4 else 400
TURNS = int(sys.argv[5]) if len(sys.argv) > 5 else 3
CLIPS = 20
sys.argv[1:] = [PROGRAM, TOOL, WORK]
sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), ".."))
import test_manifest as study  # noqa: E402

LEAST_SHARE = 0.95


def fresh(name):
    path = os.path.join(WORK, name)
    shutil.rmtree(path, ignore_errors=True)
    return path


def side_by_side(*calls):
    begin = time.monotonic()
    running = [subprocess.Popen(words, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
               for words in calls]
    if any(one.wait() for one in running):
        sys.exit("a run failed")
    return time.monotonic() - begin


def main():
    study.SCENES[:] = [dict(study.SCENES[i % 4], arc_deg=80 + 3 * i, seed=100 + i)
                       for i in range(CLIPS)]
    os.makedirs(WORK, exist_ok=True)
    table = study.manifest("study.csv", ROWS)
    call = [PROGRAM, "trace", "--manifest", table, "--out"]
    pooled, apart = [], []
    for _ in range(TURNS):
        pooled.append(side_by_side([*call, fresh("pooled"), "--jobs", "2"]))
        shards = fresh("apart")
        apart.append(side_by_side(*([*call, shards, "--jobs", "1", "--shard", f"{i}/2"]
                                    for i in (1, 2))))
        print(f"two jobs {pooled[-1]:.1f} s, two processes {apart[-1]:.1f} s", flush=True)
    share = sorted(a / p for a, p in zip(apart, pooled))[TURNS // 2]
    print(f"throughput of two jobs over two processes: {share:.3f} (median of {TURNS})")

    whole = study.tree(os.path.join(WORK, "pooled"))
    side_by_side([*call, os.path.join(WORK, "apart"), "--jobs", "2"])
    same = study.tree(os.path.join(WORK, "apart")) == whole
    print("two shards gathered are one run:", "yes, to the bit" if same else "NO")

    path = fresh("killed")
    killed = study.kill_ten_times(table, path, pooled[0], random.Random(3))
    side_by_side([*call, path, "--jobs", "2"])
    same_killed = study.tree(path) == whole
    print(f"killed {killed} times and resumed:", "yes, to the bit" if same_killed else "NO")
    if share < LEAST_SHARE or not same or not same_killed or killed != 10:
        sys.exit(1)


if __name__ == "__main__":
    main()
