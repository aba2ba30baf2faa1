#!/usr/bin/env python3
"""A camera from the kernel's interface up to planes, played: formats, faults, recovery.

Usage: test_camera.py CAMERA_PROGRAM PLAYED_CAMERA_LIBRARY SCENE_TOOL WORK_FOLDER
"""
import os
import random
import shutil
import signal
import subprocess
import sys
import unittest
import zlib

import played

PROGRAM, LIBRARY, TOOL, WORK = (os.path.abspath(word) for word in sys.argv[1:5])
DEVICE = "/dev/video0"
PERIOD_US = 33333


def crc(data):
    return "%08x" % zlib.crc32(data)


class Frame:
    def __init__(self, words):
        self.index, self.time_us, self.format = int(words[0]), int(words[1]), words[2]
        self.width, self.height, self.bytes = (int(word) for word in words[3:6])
        self.crc, self.planes = words[6], words[7:]


class Said:
    """What the program printed."""

    def __init__(self, ended, text):
        self.ended, self.text = ended, text
        self.lines = text.splitlines()
        self.frames = [Frame(line.split()[1:]) for line in self.lines
                       if line.startswith("frame ")]
        self.words = [line.split(" ", 2) for line in self.lines]
        self.got = [line.split(" ", 6)[1:] for line in self.lines
                    if line.startswith("got ")]
        self.faults = [words[1] for words in self.words if words[0] == "fault"]

    def count(self, word):
        return sum(words[0] == word for words in self.words)


def render(name, *settings):
    path = os.path.join(WORK, name + ".mjpeg")
    if not os.path.exists(path):
        subprocess.run([TOOL, "-", path, *settings], check=True, capture_output=True)
    return path


def raw(name, size, count):
    """Pictures of noise: every sample differs from its neighbours and between pictures."""
    path = os.path.join(WORK, name)
    pictures = [random.Random(i).randbytes(size) for i in range(count)]
    with open(path, "wb") as file:
        file.write(b"".join(pictures))
    return path, pictures


def without_tables(picture):
    """A JPEG less its DHT segments."""
    kept, at = picture[:2], 2
    while picture[at + 1] != 0xda:
        end = at + 2 + int.from_bytes(picture[at + 2:at + 4], "big")
        if picture[at + 1] != 0xc4:
            kept += picture[at:end]
        at = end
    return kept + picture[at:]


class CameraTest(unittest.TestCase):
    maxDiff = None

    @classmethod
    def setUpClass(cls):
        cls.clip = render("clip", "seconds=2")
        cls.small = render("small", "seconds=0.1", "width=640", "height=480")
        cls.jpegs = played.jpegs(cls.clip)

    def camera(self, offer=None, **settings):
        """Waits for its reader unless time is the matter (speed=1), so that a machine
        with much to do loses no picture."""
        settings.setdefault("lead", 1)
        settings.setdefault("speed", 0)
        return played.Camera(LIBRARY, WORK, offer=offer or f"MJPG:1280x720:30:{self.clip}",
                             **settings)

    def run_program(self, camera, *words):
        done = subprocess.run([PROGRAM, *words], capture_output=True, text=True,
                              env=camera.environment(PROGRAM), timeout=120, check=False)
        self.assertEqual(done.stderr, "")
        return Said(done.returncode, done.stdout)

    def assert_pictures(self, frames, pictures, first=0):
        self.assertEqual([frame.crc for frame in frames],
                         [crc(pictures[(first + i) % len(pictures)])
                          for i in range(len(frames))])

    def assert_pictures_of_their_time(self, frames, camera):
        """As played at that moment; some may have been lost between them."""
        shown = {time: number for number, _, time, _, kept in camera.pictures()
                 if kept == "shown"}
        self.assertEqual([frame.crc for frame in frames],
                         [crc(self.jpegs[max(shown[frame.time_us], 0) % len(self.jpegs)])
                          for frame in frames])

    def assert_time_runs(self, frames):
        self.assertEqual([frame.index for frame in frames], list(range(len(frames))))
        times = [frame.time_us for frame in frames]
        self.assertEqual(times, sorted(set(times)))


