"""An X server of our own and what somebody reads from its screen: words by tesseract."""
import csv
import io
import os
import subprocess
import time

import x_server


class Display:
    """Xvfb with one program; keys through xdotool, words through an optical reader."""

    def __init__(self, work, width=1280, height=800, **environment):
        self.server = x_server.Server(width, height)
        self.work = work
        self.env = dict(os.environ, DISPLAY=self.server.name, SDL_VIDEODRIVER="x11",
                        SDL_RENDER_DRIVER="software", SDL_AUDIODRIVER="dummy",
                        LIBGL_DRIVERS_PATH=work, LC_ALL="C.UTF-8", LANGUAGE="en",
                        OMP_THREAD_LIMIT="1",  # threads of the reader only wait for each other
                        **environment)
        self.program = None

    def start(self, *words):
        self.program = subprocess.Popen(words, env=self.env, stdin=subprocess.DEVNULL,
                                        stdout=subprocess.PIPE, stderr=subprocess.PIPE,
                                        text=True)
        return self.program

    def close(self):
        if self.program:
            self.program.kill()
            self.program.communicate()
        self.server.close()

    def do(self, *words):
        subprocess.run(["xdotool", *words], check=True, env=self.env)

    def run(self, *words):
        return subprocess.run(words, check=True, env=self.env, capture_output=True,
                              text=True).stdout

    def shoot(self, path):
        # Dark letters on light ground are read best.
        subprocess.run(["import", "-window", "root", "-colorspace", "Gray", "-negate", path],
                       check=True, env=self.env)
        return path

    def text(self, path):
        """All words of a picture."""
        return subprocess.run(["tesseract", path, "-", "--psm", "11"], capture_output=True,
                              text=True, check=True, env=self.env).stdout

    def lines(self, path):
        """(height of its tallest word in px, its words) of every line, the tallest first."""
        told = subprocess.run(["tesseract", path, "-", "--psm", "11", "tsv"],
                              capture_output=True, text=True, check=True, env=self.env).stdout
        found = {}
        for row in csv.DictReader(io.StringIO(told), delimiter="\t", quoting=csv.QUOTE_NONE):
            if row["level"] == "5" and row["text"].strip() and float(row["conf"]) > 50:
                key = row["block_num"], row["par_num"], row["line_num"]
                height, words = found.get(key, (0, []))
                # What has a letter in it: rules and rings are read as signs.
                if any(c.isalnum() for c in row["text"]):
                    height = max(height, int(row["height"]))
                found[key] = height, words + [row["text"]]
        return sorted(((height, " ".join(words)) for height, words in found.values()),
                      reverse=True)

    def until(self, condition, seconds=60):
        """True as soon as it holds, False when the time is over."""
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            if condition():
                return True
            time.sleep(0.05)
        return False
