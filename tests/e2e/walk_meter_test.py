#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""A walk that reads a bench meter: terminations, and circuits that nothing else shows.

The meter is tests/io/meter.py. What its probes meet is reckoned here from the buggy's wiring schedule (a CSV file) with
every plug pulled: ohms of a wire are 1.7241e-8 ohm m (annealed copper, IEC 60028) times length by cross-section,
summed along the way; of the pair with all plugs on, 120 ohm at each end (ISO 11898-2). No model of ours is asked.
"""
import csv
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

BUGGY = f"{PROFILES}/benches/buggy.yaml"
LEFT = ["ecu_feed_a", "ecu_feed_b", "ecu_ground_a", "ecu_ground_b", "keypad_feed", "keypad_ground", "keypad_can_high",
        "keypad_can_low"]
PAIR = "termination_vehicle"
CONTACT_OHM = 0.005


def number(text):
    return float(text.replace(",", "."))


class Loom:
    """Wires by their schedule; `broken` circuits have none."""

    def __init__(self, broken=(), terminations=2):
        self.ways, self.probes, self.volts, self.over, self.terminations = {}, None, 0, None, terminations
        with open(f"{PROFILES}/schedules/buggy.csv", newline="") as file:
            lines = [line for line in csv.reader(file, delimiter=";")]
        for line in lines:
            if len(line) < 8 or line[4] in broken:
                continue
            try:
                ohm = 1.7241e-8 * number(line[7]) / (number(line[5]) * 1e-6)
            except ValueError:
                continue  # a head, or a fuse
            a, b = (f"{plug}.{pin}" if pin else plug for plug, pin in ((line[0], line[1]), (line[2], line[3])))
            self.ways.setdefault(a, []).append((b, ohm))
            self.ways.setdefault(b, []).append((a, ohm))

    def between(self, a, b):
        """Every plug is off, so that there is one way at most."""
        left, seen = [(a, 2 * CONTACT_OHM)], set()
        while left:
            place, ohm = left.pop()
            if place == b:
                return ohm
            seen.add(place)
            left += [(other, ohm + more) for other, more in self.ways.get(place, []) if other not in seen]
        return math.inf

    def __call__(self, quantity):
        if self.over == quantity:
            return math.inf
        if quantity == "volts":
            return self.volts
        if set(self.probes) == {"ECA.30", "ECA.31"}:
            return 120 / self.terminations
        return self.between(*self.probes)


class WalkByMeter(Case):
    def meter(self, world, manner="well"):
        meter = Meter(world, manner)
        meter.start()
        return f"127.0.0.1:{meter.port}"

    def talk(self, world, *words, typed=lambda said: "", manner="well", most=200):
        """Puts the probes where it says; `typed` may say more than Enter to the meter. Others are answered by yes."""
        asked = self.start([DRYCRANK, "walk", BUGGY, "--out", str(self.out), "--ask", "--meter", self.meter(world, manner),
                            "--by", "A. Fitter", *words], stdin=subprocess.PIPE)
        said, piece = "", ""
        for _ in range(most):
            while not re.search(r"\[[^\]\n]*q\(uit\)\]:? $", piece):
                byte = asked.stdout.read(1)
                if not byte:
                    break
                piece += byte
            said += piece
            prompt = piece.rsplit("\n", 1)[-1]
            if "q(uit)" not in prompt:
                break
            if at := re.findall(r"Probes on (\S+) and (\S+) \(the harness side\)", said):
                world.probes = at[-1]
            answer = typed(piece) if "ohms, as" in prompt else "y"
            piece = ""
            asked.stdin.write(answer + "\n")
            asked.stdin.flush()
        rest, errors = asked.communicate(timeout=60)
        return said + rest + errors, asked.returncode

    def kept(self):
        lines = [json.loads(line) for line in (self.out / "answers").read_text().splitlines()][1:]
        return {line["about"]: line for line in lines}

    def test_enter_reads_the_meter_for_what_nothing_else_shows(self):
        said, code = self.talk(Loom())
        self.assertIn(f"Readings come from {IDENTITY}", said)
        kept = self.kept()
        for about in [PAIR, *LEFT]:
            self.assertEqual(kept[about]["answer"], "yes", about)
            for reading in kept[about]["readings"]:
                self.assertEqual((reading["meter"], reading["by"]), (IDENTITY, "A. Fitter"))
                self.assertRegex(reading["time"], r"^\d{4}-\d\d-\d\d \d\d:\d\d UTC$")
        self.assertAlmostEqual(kept[PAIR]["readings"][0]["ohm"], 60)
        self.assertNotIn("readings", kept["pump"])
        # 0.9 m of 1.5 mm2 and 0.4 m of 2.5 mm2 behind its splice: 0.0103 + 0.0028 ohm, and two contacts.
        self.assertAlmostEqual(kept["ecu_feed_a"]["readings"][0]["ohm"], 0.0231, 4)
        self.assertIn("0 failed", " ".join(said.split()))
        self.assertNotIn("carried by", said)
        report = json.loads((self.out / "report.json").read_text())
        self.assertIn(f"read from {IDENTITY} by A. Fitter", json.dumps(report))
        self.assertIn(f"read from {IDENTITY} by A. Fitter", (self.out / "report.html").read_text())

    def test_without_the_meter_the_same_circuits_are_not_shown(self):
        """The twin: it is the meter that shows them."""
        said = " ".join(drycrank("walk", BUGGY).stdout.split())
        self.assertIn("ecu_ground_b: not shown: carried by ecu_ground_a too", said)
        self.assertIn("4 carried by another way", said)

    def test_an_open_circuit_fails_when_somebody_keeps_it(self):
        said, code = self.talk(Loom(broken=["ecu_ground_b"]),
                               typed=lambda piece: "n" if "NOT as it should be" in piece else "")
        self.assertEqual(code, 1, said)
        kept = self.kept()
        self.assertEqual((kept["ecu_ground_b"]["answer"], kept["ecu_ground_b"]["readings"][-1]["ohm"]), ("no", "open"))
        self.assertEqual({about: kept[about]["answer"] for about in LEFT if about != "ecu_ground_b"},
                         {about: "yes" for about in LEFT if about != "ecu_ground_b"})
        self.assertIn("1 failed", " ".join(said.split()))

    def test_a_probe_that_did_not_touch_is_read_again(self):
        world = Loom()
        tries = []

        def typed(piece):
            tries.append(piece)
            world.over = "ohms" if len(tries) == 2 else None
            return ""
        said, _ = self.talk(world, typed=typed)
        self.assertEqual(said.count("NOT as it should be"), 1)
        self.assertTrue(all(self.kept()[about]["answer"] == "yes" for about in LEFT))

    def test_a_termination_that_is_missing_or_too_many(self):
        for terminations, ohm in ((1, 120), (3, 40)):
            said, code = self.talk(Loom(terminations=terminations), "--overwrite",
                                   typed=lambda piece: "n" if "NOT as it should be" in piece else "")
            self.assertEqual(code, 1, said)
            self.assertEqual(self.kept()[PAIR]["answer"], "no")
            self.assertAlmostEqual(self.kept()[PAIR]["readings"][0]["ohm"], ohm)

    def test_ohms_under_volts_are_not_read(self):
        world = Loom()
        world.volts = 12.6
        said, code = self.talk(world, typed=lambda piece: "q" if "not read" in piece else "")
        self.assertIn("not read: there are 12.6 V between the probes: ohms only with the key off", " ".join(said.split()))
        self.assertNotIn(PAIR, self.kept())
        self.assertIn("--meter 127.0.0.1:", said[said.index("Go on with"):])

    def test_what_it_does_not_give_may_be_typed(self):
        def typed(piece):
            return "60,2 ohm" if "not read" in piece else "q" if "as it should be" in piece else ""
        for manner, why in (("complains", "Settings conflict"), ("silent", "no answer")):
            said, _ = self.talk(Loom(), "--overwrite", typed=typed, manner=manner)
            self.assertIn(why, said)
            reading = self.kept()[PAIR]["readings"][0]
            self.assertEqual(reading["ohm"], 60.2)
            self.assertNotIn("meter", reading)
            self.assertNotIn("ecu_feed_a", self.kept())

    def test_what_was_read_is_not_asked_again(self):
        kept_one = lambda piece: "q" if f"kept: {LEFT[0]}" in piece else ""
        self.talk(Loom(), typed=kept_one)
        before = self.kept()
        self.assertIn(LEFT[0], before)
        self.assertNotIn(LEFT[-1], before)
        said, _ = self.talk(Loom(), "--resume")
        self.assertNotIn(f"Circuit {LEFT[0]}, to be rung out", said)
        self.assertEqual(self.kept()[LEFT[0]], before[LEFT[0]])
        self.assertIn(LEFT[-1], self.kept())

    def test_it_is_read_where_somebody_is_asked(self):
        for words, why in ((["--meter", "127.0.0.1:5025"], "give both"), (["--ask", "--meter", "127.0.0.1:x"], "write HOST:PORT")):
            out = drycrank("walk", BUGGY, *words, stdin=subprocess.DEVNULL)
            self.assertEqual(out.returncode, 2)
            self.assertIn(why, out.stderr)
            self.assertFalse(self.out.exists())


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
