"""Texts for people: the template holds all of them, every translation is complete and
sober, and the program finds its words where they belong.

    test_words.py ROOT BUILD WORDS_PROGRAM PROGRAM INSTALLED_FOLDER
"""

import gettext
import glob
import os
import re
import shutil
import subprocess
import sys
import tempfile

root, build, words_program, omogon, installed = sys.argv[1:6]
words = os.path.join(root, "src", "words")
work = tempfile.mkdtemp(prefix="omogon-words-")
failures = []

# What the program never says: it measures, it neither judges nor urges. Where a text says
# that it does not do so, the whole text stands below.
FORBIDDEN = {
    "en": r"\bnormal|diagnos|\bimprov|\bscor(e|ing)|streak|well done|\bgreat|\bbravo|"
          r"good job|congrat|excellent|perfect|keep it up|come on|try harder|"
          r"\bhigher!|\bhold (on )?longer|a bit more|push (on|through|harder|yourself)",
    "de": r"\bnormal|diagnos|verbesser|punktzahl|\bpunkte\b|serie|rekord|bravo|"
          r"gut gemacht|sehr gut|\bgroßartig|\btoll\b|prima|\bsuper\b|weiter so|ausgezeichnet|"
          r"perfekt|glückwunsch|höher!|länger halten|noch ein bisschen|strengen sie|los geht",
}
SAYS_THAT_IT_DOES_NOT = set()
# A patient is addressed with "Sie".
FAMILIAR = r"\b([Dd]u|[Dd]ich|[Dd]ir|[Dd]eine?[rmns]?)\b"
# The sources of lines that are read from three metres, and what is too long there.
INSTRUCTION_SOURCES = {"src/show/screen/cue_words.c", "src/app/measuring_words.c"}
INSTRUCTION_WORDS = {"en": 8, "de": 9}


def check(fine, text):
    if not fine:
        failures.append(text)


def run(*command, **settings):
    done = subprocess.run(command, capture_output=True, text=True, **settings)
    if done.returncode != 0:
        sys.exit(f"{' '.join(command)}: {done.stderr}")
    return done


def entries(path):
    """{(context, text, plural): ([source files], [translations])} of a catalogue."""
    shown = run("msgcat", "--no-wrap", path).stdout
    found = {}
    for block in shown.split("\n\n"):
        lines = [l for l in block.split("\n") if l]
        if any(l.startswith("#~") for l in lines):
            continue
        sources, fields, name = [], {}, None
        for line in lines:
            if line.startswith("#:"):
                sources += line[2:].split()
            elif not line.startswith("#"):
                start = re.match(r"(msg\S+) ", line)
                if start:
                    name = start.group(1)
                    fields[name] = ""
                    line = line[start.end():]
                fields[name] += (line[1:-1].replace("\\n", "\n").replace('\\"', '"')
                                 .replace("\\t", "\t").replace("\\\\", "\\"))
        if not fields or fields.get("msgid") == "":
            continue
        key = (fields.get("msgctxt"), fields["msgid"], fields.get("msgid_plural"))
        found[key] = (sources, [v for k, v in fields.items() if k.startswith("msgstr")])
    return found


def placeholders(text):
    """Conversions of a printf format in the order of their arguments."""
    found = re.findall(r"%(\d+\$)?([-+#0']*(?:\*|\d+)?(?:\.(?:\*|\d+))?"
                       r"(?:hh|h|ll|l|j|z|t|L)?[diouxXeEfFgGaAcspn%])", text)
    found = [(p, c) for p, c in found if c != "%"]
    if any(p for p, _ in found):
        found.sort(key=lambda item: int(item[0].rstrip("$")))
    return [re.sub(r"[-+ #0'.*\d]", "", c) for _, c in found]


def forbidden(language, text):
    if text in SAYS_THAT_IT_DOES_NOT:
        return None
    return re.search(FORBIDDEN[language], text, re.IGNORECASE)


def only_heard(sources, english):
    """Among the cues what is only said is a whole sentence with its full stop."""
    return "src/show/screen/cue_words.c" in sources and english.endswith(".")


