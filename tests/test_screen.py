"""The window as a person meets it: on a real X server, with real key and mouse events,
judged by its pixels and by an optical character reader.

    test_screen.py SCREEN_PROGRAM TRANSLATIONS
"""

import os
import shutil
import subprocess
import sys
import tempfile
import time

import numpy as np

sys.dont_write_bytecode = True  # the source folder stays as it is
from screen_window import (Window, contrast, cut, ground_of, ink_of, luminance,
                           ocr, rows_of_ink, run)
import x_server

program, translations = (os.path.abspath(path) for path in sys.argv[1:3])
work = tempfile.mkdtemp(prefix="omogon-screen-")
Window.program, Window.translations, Window.work = program, translations, work
failures = []
checks = 0

FIGURE_SHARE = 0.15  # of the window's height, as promised
INSTRUCTION_SHARE = 0.06
BUTTON_LEAST_PX = 44
CONTRAST_LEAST = 4.5  # Web Content Accessibility Guidelines 2.1, 1.4.3
# Colours of the window that have a place of their own.
ACCENT = (0x9C, 0xC0, 0xD2)
SIZES = [
    ("1280x720", ["width=1280", "height=720"]),
    ("1366x768", ["width=1366", "height=768"]),
    ("1920x1080", ["width=1920", "height=1080"]),
    ("1280x720 at scale 2", ["width=1280", "height=720", "scale=2"]),
    ("800x600", ["width=800", "height=600"]),
]


def check(fine, text):
    global checks
    checks += 1
    if not fine:
        failures.append(text)
        print("not so:", text, flush=True)


def overlap(a, b):
    return (min(a[1] + a[3], b[1] + b[3]) > max(a[1], b[1]) and
            min(a[2] + a[4], b[2] + b[4]) > max(a[2], b[2]))


def tiles_stand_apart(window, where):
    for tile in window.tiles:
        _, x, y, w, h, _ = tile
        check(x >= 0 and y >= 0 and x + w <= window.width and y + h <= window.height,
              f"{where}: tile {tile} lies within the window")
        if tile[0] == "button":
            check(h >= BUTTON_LEAST_PX and w >= BUTTON_LEAST_PX,
                  f"{where}: button {tile} is large enough for a finger")
    # Rings belong on markers, the words of the notches on the scale, and what is said of
    # the picture on the picture.
    on_picture = ("ring", "name", "held")
    solid = [t for t in window.tiles if t[0] not in ("ring", "gauge")]
    for i, a in enumerate(solid):
        for b in solid[i + 1:]:
            if "picture" in (a[0], b[0]) and (a[0] in on_picture or b[0] in on_picture):
                continue
            check(not overlap(a, b), f"{where}: tiles {a} and {b} stand apart")


