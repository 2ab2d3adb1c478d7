#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""`drycrank run --outputs` with a DAC, a digital potentiometer, a supply and an I/O node.

    slow_outputs_test.py DRYCRANK IO_NODE_ON_MULTICAST TESTS [unittest options]

DAC and potentiometer are files in a folder as the kernel lays it out (Documentation/ABI/testing/sysfs-bus-iio); a
file of ours keeps what is left of a longer number, so all counts here have four digits. The supply is
tests/io/instrument.py on loopback, the node a twin by CiA 401 on multicast. What must come is reckoned here: ohm
of the thermistor are rows of a published table (tests/reference/temp_ntc.yaml, ntc_10k_curve), all else is a
straight line of the bench.
"""
import math
import os
import pathlib
import random
import signal
import subprocess
import sys
import tempfile
import threading
import time
import unittest

DRYCRANK, NODE, TESTS = (str(pathlib.Path(p).resolve()) for p in sys.argv[1:4])
OHM = {25: 10000, 0: 32650.9, -10: 55303.9}
LATE_S, EARLY_S = 0.15, 0.02  # of a busy computer; steps are 1 s apart
GUARD_S, NODE_S = 0.2, 0.15   # as stated

BENCH = """
kind: bench
name: slow_outputs
engine: {firing_order: [1], compression_ripple: 0}
stimuli:
  coolant_temperature: {unit: degC, initial: 25, min: -40, max: 140}
  boost_pressure: {unit: kPa, initial: 100, min: 0, max: 400}
  fuel_level: {unit: "%", initial: 50, min: 0, max: 100}
  oil_pressure: {unit: kPa, min: 0, max: 800}
supplies: {battery: {plus: BAT.1, minus: BAT.2, voltage_v: 12.5}}
connectors: {BAT: {pins: 2}, ALL: {pins: 13}, CKP: {pins: 3}}
triggers:
  crank:
    wheel: {teeth: 36, missing: [36]}
    pickup: {kind: hall, supply: CKP.1, ground: CKP.2, signal: CKP.3}
sensors:
  coolant: {measures: coolant_temperature, kind: ntc, steinhart_hart: {a: 1.129148e-3, b: 2.34125e-4, c: 8.76741e-8}, plus: ALL.1, minus: ALL.2}
  boost: {measures: boost_pressure, kind: ratiometric, low_value: 0, high_value: 400, supply: ALL.3, ground: ALL.4, signal: ALL.5}
  level: {measures: fuel_level, kind: voltage, volts_at_value: [[0, 0.5], [100, 4.5]], supply: ALL.6, ground: ALL.7, signal: ALL.8}
  oil: {measures: oil_pressure, kind: switch, closed_at: 50, plus: ALL.9, minus: ALL.10}
drives:
"""
OHMS = """
  ohms:
    kind: potentiometer
    channels:
      coolant: {device: FOLDER/iio:device1, channel: resistance0, at_lowest_ohm: 0, at_highest_ohm: 60000, lowest_count: 1000, highest_count: 9999}
"""
VOLTS = """
  volts:
    kind: dac
    channels:
      boost: {device: FOLDER/iio:device0, channel: voltage0, at_lowest_v: 0, at_highest_v: 5, lowest_count: 1000, highest_count: 9999}
"""
LAB = """
  lab: {kind: supply, host: 127.0.0.1, port: PORT, channels: {battery: {limit_a: 2}}}
"""
BOX = """
  box:
    kind: canopen
    bus: BUS
    channels:
      oil: {output: 3}
      level: {analogue: 1, at_highest_v: 10, safe_v: 1}
"""
SCENARIO = """
kind: scenario
name: slow_outputs
bench: bench.yaml
steps:
  - {name: begin, for_s: 1}
  - name: one
    for_s: 1
    drive: {coolant_temperature: 0, boost_pressure: {ramp: 300}, fuel_level: 80, oil_pressure: 300}
  - name: two
    for_s: 1
    drive: {coolant_temperature: -10, fuel_level: 20, oil_pressure: 0}
  - {name: end, for_s: 0.5}
faults:
  - {name: weak, kind: supply_off, at: battery, volts: -3, from_s: 2, to_s: 3}
