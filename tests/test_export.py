#!/usr/bin/env python3
"""The record in open formats: accepted by validators that are not ours, broken copies not.

Usage: test_export.py PROGRAM SCENE_TOOL ROOT BUILD_FOLDER WORK_FOLDER

Motion-BIDS 1.11.1 by bids-validator, and by tests/validators/bids_extra.py what that lets
through; FHIR R4 by its JSON schema and by its profiles, and here what both let through; tables
by tableschema and datapackage, and read back by pandas.
"""
import csv
import glob
import json
import os
import re
import shutil
import signal
import subprocess
import sys
import time
import unittest

import pandas

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
import npm_tools  # noqa: E402
import rendered  # noqa: E402

PROGRAM, TOOL, ROOT, BUILD, WORK = (os.path.abspath(word) for word in sys.argv[1:6])
VALIDATORS = os.path.join(ROOT, "tests/validators")
SCENES = {
    "flexion-right": {"movement": "flexion", "side": "right", "arc_deg": 96},
    "flexion-later": {"movement": "flexion", "side": "right", "arc_deg": 104},
    "flexion-other": {"movement": "flexion", "side": "right", "arc_deg": 88},
    "abduction-left": {"movement": "abduction", "side": "left", "arc_deg": 150},
    "turn": {"movement": "external-rotation", "side": "right", "arc_deg": 40,
             "markers": "elbow wrist"},
}
COMMON = {"width": 640, "height": 360, "fps": 25, "speed_deg_per_s": 90, "repetitions": 2,
          "rest_s": 2, "hold_s": 0.4, "pause_s": 0.6, "markers": "shoulder elbow wrist hip",
          "noise": 2, "seed": 5}
ENGLISH = {"LC_ALL": "C.UTF-8", "LANGUAGE": "en"}


def run(*words, env=None, ok=True, cwd=None):
    done = subprocess.run(words, capture_output=True, text=True, timeout=300, cwd=cwd,
                          env=dict(os.environ, **(env or ENGLISH)))
    if ok and done.returncode:
        raise AssertionError(f"{words}: {done.stdout}{done.stderr}")
    return done


def german():
    if "de_DE.utf8" in run("locale", "-a").stdout.split():
        return {"LC_ALL": "de_DE.UTF-8", "LANGUAGE": "de"}
    place = os.path.join(WORK, "locales")
    os.makedirs(place, exist_ok=True)
    run("localedef", "-i", "de_DE", "-f", "UTF-8", place + "/de_DE.UTF-8", ok=False)
    return {"LC_ALL": "de_DE.UTF-8", "LANGUAGE": "de", "LOCPATH": place}


def clip(name):
    settings = [f"{k}={v}" for k, v in {**COMMON, **SCENES[name]}.items()]

    def make(path):
        mjpeg = path + ".mjpeg"
        run(TOOL, "-", mjpeg, *settings)
        run("ffmpeg", "-v", "error", "-y", "-framerate", "25", "-f", "mjpeg", "-i", mjpeg,
            "-c", "copy", path)
        os.remove(mjpeg)
    return rendered.once(WORK, name + ".avi", ["export", *settings], make)


