#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""A message with several layouts under `drycrank display sweep`, read by the display from outside (python_display.py): its first
byte says which of two layouts it has, and they share their bits. What the display shows comes back in layouts, too. Right, it is
accepted; each setting of one layout wrong is found, in its readout and in no other, and named. Of two layouts one that reads the
other and one that does not look at the first byte show the same, for the other comes last.

    display_banks_test.py DRYCRANK PROFILES
"""
import json
import re
import sys
import unittest

from display_case import SweptDisplay, run
from display_silent_test import BANKS

SENT = """\
        signals:
          bank: {start_bit: 0, length_bits: 8, multiplex: selector}
          coolant: {start_bit: 8, length_bits: 8, offset: -40, not_available: 255, unit: degC, multiplex_value: 1}
          air: {start_bit: 16, length_bits: 8, offset: -40, unit: degC, multiplex_value: 1}
          oil: {start_bit: 15, length_bits: 16, byte_order: big, scale: 0.1, max: 1500, unit: kPa, multiplex_value: 2}
"""
SET = {"coolant": {"first": 1, "bank": 1}, "air": {"first": 2, "bank": 1}, "oil": {"first": 1, "bank": 2}}
WRONG = [
    ("coolant", {"bank": 2}, "multiplex of temps.coolant: the display has 2 or none; type 1 instead"),
    ("oil", {"bank": 1}, "multiplex of temps.oil: the display has 1 or none; type 2 instead"),
    ("oil", {"scale": 0.102}, "scale of temps.oil: the display has 0.102; type 0.1 instead"),
    ("oil", {"below": 16}, "warn_below of gauge oil: the display has 16; type 15 instead"),
    ("air", {"offset": -41}, "offset of temps.air: the display has -41; type -40 instead"),
    ("air", {"bank": 7}, "multiplex of temps.air: the display has 0 or one that never comes; type 1 instead"),
]


class Banks(SweptDisplay):
    def setUp(self):
        first = re.search(r"(?m)^        signals:\n          coolant: (.*\n){3}", BANKS).group(0)
        self.bench.write_text(BANKS.replace(first, SENT))
        self.assertIn("multiplex_value: 2", self.bench.read_text().split("body:")[0])

    def settings(self, name=None, **changed):
        settings = {gauge: {**of, **(changed if gauge == name else {})} for gauge, of in SET.items()}
        return {**settings, "tell": "banks"}

    def test_a_right_one_is_accepted_and_each_wrong_setting_is_found_and_named(self):
        jobs = [(self.settings(), self.tmp / "right")] + [
            (self.settings(name, **changed), self.tmp / f"wrong{i}", "--json", self.tmp / f"{i}.json") for i, (name, changed, _) in enumerate(WRONG)]
        right, *swept = self.all_swept(jobs)
        self.assertEqual(right.returncode, 0, right.stdout + right.stderr)
        self.assertIn("nothing changed: 4 readouts", right.stdout)
        accepted = run("display", "sweep", self.bench, "--out", self.tmp / "right", "--accept", "--by", "R. Fitter")
        self.assertEqual(accepted.returncode, 0, accepted.stderr)
        for i, ((name, changed, setting), wrong) in enumerate(zip(WRONG, swept)):
            with self.subTest(name=name, changed=changed):
                self.assertEqual(wrong.returncode, 1, wrong.stdout + wrong.stderr)
                changes = json.loads((self.tmp / f"{i}.json").read_text())["changes"]
                self.assertEqual({c["readout"] for c in changes}, {name}, changes)
                self.assertIn(setting, run("display", "setting", self.bench, self.tmp / f"wrong{i}").stdout)
                compared = run("compare", self.tmp / "right/accepted.csv", self.tmp / f"wrong{i}")
                self.assertIn("nothing else changed: 3 readouts", compared.stdout)


if __name__ == "__main__":
    unittest.main(argv=[sys.argv[0], *sys.argv[3:]], verbosity=0)