"""
WITHOUT_SUPPLY = SCENARIO[:SCENARIO.index("faults:")]
LONG = SCENARIO.replace("for_s: 0.5", "for_s: 60").replace(", fuel_level: 20, oil_pressure: 0}", "}")


def ohm_count(ohm):
    return round(1000 + ohm / 60000 * 8999)


def boost_count(kpa):
    return round(1000 + (0.1 + 0.8 * kpa / 400) * 8999)


def level_count(percent):
    return round((0.5 + 4 * percent / 100) / 10 * 32767)


class Seen:
    """What a device showed and when, by time.monotonic()."""

    def __init__(self):
        self.changes = []

    def see(self, what):
        self.changes.append((time.monotonic(), what))

    def all(self):
        return [what for _, what in self.changes]

    def when(self, what, after=0.0):
        """The first time from then on; None: it was not seen."""
        return next((t for t, seen in self.changes if seen == what and t >= after), None)

    def wait(self, what, after=0.0, seconds=20):
        end = time.monotonic() + seconds
        while self.when(what, after) is None:
            assert time.monotonic() < end, f"{what} did not come; the last: {self.changes[-5:]}"
            time.sleep(0.002)
        return self.when(what, after)


class Program(Seen):
    def __init__(self, *words):
        super().__init__()
        self.process = subprocess.Popen(words, stdout=subprocess.PIPE, text=True)
        self.first = self.process.stdout.readline().strip()
        threading.Thread(target=self.read, daemon=True).start()

    def read(self):
        for line in self.process.stdout:
            self.see(line.strip())

    def end(self):
        self.process.kill()
        self.process.wait()
        self.process.stdout.close()


class File(Seen):
    def __init__(self, path):
        super().__init__()
        self.path = path
        self.going = True
        self.thread = threading.Thread(target=self.read, daemon=True)
        self.thread.start()

    def read(self):
        last = None
        while self.going:
            text = self.path.read_text()
            if text != last and len(text) == 4:  # the guard empties the file before it writes
                self.see(int(text))
                last = text
            time.sleep(0.0005)

    def end(self):
        self.going = False
        self.thread.join()


class SlowOutputs(unittest.TestCase):
    def setUp(self):
        self.holder = tempfile.TemporaryDirectory()
        self.folder = pathlib.Path(self.holder.name)
        self.addCleanup(self.holder.cleanup)
        for device, channel in (("iio:device0", "out_voltage0_raw"), ("iio:device1", "out_resistance0_raw")):
            (self.folder / device).mkdir()
            (self.folder / device / channel).write_text("5555")
        self.dac = File(self.folder / "iio:device0/out_voltage0_raw")
        self.pot = File(self.folder / "iio:device1/out_resistance0_raw")
        self.supply = Program("/usr/bin/python3", f"{TESTS}/io/instrument.py")
        self.bus = f"multicast:239.74.163.2:{random.randint(45000, 60000)}"
        self.node = Program(NODE, self.bus)
        self.assertEqual(self.node.first, "ready")
        for seen in (self.dac, self.pot, self.supply, self.node):
            self.addCleanup(seen.end)

    def write(self, drives=OHMS + VOLTS + LAB + BOX, scenario=SCENARIO):
        drives = drives.replace("FOLDER", str(self.folder)).replace("PORT", self.supply.first)
        (self.folder / "bench.yaml").write_text(BENCH + drives.replace("BUS", self.bus))
        (self.folder / "scenario.yaml").write_text(scenario)
        return "ohms,volts,lab,box" if drives.count("kind") > 3 else drives.split(":")[0].strip()

    def start(self, arm, *options):
        return subprocess.Popen(
            [DRYCRANK, "run", self.folder / "scenario.yaml", "--quiet", "--real-time", "--outputs", "--arm", arm,
             "--by", "tester", *options],
            stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)

    def run_it(self, arm, *options):
        process = self.start(arm, *options)
        out, err = process.communicate(timeout=60)
        return process.returncode, out + err

    def untouched(self):
        self.assertEqual((self.dac.all(), self.pot.all()), ([5555], [5555]))
        self.assertNotIn("OUTP ON", self.supply.all())
        self.assertEqual(self.node.all(), [])

    def assert_at(self, seen, what, due, after=0.0):
        at = seen.when(what, after)
        self.assertIsNotNone(at, f"{what} never came: {seen.changes}")
        self.assertTrue(-EARLY_S <= at - due <= LATE_S, f"{what} came {at - due:.3f} s late")

    def test_a_supply_that_stays_on_is_not_called_safe(self):
        self.supply = Program("/usr/bin/python3", f"{TESTS}/io/instrument.py", "stays_on")
        self.addCleanup(self.supply.end)
        code, said = self.run_it(self.write(LAB, WITHOUT_SUPPLY))
        self.assertEqual(code, 3, said)
        where = "127.0.0.1:" + self.supply.first
        self.assertIn(f"NOT SAFE: \"OUTP OFF\" to {where}: {where} answers 1 to OUTP?; take its plug out", said)

    def test_values_arrive_at_their_times(self):
        code, said = self.run_it(self.write(), "--out", str(self.folder / "out"))
        self.assertEqual(code, 4, said)  # no expectation: nothing is shown
        begin = self.pot.when(ohm_count(OHM[25]))
        self.assertIsNotNone(begin, self.pot.changes)
        at_0 = self.pot.when(ohm_count(OHM[0]))
        self.assert_at(self.pot, ohm_count(OHM[0]), begin + 1)
        self.assert_at(self.pot, ohm_count(OHM[-10]), at_0 + 1)
        self.assertEqual(len(set(self.pot.all())), 5, f"as found, safe, three values: {self.pot.changes}")
        for seen, what, due in ((self.node, f"analogue 1 {level_count(50)}", begin),
                                (self.node, f"analogue 1 {level_count(80)}", at_0),
                                (self.node, f"analogue 1 {level_count(20)}", at_0 + 1),
                                (self.node, "output 3 1", at_0), (self.node, "output 3 0", at_0 + 1),
                                (self.supply, "VOLT 9.5", at_0 + 1),
                                (self.dac, boost_count(100), begin), (self.dac, boost_count(300), at_0 + 1)):
            self.assert_at(seen, what, due)
        back = self.supply.when("VOLT 12.5", after=self.supply.when("VOLT 9.5"))
        self.assertTrue(-EARLY_S <= back - (at_0 + 2) <= LATE_S)
        self.check_ramp(at_0)
        # At the end all is safe.
        self.assertEqual((self.pot.all()[-1], self.dac.all()[-1]), (9999, 1000))
        self.assertIn("OUTP OFF", self.supply.all()[-3:])
        self.node.wait("analogue 1 3277")  # 1 V of 10 V at 32767

        record = (self.folder / "out/record.json").read_text()
        for word in ('"volts"', '"ohms"', '"lab"', '"box"', "tester", "outputs: driven"):
            self.assertIn(word, record)
        self.assertIn("lab: 12.5 V, 1.25 A (most 1.25 A)", said)

    def check_ramp(self, begin):
        """Each count is that of a pressure that was due at most LATE_S before."""
        counts = [(t - begin, count) for t, count in self.dac.changes
                  if begin + 0.1 < t < begin + 0.95]
        self.assertGreater(len(counts), 30, "a value each 10 ms, as far as a busy computer sees it")
        for t, count in counts:
            low, high = (boost_count(100 + 200 * min(max(x, 0), 1)) for x in (t - LATE_S, t + EARLY_S))
            self.assertTrue(low - 1 <= count <= high + 1, f"{count} at {t:.3f} s is not of {low} to {high}")

    def test_what_its_steps_are_is_shown_before_it_is_armed(self):
        """The temperature of each count by Steinhart and Hart, with the table's coefficients; not below -10 degC."""
        def temperature(ohm):
            x = math.log(ohm)
            return 1 / (1.129148e-3 + 2.34125e-4 * x + 8.76741e-8 * x**3) - 273.15

        self.assertAlmostEqual(temperature(32650.9), 0, places=3)  # a row of it
        degrees = [temperature(60000 / 1023 * count) for count in range(1, 1024)]
        widest = max(a - b for a, b in zip(degrees, degrees[1:]) if a <= 25.2)
        self.write(OHMS.replace("lowest_count: 1000, highest_count: 9999", "highest_count: 1023"), WITHOUT_SUPPLY)
        code, said = self.run_it("nothing")
        self.assertEqual(code, 2, said)
        line = next(line for line in said.splitlines() if "ohms (potentiometer)" in line)
        self.assertIn("in the place of sensor 'coolant' between -10 and 25 °C: steps of "
                      f"{widest:.2g} °C, {widest / 2:.2g} °C off at most", line)
        self.untouched()

    def test_what_is_given_and_what_is_safe_is_shown_before_it_is_armed(self):
        """By the bench: 12.5 V, and 3 V less while the fault is in; the node's 1 V."""
        self.write()
        code, said = self.run_it("nothing")
        self.assertEqual(code, 2, said)
        for words in (f"lab (supply): supply at 127.0.0.1:{self.supply.first}, in the place of supply 'battery' "
                      "(9.5 to 12.5 V, 2 A at most; safe: off)", "(it gives 0 to 10 V; safe: 1 V)",
                      "sensor 'oil' (safe: open)", "(it gives 0 to 5 V; safe: 0 V)", "(it gives 0 to 6e+04 Ω; safe: 6e+04 Ω)"):
            self.assertIn(words, said)
        self.untouched()

    def refused(self, drives, *words, scenario=WITHOUT_SUPPLY, code=2, arm=None):
        name = self.write(drives, scenario)
        got, said = self.run_it(arm or name)
        self.assertEqual(got, code, said)
        for word in words:
            self.assertIn(word, said)
        self.untouched()

    def test_what_cannot_be_given_is_refused_before_anything_moves(self):
        self.refused(OHMS.replace("60000", "20000"), "bench.yaml:", "sensor 'coolant': 1e+04 to 5.53e+04 Ω",
                     "this potentiometer gives 0 to 2e+04 Ω; one with a wider range could")
        self.refused(VOLTS.replace("at_highest_v: 5", "at_highest_v: 2.5"), "sensor 'boost': 1.5 to 3.5 V",
                     "this dac gives 0 to 2.5 V; one with a wider range could, or an output of kind canopen")
        self.refused(VOLTS.replace("boost:", "coolant:"), "does not give a resistance",
                     "an output of kind potentiometer could")
        self.refused("\n  relays: {kind: gpio, chip: /dev/gpiochip0, channels: {crank: {line: 0}}}\n",
                     "trigger 'crank': an output of kind gpio does not give 700 changes a second (it makes 50); "
                     "an output of kind core or sound could",
                     scenario=WITHOUT_SUPPLY.replace("{name: begin,", "{name: begin, drive: {engine_speed: 600},"))
        self.refused(BOX.replace("output: 3", "output: 3, analogue: 0"), "both output and analogue")

    def test_who_is_not_there_is_said(self):
        self.refused("\n  relays: {kind: gpio, chip: /dev/gpiochip97, channels: {oil: {line: 0}}}\n",
                     "relays: /dev/gpiochip97: No such file or directory", code=3)
        self.refused(VOLTS.replace("device0", "device7"), "iio:device7 is not there", code=3)
        self.refused(BOX.replace("    bus:", "    node: 9\n    bus:"), "box: I/O node 9: it does not answer a reset", code=3)
        self.refused(BOX.replace("    bus:", "    node: 9\n    bus:"), ":3); nothing is driven", code=3)
        self.refused(OHMS, "ohms is not armed", arm="volts")

    def drive(self):
        """A run that drives, at its second step."""
        process = self.start(self.write(scenario=LONG))
        self.addCleanup(process.communicate)
        self.addCleanup(process.kill)
        try:
            self.pot.wait(ohm_count(OHM[-10]), seconds=10)
        except AssertionError:
            process.kill()
            self.fail(process.communicate())
        self.node.wait("output 3 1")
        self.supply.wait("VOLT 9.5")
        return process

    def safe_after(self, begin):
        """Seconds until each was safe."""
        return {"dac": self.dac.wait(1000, begin) - begin, "potentiometer": self.pot.wait(9999, begin) - begin,
                "supply": self.supply.wait("OUTP OFF", begin) - begin,
                "switch": self.node.wait("output 3 0", begin) - begin,
                "node": self.node.wait("analogue 1 3277", begin) - begin}

    def test_killed_all_is_safe(self):
        process = self.drive()
        begin = time.monotonic()
        process.send_signal(signal.SIGKILL)
        after = self.safe_after(begin)
        print({name: f"{s * 1000:.0f} ms" for name, s in after.items()})
        for name, seconds in after.items():
            self.assertLess(seconds, NODE_S + 0.1 if name in ("node", "switch") else GUARD_S, name)
        time.sleep(0.3)
        self.assertEqual((self.dac.all()[-1], self.pot.all()[-1]), (1000, 9999), "and stays so")

    def test_stopped_all_is_safe(self):
        process = self.drive()
        begin = time.monotonic()
        process.send_signal(signal.SIGINT)
        self.assertLess(max(self.safe_after(begin).values()), 1)
        self.assertIn(process.wait(30), (3, 4))

    def test_without_its_guard_nothing_is_driven(self):
        process = self.drive()
        guards = [int(child) for child in
                  pathlib.Path(f"/proc/{process.pid}/task/{process.pid}/children").read_text().split()]
        self.assertEqual(len(guards), 3, "of the DAC, the potentiometer and the supply")
        begin = time.monotonic()
        os.kill(guards[0], signal.SIGKILL)
        self.safe_after(begin)
        out, err = process.communicate(timeout=30)
        self.assertEqual(process.returncode, 3, out + err)
        self.assertIn("its guard is gone; without it nothing is driven", out + err)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1] + sys.argv[4:])