class Pictures(CameraTest):
    def test_jpegs_arrive_as_the_camera_sent_them(self):
        camera = self.camera()
        said = self.run_program(camera, "run", "--frames", "30", "--planes")
        self.assertEqual(said.ended, 0)
        self.assertEqual(len(said.frames), 30)
        self.assert_pictures(said.frames, self.jpegs)
        self.assert_time_runs(said.frames)
        self.assertTrue(all(f.planes[3:] == ["full", "whole"] for f in said.frames))

    def test_time_stamps_are_the_drivers_to_the_microsecond(self):
        camera = self.camera(speed=1)
        said = self.run_program(camera, "run", "--frames", "12")
        stamps = [time for _, _, time, _, _ in camera.pictures()]
        self.assertLessEqual({frame.time_us for frame in said.frames}, set(stamps))
        self.assert_pictures_of_their_time(said.frames, camera)
        self.assertEqual({b - a for a, b in zip(stamps, stamps[1:])}, {PERIOD_US})

    def test_the_first_picture_is_there_within_two_seconds(self):
        said = self.run_program(self.camera(lead=0, speed=1), "run", "--frames",
                                "1")
        first = [float(words[1]) for words in said.words if words[0] == "first"]
        self.assertEqual(len(first), 1)
        self.assertLess(first[0], 2.0)

    def test_yuyv_samples_are_taken_apart_unchanged(self):
        path, pictures = raw("noise.yuyv", 320 * 240 * 2, 7)
        said = self.run_program(self.camera(f"YUYV:320x240:30:{path}"), "run", "--frames",
                                "14", "--planes")
        self.assertEqual(said.got[0][:4], ["YUYV", "320", "240", "30"])
        self.assert_pictures(said.frames, pictures)
        self.assertEqual([frame.planes for frame in said.frames],
                         [[crc(p[0::2]), crc(p[1::4]), crc(p[3::4]), "limited", "whole"]
                          for p in pictures + pictures])

    def test_nv12_samples_are_taken_apart_unchanged(self):
        area = 320 * 240
        path, pictures = raw("noise.nv12", area * 3 // 2, 5)
        said = self.run_program(self.camera(f"NV12:320x240:30:{path}", range="full"),
                                "run", "--frames", "10", "--planes")
        self.assertEqual(said.got[0][:4], ["NV12", "320", "240", "30"])
        self.assert_pictures(said.frames, pictures)
        self.assertEqual([frame.planes for frame in said.frames],
                         [[crc(p[:area]), crc(p[area::2]), crc(p[area + 1::2]), "full",
                           "whole"] for p in pictures + pictures])

    def test_luma_is_left_out_when_nobody_needs_it(self):
        path, pictures = raw("noise.yuyv", 320 * 240 * 2, 7)
        said = self.run_program(self.camera(f"YUYV:320x240:30:{path}"), "run", "--frames",
                                "2", "--chroma")
        self.assertEqual([frame.planes[:3] for frame in said.frames],
                         [["00000000", crc(p[1::4]), crc(p[3::4])] for p in pictures[:2]])

    def test_jpegs_without_their_huffman_tables_are_read(self):
        # Webcams leave them out: they are always the same.
        path = os.path.join(WORK, "no-tables.mjpeg")
        with open(path, "wb") as file:
            for picture in self.jpegs[:10]:
                file.write(without_tables(picture))
        whole = self.run_program(self.camera(), "run", "--frames", "10", "--planes")
        said = self.run_program(self.camera(f"MJPG:1280x720:30:{path}"), "run", "--frames",
                                "10", "--planes")
        self.assertNotEqual([frame.crc for frame in said.frames],
                            [frame.crc for frame in whole.frames])
        self.assertEqual([frame.planes for frame in said.frames],
                         [frame.planes for frame in whole.frames])

    def test_a_player_that_waits_for_its_reader_loses_nothing(self):
        camera = self.camera(end="stall")
        said = self.run_program(camera, "run", "--slow", "5", "--frames", "60")
        self.assert_pictures(said.frames, self.jpegs)
        self.assertEqual({kept for *_, kept in camera.pictures()}, {"shown"})
        times = [frame.time_us for frame in said.frames]
        self.assertEqual({b - a for a, b in zip(times, times[1:])}, {PERIOD_US})

    def test_a_camera_without_time_stamps_gets_those_of_arrival(self):
        said = self.run_program(self.camera(stamps="zero", speed=1), "run", "--frames",
                                "10")
        self.assert_time_runs(said.frames)
        self.assertGreater(said.frames[0].time_us, 0)
        self.assertGreater(said.frames[9].time_us - said.frames[0].time_us, 8 * PERIOD_US)

    def test_a_slow_reader_loses_pictures_and_is_told_by_the_time_stamps(self):
        camera = self.camera(speed=1)
        said = self.run_program(camera, "run", "--frames", "12", "--slow", "100")
        self.assertIn("lost", [kept for *_, kept in camera.pictures()])
        self.assert_time_runs(said.frames)
        self.assert_pictures_of_their_time(said.frames, camera)


class Choice(CameraTest):
    def offers(self, text):
        """Modes by their names alone; the pictures behind them are never shown."""
        for format in ("YUYV", "NV12", "GREY"):
            size = {"YUYV": 4, "NV12": 3, "GREY": 2}[format]
            for part in text.split(";"):
                if part.startswith(format):
                    width, height = (int(n) for n in part.split(":")[1].split("x"))
                    raw(f"{format}-{width}x{height}", width * height * size // 2, 1)
        return ";".join(
            part + ":" + (self.small if part.startswith("MJPG") else os.path.join(
                WORK, "-".join(part.split(":")[:2]))) for part in text.split(";"))

    def test_the_best_mode_for_measuring_is_chosen(self):
        cases = [
            ("MJPG:640x480:30;MJPG:1920x1080:30;MJPG:1280x720:30", "MJPG 1920 1080 30"),
            ("MJPG:1920x1080:15;MJPG:1280x720:30,15", "MJPG 1280 720 30"),
            ("MJPG:1280x720:60,30;YUYV:1920x1080:5", "MJPG 1280 720 30"),
            ("MJPG:1280x720:60,50", "MJPG 1280 720 50"),
            ("YUYV:1280x720:10;YUYV:640x480:30;MJPG:1280x720:30", "MJPG 1280 720 30"),
            ("YUYV:1280x720:10;YUYV:640x480:30", "YUYV 640 480 30"),
            ("YUYV:640x480:15;NV12:640x480:30", "NV12 640 480 30"),
            ("NV12:1280x720:30", "NV12 1280 720 30"),
            ("GREY:640x480:30;YUYV:320x240:30", "YUYV 320 240 30"),
            ("MJPG:1280x720:25;YUYV:320x240:30", "MJPG 1280 720 25"),
            ("MJPG:3840x2160:30;MJPG:800x600:30", "MJPG 3840 2160 30"),
        ]
        for offer, chosen in cases:
            with self.subTest(offer=offer):
                said = self.run_program(self.camera(self.offers(offer)), "run",
                                        "--frames", "0")
                self.assertEqual(" ".join(said.got[0][:4]), chosen)

    def test_a_wish_comes_first(self):
        offer = self.offers("MJPG:1920x1080:30;MJPG:1280x720:60,30;YUYV:640x480:30")
        cases = [
            (["--size", "1280", "720"], "MJPG 1280 720 30"),
            (["--size", "1280", "720", "--rate", "60"], "MJPG 1280 720 60"),
            (["--size", "640", "480"], "YUYV 640 480 30"),
            (["--size", "700", "500"], "YUYV 640 480 30"),
        ]
        for words, chosen in cases:
            with self.subTest(words=words):
                said = self.run_program(self.camera(offer), "run", "--frames", "0", *words)
                self.assertEqual(" ".join(said.got[0][:4]), chosen)

    def test_only_devices_with_pictures_are_listed(self):
        camera = self.camera(device="/dev/video2", metadata="/dev/video3", name="Desk lamp")
        self.assertEqual(self.run_program(camera, "list").lines,
                         ["/dev/video2 Desk lamp", "list fine"])
        said = self.run_program(camera, "run", "--frames", "1")
        self.assertEqual(said.got[0][4:], ["/dev/video2", "Desk lamp"])
        said = self.run_program(camera, "run", "/dev/video3", "--frames", "1")
        self.assertEqual((said.ended, said.faults), (1, ["unusable"]))


class Faults(CameraTest):
    def test_every_reason_for_no_picture_has_its_own_sentence(self):
        grey = Choice.offers(self, "GREY:640x480:30")
        cases = [("missing", None, "none"), ("denied", None, "denied"),
                 ("held", None, "busy"), ("busy", None, "busy"),
                 ("no-camera", None, "unusable"), (None, grey, "unusable")]
        sentences = {}
        for state, offer, fault in cases:
            for words in ([], [DEVICE]):
                with self.subTest(state=state, words=words):
                    settings = {"state": state} if state else {}
                    said = self.run_program(self.camera(offer, **settings), "run", *words)
                    self.assertEqual((said.ended, said.faults), (1, [fault]))
                    sentences.setdefault(fault, set()).add(said.words[-1][2])
        self.assertEqual([len(s) for s in sentences.values()], [1] * 4)
        self.assertEqual(len(set.union(*sentences.values())), 4)

    def test_an_empty_list_has_a_reason(self):
        for state, fault in (("missing", "none"), ("denied", "denied"), ("held", "busy"),
                             ("no-camera", "unusable")):
            with self.subTest(state=state):
                said = self.run_program(self.camera(state=state), "list")
                self.assertEqual(said.lines, ["list " + fault])

    def test_another_device_of_that_name_is_no_camera(self):
        said = self.run_program(self.camera(), "run", "/dev/null")
        self.assertEqual((said.ended, said.faults), (1, ["unusable"]))
        said = self.run_program(self.camera(), "run", "/dev/video7")
        self.assertEqual((said.ended, said.faults), (1, ["none"]))

    def test_an_unplugged_camera_goes_on_when_it_is_back(self):
        camera = self.camera(faults="unplug@10:0.7")
        said = self.run_program(camera, "run", "--frames", "25", "--lock")
        self.assertEqual(said.faults, ["unplugged"])
        self.assertEqual(said.count("back"), 1)
        self.assertEqual(said.got[0], said.got[1])
        self.assert_time_runs(said.frames)
        self.assert_pictures(said.frames[:10], self.jpegs)
        self.assert_pictures(said.frames[10:], self.jpegs, 11)

    def test_it_can_be_unplugged_by_hand(self):
        camera = self.camera(speed=1)
        process = subprocess.Popen([PROGRAM, "run", "--seconds", "30"], text=True,
                                   stdout=subprocess.PIPE,
                                   env=camera.environment(PROGRAM))
        waits = [("frame 5 ", "unplug"), ("fault unplugged", "replug"), ("back", "stall"),
                 ("fault stalled", "go"), ("back", None)]
        for line in process.stdout:
            if line.startswith(waits[0][0]):
                command = waits.pop(0)[1]
                if command is None:
                    break
                camera.command(command)
        process.send_signal(signal.SIGTERM)
        process.communicate(timeout=30)
        self.assertEqual((waits, process.returncode), ([], 0))

    def test_it_is_found_again_under_another_number(self):
        camera = self.camera(faults="unplug@10:0.3", moves_to="/dev/video4")
        said = self.run_program(camera, "run", "--frames", "20")
        self.assertEqual(said.faults, ["unplugged"])
        self.assertEqual([got[4] for got in said.got], [DEVICE, "/dev/video4"])
        self.assertEqual(len(said.frames), 20)

    def test_a_camera_that_stays_away_is_said_once_and_ends_well(self):
        said = self.run_program(self.camera(faults="unplug@5"), "run", "--patience", "1.5")
        self.assertEqual((said.ended, said.faults, said.count("back")),
                         (0, ["unplugged"], 0))
        self.assertEqual(len(said.frames), 5)

    def test_a_stalled_camera_goes_on_by_itself(self):
        camera = self.camera(faults="stall@10:2.3", speed=1)
        said = self.run_program(camera, "run", "--frames", "20")
        self.assertEqual(said.faults, ["stalled"])
        self.assertEqual(said.count("back"), 1)
        self.assert_time_runs(said.frames)
        self.assert_pictures_of_their_time(said.frames, camera)

    def test_a_camera_that_is_taken_while_it_stalls_is_busy(self):
        camera = self.camera(faults="stall@5;busy@5", speed=1)
        said = self.run_program(camera, "run", "--patience", "5")
        self.assertEqual(said.faults, ["stalled", "busy"])

    def test_broken_pictures_are_left_out(self):
        camera = self.camera(faults="empty@4;junk@8")
        said = self.run_program(camera, "run", "--frames", "12")
        self.assertEqual((said.count("damaged"), said.faults), (2, []))
        whole = [p for i, p in enumerate(self.jpegs) if i not in (4, 8)]
        self.assert_pictures(said.frames, whole)
        self.assert_time_runs(said.frames)

    def test_damage_inside_a_jpeg_is_found_by_the_decoder(self):
        camera = self.camera(faults="short@4;corrupt@8")
        said = self.run_program(camera, "run", "--frames", "12", "--planes")
        self.assertEqual([i for i, frame in enumerate(said.frames)
                          if frame.planes[-1] != "whole"], [4, 8])

    def test_a_raw_picture_that_was_cut_short_is_left_out(self):
        path, pictures = raw("noise.yuyv", 320 * 240 * 2, 7)
        camera = self.camera(f"YUYV:320x240:30:{path}", faults="short@3:153598;empty@5")
        said = self.run_program(camera, "run", "--frames", "5")
        self.assertEqual(said.count("damaged"), 2)
        self.assert_pictures(said.frames, [pictures[i] for i in (0, 1, 2, 4, 6)])

    def test_pictures_of_another_size_are_a_fault_until_they_are_accepted(self):
        camera = self.camera(faults="resize@6", other=self.small)
        said = self.run_program(camera, "run", "--frames", "12")
        self.assertEqual(said.faults, ["resized"])
        self.assertEqual([(f.width, f.height) for f in said.frames],
                         [(1280, 720)] * 6 + [(640, 480)] * 6)
        self.assert_time_runs(said.frames)

    def test_a_single_picture_of_another_size_is_damage(self):
        camera = self.camera(faults="resize@6;resize@7", other=self.small)
        said = self.run_program(camera, "run", "--frames", "12")
        self.assertEqual((said.count("damaged"), said.faults), (1, []))
        self.assertEqual({(f.width, f.height) for f in said.frames}, {(1280, 720)})

    def test_dropped_pictures_show_in_the_time_stamps(self):
        said = self.run_program(self.camera(faults="drop@6:3"), "run", "--frames", "10")
        times = [frame.time_us for frame in said.frames]
        self.assertEqual([b - a for a, b in zip(times, times[1:])],
                         [PERIOD_US] * 5 + [4 * PERIOD_US] + [PERIOD_US] * 3)

    def test_jittering_time_stamps_are_passed_on(self):
        camera = self.camera(faults="jitter@0:6000")
        said = self.run_program(camera, "run", "--frames", "20")
        stamps = [time for _, _, time, _, _ in camera.pictures()]
        self.assertEqual([frame.time_us for frame in said.frames], stamps[1:21])
        self.assertGreater(len({b - a for a, b in zip(stamps, stamps[1:])}), 10)

    def test_time_goes_forward_even_if_the_stamps_do_not(self):
        said = self.run_program(self.camera(faults="jitter@0:60000", speed=1), "run",
                                "--frames", "30")
        self.assert_time_runs(said.frames)


class Light(CameraTest):
    """Exposure and white balance settle, are held, and are given back."""

    HELD = {"exposure-automatic": 1, "exposure": 156, "rate-may-drop": 0,
            "white-automatic": 0, "white": 5200}

    def test_both_are_held_once_settled_and_given_back_at_the_end(self):
        camera = self.camera(speed=1)
        said = self.run_program(camera, "run", "--lock", "--seconds", "4")
        self.assertIn("locked 1 1", said.lines)
        changes = camera.controls()
        self.assertIn(self.HELD, changes)
        self.assertEqual(changes[0], changes[-1])

    def test_both_are_given_back_when_the_program_is_told_to_end(self):
        for number in (signal.SIGTERM, signal.SIGINT):
            camera = self.camera(speed=1)
            process = subprocess.Popen(
                [PROGRAM, "run", "--lock"], stdout=subprocess.PIPE, text=True,
                env=camera.environment(PROGRAM))
            for line in process.stdout:
                if line == "locked 1 1\n":
                    break
            self.assertEqual(camera.controls()[-1], self.HELD)
            process.send_signal(number)
            rest = process.communicate(timeout=30)[0]
            self.assertTrue(rest.splitlines()[-1].startswith("ended "))
            self.assertEqual(process.returncode, 0)
            self.assertEqual(camera.controls()[-1], camera.controls()[0])

    def test_after_a_replug_they_are_held_where_they_were(self):
        camera = self.camera(faults="unplug@100:0.5", speed=1)
        said = self.run_program(camera, "run", "--lock", "--frames", "110")
        self.assertEqual((said.faults, said.count("locked")), (["unplugged"], 1))
        changes = camera.controls()
        self.assertEqual(changes.count(self.HELD), 2)
        self.assertEqual(changes[0], changes[-1])

    def test_they_settle_again_when_the_light_has_changed(self):
        camera = self.camera(speed=1)
        said = self.run_program(camera, "run", "--lock", "--settle-at", "100", "--frames",
                                "200")
        self.assertEqual([line for line in said.lines if line.startswith("locked")],
                         ["locked 1 1", "locked 0 0", "locked 1 1"])
        changes = camera.controls()
        self.assertEqual(changes.count(self.HELD), 2)
        self.assertEqual(changes[0], changes[-1])

    def test_nothing_is_touched_unless_asked_for(self):
        camera = self.camera(speed=1)
        self.run_program(camera, "run", "--seconds", "3")
        self.assertEqual(len(camera.controls()), 1)

    def test_a_camera_without_settings_works_as_well(self):
        camera = self.camera(settings="none", speed=1)
        said = self.run_program(camera, "run", "--lock", "--frames", "80")
        self.assertEqual((said.count("locked"), len(said.frames)), (0, 80))


if __name__ == "__main__":
    shutil.rmtree(WORK, ignore_errors=True)
    os.makedirs(WORK)
    try:
        unittest.main(argv=[sys.argv[0], *sys.argv[5:]], verbosity=1)
    finally:
        shutil.rmtree(WORK, ignore_errors=True)
