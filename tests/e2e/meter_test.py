#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""A diagnosis that reads a bench meter: a person puts the probes where it says and presses Enter.

The meter is tests/io/meter.py. What its probes meet ngspice computes from a deck of the kart's head sensor that stands
here, written from the bench's drawing: 5 V behind 2.2 kohm in the controller, a thermistor (resistances at 20 and
42 degC of the published 10 kohm curve: 12.49 and 4.92 kohm), wires and contacts of milliohms. No model of ours is asked.
"""
import json
import math
import pathlib
import re
import subprocess
import sys

sys.path.insert(0, str(pathlib.Path(__file__).parents[1] / "io"))
from meter import IDENTITY, Meter  # noqa: E402
from program_case import DRYCRANK, PROFILES, Case, drycrank  # noqa: E402
import unittest  # noqa: E402

KART = f"{PROFILES}/benches/kart.yaml"
PROMPT = "]: "
OPEN = 1e12


class HeadWires:
    """Contacts by ohm; where the probes are; whether the key is on. What is not drawn here is connected to nothing."""

    def __init__(self, **contacts):
        self.contacts = {"CU.7": 0.005, "HT.1": 0.005, "HT.2": 0.005, **contacts}
        self.probes, self.key_on, self.over = None, True, None

    def deck(self, meter):
        node = lambda place: place.lower().replace(".", "")
        sensor = 4920 if self.key_on else 12490
        parts = ["r1 cu7 ht1 0.05", f"rht1 ht1 s1 {self.contacts['HT.1']}", f"rs s1 s2 {sensor}",
                 f"rht2 s2 ht2 {self.contacts['HT.2']}", "r2 ht2 g 0.05"]
        if self.key_on:
            parts += ["v5 ref 0 5", "rpull ref pin 2200", f"rcu pin cu7 {self.contacts['CU.7']}", "rg g 0 0.02"]
        plus, minus = (node(place) for place in self.probes)
        parts += [f"rfar{i} {name} 0 {OPEN}" for i, name in enumerate({plus, minus, "g"} - {"0", "bt2"})]
        parts += ["rbt2 bt2 0 0.001"] + ([f"im {minus} {plus} 1u"] if meter == "ohms" else [f"rm {plus} {minus} 10meg"])
        return "\n".join(["head", *parts, ".control", "op", f"let shown = v({plus})-v({minus})", "print shown",
                          ".endc", ".end", ""])

    def __call__(self, quantity):
        if self.over == quantity:
            return math.inf
        out = subprocess.run(["ngspice", "-b", "-n"], input=self.deck(quantity), capture_output=True, text=True, timeout=30)
        shown = float(re.search(r"shown = (\S+)", out.stdout).group(1))
        return shown / 1e-6 if quantity == "ohms" else shown


class Asked(Case):
    def walk(self, fault):
        drycrank("walk", KART, "--fault", fault, "--out", str(self.out))

    def meter(self, world, manner="well"):
        meter = Meter(world, manner)
        meter.start()
        return f"127.0.0.1:{meter.port}"

    def kept(self):
        path = self.out / "measurements"
        return [json.loads(line) for line in path.read_text().splitlines()][1:] if path.exists() else []

    def talk(self, world, address, answer, most=12):
        """Puts the probes, presses Enter; `answer` may say something else. All that was said."""
        asked = self.start([DRYCRANK, "diagnose", str(self.out), "--ask", "--meter", address, "--by", "A. Fitter"],
                           stdin=subprocess.PIPE)
        said, piece = "", ""
        for _ in range(most):
            while not piece.endswith(PROMPT):
                byte = asked.stdout.read(1)
                if not byte:
                    break
                piece += byte
            said += piece
            if not piece.endswith(PROMPT):
                break
            test = said[said.rindex("Next test: "):]
            place = r"([A-Z]+\.\d+|[GP]\b)"
            if at := re.match(rf"Next test: volts at {place}", test):
                world.probes, world.key_on = (at[1], "BT.2"), True
            elif at := re.match(rf"Next test: ohms .*?{place} (?:to|and) {place}", test):
                own = {"HT.1": "s1", "HT.2": "s2"} if "device's own pins" in test else {}
                world.probes, world.key_on = tuple(own.get(at[i], at[i]) for i in (1, 2)), False
            typed = answer(test)
            piece = ""
            asked.stdin.write(typed + "\n")
            asked.stdin.flush()
        said += asked.communicate(timeout=20)[0]
        return said, asked.returncode


def presses_enter(test):
    return ("yes" if "plug HT " in test else "no") if "yes or no" in test else ""


class DiagnoseByMeter(Asked):
    def test_enter_reads_the_meter_until_one_repair_is_named(self):
        self.walk("{kind: open, at: HT.1}")
        world = HeadWires(**{"HT.1": OPEN})
        said, code = self.talk(world, self.meter(world), presses_enter)
        self.assertEqual(code, 1, said)
        self.assertIn(f"Readings come from {IDENTITY}", said)
        self.assertIn("REPAIR: contacts of plug HT", said)
        first = self.kept()[0]
        self.assertEqual((first["by"], first["meter"]), ("A. Fitter", IDENTITY))
        self.assertRegex(first["time"], r"^\d{4}-\d\d-\d\d \d\d:\d\d UTC$")
        # Nothing flows but through the meter's 10 Mohm: 5 V * 10e6 / 10.0022e6.
        place, volts = re.match(r"(\S+)=(\S+) V$", first["said"]).groups()
        self.assertIn(place, ("HT.1", "CU.7"))
        self.assertAlmostEqual(float(volts), 4.9989, 3)
        again = " ".join(drycrank("diagnose", str(self.out)).stdout.split())
        self.assertIn(f"A. Fitter, read from {IDENTITY})", again)

    def test_a_divider_is_read_as_ohm_and_kirchhoff_have_it(self):
        self.walk("{kind: series_resistance, at: HT.2, ohm: 9000}")
        world = HeadWires(**{"HT.2": 9000})
        said, code = self.talk(world, self.meter(world), presses_enter)
        self.assertIn("REPAIR: contacts of plug HT", said)
        # 5 V * 13.92 k / (13.92 k + 2.2 k) = 4.318 V, and with the meter's 10 Mohm beside it 1.3 mV less.
        volts = float(re.match(r"\S+=(\S+) V$", self.kept()[0]["said"])[1])
        self.assertAlmostEqual(volts, 4.3165, 2)

    def test_overload_is_open_of_ohms(self):
        self.walk("{kind: open, at: HT.1}")
        world = HeadWires(**{"HT.1": OPEN})
        only_ohms = lambda test: "" if test.startswith("Next test: ohms") else "s"
        said, _ = self.talk(world, self.meter(world), only_ohms, 20)
        ohms = [line["said"] for line in self.kept()]
        self.assertTrue(any(said.endswith("=open") for said in ohms), said)

    def test_overload_of_volts_is_said_and_nothing_is_kept(self):
        self.walk("{kind: open, at: HT.1}")
        world = HeadWires()
        world.over = "volts"
        said, code = self.talk(world, self.meter(world), lambda test: "q" if "overload" in test else "")
        self.assertIn("not read: overload", said)
        self.assertEqual((code, self.kept()), (4, []))

    def test_ohms_with_the_key_on_are_refused(self):
        self.walk("{kind: open, at: HT.1}")
        world = HeadWires(**{"HT.1": OPEN})

        def forgets_the_key(test):
            world.key_on, world.probes = True, ("HT.1", "BT.2")
            return "s" if not test.startswith("Next test: ohms") else "q" if "not read" in test else ""
        said, _ = self.talk(world, self.meter(world), forgets_the_key, 20)
        self.assertRegex(" ".join(said.split()), r"not read: there are 5 V between the probes: ohms only with the key off")
        self.assertEqual(self.kept(), [])

    def test_what_a_meter_does_not_give_may_be_typed(self):
        self.walk("{kind: open, at: HT.1}")
        world = HeadWires(**{"HT.1": OPEN})
        for manner, why in (("complains", '-221,"Settings conflict"'), ("silent", "no answer")):
            typed = lambda test: ("q" if "kept as" in test else "4.99 V" if "not read" in test else "") if "volts at" in test else "q"
            said, _ = self.talk(world, self.meter(world, manner), typed)
            self.assertIn(why, said)
            self.assertIn("type what it shows", " ".join(said.split()))
            self.assertRegex(self.kept()[-1]["said"], r"=4.99 V$")
            self.assertNotIn("meter", self.kept()[-1])
            (self.out / "measurements").unlink()

    def test_without_the_meter_it_goes_on_by_hand(self):
        self.walk("{kind: open, at: HT.1}")
        said, _ = self.talk(HeadWires(), "127.0.0.1:1", lambda test: "q")
        self.assertIn("The meter is not there: 127.0.0.1:1: Connection refused", said)

    def test_a_meter_is_read_where_somebody_is_asked(self):
        self.walk("{kind: open, at: HT.1}")
        for words, why in ((["--meter", "127.0.0.1:5025"], "give both"), (["--ask", "--meter", "127.0.0.1:x"], "write HOST:PORT")):
            out = drycrank("diagnose", str(self.out), *words)
            self.assertEqual(out.returncode, 2)
            self.assertIn(why, out.stderr)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
