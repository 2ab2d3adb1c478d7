#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""A display read by a person, on a bench of our own: one value asked in several questions, lamps that latch, what is not answered, and
what `compare` and `display setting` say of it. Numbers are worked by hand from the bench; the commands of the page are typed.

    display_answers_test.py DRYCRANK PROFILES HW_NOTES
"""
import json
import pathlib
import re
import subprocess
import sys
import tempfile
import unittest

DRYCRANK, PROFILES, HW_NOTES = sys.argv[1:4]


def run(*words):
    return subprocess.run([DRYCRANK, *map(str, words)], capture_output=True, text=True, timeout=300)


BENCH = """\
kind: bench
name: asked
engine: {firing_order: [1, 3, 4, 2]}
buses:
  vehicle:
    messages:
      body:
        id: 0x220
        period_ms: 100 ms
        signals:
          oil: {start_bit: 0, length_bits: 8, unit: degC}
          fluid: {start_bit: 8, length_bits: 1}
          ack: {start_bit: 9, length_bits: 1}
          beam: {start_bit: 10, length_bits: 1}
readouts:
  oil: {signal: body.oil, unit: degC, warn_above: 120, warn_above_ends: 115, lamp: red, lamp_latches: true, acknowledged_by: body.ack}
  fluid: {signal: body.fluid, values: {0: ok, 1: low}, warn_above: 0, lamp: brake, lamp_blinks_hz: 2, lamp_latches: true, acknowledged_by: body.ack}
  beam: {signal: body.beam, values: {0: dark, 1: lit}, warn_above: 0, lamp: blue}
display:
  gauges:
    oil: {signal: body.oil, unit: degC, warn_above: 120, hysteresis: 5, lamp: red, lamp_latches: true, acknowledged_by: body.ack}
    fluid: {signal: body.fluid, values: {0: ok, 1: low}, warn_above: 0, lamp: brake, lamp_blinks_hz: 2, lamp_latches: true, acknowledged_by: body.ack}
    beam: {signal: body.beam, values: {0: dark, 1: lit}, warn_above: 0, lamp: blue}
