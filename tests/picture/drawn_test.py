#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""`drycrank display draw` on the shipped hill-climb display: the pictures are looked at from outside, by Pillow, and
their digits read by the tesseract program. What must stand there is from the bench: a warning above 112 °C, with a red
lamp; dashes when the message is silent.

    drawn_test.py DRYCRANK PROFILES NOTES
"""
import pathlib
import subprocess
import sys
import tempfile
import unittest
import xml.etree.ElementTree

import PIL.Image

DRYCRANK, PROFILES, NOTES = sys.argv[1:4]
BENCH = f"{PROFILES}/benches/hill_climb.yaml"


def draw(out, *words, bench=BENCH):
    return subprocess.run([DRYCRANK, "display", "draw", bench, "--out", out, *map(str, words)],
                          capture_output=True, text=True, timeout=120)


def read_by_tesseract(picture, box):
    """The digits in a part of a picture; --psm 7: one line."""
    with tempfile.NamedTemporaryFile(suffix=".png") as part:
        picture.crop(box).convert("L").save(part.name)
        out = subprocess.run(["tesseract", part.name, "-", "--psm", "7", "-c", "tessedit_char_whitelist=0123456789.-"],
                             capture_output=True, text=True, timeout=60)
    return out.stdout.strip()


def is_red(pixel):
    return pixel[0] > 150 and pixel[1] < 80 and pixel[2] < 80


class Drawn(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        folder = tempfile.TemporaryDirectory()
        cls.addClassCleanup(folder.cleanup)
        cls.tmp = pathlib.Path(folder.name)

    def picture(self, name, *words):
        out = draw(self.tmp / name, *words)
        self.assertEqual(out.returncode, 0, out.stderr)
        return PIL.Image.open(self.tmp / name / "page1.png").convert("RGB")

    def test_three_pages_each_as_png_and_svg(self):
        out = draw(self.tmp / "all")
        self.assertEqual(out.returncode, 0, out.stderr)
        self.assertEqual(sorted(p.name for p in (self.tmp / "all").iterdir() if not p.name.startswith(".")),
                         ["marks.yaml"] + [f"page{n}.{kind}" for n in (1, 2, 3) for kind in ("png", "svg")])
        for n in (1, 2, 3):
            picture = PIL.Image.open(self.tmp / f"all/page{n}.png")
            root = xml.etree.ElementTree.parse(self.tmp / f"all/page{n}.svg").getroot()
            self.assertEqual((root.get("width"), picture.width), ("390px", 780))
            self.assertEqual(f"{picture.height / 2:g}px", root.get("height"))
            self.assertEqual(picture.text["Comment"], "drawn by drycrank")

    def test_the_same_values_give_the_same_bytes_whatever_else_is_drawn(self):
        for name, words in (("one", ()), ("two", ()), ("third", ("--page", 3))):
            self.assertEqual(draw(self.tmp / name, *words).returncode, 0)
        for n in (1, 2, 3):
            for kind in ("png", "svg"):
                self.assertEqual((self.tmp / f"one/page{n}.{kind}").read_bytes(), (self.tmp / f"two/page{n}.{kind}").read_bytes())
        self.assertEqual((self.tmp / "one/page3.svg").read_bytes(), (self.tmp / "third/page3.svg").read_bytes())
        self.assertFalse((self.tmp / "third/page1.png").exists())

    def test_a_warning_is_drawn_from_its_limit_on_and_the_lamp_is_lit(self):
        """Coolant is the first field: its number left above, its lamp at the right of it."""
        number, lamp = (40, 140, 270, 250), (344, 124)
        for value, text, warns in (("112", "112", False), ("113 degC", "113", True), ("235.4 degF", "113", True)):
            picture = self.picture("coolant", "--set", f"engine_temps.coolant={value}")
            self.assertEqual(is_red(picture.getpixel(lamp)), warns, value)
            self.assertEqual(read_by_tesseract(picture, number), text)

    def test_a_silent_message_leaves_dashes_and_a_dark_lamp(self):
        loud = self.picture("loud", "--set", "engine_temps.coolant=113")
        gone = self.picture("gone", "--set", "engine_temps.coolant=113", "--silent", "engine_temps")
        self.assertTrue(is_red(loud.getpixel((344, 124))))
        self.assertFalse(is_red(gone.getpixel((344, 124))))
        dark = [y for y in range(140, 250) if gone.getpixel((62, y))[0] < 100]
        self.assertTrue(dark, "a dash at the middle of the number's height")
        self.assertLess(len(dark), 14)

    def test_a_wrong_setting_is_drawn_as_the_display_would_show_it(self):
        text = pathlib.Path(BENCH).read_text().replace("../parts/", f"{PROFILES}/parts/")
        was = "signal: engine_temps.coolant, unit: degC, warn_above: 112"
        self.assertIn(was, text)
        wrong = self.tmp / "wrong.yaml"
        wrong.write_text(text.replace(was, was.replace("degC", "K")))
        out = draw(self.tmp / "kelvin", "--set", "engine_temps.coolant=47", bench=wrong)
        self.assertEqual(out.returncode, 0, out.stderr)
        picture = PIL.Image.open(self.tmp / "kelvin/page1.png").convert("RGB")
        self.assertEqual(read_by_tesseract(picture, (40, 140, 270, 250)), "320")  # 47 + 273.15 (SI brochure, 2.3.1)

    def test_the_picture_in_the_notes_is_what_is_drawn(self):
        self.assertEqual(draw(self.tmp / "asked", "--questions").returncode, 0)
        self.assertEqual(len(list((self.tmp / "asked").glob("page*_question*.png"))), 18)
        drawn = (self.tmp / "asked/page1_question3.png").read_bytes()
        self.assertEqual(drawn, pathlib.Path(NOTES, "pictures/display-page.png").read_bytes(), "draw it anew")

    def test_what_cannot_be_drawn_is_said(self):
        for words, said in ((("--set", "coolant"), "MESSAGE.SIGNAL=VALUE"), (("--set", "engine_temps.cool=3"), "no message of the bench carries"),
                            (("--set", "engine_temps.coolant=warm"), "is no number"), (("--set", "engine_temps.coolant=3 bar"), "cannot be had in degC"),
                            (("--silent", "engine"), "has no message of that name"), (("--page", "9"), "no page 9"),
                            (("--questions", "--set", "engine_temps.coolant=3"), "leave out --set")):
            out = draw(self.tmp / "bad", *words)
            self.assertEqual(out.returncode, 2, words)
            self.assertIn(said, out.stderr)
            self.assertFalse((self.tmp / "bad").exists())

    def test_a_picture_of_somebody_else_is_not_written_over(self):
        mine = self.tmp / "mine"
        mine.mkdir()
        PIL.Image.new("RGB", (3, 3)).save(mine / "page1.png")
        before = (mine / "page1.png").read_bytes()
        out = draw(mine)
        self.assertEqual(out.returncode, 2)
        self.assertEqual(before, (mine / "page1.png").read_bytes())


unittest.main(argv=sys.argv[:1], verbosity=1)
