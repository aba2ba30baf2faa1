"""The played camera for tests: what to set so that a program finds it.

    camera = played.Camera(LIBRARY, WORK, offer="MJPG:1280x720:30:clip.mjpeg")
    subprocess.run([PROGRAM, ...], env=camera.environment(PROGRAM))
    camera.command("unplug:2")

Settings are those at the top of played_camera.c, in lower case and without OMO_PLAY_.
"""
import os
import re
import subprocess


def sanitizer(program):
    """The sanitizer's library the program was linked with, which has to come first."""
    said = subprocess.run(["ldd", program], capture_output=True, text=True, check=False)
    found = re.search(r"libasan\S* => (\S+)", said.stdout)
    return [found.group(1)] if found else []


def jpegs(path):
    """The pictures of a file of JPEGs one after the other."""
    with open(path, "rb") as file:
        data = file.read()
    pictures, at = [], 0
    while at < len(data):
        assert data[at:at + 2] == b"\xff\xd8", path
        end = at + 2
        while data[end + 1] != 0xda:
            end += 2 + int.from_bytes(data[end + 2:end + 4], "big")
        end = data.index(b"\xff\xd9", end) + 2
        pictures.append(data[at:end])
        at = end
    return pictures


class Camera:
    """One camera and the files it writes, in a folder of its own."""
    count = 0

    def __init__(self, library, work, **settings):
        Camera.count += 1
        self.library = library
        self.folder = os.path.join(work, "camera-%d" % Camera.count)
        os.makedirs(self.folder)
        self.settings = {key: str(value) for key, value in settings.items()}
        for name in ("log", "controls", "commands"):
            self.settings.setdefault(name, os.path.join(self.folder, name))

    def environment(self, program, **more):
        full = {key: value for key, value in os.environ.items()
                if not key.startswith("OMO_PLAY_")}
        full["LD_PRELOAD"] = " ".join(sanitizer(program) + [self.library])
        full.update(("OMO_PLAY_" + key.upper(), value)
                    for key, value in self.settings.items())
        full.update(more)
        return full

    def command(self, line):
        with open(self.settings["commands"], "a", encoding="ascii") as file:
            file.write(line + "\n")

    def _lines(self, name):
        try:
            with open(self.settings[name], encoding="ascii") as file:
                return file.read().splitlines()
        except FileNotFoundError:
            return []

    def pictures(self):
        """(number, sequence, time in microseconds, bytes, "shown" or "lost") each."""
        rows = [line.split() for line in self._lines("log")]
        return [(int(r[0]), int(r[1]), int(r[2]), int(r[3]), r[4]) for r in rows]

    def controls(self):
        """Exposure and white balance at first and after every change."""
        return [{key: int(value) for key, value in
                 (item.split("=") for item in line.split())}
                for line in self._lines("controls")]