def the_checks_find_planted_faults():
    assert placeholders("%s: %.1f of %d %%") == ["s", "f", "d"]
    assert placeholders("%2$d of %1$s") == ["s", "d"]
    assert placeholders("50 % of it") == []
    for text in ("Your arm is normal", "Well done", "A new high score", "Higher!"):
        assert forbidden("en", text), text
    for text in ("Das ist normal", "Gut gemacht", "Höher!", "Weiter so"):
        assert forbidden("de", text), text
    for text in ("Raise the arm", "The higher of two", "At the end"):
        assert not forbidden("en", text), text
    assert re.search(FAMILIAR, "Heb deinen Arm") and not re.search(FAMILIAR, "Ihr Arm")


def the_template_is_up_to_date():
    fresh = os.path.join(work, "fresh.pot")
    run("sh", os.path.join(words, "update.sh"), "--template", fresh)
    kept, now = (set(entries(p)) for p in (os.path.join(words, "omogon.pot"), fresh))
    for key in sorted(now - kept, key=str):
        check(False, f"omogon.pot lacks {key}; run src/words/update.sh")
    for key in sorted(kept - now, key=str):
        check(False, f"omogon.pot has {key}, which is in no source; run src/words/update.sh")
    return now


def a_translation_is_complete(path, texts):
    done = run("msgfmt", "--check", "--statistics", "--output-file=/dev/null", path,
               env={**os.environ, "LC_ALL": "C"})
    check("untranslated" not in done.stderr and "fuzzy" not in done.stderr,
          f"{path}: {done.stderr.strip()}")
    check(set(entries(path)) == texts, f"{path} is not that of the sources")


def its_texts_fit(path):
    language = os.path.basename(path)[:-3]
    for (context, english, plural), (sources, translated) in entries(path).items():
        originals = [english] + ([plural] if plural else [])
        for text in translated:
            check(placeholders(text) == placeholders(originals[-1]),
                  f"{path}: placeholders of {text!r} are not those of {english!r}")
            check(english.endswith("\n") == text.endswith("\n"),
                  f"{path}: {text!r} ends its line differently")
            check(not re.search(FAMILIAR, text), f"{path}: {text!r} is not polite")
        for which, of_language in (("en", originals), (language, translated)):
            for text in of_language:
                found = forbidden(which, text)
                check(not found, f"{text!r} says {found and found.group()!r}")
                if set(sources) & INSTRUCTION_SOURCES and not only_heard(sources, english):
                    length = len([w for w in text.split() if re.search(r"\w\w", w)
                                  and "%" not in w])
                    check(length <= INSTRUCTION_WORDS[which],
                          f"{text!r} has {length} words")


def surroundings(**settings):
    """The environment without a language, and these settings."""
    plain = {k: v for k, v in os.environ.items()
             if not k.startswith("LC_") and k not in ("LANG", "LANGUAGE", "OMOGON_LOCALE")}
    return {**plain, **settings}


def said(*arguments, program=words_program, **environment):
    return run(program, *arguments, env=surroundings(**environment)).stdout.splitlines()


def the_program_finds_its_words(catalogue):
    """catalogue: a folder with a German translation of two texts, made here."""
    german = {"LC_ALL": "C.UTF-8", "LANGUAGE": "de"}
    asked = ["Arm down", "side|left", "direction|left", "no such text", ""]
    english = ["en", "Arm down", "left", "left", "no such text", ""]
    own = {"OMOGON_LOCALE": catalogue, **german}

    check(said(*asked, **own) == ["de", "Arm unten", "linke", "nach links",
                                  "no such text", ""],
          f"German says {said(*asked, **own)}")
    for name, settings in (
            ("without a language", {"OMOGON_LOCALE": catalogue, "LC_ALL": "C"}),
            ("in a language without a translation", {**own, "LANGUAGE": "fi"}),
            ("in a locale that is not there", {**own, "LC_ALL": "xx_YY.UTF-8"}),
            ("with a folder that is not there", {**own, "OMOGON_LOCALE": "/nowhere"}),
            ("with a damaged catalogue", {**own, "OMOGON_LOCALE": damaged(catalogue)})):
        got = said(*asked, **settings)
        check(got == english, f"{name} the words are {got}")
    got = said("--unbound", *asked, **own)
    check(got == english, f"before binding the words are {got}")

    # Without the variable it is the build tree's own folder.
    check(said(**german) == ["de"], "the build tree's translations are not found")
    # A program outside the tree looks where it would be installed.
    copy = os.path.join(work, "elsewhere")
    shutil.copy(words_program, copy)
    there = os.path.exists(os.path.join(installed, "de", "LC_MESSAGES", "omogon.mo"))
    got = said(program=copy, **german)
    check(got == ["de" if there else "en"], f"outside the build tree the words are {got}")


