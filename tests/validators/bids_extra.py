#!/usr/bin/env python3
"""What both BIDS validators let through in motion data (BIDS 1.11.1, Motion): run beside them.

Usage: bids_extra.py DATA_SET
"""
import glob
import json
import os
import re
import sys

NUMBER = re.compile(r"[+-]?([0-9]+([.][0-9]*)?|[.][0-9]+)([eE][+-]?[0-9]+)?")


def rows_of(path, faults):
    with open(path, "rb") as file:
        whole = file.read()
    if b"\r" in whole:
        faults.append(f"{path}: CR in the file")
    if not whole.endswith(b"\n"):
        faults.append(f"{path}: no line end at its end")
    return [line.split("\t") for line in whole.decode("utf-8").split("\n") if line]


def recording(motion, faults):
    channels, sidecar = motion[:-len("motion.tsv")] + "channels.tsv", motion[:-4] + ".json"
    missing = [path for path in (channels, sidecar) if not os.path.exists(path)]
    if missing:
        faults.append(f"{missing[0]}: missing")
        return
    head, *table = rows_of(channels, faults)
    data = rows_of(motion, faults)
    with open(sidecar, encoding="utf-8") as file:
        told = json.load(file)
    if head[:5] != ["name", "component", "type", "tracked_point", "units"]:
        faults.append(f"{channels}: header {head}")
        return
    names = [row[0] for row in table]
    types = [row[head.index("type")] for row in table]
    if len(set(names)) != len(names):
        faults.append(f"{channels}: names repeat")
    for line, row in enumerate(data, 1):
        if len(row) != len(table):
            faults.append(f"{motion}:{line}: {len(row)} columns, {len(table)} channels")
        bad = [cell for cell in row if cell != "n/a" and not NUMBER.fullmatch(cell)]
        if bad:
            faults.append(f"{motion}:{line}: not a number: {bad[0]!r}")
    for kind in ("POS", "JNTANG", "LATENCY", "MISC"):
        if told.get(kind + "ChannelCount", types.count(kind)) != types.count(kind):
            faults.append(f"{sidecar}: {kind}ChannelCount")
    if told.get("MotionChannelCount", len(table)) != len(table):
        faults.append(f"{sidecar}: MotionChannelCount")
    if "LATENCY" in types:
        at = types.index("LATENCY")
        times = [float(row[at]) for row in data
                 if len(row) == len(table) and NUMBER.fullmatch(row[at])]
        if not times or times[0] != 0 or any(b <= a for a, b in zip(times, times[1:])):
            faults.append(f"{motion}: latency has to begin at 0 and rise")
    for row in table:
        if row[head.index("type")] == "JNTANG" and row[head.index("units")] != "deg":
            faults.append(f"{channels}: {row[0]} not in deg")


def main():
    root, faults = sys.argv[1], []
    motions = glob.glob(os.path.join(root, "sub-*", "**", "*_motion.tsv"), recursive=True)
    if not motions:
        faults.append("no *_motion.tsv")
    for motion in sorted(motions):
        recording(motion, faults)
    people = {row[0] for row in rows_of(os.path.join(root, "participants.tsv"), faults)[1:]}
    folders = {os.path.basename(path) for path in glob.glob(os.path.join(root, "sub-*"))}
    if people != folders:
        faults.append(f"participants.tsv: {sorted(people ^ folders)}")
    print("\n".join(faults) if faults else f"{len(motions)} recordings, nothing to say")
    sys.exit(bool(faults))


main()