def text_is_whole_and_reads(window, pixels, where):
    for tile in window.tiles:
        if tile[5] != "text":
            continue
        piece = cut(pixels, tile)
        ground = ground_of(piece)
        border = np.concatenate([piece[0], piece[-1], piece[:, 0], piece[:, -1]])
        check((border == ground).all(), f"{where}: the ink of {tile} stays off its border")
        # Both lines of a button: what its key is has less contrast than its name.
        halves = [piece]
        if tile[0] == "button":
            halves = np.array_split(piece, [piece.shape[0] * 58 // 100])
        for half in halves:
            ground, ink, _ = ink_of(half)
            ratio = contrast(luminance(ground), luminance(ink))
            check(ratio >= CONTRAST_LEAST, f"{where}: contrast {ratio:.1f} of {tile}")


def figures_and_instruction_are_large(window, pixels, where):
    figure = rows_of_ink(cut(pixels, window.tile("angle")))
    # In a window taller than 4:3 the width decides.
    height = min(window.height, window.width * 3 / 4)
    check(figure >= FIGURE_SHARE * height,
          f"{where}: figures are {figure} px high, {figure / window.height:.3f} of the window")
    return figure


def angle_reads(window, pixels, angle, where):
    text = ocr(cut(pixels, window.tile("angle")), 90, "-c",
               "tessedit_char_whitelist=-0123456789")
    check(text == str(angle), f"{where}: the angle {angle} reads as {text!r}")


def every_size_reads():
    for name, arguments in SIZES:
        pictures = ("black", "white", "grey", "noise") if name == "1280x720" else ("noise",)
        for picture in pictures:
            where = f"{name}, {picture} picture"
            with Window(*arguments, f"picture={picture}", "angle=118") as window:
                pixels = window.settle()
                tiles_stand_apart(window, where)
                text_is_whole_and_reads(window, pixels, where)
                figures_and_instruction_are_large(window, pixels, where)
                angle_reads(window, pixels, 118, where)
                names = [t for t in window.tiles if t[0] == "name"]
                rings = [t for t in window.tiles if t[0] == "ring"]
                check(len(rings) == 5, f"{where}: {len(rings)} rings")
                check(len(names) == 5, f"{where}: {len(names)} names")
                lines_show(window, pixels, where)
        # Capitals alone: the height of the ink is the height of a capital.
        with Window(*arguments, "instruction=HIT", "picture=none") as window:
            height = rows_of_ink(cut(window.settle(), window.tile("instruction")))
            check(height >= INSTRUCTION_SHARE * window.height,
                  f"{name}: capitals of the instruction are {height} px, "
                  f"{height / window.height:.3f} of the window")


def lines_show(window, pixels, where):
    """Across the forearm: a light core between dark edges, whatever lies behind."""
    rings = [t for t in window.tiles if t[0] == "ring"]
    elbow, wrist = [np.array([t[1] + t[3] / 2, t[2] + t[4] / 2]) for t in rings[1:3]]
    middle = (elbow + wrist) / 2
    along = (wrist - elbow) / np.hypot(*(wrist - elbow))
    across = np.array([-along[1], along[0]])
    reach = window.height // 60
    shades = [luminance(pixels[int(round(p[1])), int(round(p[0]))])
              for p in (middle + across * k * 0.5 for k in range(-2 * reach, 2 * reach + 1))]
    core = len(shades) // 2 - 2 + int(np.argmax(shades[len(shades) // 2 - 2:
                                                       len(shades) // 2 + 3]))
    for side in (shades[:core], shades[core:]):
        ratio = contrast(shades[core], min(side))
        check(ratio >= CONTRAST_LEAST, f"{where}: a line's core against its edge is {ratio:.1f}")


def angles_read():
    for angle in (0, 7, 45, 90, 136, 174, 180, -12, -88):
        with Window("width=1280", "height=720", f"angle={angle}", "picture=none") as window:
            pixels = window.settle()
            angle_reads(window, pixels, angle, "1280x720")
            text_is_whole_and_reads(window, pixels, f"angle {angle}")
            figures_and_instruction_are_large(window, pixels, f"angle {angle}")
    with Window("movement=external-rotation", "angle=-123", "picture=none") as window:
        angle_reads(window, window.settle(), -123, "rotation")
        text_is_whole_and_reads(window, window.settle(), "rotation")
    with Window("angle=nan", "picture=none") as window:
        text_is_whole_and_reads(window, window.settle(), "no angle")
        text = ocr(cut(window.settle(), window.tile("good-to")), 80)
        check("no angle" in text, f"a missing angle is said in words: {text!r}")


def long_words_are_not_cut():
    long = [
        ("instruction", "Treten Sie bitte einen halben Meter weiter zurück"),
        ("instruction", "Turn your measured shoulder squarely towards the camera"),
    ]
    for name, arguments in SIZES:
        for key, text in long:
            with Window(*arguments, f"{key}={text}", "held=1", "ratio=0.4", "lean=-14",
                        "hike=-0.02", "best=96", "last=97", "movement=flexion",
                        "title=external rotation, your left, lying on the back",
                        "status=picture 1920 x 1080, 30 a second, MJPEG") as window:
                pixels = window.settle()
                where = f"{name}, {text}"
                tiles_stand_apart(window, where)
                text_is_whole_and_reads(window, pixels, where)


def the_second_language_is_not_cut():
    for name, arguments in SIZES:
        for movement, lean in (("flexion", -14), ("abduction", 12)):
            with Window(*arguments, f"movement={movement}", f"lean={lean}", "hike=-0.02",
                        "best=96", "last=97", german=True) as window:
                pixels = window.settle()
                where = f"German, {name}, {movement}"
                names = [t for t in window.tiles if t[0] == "name"]
                check(len(names) == 5, f"{where}: {len(names)} names")
                tiles_stand_apart(window, where)
                text_is_whole_and_reads(window, pixels, where)
                if name == "1920x1080":
                    text = ocr(cut(pixels, window.tile("raises")), 60)
                    check("2 von 5" in text, f"{where}: raises read as {text!r}")
        with Window("page=list", *arguments, german=True) as window:
            where = f"German list, {name}"
            tiles_stand_apart(window, where)
            text_is_whole_and_reads(window, window.settle(), where)


def pointer_rows(window, pixels):
    """Top and bottom row of the pointer, in a column of its channel."""
    _, x, y, w, h, _ = window.tile("gauge")
    piece = pixels[y:y + h, x:x + w].astype(int)
    columns = np.flatnonzero((np.abs(piece - ACCENT).sum(axis=2) < 12).any(axis=0))
    middle = piece[:, (columns[0] + columns[-1]) // 2]
    rows = np.flatnonzero(np.abs(middle - ACCENT).sum(axis=1) < 12)
    return rows[0], rows[-1]


def the_pointer_is_as_thick_as_the_doubt():
    measured = {}
    for angle, u95 in ((60, 4), (120, 4), (60, 10)):
        with Window(f"angle={angle}", f"u95={u95}", "best=nan", "last=nan",
                    "picture=none") as window:
            measured[angle, u95] = pointer_rows(window, window.settle())
    centre = {k: (v[0] + v[1]) / 2 for k, v in measured.items()}
    px_per_deg = (centre[60, 4] - centre[120, 4]) / 60
    for (angle, u95), (top, bottom) in measured.items():
        got, want = bottom - top + 1, 2 * u95 * px_per_deg
        check(abs(got - want) <= 2,
              f"at {angle} the pointer of +-{u95} is {got} px thick, {want:.1f} is right")


def colours_and_mirror_are_right():
    # Y 128, Cb 100, Cr 190 and the other way round, by the JFIF equations.
    def rgb(y, cb, cr):
        return np.array([y + 1.402 * (cr - 128),
                         y - 0.344136 * (cb - 128) - 0.714136 * (cr - 128),
                         y + 1.772 * (cb - 128)]).clip(0, 255)
    left, right = rgb(128, 100, 190), rgb(128, 190, 100)
    for chroma in ("420", "422", "444"):
        for mirror in (0, 1):
            with Window("picture=halves", f"chroma={chroma}", f"mirror={mirror}",
                        "raises=0") as window:
                pixels = window.settle().astype(float)
                y = window.height // 3
                got = [pixels[y, window.width // 40], pixels[y, window.width // 2]]
                want = [right, left] if mirror else [left, right]
                for g, w in zip(got, want):
                    # The software's own rounding in fixed point.
                    check(np.abs(g - w).max() <= 3,
                          f"chroma {chroma}, mirror {mirror}: {g} instead of {w}")


def a_flash_changes_the_whole_window():
    light = []
    for flash in (0, 1):
        with Window(f"flash={flash}", "picture=grey") as window:
            pixels = window.settle()
            light.append(luminance(pixels).mean())
            text_is_whole_and_reads(window, pixels, f"flash {flash}")
    check(light[1] > 2 * light[0], f"a flash turns {light[0]:.2f} into {light[1]:.2f}")


KEYS = [
    ("m", "mirror"), ("p", "still"), ("s", "sound"), ("e", "enough"), ("h", "help"),
    ("F1", "help"), ("Return", "begin"), ("KP_Enter", "begin"), ("space", "mark"),
    ("Prior", "mark"), ("Next", "mark"), ("b", "mark"), ("period", "mark"), ("x", "mark"),
    ("Escape", "back"),
]


def every_key_has_its_action():
    with Window("picture=grey") as window:
        window.pointer(window.width // 2, 5)
        for key, action in KEYS:
            before = len(window.actions())
            window.key(key)
            got = window.wait_action(before)
            check(got and got[0][0] == action, f"key {key} gives {got}, not {action}")
        before = len(window.actions())
        window.key("Shift_L", "ctrl+c", "alt+x", "XF86AudioRaiseVolume")
        window.key("m")
        got = window.wait_action(before)
        check(got == [["mirror", "-1"]], f"keys of other purposes give {got}")

        # A held key marks once, however fast it repeats, and stops after a second.
        before = len(window.actions())
        run("xdotool", "keydown", "space")
        time.sleep(1.6)
        run("xdotool", "keyup", "space")
        got = [a[0] for a in window.wait_action(before + 1)]
        check([a[0] for a in window.actions()[before:]] == ["mark", "hold-stop"],
              f"a held key gives {got}")

        window.key("q")
        check(window.process.wait(10) == 0, "Q ends the program")
        check(window.actions()[-1][0] == "quit", "Q quits")
    with Window("picture=grey") as window:
        window.pointer(window.width // 2, 5)
        window.key("ctrl+alt+Escape")  # the window manager's key to close it
        check(window.process.wait(10) == 0, "closing the window ends the program")
        check(window.actions()[-1][0] == "quit", "closing the window quits")


def every_button_has_its_action():
    order = ["begin", "mark", "enough", "still", "sound", "mirror", "full", "help", "back"]
    with Window("picture=grey", "width=1280", "height=720") as window:
        buttons = [t for t in window.tiles if t[0] == "button"]
        check(len(buttons) == len(order), f"{len(buttons)} buttons")
        for tile, action in zip(buttons, order):
            if action == "full":
                continue  # below: it moves everything
            window.pointer(tile[1] + tile[3] // 2, tile[2] + tile[4] // 2)
            before = len(window.actions())
            run("xdotool", "click", "1")
            got = window.wait_action(before)
            check(got and got[0][0] == action, f"button {action} gives {got}")
        # Anywhere on the picture marks, too, and held it stops.
        window.pointer(window.width // 4, window.height // 3)
        before = len(window.actions())
        run("xdotool", "mousedown", "1")
        time.sleep(1.6)
        run("xdotool", "mouseup", "1")
        window.wait_action(before + 1)
        got = [a[0] for a in window.actions()[before:]]
        check(got == ["mark", "hold-stop"], f"a held mouse button gives {got}")
        # Pressed on one button and released on another is neither.
        before = len(window.actions())
        window.pointer(buttons[2][1] + 20, buttons[2][2] + 20)
        run("xdotool", "mousedown", "1")
        window.pointer(buttons[8][1] + 20, buttons[8][2] + 20)
        run("xdotool", "mouseup", "1")
        window.key("p")
        got = window.wait_action(before)
        check(got == [["still", "-1"]], f"a slip of the mouse gives {got}")


def it_follows_its_size(server_width, server_height):
    with Window("width=1280", "height=720") as window:
        for width, height in ((1000, 700), (800, 600), (1500, 700), (900, 900)):
            run("xdotool", "windowsize", window.id, str(width), str(height))
            window.wait_size(width, height)
            pixels = window.settle()
            where = f"resized to {width}x{height}"
            tiles_stand_apart(window, where)
            text_is_whole_and_reads(window, pixels, where)
            figures_and_instruction_are_large(window, pixels, where)
        for key in ("f", "F11"):
            before = len(window.actions())
            window.key(key)
            window.wait_size(server_width, server_height)
            check(window.wait_action(before)[0][0] == "full", f"{key} is full screen")
            check(window.origin() == (0, 0), "full screen begins at the corner")
            pixels = window.settle()
            tiles_stand_apart(window, "full screen")
            text_is_whole_and_reads(window, pixels, "full screen")
            button = window.tile("button", 6)
            window.pointer(button[1] + 10, button[2] + 10)
            run("xdotool", "click", "1")
            window.wait_size(900, 900)


def pages_of_words():
    for name, arguments in SIZES:
        for figure in (0, 1):
            with Window("page=list", *arguments, f"figure={figure}") as window:
                where = f"list, {name}, figure {figure}"
                pixels = window.settle()
                tiles_stand_apart(window, where)
                text_is_whole_and_reads(window, pixels, where)
    with Window("page=list", "width=1280", "height=720") as window:
        window.pointer(window.width // 2, 4)
        for keys, item in ((["3"], 2), (["KP_8"], 7), (["Down", "Down", "Return"], 2),
                           (["Up", "space"], 1), (["Up", "Up", "KP_Enter"], 7)):
            before = len(window.actions())
            window.key(*keys)
            got = window.wait_action(before)
            check(got == [["choose", str(item)]], f"{keys} choose {got}, not {item}")
        before = len(window.actions())
        window.key("9", "x", "h")
        got = window.wait_action(before)
        check(got == [["help", "-1"]], f"keys without an item give {got}")
        items = [t for t in window.tiles if t[0] == "list"][-8:]
        for index in (0, 5):
            tile = items[index]
            window.pointer(tile[1] + tile[3] // 2, tile[2] + tile[4] // 2)
            time.sleep(0.4)
            over = ground_of(cut(window.settle(), tile))
            check(luminance(over) > 0.5, f"item {index} lights up under the mouse")
            before = len(window.actions())
            run("xdotool", "click", "1")
            got = window.wait_action(before)
            check(got == [["choose", str(index)]], f"a click on {index} gives {got}")
        before = len(window.actions())
        window.key("Escape")
        check(window.wait_action(before) == [["back", "-1"]], "Escape goes back")


def cameras_of_other_shapes_are_letterboxed():
    for width, height in ((640, 480), (1920, 1080), (352, 288), (800, 600), (480, 640)):
        with Window("width=1280", "height=720", f"camera_width={width}",
                    f"camera_height={height}", "picture=white", "angle=20") as window:
            where = f"camera {width}x{height}"
            tiles_stand_apart(window, where)
            _, x, y, w, h, _ = window.tile("picture")
            check(abs(w / h - width / height) < 0.02, f"{where}: shown as {w}x{h}")
            rim = window.settle()[y:y + h, x:x + w]
            rim = np.concatenate([rim[0], rim[-1], rim[:, 0], rim[:, -1]])
            check((rim > 240).all(), f"{where}: the picture reaches its corners")


def a_copy_of_the_window_is_what_is_shown():
    path = os.path.join(work, "copy.rgb")
    with Window("picture=room", f"copy={path}") as window:
        shown = window.settle()
        for _ in range(100):
            if any(line.startswith("copy ") for line in window.said()):
                break
            time.sleep(0.05)
        copy = np.fromfile(path, np.uint8).reshape(shown.shape)
        check(np.array_equal(copy, shown), "the copy equals what the X server shows")


def another_thread_wakes_it():
    with Window("wake=1") as window:
        check("woken 1 none" in window.said(), "a thread ends a wait, and it is no input")


def without_a_display_it_says_so():
    environment = dict(os.environ, SDL_VIDEODRIVER="x11", DISPLAY=":99999")
    done = subprocess.run([program], env=environment, capture_output=True, text=True)
    check(done.returncode == 1, f"without a display it ends with {done.returncode}")
    check(done.stderr.count("\n") == 1 and "no display" in done.stderr,
          f"without a display it says one sentence: {done.stderr!r}")


def what_a_picture_costs():
    """Told, not judged: a busy machine is no fault."""
    environment = dict(os.environ, SDL_VIDEODRIVER="x11", SDL_RENDER_DRIVER="software")
    for size in (("width=1280", "height=720"), ("width=1920", "height=1080")):
        told = run(program, *size, "frames=60", env=environment).decode()
        print(*size, told.strip(), flush=True)


server_size = (2600, 1500)
server = x_server.Server(*server_size)
os.environ["DISPLAY"] = server.name
try:
    every_size_reads()
    angles_read()
    long_words_are_not_cut()
    the_second_language_is_not_cut()
    the_pointer_is_as_thick_as_the_doubt()
    colours_and_mirror_are_right()
    a_flash_changes_the_whole_window()
    every_key_has_its_action()
    every_button_has_its_action()
    it_follows_its_size(*server_size)
    pages_of_words()
    cameras_of_other_shapes_are_letterboxed()
    a_copy_of_the_window_is_what_is_shown()
    another_thread_wakes_it()
    without_a_display_it_says_so()
    what_a_picture_costs()
finally:
    server.close()
    shutil.rmtree(work)

print(f"{checks} checks, {len(failures)} failed")
sys.exit(1 if failures else 0)