def the_program_speaks_german(texts):
    """What is printed about a missing camera, for help and after a measurement."""
    with open(os.path.join(build, "locale/de/LC_MESSAGES/omogon.mo"), "rb") as compiled:
        german = gettext.GNUTranslations(compiled)
    environment = surroundings(LC_ALL="C.UTF-8", LANGUAGE="de",
                               HOME=work, XDG_DATA_HOME=work, XDG_CONFIG_HOME=work)
    measure = ["measure", "--movement", "flexion", "--side", "right", "--no-window",
               "--no-sound", "--out", os.path.join(work, "record")]
    caution = [text for _, text, _ in texts if text.startswith("A measuring and record-keep")
               and text.endswith("\n")]
    no_camera = "No camera was found. Plug it in, or choose another one."
    check(len(caution) == 1, f"the cautions of the commands: {caution}")
    for arguments, code, expected in (
            (measure + ["--camera", "/dev/no-such-camera"], 1, [no_camera]),
            (measure + ["--simulated", "demo", "--seconds", "1"], 0, caution),
            ([], 0, caution), (["--help"], 0, caution),
            *(([command, "--help"], 0, caution)
              for command in ("desk", "measure", "trace", "stickers")),
            *(([command, "--help"], 0, []) for command in ("demo", "check", "colours"))):
        done = subprocess.run([omogon] + arguments, capture_output=True, text=True,
                              stdin=subprocess.DEVNULL, env=environment, timeout=300)
        printed = done.stdout + done.stderr
        name = "omogon " + " ".join(arguments)
        check(done.returncode == code, f"{name}: {done.returncode}, {printed}")
        for english in expected:
            check(german.gettext(english) in printed, f"{name} lacks the German of {english!r}")
        # A text that goes another way than by its translation.
        for _, english, _ in texts:
            check(len(english) < 20 or german.gettext(english) == english
                  or english not in printed, f"{name} prints {english!r}")


def make_catalogue():
    folder = os.path.join(work, "locale", "de", "LC_MESSAGES")
    source = os.path.join(work, "made.po")
    os.makedirs(folder)
    with open(source, "w", encoding="utf-8") as out:
        out.write('msgid ""\nmsgstr "Content-Type: text/plain; charset=UTF-8\\n"\n\n')
        for context, text, translation in (("language code", "en", "de"),
                                           (None, "Arm down", "Arm unten"),
                                           ("side", "left", "linke"),
                                           ("direction", "left", "nach links")):
            if context:
                out.write(f'msgctxt "{context}"\n')
            out.write(f'msgid "{text}"\nmsgstr "{translation}"\n\n')
    run("msgfmt", "-o", os.path.join(folder, "omogon.mo"), source)
    return os.path.join(work, "locale")


def damaged(catalogue):
    folder = os.path.join(work, "damaged", "de", "LC_MESSAGES")
    os.makedirs(folder, exist_ok=True)
    with open(os.path.join(catalogue, "de", "LC_MESSAGES", "omogon.mo"), "rb") as whole:
        with open(os.path.join(folder, "omogon.mo"), "wb") as part:
            part.write(whole.read()[:40])
    return os.path.join(work, "damaged")


try:
    the_checks_find_planted_faults()
    texts = the_template_is_up_to_date()
    translations = sorted(glob.glob(os.path.join(words, "*.po")))
    check(os.path.join(words, "de.po") in translations, "there is no German translation")
    for translation in translations:
        a_translation_is_complete(translation, texts)
        its_texts_fit(translation)
        language = os.path.basename(translation)[:-3]
        with open(os.path.join(build, "locale", language, "LC_MESSAGES", "omogon.mo"),
                  "rb") as compiled:
            built = gettext.GNUTranslations(compiled)
        check(built.pgettext("language code", "en") == language,
              f"{translation} does not name its language")
    the_program_finds_its_words(make_catalogue())
    the_program_speaks_german(texts)
finally:
    shutil.rmtree(work)

for failure in failures:
    print(failure)
if failures:
    sys.exit(1)
print(f"{len(texts)} texts, {len(translations)} translation(s)")
