"""Validators that the npm registry has, put in place once for all tests.

The folder is `npm-tools` of the build folder, whose path is given; versions are fixed here.
"""
import fcntl
import os
import subprocess

PACKAGES = ("axe-core@4.14.1", "html-validate@9.7.1", "playwright-core@1.65.1",
            "vnu-jar@26.9.27")


def installed(build):
    """The folder whose node_modules has them; installs what is missing."""
    folder = os.path.join(build, "npm-tools")
    os.makedirs(folder, exist_ok=True)
    stamp = os.path.join(folder, "installed")
    with open(folder + ".lock", "w", encoding="utf-8") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        wanted = "\n".join(PACKAGES)
        if os.path.exists(stamp) and open(stamp, encoding="utf-8").read() == wanted:
            return folder
        with open(os.path.join(folder, "package.json"), "w", encoding="utf-8") as file:
            file.write('{"private": true}\n')
        done = subprocess.run(
            ["npm", "install", "--no-save", "--no-package-lock", "--ignore-scripts",
             "--no-audit", "--no-fund", *PACKAGES],
            cwd=folder, capture_output=True, text=True, timeout=600)
        if done.returncode:
            raise RuntimeError("the validators could not be installed with npm; the network "
                               "is needed once:\n" + done.stderr[-2000:])
        with open(stamp, "w", encoding="utf-8") as file:
            file.write(wanted)
    return folder
