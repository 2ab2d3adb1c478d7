#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""How a display shows a value beyond its number, written in a bench: messages without a value, lamps that blink, stay lit and
are acknowledged, the highest kept, the first second and the key, several layouts of a message, two ways to read the same bits.
Numbers are worked by hand from the bench.

    display_manner_test.py DRYCRANK
"""
import pathlib
import re
import subprocess
import sys
import tempfile
import unittest

DRYCRANK = sys.argv[1]


def run(*words):
    return subprocess.run([DRYCRANK, *map(str, words)], capture_output=True, text=True, timeout=300)


MANNER = """\
kind: bench
name: manner
engine: {strokes: 4, firing_order: [1, 3, 4, 2]}
buses:
  vehicle:
    messages:
      temps:
        id: 0x140
        period_ms: 100 ms
        signals:
          bank: {start_bit: 0, length_bits: 8, multiplex: selector}
          coolant: {start_bit: 8, length_bits: 8, offset: -40, not_available: 255, unit: degC, multiplex_value: 1}
          oil: {start_bit: 8, length_bits: 8, unit: km, multiplex_value: 2}
          boost: {start_bit: 32, length_bits: 32, is_float: true, unit: kW}
      body:
        id: 0x150
        period_ms: 100 ms
        signals:
          ignition: {start_bit: 0, length_bits: 1}
          ack: {start_bit: 1, length_bits: 1}
          low: {start_bit: 8, length_bits: 8}
          wide: {start_bit: 8, length_bits: 16, instead_of: [low]}
switching: {dark_ms: 300, lamp_test_ms: 500, key: body.ignition, off_after_ms: 1000}
readouts:
  coolant: {signal: temps.coolant, unit: degC, warn_above: 110, lamp: red, lamp_blinks_hz: 2, lamp_latches: true, acknowledged_by: body.ack, not_available: n/a}
  oil: {signal: temps.oil, unit: m, warn_above: 150000}
  boost: {signal: temps.boost, unit: W, decimals: 0, keeps: highest}
  low: {signal: body.low, unit: none, page: 2}
  wide: {signal: body.wide, page: 2}
display:
  switching: {dark_ms: 300, lamp_test_ms: 500, key: body.ignition, off_after_ms: 1000}
  gauges:
    coolant: {signal: temps.coolant, unit: degC, warn_above: 110, lamp: red, lamp_blinks_hz: 2, lamp_latches: true, acknowledged_by: body.ack, not_available: n/a, stale_ms: 500}
    oil: {signal: temps.oil, unit: m, warn_above: 150000, stale_ms: 500}
    boost: {signal: temps.boost, unit: W, keeps: highest, stale_ms: 500}
    low: {signal: body.low, page: 2, stale_ms: 500}
    wide: {signal: body.wide, page: 2, stale_ms: 500}