"""
# 7/16 of 255 steps is 111; 120 is quiet, 121 warns; the ends are 0 and 255. A switch is 0, 0, 1, 0, 1. The lamps of oil and fluid
# latch from question 3 on. Midway between 0 and 115 is 57.
READ = {
    "oil": {"1": "111,", "2": "120,", "3": "121,red", "4": "0,red", "5": "255,red", "6": "---,red",
            "after the warning": "57,red", "acknowledged": "57,", "acknowledged while it warns": "255,red"},
    "fluid": {"1": "ok,", "2": "ok,", "3": "low,brake blinks", "4": "ok,brake blinks", "5": "low,brake blinks", "6": "---,brake blinks",
              "after the warning": "ok,brake blinks", "acknowledged": "ok,", "acknowledged while it warns": "low,brake"},
    "beam": {"1": "dark,", "2": "dark,", "3": "lit,blue", "4": "dark,", "5": "lit,blue", "6": "---,"},
}


class Asked(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.tmp = pathlib.Path(folder.name)
        self.bench = self.tmp / "bench.yaml"
        self.bench.write_text(BENCH)

    def answered(self, out, changed={}, without=()):
        """`changed`: other answers by readout and question; `without`: readouts, or questions about one."""
        lines = [f"{q},1,{name},{changed.get((name, q), text)}\n" for name, read in READ.items() for q, text in read.items()
                 if name not in without and (name, q) not in without]
        answers = self.tmp / "answers.csv"
        answers.write_text("question,page,readout,reading,lamp\n" + "".join(lines))
        return run("display", "sweep", self.bench, "--out", self.tmp / out, "--answers", answers, "--by", "R. Fitter")

    def accepted(self, out="right"):
        right = self.answered(out)
        self.assertEqual(right.returncode, 0, right.stdout + right.stderr)
        kept = run("display", "sweep", self.bench, "--out", self.tmp / out, "--accept", "--by", "R. Fitter")
        self.assertEqual(kept.returncode, 0, kept.stdout + kept.stderr)
        return self.tmp / out / "accepted.csv"

    def by_standin(self):
        swept = run("display", "sweep", self.bench, "--out", self.tmp / "standin")
        self.assertEqual(swept.returncode, 0, swept.stdout + swept.stderr)
        return self.tmp / "standin"

    def test_a_right_result_is_accepted_and_compared(self):
        accepted = self.accepted()
        self.assertIn("\nfluid,up,0,1,ok,,,\nfluid,up at question 2,0,1,ok,,,\nfluid,up at question 4,0,1,ok,,,brake blinks\n", accepted.read_text())
        for was, now in ((accepted, self.tmp / "right"), (self.by_standin(), accepted), (accepted, self.by_standin())):
            same = run("compare", was, now)
            self.assertEqual(same.returncode, 0, same.stdout + same.stderr)
            self.assertIn("nothing changed: 3 readouts", same.stdout)
        again = self.answered("right")
        self.assertEqual(again.returncode, 0, again.stdout)
        self.assertIn("Against what R. Fitter has accepted:\nnothing changed: 3 readouts", again.stdout)

    def test_each_wrong_lamp_fails(self):
        accepted = self.accepted()
        others = {"oil": "red", "fluid": "brake", "beam": "blue"}
        for name, read in READ.items():
            for question, text in read.items():
                if question == "6":
                    continue
                reading, lamp = text.split(",")
                with self.subTest(readout=name, question=question):
                    wrong = self.answered("wrong", {(name, question): f"{reading},{'' if lamp else others[name]}"})
                    self.assertEqual(wrong.returncode, 1, wrong.stdout)
                    self.assertIn(f"\n{name}: ", wrong.stdout)
                    self.assertEqual(run("compare", accepted, self.tmp / "wrong").returncode, 1)
        both = self.answered("wrong", {("beam", "1"): "dark,blue", ("beam", "2"): "dark,blue"})
        self.assertEqual(both.returncode, 1, both.stdout)

    def test_a_latch_is_asked_before_the_key_is_pressed(self):
        """As the page has it: after the warning it blinks still; the key makes it dark, or while it warns steady."""
        right = self.answered("latch")
        self.assertEqual(right.returncode, 0, right.stdout)
        for name, lamps in (("after the warning", ("", "brake")), ("acknowledged", ("brake", "brake blinks")),
                            ("acknowledged while it warns", ("", "brake blinks"))):
            reading = READ["fluid"][name].split(",")[0]
            for lamp in lamps:
                wrong = self.answered("latch", {("fluid", name): f"{reading},{lamp}"})
                self.assertEqual(wrong.returncode, 1, f"{name} {lamp}: {wrong.stdout}")

    def test_a_result_of_an_earlier_version_is_read_or_refused_by_name(self):
        accepted = self.accepted()
        old = self.tmp / "old.csv"
        # It laid questions down by value alone; of oil each value was asked once.
        text = accepted.read_text().replace("# format: 2", "# format: 1")
        by_value = re.sub(r"(?m)^(oil,up) at question \d", r"\1", text)
        old.write_text(re.sub(r"(?m)^(fluid|beam),up at question \d,.*\n", "", by_value))
        compared = run("compare", old, self.tmp / "right")
        self.assertEqual(compared.returncode, 0, compared.stdout + compared.stderr)
        self.assertIn("fluid: not asked before: 3 points\n", compared.stdout)
        old.write_text(re.sub(r"(?m)^(\w+,up) at question \d", r"\1", text))
        refused = run("compare", old, self.tmp / "right")
        self.assertEqual(refused.returncode, 2, refused.stdout)
        self.assertRegex(refused.stderr, r"old\.csv:\d+:1: fluid, up 0: this line contradicts .*old\.csv:\d+:1")

    def test_what_was_not_answered_is_not_shown_to_compare_either(self):
        accepted, standin = self.accepted(), self.by_standin()
        cases = ((("fluid",), "not shown: fluid: not answered: 1, 2, 3, 4, 5, 6, after the warning, acknowledged, acknowledged while it warns\n"),
                 ((("oil", "3"), ("oil", "acknowledged")), "not shown: oil: not answered: 3, acknowledged\n"))
        for without, said in cases:
            part = self.answered("part", without=without)
            self.assertEqual(part.returncode, 4, part.stdout)
            for was in (accepted, standin):
                compared = run("compare", was, self.tmp / "part", "--json", self.tmp / "c.json")
                self.assertEqual(compared.returncode, 4, compared.stdout)
                self.assertIn(said, compared.stdout)
                self.assertEqual(len(json.loads((self.tmp / "c.json").read_text())["not_shown"]), 1)
        nothing = self.answered("nothing", without=tuple(READ))
        self.assertEqual(nothing.returncode, 4)
        compared = run("compare", standin, self.tmp / "nothing", "--html", self.tmp / "c.html")
        self.assertEqual(compared.returncode, 4, compared.stdout)
        self.assertIn("nothing was compared\nnot shown: beam: not answered: 1, 2, 3, 4, 5, 6\n", compared.stdout)
        self.assertIn("Nothing was compared.", (self.tmp / "c.html").read_text())
        self.assertNotIn("Nothing changed.", (self.tmp / "c.html").read_text().replace('<p>Nothing changed.</p>', ""))
        # Somebody took the list out, or an earlier version wrote none.
        file = self.tmp / "nothing/shown.csv"
        file.write_text(re.sub("(?m)^# not shown: .*\n", "", file.read_text()))
        self.assertEqual(run("compare", standin, file).returncode, 4)

    def test_two_with_nothing_in_common_are_not_the_same(self):
        standin = self.by_standin()
        other = self.tmp / "other.csv"
        other.write_text((standin / "shown.csv").read_text().replace("# seen by: stand-in", "# seen by: echo on the bus").replace("# bench: asked", "# bench: another")
                         .replace("\noil,", "\na,").replace("\nfluid,", "\nb,").replace("\nbeam,", "\nc,"))
        compared = run("compare", standin, other)
        self.assertEqual(compared.returncode, 4, compared.stdout)
        self.assertIn("nothing was compared\n", compared.stdout)
        self.assertIn("not shown: oil: nothing was shown of it\n", compared.stdout)

    def test_what_is_not_there_is_said_to_be_not_there(self):
        for was, now in ((self.by_standin(), self.tmp / "nowhere"), (self.tmp / "nowhere", self.by_standin())):
            missing = run("compare", was, now)
            self.assertEqual(missing.returncode, 2)
            self.assertIn("nowhere: no such file or folder", missing.stderr)

    def test_no_setting_is_right_that_was_not_shown(self):
        right = run("display", "setting", self.bench, self.by_standin())
        self.assertEqual((right.returncode, right.stdout.splitlines()[-1]), (0, "And it is what must be shown."), right.stdout + right.stderr)
        good = (self.tmp / "standin/shown.csv").read_text()
        file = self.tmp / "edited.csv"
        no_beam = re.sub("(?m)^beam,.*\n", "", good)
        cases = ((re.sub("(?m)^(oil|fluid|beam),.*\n", "", good), "Nothing was shown.\nnot shown: nothing of oil, fluid, beam\n"),
                 (no_beam, "And it is what must be shown, as far as it was seen.\nnot shown: nothing of beam\n"),
                 (no_beam.replace("\nreadout,", "\n# ended: beam: gone at 6.0 s, before it was swept\nreadout,"),
                  "as far as it was seen.\nnot shown: beam: gone at 6.0 s, before it was swept\n"))
        for text, said in cases:
            file.write_text(text)
            part = run("display", "setting", self.bench, file)
            self.assertEqual(part.returncode, 4, part.stdout + part.stderr)
            self.assertIn(said, part.stdout)
        file.write_text(good.replace("# bench: asked", "# bench: another"))
        other = run("display", "setting", self.bench, file)
        self.assertEqual(other.returncode, 2, other.stdout)
        self.assertIn("edited.csv is of bench another, and ", other.stderr)
        self.assertIn("bench.yaml is bench asked; name the bench that was swept", other.stderr)
        self.accepted()
        asked = run("display", "setting", self.bench, self.tmp / "right")
        self.assertEqual(asked.returncode, 2)
        self.assertIn("a person has read six points", asked.stderr)

    def test_a_lamp_that_is_not_there_has_a_word(self):
        self.assertEqual(BENCH.count("warn_above: 0, lamp: blue}"), 2)
        head, display = BENCH.split("display:\n")
        dark = self.tmp / "dark.yaml"
        dark.write_text(head + "display:\n" + display.replace("warn_above: 0, lamp: blue}", "warn_above: 0}"))
        self.assertEqual(run("display", "sweep", dark, "--out", self.tmp / "dark").returncode, 1)
        named = run("display", "setting", self.bench, self.tmp / "dark")
        self.assertIn("lamp of gauge beam: the display has none; type blue instead\n", named.stdout)

    def test_a_limit_that_contradicts_is_said_with_both_numbers(self):
        file = self.by_standin() / "shown.csv"
        text = file.read_text()
        file.write_text(re.sub("(?m)^oil,warns above,120,", "oil,warns above,77,", text))
        self.assertNotEqual(file.read_text(), text)
        refused = run("display", "sweep", self.bench, "--out", self.tmp / "standin", "--accept", "--by", "R. Fitter")
        self.assertEqual(refused.returncode, 2)
        self.assertIn("oil: warns above: written as 77, must be 120\n", refused.stderr)

    def test_what_the_page_sends_can_be_sent(self):
        sent = re.findall(r'--set (?:"([^"]+)"|(\S+=\S+))', (pathlib.Path(HW_NOTES) / "displays.md").read_text())
        self.assertGreaterEqual(len(sent), 2)
        for quoted, plain in sent:
            out = run("display", "draw", f"{PROFILES}/benches/hill_climb.yaml", "--set", quoted or plain, "--out", self.tmp / "drawn")
            if "built without Cairo" in out.stderr:
                self.skipTest("built without Cairo")
            self.assertEqual(out.returncode, 0, out.stderr)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1], verbosity=0)
