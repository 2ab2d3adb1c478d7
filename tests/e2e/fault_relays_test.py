#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Faults that relays put into the harness, seen by a controller that is not ours.

    fault_relays_test.py DRYCRANK IO_NODE_ON_MULTICAST

Bench, thermistor and controller are those of walk_outputs_test.py; here relays of the twin of an I/O node (CiA 401) lie in the
coolant sensor's wire. What that controller reports is reckoned from the potentiometer's count and the relays as the node has
them: cut, it is 5 V, and -40 degC; with R ohm more it is the temperature of a thermistor of so many ohm more.
"""
import json
import math
import random
import subprocess
import sys
import threading
import time

NODE = sys.argv.pop(2)
import walk_outputs_test as base  # noqa: E402
import unittest  # noqa: E402

RELAYS = """
  faults:
    kind: canopen
    bus: NODE_BUS
    channels:
      relay_1: {fault: open CLT.1, output: 2}
      relay_2: {fault: series_resistance CLT.2 1 kohm, output: 5}
"""
SCENARIO = """
kind: scenario
name: relays
bench: bench.yaml
steps:
  - {name: warm, for_s: 8, drive: {coolant_temperature: 85}}
faults:
  - {name: cut, kind: open, at: CLT.1, from_s: 2, to_s: 4}
  - {name: corroded, kind: series_resistance, at: CLT.2, ohm: 1020, from_s: 5, to_s: 7}
