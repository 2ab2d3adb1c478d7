#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""A display from outside (python_display.py) that falls silent under `drycrank display sweep`: killed, stopped, one readout, a
page, a bank of its message, a lamp. What it showed until then stays, the rest is not shown, and the time is said.

    display_silent_test.py DRYCRANK PROFILES
"""
import json
import pathlib
import re
import signal
import subprocess
import sys
import time
import unittest
import xml.etree.ElementTree

from display_case import BENCH, DRYCRANK, HERE, PROFILES, SweptDisplay, run

# As the page of python_display.py has them: all in one message with a selector; lamps in messages of their own.
TELLS = BENCH.replace("PROFILES", PROFILES)
FIRST, LAST = TELLS.index("      shows_coolant:"), TELLS.index("readouts:")
NAMES = ("coolant", "oil", "air", "gear")
BANKS = TELLS[:FIRST] + """\
      shows:
        id: 0x520
        length_bytes: 6
        sender: display
        period_ms: 5 ms
        signals:
          bank: {start_bit: 0, length_bits: 8, multiplex: selector}
""" + "".join(f"""\
          {name}_shown: {{start_bit: 8, length_bits: 16, is_signed: true, scale: 0.1, carries: {name}.shown, multiplex_value: {place}}}
          {name}_state: {{start_bit: 24, length_bits: 4, carries: {name}.state, multiplex_value: {place}}}
          {name}_page: {{start_bit: 28, length_bits: 4, carries: {name}.page, multiplex_value: {place}}}
          {name}_unit: {{start_bit: 32, length_bits: 8, carries: {name}.unit, values: {{include: {PROFILES}/parts/display_units.yaml}}, multiplex_value: {place}}}
          {name}_lamp: {{start_bit: 40, length_bits: 2, carries: {name}.lamp, multiplex_value: {place}}}
