#!/usr/bin/env python3
"""Half an hour of measuring in the window: what is lost, how old pictures are, what it costs.

Usage: soak.py PROGRAM SCENE_TOOL PLAYED_CAMERA SECONDS
The played camera gives 1280x720 at 30 pictures a second from stored JPEGs, so what it
costs is not the program's. The window is drawn in software under Xvfb. Ends with 1 when a
limit is passed.
"""
import os
import re
import subprocess
import sys
import tempfile
import time

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), ".."))
import played  # noqa: E402

PROGRAM, TOOL, LIBRARY = (os.path.abspath(word) for word in sys.argv[1:4])
SECONDS = int(sys.argv[4])
# The limits of the window's promise.
DROPPED_PERCENT, CPU_PERCENT, MEDIAN_MS, LATE_MS, GROWTH_KB = 0.5, 45, 50, 100, 2048
FIRST_S = 2
# Memory is compared from here on: fonts, tables and the first movement are in by then.
WARM_S = min(120, SECONDS / 3)


def memory_kb(process):
    with open(f"/proc/{process}/status", encoding="ascii") as file:
        return int(re.search(r"VmRSS:\s+(\d+)", file.read()).group(1))


def start_server():
    reading, writing = os.pipe()
    server = subprocess.Popen(["Xvfb", "-displayfd", str(writing), "-screen", "0",
                               "1280x720x24", "-nolisten", "tcp"], pass_fds=[writing],
                              stderr=subprocess.DEVNULL)
    os.close(writing)
    with os.fdopen(reading) as told:
        return server, ":" + told.readline().strip()


def main():
    work = tempfile.mkdtemp(prefix="omogon-soak-")
    clip = os.path.join(work, "live.mjpeg")
    print("rendering a minute of an invented person", flush=True)
    subprocess.run([TOOL, "live", clip], check=True, capture_output=True)
    server, display = start_server()
    camera = played.Camera(LIBRARY, work, offer=f"MJPG:1280x720:30:{clip}", lead=1)
    env = camera.environment(PROGRAM, DISPLAY=display, SDL_VIDEODRIVER="x11",
                             SDL_RENDER_DRIVER="software", SDL_AUDIODRIVER="dummy",
                             XDG_CONFIG_HOME=os.path.join(work, "config"))
    out = os.path.join(work, "record")
    program = subprocess.Popen(
        [PROGRAM, "measure", "-m", "flexion", "-s", "right", "--software", "--out", out,
         "--movements", "1000", "--rest", "5", "--seconds", str(SECONDS)],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=env)
    began, warm, most = time.monotonic(), None, 0
    while program.poll() is None and time.monotonic() - began < SECONDS:
        time.sleep(min(10, max(SECONDS / 20, 1)))
        spent = time.monotonic() - began
        try:
            used = memory_kb(program.pid)
        except (FileNotFoundError, AttributeError):
            break
        if spent >= WARM_S:
            warm = warm or used
            most = max(most, used)
        if sys.stdout.isatty():
            print(f"\r{spent:.0f} of {SECONDS} s, {used} kB", end="", flush=True)
    said, complained = program.communicate(timeout=120)
    server.terminate()
    print(said)
    if complained.strip():
        print("said on standard error:", complained.strip())

    def number(pattern):
        found = re.search(pattern, said)
        return float(found.group(1)) if found else float("nan")

    figures = [
        ("pictures dropped", number(r"dropped \(([\d.]+) %\)"), DROPPED_PERCENT, "%"),
        ("processor, of one core", number(r"Processor: ([\d.]+) %"), CPU_PERCENT, "%"),
        ("age on screen, median", number(r"half of them at most (\d+) ms"), MEDIAN_MS, "ms"),
        ("age on screen, 99th percentile", number(r"99 % at most (\d+) ms"), LATE_MS, "ms"),
        ("memory gained since warm", (most - warm) if warm else float("nan"), GROWTH_KB, "kB"),
    ]
    figures += [
        ("first ringed marker on screen", number(r"marker on screen ([\d.]+) s"), FIRST_S, "s"),
        ("first angle on screen", number(r"first angle ([\d.]+) s"), FIRST_S, "s"),
    ]
    good = program.returncode == 0
    print(f"{'':34}{'measured':>10}{'limit':>10}")
    for what, value, limit, unit in figures:
        good &= value <= limit
        print(f"{what:34}{value:>10.1f}{limit:>10.1f} {unit}")
    print(f"memory: {warm} kB after {WARM_S:.0f} s, at most {most} kB afterwards")
    print("all within the limits" if good else "NOT within the limits")
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main())
