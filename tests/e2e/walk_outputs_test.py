#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""`drycrank walk --outputs` with a controller that is not ours: it reads the count of a digital potentiometer (a file, as
the kernel's), makes ohm and degrees of it by Steinhart and Hart, and sends them by python-can's udp_multicast.

    walk_outputs_test.py DRYCRANK

What is not driven must not be proven, whatever that controller sends about it. Coefficients and rows:
tests/reference/temp_ntc.yaml, ntc_10k_curve.
"""
import json
import math
import pathlib
import random
import subprocess
import sys
import tempfile
import threading
import time
import unittest

import can

DRYCRANK = pathlib.Path(sys.argv[1]).resolve()
# degC, ohm; behind 2.2 kohm to 5 V.
ROWS = [(120, 388.35), (100, 678.42), (85, 1070.45), (50, 3601.04), (25, 10000), (0, 32650.9), (-10, 55303.9)]
TABLE = [[round(5 * ohm / (ohm + 2200), 4), t] for t, ohm in ROWS]
NTC = "kind: ntc, steinhart_hart: {a: 1.129148e-3, b: 2.34125e-4, c: 8.76741e-8}"
BENCH = f"""
kind: bench
name: walk_outputs
engine: {{firing_order: [1], compression_ripple: 0}}
stimuli:
  coolant_temperature: {{unit: degC, initial: 25, min: -40, max: 140}}
  air_temperature: {{unit: degC, initial: 25, min: -40, max: 140}}
supplies: {{battery: {{plus: BAT.1, minus: BAT.2}}}}
connectors: {{BAT: {{pins: 2}}, ECU: {{pins: 8}}, CLT: {{pins: 2}}, IAT: {{pins: 2}}}}
wires:
  - {{circuit: supply, from: BAT.1, to: ECU.1}}
  - {{circuit: ground, from: BAT.2, to: ECU.2}}
  - {{circuit: coolant_signal, from: CLT.1, to: ECU.4}}
  - {{circuit: coolant_ground, from: CLT.2, to: ECU.5}}
  - {{circuit: air_signal, from: IAT.1, to: ECU.6}}
  - {{circuit: air_ground, from: IAT.2, to: ECU.7}}
sensors:
  coolant: {{measures: coolant_temperature, {NTC}, plus: CLT.1, minus: CLT.2}}
  air: {{measures: air_temperature, {NTC}, plus: IAT.1, minus: IAT.2}}
buses:
  car:
    messages:
      temps:
        id: 0x140
        sender: controller
        period_ms: 100
        signals:
          coolant: {{start_bit: 0, length_bits: 8, offset: -40, unit: degC, carries: coolant_temperature}}
          air: {{start_bit: 8, length_bits: 8, offset: -40, unit: degC, carries: air_temperature}}
controller:
  supply: ECU.1
  ground: ECU.2
  sensor_grounds: [ECU.5, ECU.7]
  inputs: [{{terminal: ECU.4, pull_up_ohm: 2.2 kohm}}, {{terminal: ECU.6, pull_up_ohm: 2.2 kohm}}]
  analog:
    coolant_temperature: {{terminal: ECU.4, unit: degC, value_at_volts: {TABLE}}}
    air_temperature: {{terminal: ECU.6, unit: degC, value_at_volts: {TABLE}}}
drives:
  ohms:
    kind: potentiometer
    channels:
      coolant: {{device: FOLDER, channel: resistance0, at_lowest_ohm: 0, at_highest_ohm: 60000, lowest_count: 1000, highest_count: 9999}}
"""


class Controller(threading.Thread):
    """Its coolant by what hangs at its plug; its air is always 25 degC, which nobody has driven."""

    def __init__(self, count_file, port):
        super().__init__(daemon=True)
        self.count_file, self.wire_is_open, self.going = count_file, False, True
        self.bus = can.Bus(interface="udp_multicast", channel="239.74.163.2", port=port)

    def coolant(self):
        text = self.count_file.read_text()
        if len(text) != 4 or self.wire_is_open:
            return -40
        x = math.log(max((int(text) - 1000) / 8999 * 60000, 1))
        return 1 / (1.129148e-3 + 2.34125e-4 * x + 8.76741e-8 * x**3) - 273.15

    def run(self):
        while self.going:
            value = min(max(round(self.coolant() + 40), 0), 254)
            self.bus.send(can.Message(arbitration_id=0x140, is_extended_id=False, data=[value, 65, 0, 0, 0, 0, 0, 0]))
            time.sleep(0.1)
        self.bus.shutdown()


class WalkOutputs(unittest.TestCase):
    def setUp(self):
        self.holder = tempfile.TemporaryDirectory()
        self.addCleanup(self.holder.cleanup)
        self.folder = pathlib.Path(self.holder.name)
        self.count = self.folder / "out_resistance0_raw"
        self.count.write_text("5555")
        (self.folder / "bench.yaml").write_text(BENCH.replace("FOLDER", str(self.folder)))
        self.port = random.randint(45000, 60000)
        self.controller = Controller(self.count, self.port)
        self.controller.start()
        self.addCleanup(self.stop)

    def stop(self):
        self.controller.going = False
        self.controller.join()

    def walk(self, *options, real=("--real", "controller")):
        out = self.folder / "walk"
        done = subprocess.run(
            [DRYCRANK, "walk", self.folder / "bench.yaml", "--quiet", "--real-time", "--outputs", *real, "--bus",
             f"car=multicast:239.74.163.2:{self.port}", "--by", "tester", "--out", out, *options],
            stdin=subprocess.DEVNULL, capture_output=True, text=True, timeout=120)
        states = {}
        if (out / "report.json").exists():
            report = json.loads((out / "report.json").read_text())
            states = {circuit["name"]: circuit for circuit in report["circuits"]}
        return done.returncode, done.stdout + done.stderr, states

    def test_what_is_driven_is_proven_and_nothing_else(self):
        code, said, states = self.walk("--arm", "ohms")
        self.assertEqual(code, 4, said)
        proven = {name for name, circuit in states.items() if circuit["state"] == "proven"}
        self.assertEqual(proven, {"coolant_signal", "coolant_ground"}, said)
        self.assertIn("no output", states["air_signal"]["why"])
        self.assertEqual(self.count.read_text(), "9999", "safe at the end")
        judged = subprocess.run([DRYCRANK, "diagnose", self.folder / "walk"], capture_output=True, text=True)
        self.assertNotIn("stand-in", judged.stdout.replace("stand-ins", ""), judged.stdout)

    def test_a_wire_that_is_open_is_not_proven(self):
        self.controller.wire_is_open = True
        code, said, states = self.walk("--arm", "ohms")
        self.assertEqual(code, 1, said)
        self.assertNotIn("proven", {circuit["state"] for circuit in states.values()}, said)

    def test_a_stand_in_is_not_walked_by_outputs(self):
        code, said, _ = self.walk("--arm", "ohms", real=())
        self.assertEqual(code, 2, said)
        self.assertIn("--outputs needs --real controller", said)
        self.assertEqual(self.count.read_text(), "5555")

    def test_unarmed_nothing_moves(self):
        code, said, _ = self.walk()
        self.assertEqual(code, 2, said)
        self.assertIn("ohms is not armed", said)
        self.assertEqual(self.count.read_text(), "5555")


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1] + sys.argv[2:])