def record():
    """Three people: two sessions of the first a fortnight apart, one without a marker's size,
    one withdrawn, one whose trace is gone; and one seen from where no angle can be told."""
    path = os.path.join(WORK, "record")
    shutil.rmtree(path, ignore_errors=True)
    places = os.path.join(WORK, "clips")
    shutil.rmtree(places, ignore_errors=True)
    os.makedirs(places)
    sized = ["--marker-size", "30"]
    for name, scene, person, day, more in (
            ("a", "flexion-right", "P07", 20, sized), ("b", "flexion-later", "P07", 34, sized),
            ("c", "abduction-left", "P07", 34, sized), ("d", "turn", "Q1", 40, []),
            ("e", "flexion-other", "R2", 41, sized), ("f", "abduction-left", "Q1", 42, sized)):
        there = os.path.join(places, name + ".avi")
        shutil.copy(clip(scene), there)
        at = 1780000000 + day * 86400
        os.utime(there, (at, at))
        what = SCENES[scene]
        run(PROGRAM, "trace", there, "-m", what["movement"], "-s", what["side"], "--person",
            person, "--data", path, "--visit", "V1", *more)
    run(PROGRAM, "people", "--data", path, "--person", "P07", "--add", "--affected", "right",
        "--birth-year", "1930", "--sex", "female", "--dominant", "right", "--set-by", "R1")
    table = os.path.join(path, "sessions.csv")
    with open(table, encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    run(PROGRAM, "edit", "--data", path, "--withdraw", rows[4]["id"], "--reason", "x", "--by",
        "R1")
    with open(table, encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    rows[0]["pain_at_max"], rows[0]["note"] = "3.5", "SECRETNOTE"
    rows[1]["rater"] = "R1"
    with open(table, "w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, list(rows[0]), lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)
    os.remove(os.path.join(path, rows[5]["trace"]))
    return path


def export(form, name, *words, env=None, ok=True):
    target = os.path.join(WORK, name)
    shutil.rmtree(target, ignore_errors=True)
    if os.path.isfile(target):
        os.remove(target)
    done = run(PROGRAM, "export", "--data", Export.record, "--as", form, "--to", target, *words,
               env=env, ok=ok)
    return target if ok else done


def tree(path):
    found = {}
    for place, _, names in os.walk(path):
        for name in names:
            with open(os.path.join(place, name), "rb") as file:
                found[os.path.relpath(os.path.join(place, name), path)] = file.read()
    return found


def change(path, pattern, old, new, copy):
    """A copy with the first file that fits changed at every place."""
    shutil.rmtree(copy, ignore_errors=True)
    shutil.copytree(path, copy)
    there = sorted(glob.glob(os.path.join(copy, pattern), recursive=True))[0]
    with open(there, encoding="utf-8", newline="") as file:
        text = file.read()
    changed = re.sub(old, new, text, count=1, flags=re.M)
    assert changed != text, (pattern, old)
    with open(there, "w", encoding="utf-8", newline="") as file:
        file.write(changed)


class Export(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.record = record()
        with open(os.path.join(cls.record, "sessions.csv"), encoding="utf-8",
                  newline="") as file:
            last = {row["id"]: row for row in csv.DictReader(file)}
        cls.rows = [row for row in last.values() if row["status"] == "ok"]
        cls.bids = export("motion-bids", "bids")
        cls.table = export("table", "table")
        cls.fhir = export("fhir", "bundle.json")

    def test_nothing_of_anybody_is_in_it(self):
        whole = {**tree(self.bids), **{"table/" + k: v for k, v in tree(self.table).items()}}
        with open(self.fhir, "rb") as file:
            whole["fhir"] = file.read()
        for name, content in whole.items():
            for secret in (b"SECRETNOTE", WORK.encode(), b".avi", b"/tmp", b"/home", b"1930",
                           os.uname().nodename.encode()):
                self.assertNotIn(secret, content, name)
        for place in (self.bids, self.table):
            for folder, _, names in os.walk(place):
                self.assertEqual(os.stat(folder).st_mode & 0o777, 0o700)
                for name in names:
                    self.assertEqual(os.stat(os.path.join(folder, name)).st_mode & 0o777, 0o600)
        self.assertEqual(os.stat(self.fhir).st_mode & 0o777, 0o600)

    def test_under_another_locale_it_is_the_same(self):
        env = german()
        self.assertEqual(tree(export("motion-bids", "bids-de", env=env)), tree(self.bids))
        self.assertEqual(tree(export("table", "table-de", env=env)), tree(self.table))
        other = export("fhir", "bundle-de.json", env=env)
        with open(other, "rb") as one, open(self.fhir, "rb") as two:
            self.assertEqual(one.read(), two.read())

    # ---- Motion-BIDS

    def bids_judged(self, path):
        """(errors and warnings of the validator, whether our own check has nothing to say)."""
        tools = npm_tools.installed(BUILD)
        cli = os.path.join(tools, "bids/package/dist/commonjs/cli.js")
        told = run("node", "-e", f"require({json.dumps(cli)}).default(process.argv.slice(1))"
                   ".catch(c=>{process.exitCode=typeof c==='number'?c:1})", "--", path, "--json",
                   "--no-color", ok=False).stdout
        issues = json.loads(told)["issues"]
        errors = [one["code"] for one in issues["errors"]]
        # 82 cannot be avoided: the validator takes the first sample for a header. 38 and 97
        # say that people have other sessions and movements, 56 that somebody is 89.
        warnings = [one["code"] for one in issues["warnings"]
                    if one["code"] not in (38, 56, 82, 97)]
        extra = run(sys.executable, os.path.join(VALIDATORS, "bids_extra.py"), path, ok=False)
        return errors, warnings, extra.returncode == 0

    @unittest.skipIf(os.environ.get("EXTRA_FLAGS"), "the files are those of the plain build")
    def test_motion_bids_is_valid(self):
        self.assertEqual(self.bids_judged(self.bids), ([], [], True))

    @unittest.skipIf(os.environ.get("EXTRA_FLAGS"), "the files are those of the plain build")
    def test_broken_motion_bids_is_rejected(self):
        copy = os.path.join(WORK, "bids-broken")
        motion, channels = "**/*_motion.tsv", "**/*_channels.tsv"
        for pattern, old, new in (
                (channels, r"\tPOS\t", "\tpos\t"), (channels, r"^shoulder_pos_x.*\n", ""),
                (channels, r"\tx\tPOS", "\tq\tPOS"), ("**/*_motion.json", '"TaskName"', '"Task"'),
                (motion, r"\.", ","), (motion, r"^[^\t]*\t", ""), (motion, r"\A", "a\tb\n"),
                (motion, r"\n", "\r\n"), ("participants.tsv", "sub-P07", "sub-P08"),
                ("dataset_description.json", '"BIDSVersion"', '"Version"'),
                ("**/*_scans.tsv", "_motion.tsv", "_motions.tsv"),
                ("**/*_events.tsv", "onset", "start")):
            change(self.bids, pattern, old, new, copy)
            errors, _, fine = self.bids_judged(copy)
            self.assertTrue(errors or not fine, (pattern, old))

    def test_motion_bids_has_the_records_figures(self):
        motions = sorted(glob.glob(self.bids + "/sub-*/ses-*/motion/*_motion.tsv"))
        names = [os.path.basename(path) for path in motions]
        # Q1's second one has lost its trace, R2's is withdrawn.
        self.assertEqual(names, [
            "sub-P07_ses-01_task-flexion_tracksys-camera_acq-right_run-01_motion.tsv",
            "sub-P07_ses-02_task-abduction_tracksys-camera_acq-left_run-01_motion.tsv",
            "sub-P07_ses-02_task-flexion_tracksys-camera_acq-right_run-01_motion.tsv",
            "sub-Q1_ses-01_task-externalrotation_tracksys-camera_acq-right_run-01_motion.tsv"])
        for path, row in zip(motions, (self.rows[0], self.rows[2], self.rows[1], self.rows[3])):
            channels = pandas.read_csv(path.replace("_motion.tsv", "_channels.tsv"), sep="\t",
                                       keep_default_na=False)
            data = pandas.read_csv(path, sep="\t", header=None, names=list(channels["name"]),
                                   na_values="n/a")
            trace = pandas.read_csv(os.path.join(self.record, row["trace"]))
            self.assertEqual(len(data), len(trace))
            for mine, theirs in (("shoulder_angle", "angle_deg"),
                                 ("shoulder_angle_image", "angle_image_deg"),
                                 ("elbow_flexion", "elbow_flexion_deg"),
                                 ("trunk_lean", "trunk_lean_deg")):
                pandas.testing.assert_series_equal(data[mine], trace[theirs],
                                                   check_names=False, check_dtype=False)
            self.assertLess(abs(data["latency"] + trace["time_s"][0]
                                - trace["time_s"]).max(), 1.01e-6)
            unit = set(channels["units"][channels["type"] == "POS"])
            self.assertEqual(unit, {"px"} if "Q1" in path else {"m"})
            # The scale: a marker of 30 mm, as many metres a pixel as its diameter says.
            if unit == {"m"}:
                size = pandas.concat([trace[["shoulder_diameter_px", "elbow_diameter_px"]]
                                      .stack()]).median()
                pixels = (trace["elbow_x_px"] - trace["shoulder_x_px"]).abs().max()
                metres = (data["elbow_pos_x"] - data["shoulder_pos_x"]).abs().max()
                self.assertAlmostEqual(metres, pixels * 0.030 / size, delta=1e-3)
            events = pandas.read_csv(path.replace("_motion.tsv", "_events.tsv"), sep="\t")
            whole = events[events["trial_type"] == "repetition"]
            self.assertEqual(len(whole), 2)
            if row["max_deg"]:
                self.assertLess(abs(whole["value"].max() - float(row["max_deg"])), 1.5)
        people = pandas.read_csv(self.bids + "/participants.tsv", sep="\t", index_col=0,
                                 keep_default_na=False)
        # Born in 1930 and measured in 2026: more than 89 is 89.
        self.assertEqual(list(people.loc["sub-P07"]), ["homo sapiens", 89, "F", "right",
                                                       "right"]
                         if people.dtypes["age"] != object else
                         ["homo sapiens", "89", "F", "right", "right"])
        sessions = pandas.read_csv(self.bids + "/sub-P07/sub-P07_sessions.tsv", sep="\t")
        self.assertEqual(list(sessions["acq_time"]), ["1925-01-05T10:00:00.000000",
                                                      "1925-01-19T10:00:00.000000"])

    # ---- tables

    @unittest.skipIf(os.environ.get("EXTRA_FLAGS"), "the files are those of the plain build")
    def test_tables_are_valid(self):
        tools = npm_tools.installed(BUILD)
        judge = ["node", os.path.join(VALIDATORS, "tables.js")]
        env = dict(ENGLISH, NODE_PATH=os.path.join(tools, "node_modules"))
        said = run(*judge, self.table, env=env).stdout
        self.assertIn("sessions 5", said)
        self.assertIn("repetitions 8", said)
        copy = os.path.join(WORK, "table-broken")
        for pattern, old, new in (
                ("frames.csv", r"(\d)\.(\d)", r"\1,\2"), ("sessions.csv", "max_deg", "maximum"),
                ("people.csv", r"P07,89", "P07,old"), ("people.csv", r"P07,89", "P07,101"),
                ("repetitions.csv", r"^([^\r]*),[^,]*\r", r"\1\r"),
                ("datapackage.json", '"type":\t"number"', '"type":\t"numeric"'),
                ("datapackage.json", '"resources"', '"tables"')):
            change(self.table, pattern, old, new, copy)
            self.assertNotEqual(run(*judge, copy, env=env, ok=False).returncode, 0,
                                (pattern, old))

    def test_tables_read_by_pandas_are_the_record(self):
        with open(os.path.join(self.table, "sessions.csv"), "rb") as file:
            lines = file.read()
        self.assertEqual(lines.count(b"\n"), lines.count(b"\r\n"))  # RFC 4180
        sessions = pandas.read_csv(self.table + "/sessions.csv", dtype={"id": str})
        self.assertEqual(set(sessions["id"]), {row["id"] for row in self.rows})
        for row in self.rows:
            mine = sessions[sessions["id"] == row["id"]].iloc[0]
            for name in ("max_deg", "max_u95_deg", "mean_of_maxima_deg"):
                if row[name]:
                    self.assertEqual(mine[name], float(row[name]))
                else:
                    self.assertTrue(pandas.isna(mine[name]))
            self.assertEqual(mine["started"], row["started"])
        frames = pandas.read_csv(self.table + "/frames.csv", dtype={"session": str})
        for row in self.rows[:4]:
            trace = pandas.read_csv(os.path.join(self.record, row["trace"]))
            mine = frames[frames["session"] == row["id"]].reset_index(drop=True)
            for name in ("frame", "time_s", "angle_deg", "wrist_x_px", "quality", "hike_mm"):
                pandas.testing.assert_series_equal(mine[name], trace[name], check_dtype=False)
        with open(os.path.join(self.table, "datapackage.json"), encoding="utf-8") as file:
            told = json.load(file)
        for resource in told["resources"]:
            header = pandas.read_csv(os.path.join(self.table, resource["path"]), nrows=0)
            self.assertEqual([one["name"] for one in resource["schema"]["fields"]],
                             list(header.columns))
            for one in resource["schema"]["fields"]:
                self.assertTrue(one["description"])
                if one["name"].endswith("_deg"):
                    self.assertEqual(one["unit"], "deg")
        shared = export("table", "table-shared", "--share", "--person", "P07")
        started = pandas.read_csv(shared + "/sessions.csv")["started"]
        self.assertEqual(list(started.str[:10]), ["1925-01-05", "1925-01-19", "1925-01-19"])

    # ---- FHIR

    def fhir_rules(self, bundle):
        """What schema and profiles let through; a list of what is wrong."""
        faults = []
        urls = {entry["fullUrl"] for entry in bundle["entry"]}

        def walk(at, where):
            if at is None or at == "" or at == [] or at == {}:
                faults.append("empty: " + where)
            if isinstance(at, dict):
                if "reference" in at and at["reference"] not in urls:
                    faults.append("dangling: " + where)
                for key, value in at.items():
                    walk(value, where + "." + key)
            elif isinstance(at, list):
                for value in at:
                    walk(value, where)
        walk(bundle, "Bundle")
        for entry in bundle["entry"]:
            one = entry["resource"]
            if one["resourceType"] != "Observation":
                continue
            values = [key for key in one if key.startswith("value")]
            if len(values) + ("dataAbsentReason" in one) != 1:  # obs-6
                faults.append("obs-6")
            main = {c["code"] for c in one["code"].get("coding", [])}
            for part in one.get("component", []):  # obs-7
                if main & {c["code"] for c in part["code"].get("coding", [])}:
                    faults.append("obs-7")
            if "valueSampledData" in one and not re.fullmatch(
                    r"(-?\d+(\.\d+)?|E|L|U)( (-?\d+(\.\d+)?|E|L|U))*",
                    one["valueSampledData"]["data"]):
                faults.append("sampled data")
        return faults

    @unittest.skipIf(os.environ.get("EXTRA_FLAGS"), "the files are those of the plain build")
    def test_fhir_is_valid_and_broken_copies_are_not(self):
        tools = npm_tools.installed(BUILD)
        env = dict(ENGLISH, NODE_PATH=os.path.join(tools, "node_modules"))

        def accepted(path):
            return [run("node", os.path.join(VALIDATORS, name), path, env=env,
                        ok=False).returncode == 0
                    for name in ("fhir_schema.js", "fhir_profiles.js")]
        shared = export("fhir", "bundle-shared.json", "--share")
        for path in (self.fhir, shared):
            with open(path, encoding="utf-8") as file:
                bundle = json.load(file)
            self.assertEqual(accepted(path), [True, True],
                             run("node", os.path.join(VALIDATORS, "fhir_schema.js"), path,
                                 env=env, ok=False).stdout)
            self.assertEqual(self.fhir_rules(bundle), [])
        broken = os.path.join(WORK, "bundle-broken.json")
        observation = next(entry["resource"] for entry in bundle["entry"]
                           if "valueQuantity" in entry["resource"])
        place = bundle["entry"].index(next(entry for entry in bundle["entry"]
                                           if entry["resource"] is observation))

        def drop(one, key):
            del one[key]
        # (what is done, whether validators have to see it; else the rules here have to)
        for name, spoil, seen in (
                ("status", lambda o: o.update(status="finished"), True),
                ("no code", lambda o: drop(o, "code"), True),
                ("unknown field", lambda o: o.update(colour="red"), True),
                ("text as value", lambda o: o["valueQuantity"].update(value="116"), True),
                ("no offset", lambda o: o.update(effectiveDateTime="2026-11-24T10:05:00"), True),
                ("no status", lambda o: drop(o, "status"), True),
                ("list of one", lambda o: o.update(bodySite=[o["bodySite"]]), True),
                ("empty list", lambda o: o.update(note=[]), False),
                ("two values", lambda o: o.update(valueString="x"), False),
                ("obs-6", lambda o: o.update(dataAbsentReason={"text": "x"}), False),
                ("dangling", lambda o: o["subject"].update(reference="urn:uuid:0"), False)):
            copy = json.loads(json.dumps(bundle))
            spoil(copy["entry"][place]["resource"])
            with open(broken, "w", encoding="utf-8") as file:
                json.dump(copy, file)
            if seen:
                self.assertIn(False, accepted(broken), name)
            else:
                self.assertNotEqual(self.fhir_rules(copy), [], name)

    def test_fhir_has_the_records_figures(self):
        with open(self.fhir, encoding="utf-8") as file:
            entries = json.load(file)["entry"]
        one = {entry["fullUrl"]: entry["resource"] for entry in entries}
        self.assertEqual(sum(r["resourceType"] == "Patient" for r in one.values()), 2)
        found = [r for r in one.values() if "valueQuantity" in r]
        self.assertEqual(len(found), 4)
        # The one that was seen from where no angle can be told has a reason in its place.
        (absent,) = [r for r in one.values() if "dataAbsentReason" in r]
        self.assertEqual(absent["dataAbsentReason"]["coding"][0]["code"], "error")
        # Its code was not read word for word in a source, so it is said in words alone.
        self.assertNotIn("coding", absent["code"])
        self.assertEqual(absent["code"]["text"],
                         "Right shoulder, active external-rotation, highest angle of the session")
        for row in self.rows:
            if not row["max_deg"]:
                continue
            mine = [r for r in found if r["valueQuantity"]["value"] == float(row["max_deg"])
                    and r["effectiveDateTime"] == row["started"]]
            self.assertEqual(len(mine), 1)
            (mine,) = mine
            self.assertEqual(mine["status"], "preliminary")
            self.assertEqual(mine["valueQuantity"]["code"], "deg")
            parts = {part["code"]["text"]: part["valueQuantity"]
                     for part in mine["component"]}
            self.assertEqual(parts["Expanded uncertainty of the highest angle, k = 2"]["value"],
                             float(row["max_u95_deg"]))
            self.assertEqual("Pain at the highest angle" in parts, row["pain_at_max"] != "")
            if row["pain_at_max"]:
                self.assertEqual(parts["Pain at the highest angle"]["value"],
                                 float(row["pain_at_max"]))
            self.assertEqual(one[mine["subject"]["reference"]]["identifier"][0]["value"],
                             row["person"])
            self.assertIn("projected", mine["method"]["text"])
            self.assertIn("not a medical device", mine["note"][0]["text"])
            code = mine["code"].get("coding", [{}])[0].get("code")
            self.assertEqual(code, {"flexion": "41307-0",
                                    "abduction": "41299-9"}[row["movement"]])
            if "derivedFrom" in mine:
                data = one[mine["derivedFrom"][0]["reference"]]["valueSampledData"]
                values = [float(text) for text in data["data"].split() if text != "E"]
                # The trace's own 25 a second are the Bundle's.
                trace = pandas.read_csv(os.path.join(self.record, row["trace"]))
                self.assertLess(abs(max(values) - trace["angle_deg"].max()), 0.3)
                self.assertEqual(data["period"], 40)

    # ---- what goes wrong

    def test_what_is_wrong_is_said_once_and_nothing_is_written(self):
        full = os.path.join(WORK, "full")
        os.makedirs(full, exist_ok=True)
        with open(os.path.join(full, "mine"), "w", encoding="utf-8"):
            pass
        before = sorted(os.listdir(WORK))
        new = os.path.join(WORK, "new")
        for words, code, said in (
                (("--to", new), 2, "--as"), (("--as", "xml", "--to", new), 2, "motion-bids"),
                (("--as", "table"), 2, "--to"), (("--as", "table", "--to", full), 1, "empty"),
                (("--as", "motion-bids", "--to", full), 1, "empty"),
                (("--as", "fhir", "--to", self.fhir), 1, "exists"),
                (("--as", "table", "--to", WORK + "/none/x"), 1, "no folder"),
                (("--as", "table", "--to", new, "--person", "NOBODY"), 1, "no session"),
                (("--as", "motion-bids", "--to", new, "--since", "soon"), 2, "no day"),
                (("--as", "motion-bids", "--to", new, "extra"), 2, "extra")):
            done = run(PROGRAM, "export", "--data", self.record, *words, ok=False)
            self.assertEqual(done.returncode, code, (words, done.stderr))
            self.assertIn(said, done.stderr)
        self.assertEqual(sorted(os.listdir(WORK)), before)

    def test_a_damaged_trace_leaves_nothing_half(self):
        other = os.path.join(WORK, "damaged")
        shutil.rmtree(other, ignore_errors=True)
        shutil.copytree(self.record, other)
        with open(os.path.join(other, self.rows[2]["trace"]), "a", encoding="utf-8") as file:
            file.write("not,a,row\n")
        for form in ("motion-bids", "table", "fhir"):
            target = os.path.join(WORK, "never")
            done = run(PROGRAM, "export", "--data", other, "--as", form, "--to", target, ok=False)
            self.assertEqual(done.returncode, 1)
            self.assertIn("line", done.stderr)
            self.assertFalse(os.path.exists(target))
        self.assertFalse(glob.glob(os.path.join(WORK, ".never*")))

    def test_killed_there_is_no_half_folder(self):
        for wait_s in (0.005, 0.02, 0.05, 0.1):
            target = os.path.join(WORK, "killed")
            shutil.rmtree(target, ignore_errors=True)
            process = subprocess.Popen([PROGRAM, "export", "--data", self.record, "--as",
                                        "motion-bids", "--to", target],
                                       stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
            time.sleep(wait_s)
            process.send_signal(signal.SIGKILL)
            process.wait()
            if os.path.exists(target):
                self.assertEqual(tree(target), tree(self.bids))
        for left in glob.glob(os.path.join(WORK, ".killed*")):
            shutil.rmtree(left)


if __name__ == "__main__":
    os.makedirs(WORK, exist_ok=True)
    unittest.main(argv=sys.argv[:1] + sys.argv[6:], verbosity=2)
