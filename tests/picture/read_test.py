#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Pictures of a display as a witness: `drycrank display sweep --picture` on photographs that photographs.py makes, five
levels from a tripod's picture to a bad one. No reading that is believed may be wrong, on no level; on the three mildest
at least 95 in 100 are believed. And the stand-in's own pages, drawn and read back: a right display is right, a limit set
wrong is found.

    read_test.py DRYCRANK PROFILES
"""
import csv
import os
import pathlib
import random
import re
import subprocess
import sys
import tempfile
import unittest

import PIL.Image

sys.path.insert(0, str(pathlib.Path(__file__).parent))
import photographs  # noqa: E402

DRYCRANK, PROFILES = sys.argv[1:3]
QUESTIONS = 6
LEAST_BELIEVED = 0.95  # on the three mildest levels
# Name, lamp, words that may stand there.
PAGE = [("coolant", "red", ()), ("oil", "amber", ()), ("speed", None, ()), ("supply", "blue", ()), ("boost", "green", ()),
        ("lambda", None, ()), ("gear", None, ("R", "N")), ("sync", None, ("stopped", "searching", "in step")), ("fan", "red", ("off", "on")), ("fuel", None, ())]


def bench_text():
    signals = "".join(f"          {name}: {{start_bit: {8 * i}, length_bits: 8, unit: count}}\n" for i, (name, _, _) in enumerate(PAGE[:8]))
    more = "".join(f"          {name}: {{start_bit: {8 * i}, length_bits: 8, unit: count}}\n" for i, (name, _, _) in enumerate(PAGE[8:]))
    readouts = ""
    for i, (name, lamp, words) in enumerate(PAGE):
        values = ", values: {" + ", ".join(f"{k}: \"{w}\"" for k, w in enumerate(words)) + "}" if words else ""
        warns = f", warn_above: 100, lamp: {lamp}" if lamp else ""
        readouts += f"  {name}: {{signal: {'first' if i < 8 else 'second'}.{name}, unit: count, page: 1, dashes_after_ms: 500{warns}{values}}}\n"
    return ("kind: bench\nname: photographed\nengine: {strokes: 4, firing_order: [1]}\nbuses:\n  vehicle:\n    messages:\n"
            f"      first:\n        id: 0x100\n        length_bytes: 8\n        period_ms: 50 ms\n        signals:\n{signals}"
            f"      second:\n        id: 0x101\n        length_bytes: 8\n        period_ms: 50 ms\n        signals:\n{more}"
            f"readouts:\n{readouts}")


def run(*words):
    return subprocess.run([DRYCRANK, "display", *map(str, words)], capture_output=True, text=True, timeout=300)


def readings(folder):
    lines = [line for line in (folder / "read.csv").read_text().splitlines() if not line.startswith("#")]
    return list(csv.DictReader(lines))


class Photographed(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        folder = tempfile.TemporaryDirectory()
        cls.addClassCleanup(folder.cleanup)
        cls.tmp = pathlib.Path(folder.name)
        cls.bench = cls.tmp / "bench.yaml"
        cls.bench.write_text(bench_text())

    def photograph(self, level, seed, folder, questions=range(1, QUESTIONS + 1), ending="png"):
        """A dark picture and one for each question, with their marks; what stands on them."""
        rng = random.Random(seed)
        folder.mkdir()
        truth, corners = {}, {}
        bright_on_dark = seed % 2 == 0
        for question in (0, *questions):
            fields = []
            for name, lamp, words in PAGE:
                if question == QUESTIONS and rng.random() < 0.5:
                    text, lit = "---", False
                else:
                    text = rng.choice(words) if words and rng.random() < 0.8 else photographs.number(rng)
                    lit = lamp is not None and question > 0 and rng.random() < 0.5
                fields.append((text, lamp, lit))
                truth[str(question), name] = (text, lamp if lit else "")
            name = f"page1_question{question}.{ending}" if question else f"dark.{ending}"
            picture, corners[name] = photographs.taken(photographs.drawn(fields, bright_on_dark), level, rng)
            self.save(picture, folder / name)
        marks = f"kind: marks\nformat: 1\npages:\n  1:\n    size: {list(photographs.SIZE)}\n    dark: dark.{ending}\n    readouts:\n"
        for index, (name, lamp, _) in enumerate(PAGE):
            text, round_ = photographs.place(index)
            marks += f"      {name}: {{text: {text}" + (f", lamp: {round_}" if lamp else "") + "}\n"
        marks += "pictures:\n" + "".join(f"  {name}: {{corners: {[[round(x, 1), round(y, 1)] for x, y in four]}}}\n" for name, four in corners.items())
        (folder / "marks.yaml").write_text(marks)
        return truth

    @staticmethod
    def save(picture, path):
        """As PNG; as JPEG lying on its side, with Exif that says so, as telephones do."""
        if path.suffix == ".png":
            return picture.save(path, compress_level=1)
        turned = picture.transpose(PIL.Image.Transpose.ROTATE_90)  # seen upright again by orientation 6
        exif = PIL.Image.Exif()
        exif[0x0112] = 6
        return turned.save(path, quality=85, exif=exif)

    def test_jpeg_is_read_as_well_and_the_right_way_up(self):
        for number, level in enumerate(photographs.LEVELS[:3], 1):
            folder = self.tmp / f"jpeg{number}"
            truth = self.photograph(level, 100 + number, folder, (1, 2, 3), "jpg")
            out = run("sweep", self.bench, "--picture", folder, "--marks", folder / "marks.yaml", "--out", folder / "out")
            self.assertIn(out.returncode, (0, 1, 4), out.stderr)
            asked = [r for r in readings(folder / "out") if int(r["question"]) <= 3]
            believed = [r for r in asked if not r["doubt"]]
            for r in believed:
                self.assertEqual((r["reading"], r["lamp"]), truth[r["question"], r["readout"]])
            self.assertGreaterEqual(len(believed) / len(asked), 0.9, [r for r in asked if r["doubt"]])

    def test_pictures_that_are_too_old_are_not_shown(self):
        folder = self.tmp / "old"
        self.photograph(photographs.LEVELS[0], 10, folder, (1,))
        os.utime(folder / "page1_question1.png", (1.6e9, 1.6e9))
        out = run("sweep", self.bench, "--picture", folder, "--marks", folder / "marks.yaml", "--out", folder / "out")
        self.assertEqual(out.returncode, 4, out.stdout)
        self.assertEqual(out.stdout.count("h ago, and at most 24 h count"), sum(not r["doubt"] for r in readings(folder / "out")))

    def test_no_reading_that_is_believed_is_wrong(self):
        table, wrong = [], []
        for number, level in enumerate(photographs.LEVELS, 1):
            count = believed = 0
            for seed, questions in ((10 * number, (1, 2, 3)), (10 * number + 1, (4, 5, 6))):
                folder = self.tmp / f"level{seed}"
                truth = self.photograph(level, seed, folder, questions)
                out = run("sweep", self.bench, "--picture", folder, "--marks", folder / "marks.yaml", "--out", folder / "out")
                self.assertIn(out.returncode, (0, 1, 4), out.stderr)
                for r in readings(folder / "out"):
                    if int(r["question"]) not in questions:
                        self.assertEqual(r["doubt"], "there is no picture of it")
                        continue
                    count += 1
                    if r["doubt"]:
                        continue
                    believed += 1
                    if (r["reading"], r["lamp"]) != truth[r["question"], r["readout"]]:
                        wrong.append((number, r, truth[r["question"], r["readout"]]))
            table.append((number, count, believed, sum(w[0] == number for w in wrong)))
        print("level  readings  believed  of them wrong")
        for row in table:
            print("{:5}  {:8}  {:4} {:3.0f} %  {:13}".format(*row[:3], 100 * row[2] / row[1], row[3]))
        self.assertEqual(wrong, [])
        self.assertGreaterEqual(sum(row[1] for row in table), 200)
        mildest = table[:3]
        for row in mildest:
            self.assertGreaterEqual(row[2] / row[1], LEAST_BELIEVED, row)
        self.assertLess(table[4][2], table[0][2], "the worst level is not worse than the best: it tries nothing")

    def test_what_is_in_doubt_is_a_question_and_not_shown(self):
        folder = self.tmp / "doubt"
        self.photograph(photographs.LEVELS[0], 10, folder)
        black = PIL.Image.new("RGB", photographs.PHOTOGRAPH)
        black.save(folder / "page1_question2.png")
        out = run("sweep", self.bench, "--picture", folder, "--marks", folder / "marks.yaml", "--out", folder / "out")
        self.assertIn("in doubt: coolant: question 2 on page 1: nothing is to be seen on the whole page; is the display dark?\n", out.stdout)
        self.assertEqual(out.stdout.count("is the display dark?"), len(PAGE))
        missing = re.search(r"(?m)^not shown: page 1: \d+ of \d+ answers are missing: (.*)$", out.stdout)
        self.assertTrue(missing, out.stdout)
        self.assertIn("coolant", missing.group(1))


class OfTheStandIn(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        folder = tempfile.TemporaryDirectory()
        cls.addClassCleanup(folder.cleanup)
        cls.tmp = pathlib.Path(folder.name)
        cls.text = pathlib.Path(PROFILES, "benches/hill_climb.yaml").read_text().replace("../parts/", f"{PROFILES}/parts/")
        cls.bench = cls.tmp / "hill_climb.yaml"
        cls.bench.write_text(cls.text)

    def read_back(self, name, bench):
        drawn = run("draw", bench, "--questions", "--out", self.tmp / name)
        self.assertEqual(drawn.returncode, 0, drawn.stderr)
        return run("sweep", self.bench, "--picture", self.tmp / name, "--marks", self.tmp / name / "marks.yaml", "--out", self.tmp / f"{name}_out")

    def test_a_right_one_is_read_as_right(self):
        out = self.read_back("right", self.bench)
        self.assertIn("nothing changed", out.stdout)
        read = readings(self.tmp / "right_out")
        self.assertEqual(len(read), 27 * QUESTIONS)
        bar = [r for r in read if r["readout"] == "throttle_bar"]
        self.assertEqual({(r["reading"], r["doubt"]) for r in bar}, {("", "it is a bar, and no number; count its segments")})
        read = [r for r in read if r not in bar]
        believed = [r for r in read if not r["doubt"]]
        self.assertGreaterEqual(len(believed) / len(read), LEAST_BELIEVED, [r for r in read if r["doubt"]])
        # A lamp that blinks may be dark in the very picture, and what is asked besides has no picture.
        self.assertEqual(out.returncode, 4, out.stdout)
        missing = " ".join(re.findall(r"(?m)^not shown: page \d: \d+ of \d+ answers? (?:is|are) missing: (.*)$", out.stdout))
        lists = {name: said for names, said in re.findall(r"([a-z_, ]+): ([^;]+?)(?=; | [a-z_]+:|$)", missing) for name in names.replace(" ", "").split(",")}
        self.assertRegex(lists["fuel_level"], r"not available$")
        self.assertRegex(lists["brake_fluid"], r"after the warning, acknowledged, acknowledged while it warns$")
        doubted = {r["readout"] for r in read if r["doubt"]} | {"brake_fluid", "fuel_level", "throttle_bar"}
        self.assertLessEqual(set(lists), doubted, out.stdout)
        self.assertIn("# seen by: pictures", (self.tmp / "right_out/shown.csv").read_text())

    def test_a_limit_and_a_unit_set_wrong_are_found_and_nothing_else(self):
        text = self.text
        for was, now in (("unit: degC, warn_above: 112", "unit: degC, warn_above: 107"), ("unit: psi, warn_below: 15", "unit: bar, warn_below: 15")):
            self.assertEqual(text.count(was), 1)
            text = text.replace(was, now)
        wrong = self.tmp / "wrong.yaml"
        wrong.write_text(text)
        out = self.read_back("wrong", wrong)
        self.assertEqual(out.returncode, 1, out.stdout)
        changed = set(re.findall(r"^(?!nothing)([a-z_ ]+): ", out.stdout.split("Against")[1].split("not shown:")[0], re.M))
        self.assertEqual(changed, {"coolant", "oil pressure"}, out.stdout)

    def latching(self):
        """The hill climb with a steady coolant lamp that stays lit once it warned, as required and as set: dark until question 3 alone."""
        must = pathlib.Path(PROFILES, "parts/displays/hill_climb_readouts.yaml").read_text()
        text = self.text
        for was in ("include: ", "unit: degC, warn_above: 112"):
            self.assertIn(was, text)
        self.assertEqual(must.count("warn_above: 112"), 1)
        (self.tmp / "latching_readouts.yaml").write_text(must.replace("warn_above: 112", "lamp_latches: true, warn_above: 112"))
        text = text.replace(f"{PROFILES}/parts/displays/hill_climb_readouts.yaml", str(self.tmp / "latching_readouts.yaml"))
        self.assertIn("latching_readouts", text)
        bench = self.tmp / "latching.yaml"
        bench.write_text(text.replace("unit: degC, warn_above: 112", "unit: degC, lamp_latches: true, warn_above: 112"))
        return bench

    def latching_read(self, name, edit=lambda marks: marks):
        bench, folder = self.latching(), self.tmp / name
        drawn = run("draw", bench, "--questions", "--page", 1, "--out", folder)
        self.assertEqual(drawn.returncode, 0, drawn.stderr)
        marks = (folder / "marks.yaml").read_text()
        (folder / "own.yaml").write_text(edit(marks))
        out = run("sweep", bench, "--picture", folder, "--marks", folder / "own.yaml", "--out", self.tmp / f"{name}_out")
        return marks, out, [r for r in readings(self.tmp / f"{name}_out") if r["readout"] == "coolant"]

    def test_a_lamp_that_stays_lit_is_dark_in_a_picture_before_it_warned(self):
        marks, out, read = self.latching_read("latches")
        self.assertRegex(marks, r"dark: page1_(question[12]|dark)\.png")
        self.assertIn("nothing changed", out.stdout)
        lamps = {r["question"]: r["lamp"] for r in read if not r["doubt"]}
        self.assertEqual({q: bool(lamp) for q, lamp in lamps.items()}, {q: q >= "3" for q in lamps})
        self.assertGreaterEqual(len(lamps), 4)

    def test_a_lamp_whose_dark_picture_has_it_lit_is_in_doubt(self):
        for name, edit in (("by_name", lambda m: m), ("by_light", lambda m: m.replace("question6", "lit"))):
            with self.subTest(name=name):
                def lit(marks):
                    return edit(re.sub(r"dark: page1_\w+", "dark: page1_question6", marks))
                if name == "by_light":
                    self.latching_read(name)
                    (self.tmp / name / "page1_lit.png").write_bytes((self.tmp / name / "page1_question6.png").read_bytes())
                _, out, read = self.latching_read(name, lit)
                self.assertEqual([r for r in read if r["question"] in "123456" and not r["doubt"]], [], out.stdout)
                self.assertNotIn("coolant: up", out.stdout)

    def test_marks_that_do_not_fit_are_said_with_their_place(self):
        run("draw", self.bench, "--questions", "--page", 1, "--out", self.tmp / "marked")
        good = (self.tmp / "marked/marks.yaml").read_text()
        cases = [("corners: [[0, 0], [780, 0]", "corners: [[780, 0], [0, 0]", "go not once around"), ("      gear:", "      gears:", "there is no readout 'gears'"),
                 ("dark: ", "light: ", "no picture with it dark"), ("{text: [", "{text: [500, ", "no list of 4 numbers"),
                 ("kind: marks", "kind: bench", "kind"), ("dark: page1_question6.png", "dark: none.png", "no such picture"),
                 (", lamp: [", ", lamb: [", "no mark of it")]
        for was, now, said in cases:
            self.assertIn(was, good)
            (self.tmp / "marked/bad.yaml").write_text(good.replace(was, now))
            out = run("sweep", self.bench, "--picture", self.tmp / "marked", "--marks", self.tmp / "marked/bad.yaml", "--out", self.tmp / "bad_out")
            self.assertEqual(out.returncode, 2, (was, out.stdout))
            self.assertIn(said, out.stderr)
            if said != "no such picture":
                self.assertRegex(out.stderr, r"bad\.yaml:\d+:\d+: ")

    def test_two_pictures_of_one_question_are_refused_and_nothing_is_written(self):
        run("draw", self.bench, "--questions", "--page", 1, "--out", self.tmp / "twice")
        with PIL.Image.open(self.tmp / "twice/page1_question3.png") as other:
            other.convert("RGB").save(self.tmp / "twice/page1_question2.jpg")
        out = run("sweep", self.bench, "--picture", self.tmp / "twice", "--marks", self.tmp / "twice/marks.yaml", "--out", self.tmp / "twice_out")
        self.assertEqual(out.returncode, 2)
        self.assertIn("page1_question2.png and page1_question2.jpg are both in ", out.stderr)
        self.assertFalse((self.tmp / "twice_out/read.csv").exists())

    def test_a_picture_that_is_missing_is_named_once(self):
        run("draw", self.bench, "--questions", "--page", 1, "--out", self.tmp / "gone")
        (self.tmp / "gone/page1_question4.png").unlink()
        out = run("sweep", self.bench, "--picture", self.tmp / "gone", "--marks", self.tmp / "gone/marks.yaml", "--out", self.tmp / "gone_out")
        self.assertEqual(out.returncode, 4, out.stdout + out.stderr)
        self.assertEqual(out.stdout.count("page1_question4"), 1, out.stdout)
        self.assertIn(f"not shown: page1_question4.png is not in {self.tmp / 'gone'}\n", out.stdout)
        self.assertNotIn("there is no picture of it", out.stdout)
        self.assertNotRegex(out.stdout, r"question 4 on page 1|missing: .*\b4\b")

    def test_what_is_no_picture_is_said(self):
        run("draw", self.bench, "--questions", "--page", 1, "--out", self.tmp / "torn")
        whole = (self.tmp / "torn/page1_question2.png").read_bytes()
        for torn, said in ((b"", "no picture that can be read"), (whole[:400], "picture"), (b"GIF89a" + whole, "no picture that can be read")):
            (self.tmp / "torn/page1_question2.png").write_bytes(torn)
            out = run("sweep", self.bench, "--picture", self.tmp / "torn", "--marks", self.tmp / "torn/marks.yaml", "--out", self.tmp / "torn_out")
            self.assertEqual(out.returncode, 2)
            self.assertIn(said, out.stderr)
        out = run("sweep", self.bench, "--picture", self.tmp, "--marks", self.tmp / "torn/marks.yaml", "--out", self.tmp / "torn_out")
        self.assertEqual(out.returncode, 2)
        self.assertIn("there is no picture", out.stderr)
        out = run("sweep", self.bench, "--picture", self.tmp / "torn", "--out", self.tmp / "torn_out")
        self.assertEqual(out.returncode, 2)
        self.assertIn("--marks FILE", out.stderr)


unittest.main(argv=sys.argv[:1], verbosity=1)
