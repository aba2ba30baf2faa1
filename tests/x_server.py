"""An X server of our own."""
import os
import subprocess
import sys


class Server:
    """Xvfb on a free display, whose `name` is for DISPLAY."""

    def __init__(self, width, height, managed=True):
        reading, writing = os.pipe()
        self.process = subprocess.Popen(
            ["Xvfb", "-displayfd", str(writing), "-screen", "0", f"{width}x{height}x24",
             "-nolisten", "tcp"], pass_fds=[writing], stderr=subprocess.DEVNULL)
        os.close(writing)
        with os.fdopen(reading) as told:
            number = told.readline().strip()
        if not number:
            sys.exit("Xvfb did not start")
        self.name = ":" + number
        self.processes = [self.process]
        if managed:
            # Without a window manager no window has the focus, and letters are not written.
            self.processes.insert(0, subprocess.Popen(
                ["evilwm", "-fn", "fixed"], env=dict(os.environ, DISPLAY=self.name),
                stderr=subprocess.DEVNULL))

    def close(self):
        for process in self.processes:
            process.terminate()
            process.wait()
