#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Wires of a bus, from a fault put in to the wire that is named.

Ohms across the pair: 60 as built and 120 with one termination missing (tests/reference/can_bus.yaml,
ISO 11898-2), 120 / 3 = 40 with a third. Error passive and bus off: ISO 11898-1, fault confinement
(from memory). Which wires a display needs: profiles/benches/buggy.yaml, as drawn; it sends nothing."""
import json
import os
import pathlib
import subprocess
import sys
import tempfile
import unittest

DRYCRANK, PROFILES = (os.path.abspath(path) for path in sys.argv[1:3])
CAR = f"{PROFILES}/benches/hill_climb.yaml"
BUGGY = f"{PROFILES}/benches/buggy.yaml"


def drycrank(*words):
    done = subprocess.run([DRYCRANK, *words], stdin=subprocess.DEVNULL, capture_output=True, text=True, timeout=300)
    return done.returncode, done.stdout + done.stderr


class Case(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.addCleanup(self.folder.cleanup)

    def out(self, name="walk"):
        return str(pathlib.Path(self.folder.name, name))

    def walk(self, bench, *faults, answers=None, name="walk"):
        words = ["walk", bench, "--out", self.out(name)]
        for fault in faults:
            words += ["--fault", fault]
        if answers is not None:
            path = pathlib.Path(self.folder.name, name + ".answers.yaml")
            path.write_text(answers)
            words += ["--answers", str(path)]
        return drycrank(*words)

    def circuits(self, name="walk"):
        report = json.loads(pathlib.Path(self.out(name), "report.json").read_text())
        return {c["name"]: c["state"] for c in report["circuits"]}

    def diagnose(self, *words, name="walk"):
        return drycrank("diagnose", self.out(name), *words)[1]

    def first(self, text):
        """The words of the first group, down to what speaks for it."""
        lines = text.splitlines()
        begin = next(i for i, line in enumerate(lines) if line.startswith(" 1. "))
        end = next(i for i in range(begin, len(lines)) if "     for  " in lines[i] or "     against" in lines[i])
        return "\n".join(lines[begin:end])


MISSING = "{kind: termination, at: vehicle.display, ohm: 0}"


class Terminations(Case):
    def test_one_missing_is_noticed_by_nobody_but_the_meter(self):
        healthy = self.walk(CAR, name="healthy")
        code, text = self.walk(CAR, MISSING)
        text = " ".join(text.split())
        self.assertEqual(code, healthy[0])
        self.assertEqual(self.circuits(), self.circuits("healthy"))
        self.assertIn("does the meter show 60 Ω from ECU.33 to ECU.34?", text)
        self.assertIn("120 Ω: one termination is missing", text)
        self.assertIn("40 Ω: one too many", text)

    def test_measured_it_is_met_or_fails(self):
        healthy = self.walk(CAR, name="healthy")[0]
        code, text = self.walk(CAR, answers="termination_vehicle: yes\n", name="yes")
        self.assertEqual(code, healthy)
        self.assertNotIn("nobody was asked: Key off", text)
        code, text = self.walk(CAR, MISSING, answers="termination_vehicle: no\n", name="no")
        self.assertEqual(code, 1, text)
        self.assertIn("one termination is missing", text)

    def test_the_meter_names_them(self):
        self.walk(BUGGY)
        measured = "DISPLAY.3-DISPLAY.4={} ohm"
        text = self.diagnose("--measured", measured.format(120), "--by", "A. Fitter")
        self.assertIn("termination of vehicle.", text)
        self.walk(BUGGY, name="third")
        text = self.diagnose("--measured", measured.format(40), "--by", "A. Fitter", name="third")
        self.assertIn("a termination too many, of 120 Ω at vehicle.keypad", text)

    def test_a_reading_of_a_walk_that_passed_is_weighed(self):
        """120 Ω where 60 are drawn; 60 Ω speak for a healthy bench."""
        self.walk(CAR)
        code, text = drycrank("diagnose", self.out(), "--measured", "ECU.33-ECU.34=120 ohm", "--by", "A. Fitter")
        self.assertEqual(code, 1, text)
        self.assertIn("ECU.33-ECU.34=120 ohm", text)
        self.walk(CAR, name="right")
        code, text = drycrank("diagnose", self.out("right"), "--measured", "ECU.33-ECU.34=60 ohm", "--by", "A. Fitter")
        self.assertEqual(code, 0, text)

    def test_without_any_the_controller_is_silent_and_they_are_suspects(self):
        code, _ = self.walk(CAR, MISSING, "{kind: termination, at: vehicle.ecu, ohm: 0}")
        self.assertEqual(code, 1)
        self.assertIn("termination of vehicle.ecu (ECU.33 to ECU.34", self.diagnose("--measured", "ECU.33-ECU.34=25 kohm", "--by", "A. Fitter"))


class ErrorCounters(Case):
    def test_nobody_acknowledges_a_controller_that_is_alone(self):
        code, text = self.walk(CAR, "{kind: open, at: ECU.33}")
        self.assertEqual(code, 1)
        self.assertIn("controller on bus vehicle: error passive: nobody acknowledges what it sends", text)
        told = self.diagnose()
        self.assertRegex(told, r"sign     with contact ECU\.33 .*:\n +controller on bus vehicle: error passive")
        self.assertIn("ECU.33", self.first(told))

    def test_joined_wires_drive_it_off_the_bus(self):
        _, text = self.walk(CAR, "{kind: short_together, at: DSP.3, with: DSP.4}")
        self.assertIn("controller on bus vehicle: bus off: it does not read back what it sends", text)

    def test_joined_through_five_ohm_the_meter_finds_them(self):
        """By hand: 60 * 5 / 65 = 4.6 ohm across the pair; 120 * 5 / 125 = 4.8 with the controller pulled."""
        self.walk(CAR, "{kind: short_together, at: DSP.3, with: DSP.4, ohm: 5}")
        told = self.diagnose("--measured", "DSP.3-DSP.4=4.6 ohm", "--by", "A. Fitter")
        self.assertRegex(told, r"Left, by repair:\n *\d+ %  (DSP\.3 and DSP\.4|ECU\.33 and ECU\.34) touch")
        told = self.diagnose("--measured", "ECU.33-ECU.34=4.8 ohm", "--by", "A. Fitter")
        self.assertRegex(told, r"REPAIR: (DSP\.3 and DSP\.4|ECU\.33 and ECU\.34) touch")

    def test_healthy_nothing_is_said(self):
        self.assertNotIn("error passive", self.walk(CAR)[1])


class ListeningDisplay(Case):
    """Nothing that the buggy's display sends can prove its wires: a person looks at it."""

    def display_circuits(self):
        return {name: state for name, state in self.circuits().items() if "display" in name}

    def test_unasked_they_are_not_shown(self):
        self.walk(BUGGY)
        self.assertIn("not_shown", self.display_circuits().values())

    def test_values_prove_its_pair_and_its_supply(self):
        code, text = self.walk(BUGGY, answers="display: yes\n")
        self.assertEqual(set(self.display_circuits().values()), {"proven"}, text)

    def test_dark_accuses_its_supply(self):
        self.walk(BUGGY, "{kind: open, at: DISPLAY.1}", answers="display: dark\n")
        first = self.first(self.diagnose())
        self.assertRegex(first, r"DISPLAY\.[12]")
        self.assertNotRegex(first, r"DISPLAY\.[34]")

    def test_dashes_accuse_its_pair(self):
        code, text = self.walk(BUGGY, "{kind: open, at: DISPLAY.3}", answers="display: dashes\n")
        self.assertEqual(code, 1, text)
        told = self.diagnose()
        first = self.first(told)
        self.assertRegex(first, r"DISPLAY\.[34]")
        self.assertNotRegex(first, r"DISPLAY\.[12]")
        self.assertIn("display: dashes, as you saw it", told)
        # Within the pair the meter decides: open there, one termination is left on this side.
        self.assertRegex(told, r"ohms from \S+ to \S+")

    def test_an_answer_of_a_display_is_none_of_a_bus(self):
        code, text = self.walk(BUGGY, answers="termination_vehicle: dark\n")
        self.assertEqual(code, 2)
        self.assertIn("'dark' is not an answer; yes, no, skip or not_fitted", text)


