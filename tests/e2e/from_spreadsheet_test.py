#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""hw-notes/from-spreadsheet.md as it is typed, from the sheet to the first walk: each command of the page
runs, and says what the page says it does."""
import json
import pathlib
import re
import shlex
import subprocess
import sys
import tempfile
import unittest

DRYCRANK, ROOT = (str(pathlib.Path(word).resolve()) for word in sys.argv[1:3])
PAGE = pathlib.Path(ROOT, "hw-notes", "from-spreadsheet.md").read_text(encoding="utf-8")
LEFT = {"ecu_feed_a", "ecu_feed_b", "ecu_ground_a", "ecu_ground_b", "keypad_feed", "keypad_ground", "F10",
        "keypad_can_high", "keypad_can_low"}


class Typed(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.addCleanup(self.folder.cleanup)

    def type(self, command, *more):
        words = [word.replace("out/", self.folder.name + "/") for word in shlex.split(command)]
        return subprocess.run([DRYCRANK, *words[1:], *more], capture_output=True, text=True, timeout=300, cwd=ROOT)

    def commands(self):
        found = re.findall(r"^    (drycrank .*)$", PAGE, re.M)
        self.assertGreaterEqual(len(found), 8)
        return found

    def test_each_command_runs_in_the_order_of_the_page(self):
        for command in self.commands():
            out = self.type(command)
            self.assertIn(out.returncode, (0, 1, 4), command + out.stderr)
            self.assertNotIn("unknown", out.stderr, command)

    def test_the_sheet_says_what_the_page_quotes(self):
        out = self.type(self.commands()[0])
        for line in re.findall(r"^    (note: .*|119 .*)$", PAGE, re.M):
            self.assertIn(line, out.stdout)
        made = pathlib.Path(self.folder.name, "buggy-harness.yaml").read_text(encoding="utf-8")
        shipped = pathlib.Path(ROOT, "profiles/parts/harnesses/buggy.yaml").read_text(encoding="utf-8")
        self.assertEqual(made, shipped)

    def test_on_paper_there_is_no_error(self):
        out = self.type("drycrank schedule check profiles/benches/buggy.yaml")
        self.assertEqual(out.returncode, 0, out.stdout)
        self.assertIn("0 errors, 5 notes.", out.stdout)

    def test_with_yes_to_all_nine_circuits_are_left(self):
        bench = pathlib.Path(ROOT, "profiles/benches/buggy.yaml").read_text(encoding="utf-8")
        outputs = re.findall(r"^    (\w+): \{label: [^,]*, terminal: ECB", bench, re.M)
        self.assertEqual(len(outputs), 12)
        answers = pathlib.Path(self.folder.name, "answers.yaml")
        answers.write_text("".join(f"{name}: yes\n" for name in [*outputs, "display", "termination_vehicle"]), encoding="utf-8")
        out = self.type("drycrank walk profiles/benches/buggy.yaml --out out/buggy", "--answers", str(answers))
        self.assertIn("98 of 107 circuits proven, 0 failed, 9 not shown", out.stdout)
        report = json.loads(pathlib.Path(self.folder.name, "buggy", "report.json").read_text(encoding="utf-8"))
        left = {circuit["name"] for circuit in report["circuits"] if circuit["state"] == "not_shown"}
        self.assertEqual(left, LEFT)

    def test_what_is_wrong_is_named(self):
        named = {"{kind: not_plugged, at: BULKHEAD}": "plug BULKHEAD not in its place",
                 "{kind: relay_stays, at: relay_K_MAIN, stays: off}": "fuse F1 blown or missing (30 A, FUSES.IN to FUSES.1)"}
        for fault, words in named.items():
            self.type("drycrank walk profiles/benches/buggy.yaml --out out/wrong", "--overwrite", "--fault", fault)
            out = self.type("drycrank diagnose out/wrong")
            self.assertRegex(out.stdout, r"(?m)^ 1\. +96 %  " + re.escape(words))


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1], verbosity=1)