expect:
  - {name: coolant_is_right, kind: follows, signal: temps.coolant, stimulus: coolant_temperature, tolerance: 3, settle_s: 0.5, means: the coolant sensor's circuit}
"""
LATE_S, NODE_S = 0.25, 0.15
COOLANT = {85: 1070.45}


def temperature(ohm):
    x = math.log(ohm)
    return 1 / (1.129148e-3 + 2.34125e-4 * x + 8.76741e-8 * x**3) - 273.15


class Node(threading.Thread):
    """The twin, and which of its outputs are on since when."""

    def __init__(self, bus):
        super().__init__(daemon=True)
        self.process = subprocess.Popen([NODE, bus], stdout=subprocess.PIPE, text=True)
        assert self.process.stdout.readline().strip() == "ready"
        self.on, self.changes = {}, []
        self.start()

    def run(self):
        for line in self.process.stdout:
            what, number, value = line.split()
            self.changes.append((time.monotonic(), f"{what} {number} {value}"))
            self.on[int(number)] = value == "1"

    def when(self, what):
        return next((t for t, seen in self.changes if seen == what), None)

    def wait(self, what, seconds=15):
        end = time.monotonic() + seconds
        while self.when(what) is None:
            assert time.monotonic() < end, (what, self.changes)
            time.sleep(0.005)
        return self.when(what)

    def end(self):
        self.process.kill()
        self.process.wait()
        self.process.stdout.close()


class Controller(base.Controller):
    def __init__(self, count_file, port, node):
        super().__init__(count_file, port)
        self.node, self.reported = node, []

    def coolant(self):
        text = self.count_file.read_text()
        ohm = (int(text) - 1000) / 8999 * 60000 if len(text) == 4 else 1e9
        ohm += 1000 if self.node.on.get(5) else 0
        value = -40 if self.node.on.get(2) else temperature(max(ohm, 1))
        self.reported.append((time.monotonic(), value))
        return value

    def between(self, begin, end):
        return [value for t, value in self.reported if begin < t < end]


class FaultRelays(unittest.TestCase):
    def setUp(self):
        self.holder = base.tempfile.TemporaryDirectory()
        self.addCleanup(self.holder.cleanup)
        self.folder = base.pathlib.Path(self.holder.name)
        self.count = self.folder / "out_resistance0_raw"
        self.count.write_text("5555")
        self.port = random.randint(45000, 52000)
        node_bus = f"multicast:239.74.163.3:{self.port + 5000}"
        self.write(RELAYS.replace("NODE_BUS", node_bus), SCENARIO)
        self.node = Node(node_bus)
        self.addCleanup(self.node.end)
        self.controller = Controller(self.count, self.port, self.node)
        self.controller.start()
        self.addCleanup(self.stop)

    def stop(self):
        self.controller.going = False
        self.controller.join()

    def write(self, relays, scenario):
        (self.folder / "bench.yaml").write_text(base.BENCH.replace("FOLDER", str(self.folder)) + relays)
        (self.folder / "scenario.yaml").write_text(scenario)

    def command(self, *words):
        return [base.DRYCRANK, *words, "--quiet", "--real-time", "--outputs", "--real", "controller", "--bus",
                f"car=multicast:239.74.163.2:{self.port}", "--arm", "ohms,faults", "--by", "tester"]

    def play(self, *words):
        done = subprocess.run(self.command(*words), stdin=subprocess.DEVNULL, capture_output=True, text=True, timeout=120)
        return done.returncode, done.stdout + done.stderr

    def test_relays_are_driven_while_their_faults_are_in_force(self):
        out = self.folder / "out"
        code, said = self.play("run", self.folder / "scenario.yaml", "--out", out)
        self.assertEqual(code, 1, said)
        self.assertIn("coolant_is_right", said)
        self.assertIn("a fault by relay: open CLT.1", said)
        cut = self.node.when("output 2 1")
        self.assertIsNotNone(cut, self.node.changes)
        for what, due in (("output 2 0", cut + 2), ("output 5 1", cut + 3), ("output 5 0", cut + 5)):
            self.assertIsNotNone(self.node.when(what), self.node.changes)
            self.assertLess(abs(self.node.when(what) - due), LATE_S, self.node.changes)
        self.assertEqual(len(self.node.changes), 4)
        # What the controller saw of it: cut, warm, 1 kohm more, warm.
        for begin, end, ohm in ((0.3, 1.9, None), (2.3, 2.9, 1070.45), (3.3, 4.9, 2070.45), (5.3, 5.8, 1070.45)):
            for value in self.controller.between(cut + begin, cut + end):
                self.assertAlmostEqual(value, -40 if ohm is None else temperature(ohm), delta=0.5)
        report = json.loads((out / "report.json").read_text())
        self.assertEqual(report["mode"].count("outputs: driven"), 1)

    def test_without_the_faults_the_same_run_is_met(self):
        text = SCENARIO[:SCENARIO.index("faults:")] + SCENARIO[SCENARIO.index("expect:"):]
        (self.folder / "scenario.yaml").write_text(text)
        code, said = self.play("run", self.folder / "scenario.yaml")
        self.assertEqual((code, self.node.changes), (0, []), said)

    def test_a_fault_without_its_relay_is_refused_before_anything_moves(self):
        for fault, named in (("{name: cut, kind: open, at: CLT.2}", "(open CLT.2)"),
                             ("{name: cut, kind: series_resistance, at: CLT.2, ohm: 2 kohm}", "(series_resistance CLT.2 2000 ohm)")):
            (self.folder / "scenario.yaml").write_text(SCENARIO.replace("\n  - {name: cut", f"\n  - {fault}\n  - {{name: other"))
            code, said = self.play("run", self.folder / "scenario.yaml")
            self.assertEqual(code, 2, said)
            self.assertIn(f"scenario.yaml:8:5: no relay is fitted for fault 'cut' {named}; "
                          "fitted: 'open CLT.1', 'series_resistance CLT.2 1 kohm'; or make it by hand", said)
        self.assertEqual((self.node.changes, self.count.read_text()), ([], "5555"))

    def test_a_fault_that_comes_and_goes_faster_than_a_relay_is_refused(self):
        text = SCENARIO.replace("from_s: 2, to_s: 4}", "from_s: 2, to_s: 4, every_s: 0.02, for_s: 0.005}")
        (self.folder / "scenario.yaml").write_text(text)
        code, said = self.play("run", self.folder / "scenario.yaml")
        self.assertEqual((code, self.node.changes), (2, []), said)
        self.assertIn("a fault by relay: open CLT.1: an output of kind canopen does not give 200 changes a second (it makes 50)", said)

    def test_killed_with_a_fault_in_it_falls_out(self):
        process = subprocess.Popen(self.command("run", self.folder / "scenario.yaml"), stdin=subprocess.DEVNULL,
                                   stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        self.node.wait("output 2 1")
        begin = time.monotonic()
        process.kill()
        process.wait()
        after = self.node.wait("output 2 0", 3) - begin
        print(f"relay off {after * 1000:.0f} ms after the kill")
        self.assertLess(after, NODE_S + 0.1)

    def test_a_walk_with_a_fault_finds_it_by_its_relay(self):
        out = self.folder / "walk"
        code, said = self.play("walk", self.folder / "bench.yaml", "--fault", "{kind: open, at: CLT.1}", "--out", out)
        self.assertEqual(code, 1, said)
        self.assertEqual([what for _, what in self.node.changes], ["output 2 1", "output 2 0"])
        states = {circuit["name"]: circuit["state"] for circuit in json.loads((out / "report.json").read_text())["circuits"]}
        self.assertNotEqual(states["coolant_signal"], "proven", said)
        judged = subprocess.run([base.DRYCRANK, "diagnose", out], capture_output=True, text=True)
        self.assertIn("contact CLT.1", judged.stdout)

    def test_a_relay_that_would_weld_is_no_relay(self):
        relays = RELAYS.replace("{fault: open CLT.1, output: 2}", "{fault: short_to_supply CLT.1, output: 2}\n"
                                "      relay_3: {fault: open CLT.9, output: 3}\n"
                                "      relay_4: {fault: open CLT.2, output: 4, safe: closed}\n"
                                "      relay_5: {fault: short_to_supply CLT.1 fuse 1 A, output: 6}")
        self.write(relays.replace("NODE_BUS", "multicast:239.74.163.3:45001"), SCENARIO)
        code, said = self.play("run", self.folder / "scenario.yaml")
        self.assertEqual(code, 2, said)
        self.assertIn("'short_to_supply CLT.1' has neither fuse nor resistor", said)
        self.assertIn("connector 'CLT' has no pin '9'", said)
        self.assertIn("'open CLT.2' would be in while nobody drives it", said)
        self.assertNotIn("fuse 1 A' ", said)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1] + sys.argv[2:])
