#!/usr/bin/env python3
"""What a person reads in a session can be read at about 11 years: Flesch and Kincaid's grade
(Kincaid, Fishburne, Rogers and Chissom, Naval Technical Training Command report 8-75, 1975,
from memory): 0.39 words a sentence + 11.8 syllables a word - 15.59. Grade 6 is age 11 to 12.

Usage: test_reading_age.py ROOT
"""
import glob
import os
import re
import sys
import unittest

ROOT = os.path.abspath(sys.argv[1])
MOST_GRADE, MOST_OF_ONE = 6.0, 13.0


def syllables(word):
    """Groups of vowels, less a silent e at the end; at least one."""
    word = re.sub(r"[^a-z]", "", word.lower())
    count = len(re.findall(r"[aeiouy]+", word))
    if word.endswith("e") and not word.endswith(("le", "ee")) and count > 1:
        count -= 1
    if word.endswith("ed") and not word.endswith(("ted", "ded")) and count > 1:
        count -= 1
    return max(count, 1)


def grade(text):
    sentences = [one for one in re.split(r"[.!?:;]+", text) if re.search("[a-zA-Z]", one)]
    words = re.findall(r"[A-Za-z']+", text)
    return (0.39 * len(words) / len(sentences)
            + 11.8 * sum(map(syllables, words)) / len(words) - 15.59)


def strings(path):
    """Texts of omo_word() and OMO_WORD() as the compiler joins them."""
    with open(path, encoding="utf-8") as file:
        source = file.read()
    for found in re.finditer(r'(?:omo_word|OMO_WORD)\(\s*((?:"(?:[^"\\]|\\.)*"\s*)+)\)', source):
        text = "".join(re.findall(r'"((?:[^"\\]|\\.)*)"', found[1]))
        yield re.sub(r"%[-.0-9]*[a-z]+", "ten", text.replace("\\n", " ").replace('\\"', ""))


class ReadingAge(unittest.TestCase):
    def judge(self, texts):
        texts = [text for text in texts if len(text.split()) > 2]
        self.assertGreater(len(texts), 20)
        whole = grade(" ".join(text if text[-1] in ".?!" else text + "." for text in texts))
        print(f"grade {whole:.1f} of {len(texts)} texts")
        self.assertLess(whole, MOST_GRADE)
        for text in texts:
            if len(text.split()) >= 8:  # a few words have no grade
                self.assertLess(grade(text), MOST_OF_ONE, text)

    def test_pages_of_a_session(self):
        self.judge(text for path in sorted(glob.glob(ROOT + "/src/programme/session*.c"))
                   for text in strings(path))

    def test_starters(self):
        texts = []
        for path in sorted(glob.glob(ROOT + "/models/programmes/*.ini")):
            with open(path, encoding="utf-8") as file:
                texts += re.findall(r"^(?:guidance|caution)=(.*)$", file.read(), re.M)
        self.judge(texts)

    def test_the_measure_itself(self):
        """It tells plain words from others; by hand: 4 words, 1 sentence, 4 syllables is
        0.39 * 4 + 11.8 - 15.59 = -2.23."""
        self.assertAlmostEqual(grade("Let the arm hang."), -2.23, delta=0.01)
        self.assertGreater(grade("Glenohumeral mobilisation necessitates progressive "
                                 "individualised rehabilitation under supervision."), 15)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1], verbosity=2)