class SilentController(Case):
    def test_it_is_said_with_its_pair_and_not_its_supply(self):
        """It is not heard, and it fires: that speaks for its supply."""
        code, text = self.walk(CAR, "{kind: open, at: ECU.33}")
        self.assertEqual(code, 1)
        said = text[text.index("controller_talks_on_vehicle: engine_fast was not received"):]
        said = said[:said.index("\n\n")]
        for circuit in ("can_high", "can_low"):
            self.assertIn(f"at {circuit}:", said)
        for circuit in ("supply", "ground"):
            self.assertNotIn(f"at {circuit}:", said)

    def test_without_supply_its_pull_ups_are_none(self):
        """Nothing lifts ECU.21 when the controller is off: 0 V leaves its supply, and no swapped pair."""
        self.walk(CAR, "{kind: open, at: ECU.1}")
        told = self.diagnose("--measured", "ECU.21=0.00 V", "--by", "A. Fitter")
        self.assertIn("ECU.1", told[told.index("Left"):] if "Left" in told else told[told.index("REPAIR"):])
        self.assertNotIn("REPAIR: terminals ECU.2 and ECU.21", told)


class OnPaper(Case):
    """One wire away is one mistake."""

    def bench_without(self, circuit):
        lines = pathlib.Path(CAR).read_text().replace("../parts/", f"{PROFILES}/parts/").splitlines()
        left = [line for line in lines if not (f"circuit: {circuit}," in line)]
        self.assertEqual(len(left), len(lines) - 1)
        path = pathlib.Path(self.folder.name, circuit + ".yaml")
        path.write_text("\n".join(left) + "\n")
        return str(path)

    def test_proofread_says_it_once(self):
        for circuit in ("can_high", "can_low", "display_supply", "display_ground"):
            _, text = drycrank("proofread", self.bench_without(circuit))
            self.assertEqual(text.count("by its wires as drawn"), 1, text)
            for wire, pins in (("can_high", "ECU.33 and DSP.3"), ("can_low", "ECU.34 and DSP.4")):
                self.assertEqual(f"no wire joins {pins}" in " ".join(text.split()), circuit == wire, text)
        self.assertIn("the display has no supply", text)

    def test_the_check_of_the_schedule_says_it_once(self):
        for circuit in ("can_high", "can_low"):
            _, text = drycrank("schedule", "check", self.bench_without(circuit))
            self.assertEqual(text.count("bus_pair_open") + text.count("twist_of_one"), 1, text)


    def test_a_crossed_pair_of_two_nodes_is_crossed_and_not_joined(self):
        text = pathlib.Path(CAR).read_text().replace("../parts/", f"{PROFILES}/parts/")
        text = text.replace("from: DSP.3, to: ECU.33", "from: DSP.3, to: ECU.34!").replace("from: DSP.4, to: ECU.34", "from: DSP.4, to: ECU.33").replace("34!", "34")
        path = pathlib.Path(self.folder.name, "crossed.yaml")
        path.write_text(text)
        told = drycrank("schedule", "check", str(path))[1]
        self.assertIn("bus_pair_swapped", told)
        self.assertNotIn("bus_pair_short", told)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1], verbosity=2)
