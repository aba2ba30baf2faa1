"""The window under test on an X server, and what its pixels say."""

import os
import re
import subprocess
import sys
import time

import numpy as np


def run(*command, **settings):
    return subprocess.run(command, check=True, capture_output=True, **settings).stdout


class Window:
    """The program with one page; tiles as it says they are, pixels as they are shown."""

    program = translations = work = None  # set once by the test

    def __init__(self, *arguments, german=False):
        self.arguments = arguments
        self.lines = open(os.path.join(self.work, "said"), "w+")
        environment = dict(os.environ, SDL_VIDEODRIVER="x11",
                           SDL_RENDER_DRIVER="software", OMOGON_LOCALE=self.translations,
                           LC_ALL="C.UTF-8", LANGUAGE="de" if german else "en")
        self.process = subprocess.Popen([self.program, *arguments], stdout=self.lines,
                                        env=environment)
        self.seen = 0
        self.tiles, self.width, self.height = self.wait_ready()
        self.id = run("xdotool", "search", "--sync", "--pid", str(self.process.pid),
                      "--name", "window under test").split()[-1].decode()

    def said(self):
        with open(self.lines.name) as lines:
            return lines.read().split("\n")

    def wait_ready(self, seconds=20):
        """Tiles of the next picture in which the size is new."""
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            lines = self.said()
            for i in range(self.seen, len(lines) - 1):
                if not lines[i].startswith("ready"):
                    continue
                width, height = map(int, lines[i].split()[1:])
                tiles = []
                for line in lines[self.seen:i]:
                    if line.startswith("tile "):
                        name, x, y, w, h, kind = line.split()[1:]
                        tiles.append((name, int(x), int(y), int(w), int(h), kind))
                self.seen = i + 1
                return tiles, width, height
            if self.process.poll() is not None:
                break
            time.sleep(0.02)
        sys.exit(f"the window did not open: {self.arguments}")

    def wait_size(self, width, height):
        """A resize may take several steps."""
        while (self.width, self.height) != (width, height):
            self.tiles, self.width, self.height = self.wait_ready()

    def actions(self):
        return [line.split()[1:] for line in self.said() if line.startswith("action ")]

    def wait_action(self, before, seconds=10):
        """Actions beyond the first `before`."""
        end = time.monotonic() + seconds
        while time.monotonic() < end and len(self.actions()) <= before:
            time.sleep(0.02)
        return self.actions()[before:]

    def settle(self):
        """Until two pictures of the window are the same."""
        last = None
        for _ in range(50):
            now = self.pixels()
            if last is not None and np.array_equal(now, last):
                return now
            last = now
            time.sleep(0.03)
        return last

    def origin(self):
        told = run("xwininfo", "-id", self.id).decode()
        return tuple(int(re.search(rf"Absolute upper-left {c}:\s+(-?\d+)", told).group(1))
                     for c in "XY")

    def pixels(self):
        """What the X server shows: rows, columns, red green blue."""
        raw = run("import", "-window", self.id, "-depth", "8", "rgb:-")
        return np.frombuffer(raw, np.uint8).reshape(self.height, self.width, 3)

    def tile(self, name, index=0):
        return [t for t in self.tiles if t[0] == name][index]

    def key(self, *keys):
        run("xdotool", "key", *keys)

    def pointer(self, x, y):
        left, top = self.origin()
        run("xdotool", "mousemove", str(left + x), str(top + y))

    def close(self):
        self.process.terminate()
        code = self.process.wait()
        self.lines.close()
        return code

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.close()


def luminance(rgb):
    """Relative luminance, Web Content Accessibility Guidelines 2.1."""
    c = np.asarray(rgb, float) / 255
    c = np.where(c <= 0.04045, c / 12.92, ((c + 0.055) / 1.055) ** 2.4)
    return c @ np.array([0.2126, 0.7152, 0.0722])


def contrast(a, b):
    high, low = max(a, b), min(a, b)
    return (high + 0.05) / (low + 0.05)


def ground_of(piece):
    """The most frequent colour."""
    packed = piece.reshape(-1, 3).astype(np.int32) @ np.array([1 << 16, 1 << 8, 1])
    colours, counts = np.unique(packed, return_counts=True)
    most = int(colours[counts.argmax()])
    return np.array([most >> 16, most >> 8 & 255, most & 255])


def ink_of(piece):
    """Ground, ink and where ink is, of a piece of the window that holds text."""
    ground = ground_of(piece)
    away = np.abs(piece.astype(int) - ground).sum(axis=2)
    strong = away > away.max() * 0.6
    return ground, ground_of(piece[strong]), away > 40


def cut(pixels, tile):
    _, x, y, w, h, _ = tile
    return pixels[y:y + h, x:x + w]


def rows_of_ink(piece):
    ground, _, _ = ink_of(piece)
    strong = np.abs(piece.astype(int) - ground).sum(axis=2) > 330
    rows = np.flatnonzero(strong.any(axis=1))
    return int(rows[-1] - rows[0] + 1) if rows.size else 0


def ocr(piece, height, *options):
    """Text of a piece, dark on light at a size the reader likes, with a margin."""
    path = os.path.join(Window.work, "read.png")
    run("convert", "-size", f"{piece.shape[1]}x{piece.shape[0]}", "-depth", "8", "rgb:-",
        "-negate", "-colorspace", "Gray", "-normalize", "-bordercolor", "white", "-border",
        "20", "-resize", f"x{height}", path, input=piece.tobytes())
    return run("tesseract", path, "-", "--psm", "7", *options,
               stderr=None).decode().strip()
