#!/usr/bin/env python3
"""Manual pages out of what the program says of itself, so that they cannot differ.

Usage: man.py PROGRAM VERSION FOLDER     omogon.1 and omogon-COMMAND.1, in FOLDER
When it is called by the installation, FOLDER is below MESON_INSTALL_DESTDIR_PREFIX.
"""
import os
import re
import subprocess
import sys

OPTION = re.compile(r"^  (-[^ ]+(?:, --[^ ]+)?)(?: {2,}(.*))?$")
COMMAND = re.compile(r"^  ([a-z]+) {2,}(.*)$")


def help_of(program, *words):
    # The help is in the reader's language; the pages are English.
    env = {**os.environ, "LC_ALL": "C.UTF-8", "LANGUAGE": "en"}
    if "MESON_SOURCE_ROOT" in env:
        env["OMOGON_MODELS"] = os.path.join(env["MESON_SOURCE_ROOT"], "models")
    return subprocess.run([program, *words, "--help"], env=env, check=True,
                          capture_output=True, text=True).stdout.rstrip("\n").split("\n")


def literal(text):
    """Text as roff shows it: a dash is a minus to be copied, a leading dot no request."""
    text = text.replace("\\", "\\e").replace("-", "\\-").replace("…", "...")
    return "\\&" + text if text[:1] in (".", "'") else text


def paragraphs(lines):
    """Blocks of lines between empty ones."""
    block = []
    for line in lines + [""]:
        if line:
            block.append(line)
        elif block:
            yield block
            block = []


def section(title):
    return [f".SH {title.upper()}"]


def told(line):
    """An option or a command with its text, as a term and a paragraph."""
    found = OPTION.match(line) or COMMAND.match(line)
    if not found:
        return None
    return [".TP", f"\\fB{literal(found[1])}\\fR", literal(found[2] or "")]


def body(blocks):
    """Everything after the usage."""
    page = section("description")
    for block in blocks:
        head, rest = block[0], block[1:]
        if rest and head in ("Help Options:", "Application Options:"):
            if head.startswith("Help"):
                page += section("options")
            for line in rest:
                page += told(line) or [literal(line.strip())]
        elif rest and head == "Examples:":
            page += section("examples") + [".nf"] + [literal(line) for line in rest] + [".fi"]
        elif all(COMMAND.match(line) for line in block):
            for line in block:
                page += told(line)
        elif any("  " in line for line in block):
            page += [".PP", ".nf"] + [literal(line) for line in block] + [".fi"]
        else:
            page += [".PP"] + [literal(line) for line in block]
    # A section begins with a paragraph anyway.
    return [line for number, line in enumerate(page)
            if line != ".PP" or not page[number - 1].startswith(".SH")]


def page(name, summary, version, lines):
    usage = []
    blocks = []
    for block in paragraphs(lines):
        if block[0].startswith("Usage:") and not usage:
            # On the same line, or on the next.
            words = [block[0][len("Usage:"):].strip()] + [line.strip() for line in block[1:]]
            usage = [line for line in words if line.startswith("omogon")]
        else:
            blocks.append(block)
    out = [f'.TH "{name.upper()}" 1 "" "omogon {version}" "omogon"', ".SH NAME",
           f"{literal(name)} \\- {literal(summary)}", ".SH SYNOPSIS", ".nf"]
    out += [f"\\fB{literal(line)}\\fR" for line in usage] + [".fi"]
    return "\n".join(out + body(blocks)) + "\n"


def main():
    program, version, folder = sys.argv[1:]
    # The installation names it from the build folder.
    program = os.path.abspath(os.path.join(os.environ.get("MESON_BUILD_ROOT", ""), program))
    folder = os.path.join(os.environ.get("MESON_INSTALL_DESTDIR_PREFIX", ""), folder)
    os.makedirs(folder, exist_ok=True)
    top = help_of(program)
    pages = {"omogon": ("how far a shoulder moves, by a camera and coloured stickers", top)}
    for line in top:
        found = COMMAND.match(line)
        if found:
            pages["omogon-" + found[1]] = (found[2], help_of(program, found[1]))
    for name, (summary, lines) in pages.items():
        with open(os.path.join(folder, name + ".1"), "w", encoding="utf-8") as file:
            file.write(page(name, summary, version, lines))


if __name__ == "__main__":
    main()