"""


class InTheFile(unittest.TestCase):
    """Keys of how a value is shown: read, compared on paper, swept and drawn."""

    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.tmp = pathlib.Path(folder.name)
        self.bench = self.tmp / "bench.yaml"
        self.bench.write_text(MANNER)

    def proofread(self, was, now, count=1):
        self.assertEqual(MANNER.count(was), count, was)
        self.bench.write_text(MANNER.replace(was, now))
        return run("proofread", self.bench)

    def test_it_is_in_order_and_shows_what_it_must(self):
        proof = run("proofread", self.bench)
        self.assertEqual(proof.returncode, 0, proof.stdout + proof.stderr)
        out = run("display", "sweep", self.bench, "--out", self.tmp / "out")
        self.assertEqual(out.returncode, 0, out.stdout + out.stderr)
        self.assertIn("nothing changed: 5 readouts", out.stdout)
        shown = (self.tmp / "out/shown.csv").read_text()
        for line in ("coolant,not available,,1,n/a,degC,not available,", "coolant,acknowledged,,1,", "coolant,stands after,0.3,1,",
                     "coolant,lamp test,0.8,0,lit until,,,", "coolant,off after,1,1,,,off,", "boost,not available,,1,---,W,not available,",
                     "wide,up,65535,2,65535,"):
            self.assertIn("\n" + line, shown)
        self.assertIn("red blinks 2 Hz", shown)

    def test_each_setting_that_differs_is_said_on_paper(self):
        for was, now, said in (
                ("not_available: n/a, stale_ms", "stale_ms", "not_available is none; it must be 'n/a'"),
                ("lamp_blinks_hz: 2, lamp_latches: true, acknowledged_by: body.ack, not_available: n/a, stale", "lamp_blinks_hz: 3, lamp_latches: true, acknowledged_by: body.ack, not_available: n/a, stale", "lamp_blinks_hz is 3 Hz; it must be 2 Hz"),
                ("unit: W, keeps: highest, stale", "unit: W, stale", "keeps is nothing; it must be the highest"),
                ("  switching: {dark_ms: 300, ", "  switching: {dark_ms: 400, ", "dark_ms is 400 ms; it must be 300 ms")):
            out = self.proofread(was, now)
            self.assertEqual(out.returncode, 2, said)
            self.assertIn(said, out.stdout + out.stderr)

    def test_what_cannot_be_is_refused_with_its_place(self):
        for was, now, said in (
                ("instead_of: [low]", "instead_of: [wide]", "instead of itself"), ("instead_of: [low]", "instead_of: [lwo]", "did you mean 'low'"),
                (", instead_of: [low]", "", "share bit 8"), ("key: body.ignition, off_after_ms: 1000}\nreadouts", "off_after_ms: 1000}\nreadouts", "no key that could go off"),
                ("unit: none", "unit: nothing", "unit 'nothing' is not known")):
            out = self.proofread(was, now)
            self.assertEqual(out.returncode, 2, said)
            self.assertRegex(out.stderr, r"bench\.yaml:\d+:\d+: ")
            self.assertIn(said, out.stderr)

    def test_its_pages_are_drawn_with_both_banks_and_what_is_none(self):
        out = run("display", "draw", self.bench, "--out", self.tmp / "drawn", "--set", "temps.coolant=not available", "--set", "temps.oil=7")
        if "built without Cairo" in out.stderr:
            self.skipTest("built without Cairo")
        self.assertEqual(out.returncode, 0, out.stderr)
        bad = run("display", "draw", self.bench, "--out", self.tmp / "drawn", "--set", "temps.oil=not available")
        self.assertEqual(bad.returncode, 2)
        self.assertIn("cannot say that it has no value", bad.stderr)


class ByPerson(unittest.TestCase):
    """The coolant of the bench above by itself, read by a person.

    By hand: raw 0 to 254 is -40 to 214 °C, 255 is no value; 7/16 of 254 is 111, which is 71 °C; 110 is quiet and 111 warns.
    Midway between -40 and 110 is 35. Values stand after 0.3 s, lamps are lit until 0.8 s, the screen is dark 1 s after the key.
    """
    READ = {"1": "71 °C,", "2": "110,", "3": "111,red blinks", "4": "-40,red blinks", "5": "214,red blinks", "6": "---,red blinks",
            "not available": "n/a,", "after the warning": "35,red blinks", "acknowledged": "35,",
            "acknowledged while it warns": "214,red", "stands after": "1,", "lamp test": "1,", "off after": '"1,5",'}

    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.tmp = pathlib.Path(folder.name)
        self.bench = self.tmp / "bench.yaml"
        others = re.compile(r"^ +(oil|boost|low|wide): \{signal:.*\n", re.M)
        self.bench.write_text(others.sub("", MANNER))

    def sweep(self, changed={}, left_out=()):
        answers = self.tmp / "answers.csv"
        read = {key: text for key, text in {**self.READ, **changed}.items() if key not in left_out}
        answers.write_text("question,page,readout,reading,lamp\n" + "".join(f"{q},1,coolant,{text}\n" for q, text in read.items()))
        return run("display", "sweep", self.bench, "--out", self.tmp / "out", "--answers", answers, "--by", "R. Fitter")

    def test_what_it_does_besides_its_values_is_asked_and_right(self):
        out = self.sweep()
        self.assertEqual(out.returncode, 0, out.stdout + out.stderr)
        self.assertIn("nothing changed: 1 readout and 13 points identical", out.stdout)

    def test_each_thing_that_is_otherwise_fails_by_a_sentence(self):
        for name, text, said in (
                ("not available", "215,", "when its message has no value it shows '215', must be 'n/a'"),
                ("after the warning", "35,", "after the warning the lamp is dark, must be red blinks"),
                ("acknowledged", "35,red blinks", "acknowledged, the lamp is red blinks, must be dark"),
                ("acknowledged while it warns", "214,red blinks", "acknowledged while it warns, the lamp is red blinks, must be red"),
                ("stands after", "4,", "after power came it stands after 4 s, must be after 0.3 s"),
                ("lamp test", "none,", "at power on its lamp is lit never, must be until 0.8 s"),
                ("off after", "never,", "with the key off it is dark never, must be after 1 s")):
            out = self.sweep({name: text})
            self.assertEqual(out.returncode, 1, name)
            self.assertIn(f"coolant: {said}\n", out.stdout)

    def test_each_that_is_not_answered_is_not_shown_and_does_not_fail(self):
        for name in self.READ:
            out = self.sweep(left_out=(name,))
            self.assertEqual(out.returncode, 4, name)
            said = f"not shown: page 1: 1 of {len(self.READ)} answers is missing: coolant: {name}\n"
            self.assertIn(said, out.stdout)
            self.assertEqual(out.stdout.count("not shown: "), 1, name)

    def test_what_was_accepted_before_more_was_asked_does_not_fail_by_that(self):
        self.sweep(left_out=("stands after", "lamp test"))
        self.assertEqual(run("display", "sweep", self.bench, "--out", self.tmp / "out", "--accept", "--by", "R. Fitter").returncode, 0)
        more = self.sweep()
        self.assertEqual(more.returncode, 0, more.stdout)
        self.assertIn("coolant: not asked before: stands after, lamp test\n", more.stdout)
        self.assertEqual(run("compare", self.tmp / "out/accepted.csv", self.tmp / "out").returncode, 0)
        wrong = self.sweep({"lamp test": "none,"})
        self.assertEqual(wrong.returncode, 1, "nobody has accepted it: what must be shown judges")
        self.assertIn("Of what was not asked before, against what must be shown:\ncoolant: at power on its lamp is lit never", wrong.stdout)
        less = self.sweep(left_out=("3", "stands after", "lamp test"))
        self.assertEqual(less.returncode, 4, less.stdout)
        self.assertIn("note: coolant: not looked at any more: 1 point\n", less.stdout)

    def test_an_answer_that_is_none_is_bad_input(self):
        for name, text, said in (("off after", "soon,", "'soon' is no time; write it as 2 s; or never, or none"),
                                 ("kept", "3,", "'kept' is not asked of 'coolant'")):
            out = self.sweep({name: text})
            self.assertEqual(out.returncode, 2, out.stdout)
            self.assertIn(said, out.stderr)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1], verbosity=0)
