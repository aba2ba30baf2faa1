"""What is rendered for the tests is rendered once, however many of them look at it.

The folder is OMOGON_RENDERED where that is set (the run under the sanitizers then takes what
the plain one made, since the same scene gives the same bits), else the test's own.
"""
import contextlib
import fcntl
import hashlib
import os
import shutil


@contextlib.contextmanager
def locked(path):
    """Alone with `path`, among the tests that run side by side."""
    with open(path + ".lock", "w", encoding="utf-8") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        yield


def once(work, name, settings, make):
    """The path of `name`, in a folder for these settings (words, which tell it from another
    of that name); make(path) is called where it is missing."""
    key = hashlib.sha256("\n".join(settings).encode()).hexdigest()[:12]
    top = os.environ.get("OMOGON_RENDERED") or os.path.join(work, "rendered")
    folder = os.path.join(top, key)
    os.makedirs(top, exist_ok=True)
    with locked(folder):
        if not os.path.isdir(folder):
            # Only a whole one gets its name, so that a killed run leaves none behind.
            unfinished = folder + ".part"
            shutil.rmtree(unfinished, ignore_errors=True)
            os.makedirs(unfinished)
            make(os.path.join(unfinished, name))
            os.rename(unfinished, folder)
    return os.path.join(folder, name)