""" for place, name in enumerate(NAMES)) + TELLS[LAST:]
LAMPS = re.sub(r" +\w+_lamp: .*\n", "", TELLS[:LAST]).replace("length_bytes: 5", "length_bytes: 4") + "".join(
    f"      lamp_of_{name}: {{id: {0x530 + place:#x}, length_bytes: 1, sender: display, period_ms: 5 ms, "
    f"signals: {{{name}_lamp: {{start_bit: 0, length_bits: 2, carries: {name}.lamp}}}}}}\n"
    for place, name in enumerate(NAMES)) + TELLS[LAST:]


class AllOfIt(SweptDisplay):
    def test_one_that_falls_silent_is_gone_from_then_on(self):
        out = self.swept({"silent_after_s": 4.0, "echo_s": 0.02}, self.tmp / "silent")
        self.is_gone_at(4.0, out, self.tmp / "silent")

    def is_gone_at(self, when_s, out, folder):
        """What it showed until then stays, the rest is not shown, nothing else is said, and nobody accepts it."""
        self.assertEqual(out.returncode, 4, out.stdout + out.stderr)
        gone = re.search(r"The display fell silent: (gone at (\d+\.\d) s), while (\w+) was swept", out.stdout)
        self.assertTrue(gone, out.stdout)
        self.assertAlmostEqual(float(gone.group(2)), when_s, delta=0.11)
        names = ["coolant", "oil", "air", "gear"]
        at = names.index(gone.group(3))
        shown = (folder / "shown.csv").read_text()
        facts = [line for line in shown.splitlines() if line.split(",")[0] in names]
        self.assertEqual({line.split(",")[0] for line in facts} - {names[at]}, set(names[:at]))
        self.assertRegex(out.stdout, r"(?m)^nothing changed: |^nothing was compared$")
        not_shown = re.findall(r"^not shown: (.*)$", out.stdout, re.M)
        self.assertEqual([line.split(":")[0] for line in not_shown], names[at:])
        for line in not_shown:
            name = line.split(":")[0]
            before = "while it was swept" if name == names[at] else "before it was swept"
            where = "before the rest of it" if any(f.startswith(name + ",") for f in facts) else before
            self.assertEqual(line.split(": ")[1], f"{gone.group(1)}, {where}")
            self.assertIn(f"# ended: {line}\n", shown)
        accepted = run("display", "sweep", self.bench, "--out", folder, "--accept", "--by", "R. Fitter")
        self.assertEqual(accepted.returncode, 2)
        self.assertIn(f"it ended too soon ({not_shown[0]}", accepted.stderr)
        return facts

    def test_one_that_is_killed_is_gone_and_what_it_showed_stays(self):
        whole = self.tmp / "whole"
        self.assertEqual(self.swept({}, whole).returncode, 0)
        facts = set((whole / "shown.csv").read_text().splitlines())
        for when_s in (0.5, 1.2, 2.0, 3.0, 4.0, 5.0):
            with self.subTest(when_s=when_s):
                out = self.tmp / f"killed{when_s}"
                of_it = self.is_gone_at(when_s, self.killed(out, when_s), out)
                self.assertEqual([f for f in of_it if f not in facts], [], "facts that a whole sweep has not")
                compared = run("compare", whole, out)
                self.assertEqual(compared.returncode, 4, compared.stdout)
                self.assertIn("not shown: gear: gone at ", compared.stdout)
                self.assertRegex(compared.stdout, r"(?m)^nothing (changed|was compared)")

    def killed(self, out, when_s):
        display = subprocess.Popen([sys.executable, str(HERE / "python_display.py"), "{}"], stdout=subprocess.PIPE, text=True)
        self.assertEqual(display.stdout.readline().strip(), "ready")
        words = [DRYCRANK, "display", "sweep", self.bench, "--out", out, "--bus", "vehicle=multicast"]
        swept = subprocess.Popen([*map(str, words)], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        self.assertEqual(display.stdout.readline().strip(), "first")
        time.sleep(when_s)
        display.kill()
        display.wait()
        display.stdout.close()
        stdout, stderr = swept.communicate(timeout=120)
        return subprocess.CompletedProcess(words, swept.returncode, stdout, stderr)

    def test_one_that_is_stopped_keeps_what_was_shown(self):
        display = subprocess.Popen([sys.executable, str(HERE / "python_display.py"), "{}"], stdout=subprocess.PIPE, text=True)
        self.addCleanup(lambda: (display.kill(), display.wait(), display.stdout.close()))
        self.assertEqual(display.stdout.readline().strip(), "ready")
        words = [DRYCRANK, "display", "sweep", self.bench, "--out", self.tmp / "stopped", "--bus", "vehicle=multicast"]
        swept = subprocess.Popen([*map(str, words)], stdout=subprocess.PIPE, text=True)
        time.sleep(3)
        swept.send_signal(signal.SIGINT)
        stdout, _ = swept.communicate(timeout=60)
        self.assertEqual(swept.returncode, 4, stdout)
        self.assertRegex(stdout, r"not shown: \w+: the sweep was stopped, before the rest of it\n")
        self.assertIn("not shown: gear: the sweep was stopped, before it was swept\n", stdout)
        self.assertNotIn("while it told others", stdout)
        self.assertIn("\ncoolant,up,-40,", (self.tmp / "stopped/shown.csv").read_text())

    def test_one_that_is_not_there_tells_nothing(self):
        out = run("display", "sweep", self.bench, "--out", self.tmp / "none", "--bus", "vehicle=multicast", "--junit",
                  self.tmp / "none.xml")
        self.assertEqual(out.returncode, 4)
        self.assertIn("The display told nothing at all", out.stdout)
        self.assertIn("not shown: gear: the display told nothing at all\n", out.stdout)
        root = xml.etree.ElementTree.parse(self.tmp / "none.xml").getroot()
        self.assertEqual((root.get("tests"), root.get("failures"), root.get("errors")), ("4", "0", "4"))


class PartOfIt(SweptDisplay):
    """Of the readouts coolant, oil, air, gear, in this order, one or two are told no more from a moment on."""

    def test_one_that_was_never_told_is_said(self):
        out = self.swept({"mute": {"oil": 0}}, self.tmp / "mute")
        self.assertEqual(out.returncode, 4, out.stdout + out.stderr)
        self.assertIn("nothing changed: 3 readouts", out.stdout)
        self.assertIn("not shown: oil: the display told nothing of it, while it told others", out.stdout)
        self.assertNotIn("fell silent", out.stdout)

    def are_gone(self, mute, where, bench=None, **settings):
        """`mute`: from when on, by name; `where`: what is said of each besides the time. The other readouts are as they must be."""
        out = self.swept({"mute": mute, **settings}, self.tmp / "part", bench=bench)
        self.assertEqual(out.returncode, 4, out.stdout + out.stderr)
        shown = (self.tmp / "part/shown.csv").read_text()
        names = {name.split(".")[0] for name in mute}
        self.assertEqual({line.split(": ")[1] for line in out.stdout.splitlines() if line.startswith("not shown: ")}, names)
        for name in mute:
            part = "its lamp was " if name.endswith(".lamp") else ""
            said = re.search(rf"not shown: ({name.split('.')[0]}: {part}gone at (\d+\.\d) s, (.*); the display told others on)\n", out.stdout)
            self.assertTrue(said, out.stdout)
            self.assertAlmostEqual(float(said.group(2)), mute[name], delta=0.21)
            self.assertEqual(said.group(3), where)
            self.assertIn(f"# ended: {said.group(1)}\n", shown)
            self.assertEqual(bool(re.search(f"(?m)^{name.split('.')[0]},", shown)), where == "before the rest of it")
        self.assertIn(f"\nnothing changed: {4 - len(names)} readouts", out.stdout)
        self.assertNotIn("fell silent", out.stdout)

    def test_one_readout_is_gone_and_its_facts_stay(self):
        self.are_gone({"coolant": 2.0}, "before the rest of it")

    def test_a_page_is_gone_before_it_was_swept(self):
        self.are_gone({"air": 1.0, "gear": 1.2}, "before it was swept")

    def test_a_bank_of_its_message_is_gone(self):
        banks = self.tmp / "banks.yaml"
        banks.write_text(BANKS)
        right = self.swept({"tell": "banks"}, self.tmp / "all_banks", bench=banks)
        self.assertEqual(right.returncode, 0, right.stdout + right.stderr)
        self.are_gone({"oil": 1.0}, "before it was swept", banks, tell="banks")

    def test_a_lamp_is_gone(self):
        lamps = self.tmp / "lamps.yaml"
        lamps.write_text(LAMPS)
        right = self.swept({"tell": "lamps"}, self.tmp / "all_lamps", bench=lamps)
        self.assertEqual(right.returncode, 0, right.stdout + right.stderr)
        self.are_gone({"coolant.lamp": 2.0}, "before the rest of it", lamps, tell="lamps")


if __name__ == "__main__":
    unittest.main(argv=[sys.argv[0], *sys.argv[3:]], verbosity=0)
